"""How long a kind of item lasts by the log's own records, as a whole and group by group."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from fleetlog.errors.life import NoLives, SplitNeedsGroups
from fleetlog.store.log import Log
from fleetlog.usecases.lives.gathering import (
    RecordedLives,
    Where,
    check_condition,
    chosen_lives,
    find_kind,
    gathered,
    maker_intervals,
    meeting,
    recorded_lives,
)
from fleetlog.usecases.occasion import Occasion

if TYPE_CHECKING:
    from fleetlog.life.answer import LifeAnswer
    from fleetlog.life.lives import GatheredLives, Unit


UNITS: tuple[Unit, ...] = ("hours", "months")


@dataclass(frozen=True, slots=True)
class LifeQuestion:
    """What is asked of the lives of a kind of item.

    `where` are the conditions they must meet, `split` the condition to compare groups by (with a value:
    those that have it against those that have another). `shape` is the shape of the Weibull distribution,
    where it is stated instead of fitted.
    """

    item: str
    where: Where = ()
    split: str | None = None
    unit: Unit = "hours"
    shape: float | None = None
    confidence: float = 0.95


def look_up_life(log: Log, occasion: Occasion, question: LifeQuestion) -> LifeAnswer:
    """The lives of a kind of item and what they say; raises NotKnown, Ambiguous, BadChoice, NoLives."""
    with log.reading() as reader:
        recorded = recorded_lives(reader, occasion.today)
    return answer_of(recorded, question)


def answer_of(recorded: RecordedLives, question: LifeQuestion) -> LifeAnswer:
    """The answer from lives that were read already."""
    from fleetlog.life.answer import answer_life

    item = find_kind(recorded.kinds(), question.item)
    found = chosen_lives(recorded, item, question.where)
    whole = gathered(found, question.unit)
    split_by = ""
    parts: dict[str, GatheredLives] = {}
    if question.split is not None:
        split_by, parts = _groups(recorded, item, question)
    return answer_life(
        item,
        whole,
        about=", ".join(f"{condition} {value}" for condition, value in question.where),
        intervals=maker_intervals(recorded, found, item, question.unit, question.where),
        split_by=split_by,
        parts=parts,
        shape=question.shape,
        confidence=question.confidence,
    )


def _groups(
    recorded: RecordedLives, item: str, question: LifeQuestion
) -> tuple[str, dict[str, GatheredLives]]:
    """The lives in groups by a condition; those of which the log does not say it are in none."""
    condition, _, value = (text.strip() for text in (question.split or "").partition("="))
    check_condition(condition)
    lives = chosen_lives(recorded, item, question.where)
    if value:  # also refuses a value that no life has
        chosen_lives(recorded, item, [*question.where, (condition, value)])
    members: dict[str, list[Any]] = {}
    for life in lives:
        held = recorded.value(life, condition)
        if held is not None:
            name = held if not value or held.casefold() == value.casefold() else f"other {condition}"
            members.setdefault(name, []).append(life)
    groups = {}
    for name in sorted(members):
        try:
            groups[name] = gathered(members[name], question.unit)
        except NoLives:
            continue
    if len(groups) < 2:
        raise SplitNeedsGroups(condition, list(groups))
    return condition, groups


def answers_for_pages(recorded: RecordedLives) -> list[LifeAnswer]:
    """An answer for every kind of item of which any failed or was found worn, split by water where it can be.

    In hours; in months where no life of the kind has hours.
    """
    answers = []
    for item in recorded.kinds().values():
        if all(life.ended == "sound" for life in chosen_lives(recorded, item, ())):
            continue
        for unit in UNITS:
            try:
                answers.append(answer_of(recorded, LifeQuestion(item, split="water", unit=unit)))
            except SplitNeedsGroups:
                answers.append(answer_of(recorded, LifeQuestion(item, unit=unit)))
            except NoLives:
                continue
            break
    return answers


@dataclass(frozen=True, slots=True)
class KindCount:
    """How many lives of a kind there are and how they ended; `firm` where the records give a firm answer."""

    item: str
    lives: int
    failed: int
    found_worn: int
    sound: int
    entered_with_age: int
    left_out: int
    firm: bool


def list_kinds(log: Log, occasion: Occasion, unit: Unit, where: Where) -> list[KindCount]:
    """Every kind of item of which any came off, the most often failed first."""
    from fleetlog.life.answer import group_life

    with log.reading() as reader:
        recorded = recorded_lives(reader, occasion.today)
    recorded = replace(recorded, lives=meeting(recorded, recorded.lives, where))
    counts = []
    for item in recorded.kinds().values():
        found = chosen_lives(recorded, item, ())
        if all(life.ended_on is None for life in found):
            continue
        try:
            group = group_life(item, gathered(found, unit), None, 0.95)
        except NoLives:
            counts.append(KindCount(item, 0, 0, 0, 0, 0, len(found), False))
            continue
        t = group.tally
        firm = group.fit is not None and group.fit.is_firm
        counts.append(
            KindCount(
                item, t.lives, t.failed, t.found_worn, t.sound, t.entered_with_age, len(group.left_out), firm
            )
        )
    return sorted(counts, key=lambda c: (-c.failed - c.found_worn, c.item))

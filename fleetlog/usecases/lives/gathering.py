"""Gathers the lives of items from the ledgers, chooses among them, and hands them to the statistics."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING

from fleetlog.domain.gravity import is_grave_item
from fleetlog.domain.interval import interval_limits, severe_factor
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.lives import ItemLife, lives_of
from fleetlog.domain.nearest import nearest
from fleetlog.domain.parts import makers_of
from fleetlog.domain.records import Boat
from fleetlog.domain.schedule import Rule, Schedule
from fleetlog.domain.travel import Home, homes_among
from fleetlog.domain.words import USES, WATERS, name_key, same_name
from fleetlog.errors.naming import Ambiguous, BadChoice, NotKnown
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import refuse_empty, schedule_of

if TYPE_CHECKING:
    from fleetlog.life.answer import MakerInterval
    from fleetlog.life.lives import GatheredLives, Unit

CONDITIONS = ("family", "maker", "part", "water", "use")
"""By what lives can be chosen and split; `maker` is the maker of the part."""

Where = Sequence[tuple[str, str]]
"""Conditions that lives must meet: name and value."""


@dataclass(frozen=True)
class RecordedLives:
    """The lives of a log as known on a day, with what is needed to choose among them."""

    lives: Sequence[ItemLife]
    schedules: Mapping[str, Schedule]
    makers: Mapping[str, str]

    @cached_property
    def by_kind(self) -> dict[str, list[ItemLife]]:
        """The lives of each kind of item, by its name without case."""
        found: dict[str, list[ItemLife]] = {}
        for life in self.lives:
            found.setdefault(name_key(life.item), []).append(life)
        return found

    def kinds(self) -> dict[str, str]:
        """The kinds of item there are lives of, by their name without case."""
        return {key: lives[0].item for key, lives in self.by_kind.items()}

    def value(self, life: ItemLife, condition: str) -> str | None:
        """What a life was run under; None where the log does not say."""
        if condition == "part":
            return life.part_number
        if condition == "maker":
            return self.makers.get(name_key(life.part_number)) if life.part_number else None
        held: str | None = getattr(life.conditions, condition)
        return held


def recorded_lives(
    reader: Reader, today: date, serials: Iterable[str] | None = None, item: str | None = None
) -> RecordedLives:
    """The lives on the engines named, or on all, of a kind of item or of every kind."""
    return lives_in(reader.ledgers(serials), reader.schedules(), makers_of(reader.parts()), today, item)


def lives_in(
    ledgers: Iterable[EngineLedger],
    schedules: Mapping[str, Schedule],
    makers: Mapping[str, str],
    today: date,
    item: str | None = None,
) -> RecordedLives:
    """The lives that these ledgers tell."""
    homes = [Home(ledger, schedule_of(ledger, schedules), today) for ledger in ledgers]
    found = lives_of(homes_among(homes), (home.serial for home in homes), item)
    return RecordedLives(list(found), schedules, makers)


def find_kind(kinds: Mapping[str, str], typed: str) -> str:
    """The kind of item as it is spelled, of kinds by name without case; raises NotKnown or Ambiguous."""
    refuse_empty("kind of item", typed)
    if name_key(typed) in kinds:
        return kinds[name_key(typed)]
    matching = sorted(item for key, item in kinds.items() if name_key(typed) in key)
    if len(matching) == 1:
        return matching[0]
    if matching:
        raise Ambiguous("kind of item", typed, matching)
    near = nearest(typed, list(kinds.values()))
    raise NotKnown("kind of item", typed, near, "fleetlog life lists the kinds")


def chosen_lives(recorded: RecordedLives, item: str, where: Where) -> list[ItemLife]:
    """The lives of a kind that meet every condition; one that the log says nothing of is not met.

    Raises BadChoice for a condition, a water or a use there is not, NotKnown for another value that no
    life of the kind has.
    """
    return meeting(recorded, recorded.by_kind.get(name_key(item), []), where)


def meeting(recorded: RecordedLives, lives: Iterable[ItemLife], where: Where) -> list[ItemLife]:
    """Those of some lives that meet every condition; raises as `chosen_lives` does."""
    found = list(lives)
    for condition, value in where:
        check_condition(condition)
        check_value(condition, value, {v for x in found if (v := recorded.value(x, condition)) is not None})
        found = [life for life in found if same_name(recorded.value(life, condition), value)]
    return found


def check_value(condition: str, value: str, held: Collection[str]) -> None:
    """Raises BadChoice for a water or a use there is not, NotKnown for another value that nothing has."""
    words = {"water": WATERS, "use": USES}.get(condition)
    if words is not None and name_key(value) not in words:
        raise BadChoice(condition, value, words)
    if words is None and not any(same_name(value, one) for one in held):
        raise NotKnown(condition, value, nearest(value, sorted(held)))


def check_condition(condition: str, known: Sequence[str] = CONDITIONS) -> None:
    """Raises BadChoice for a condition that lives, or what else is asked about, cannot be chosen by."""
    if condition not in known:
        raise BadChoice("condition", condition, known)


def gathered(lives: Iterable[ItemLife], unit: Unit) -> GatheredLives:
    """Lives as the statistics take them, in hours or in months; raises NoLives where none can be used."""
    from fleetlog.life.lives import Life, gather_lives

    return gather_lives(
        (
            Life(
                life.ended,
                _known(getattr(life.age, unit)),
                getattr(life.last_sound, unit) or 0.0,
                getattr(life.entered, unit) or 0.0,
                life.label,
                life.doubt,
            )
            for life in lives
        ),
        unit,
    )


def _known(age: float | None) -> float:
    return float("nan") if age is None else age


def renewal_rule(schedule: Schedule, item: str) -> Rule | None:
    """The rule by which a schedule has a kind of item renewed at an interval."""
    rules = (rule for rule in schedule.rules_for(item) if rule.action == "replace" and rule.is_by_interval)
    return next(rules, None)


def maker_intervals(
    recorded: RecordedLives, lives: Iterable[ItemLife], item: str, unit: Unit, where: Where
) -> list[MakerInterval]:
    """The maker's interval in each schedule that the lives ran under.

    Where a severe water or use is among the conditions chosen (`where`), the interval is the one that it
    shortens to. Where others, which were not chosen, shorten it for some of the lives, the shorter intervals
    stand beside it (`MakerInterval.shortened`).
    """
    from fleetlog.life.answer import MakerInterval

    chosen = dict(where)
    by_schedule: dict[str, set[tuple[str | None, str | None]]] = {}
    for life in lives:
        if life.conditions.schedule is not None:
            ran_in = by_schedule.setdefault(life.conditions.schedule, set())
            ran_in.add((life.conditions.water, life.conditions.use))
    found = []
    for name in sorted(by_schedule.keys() & recorded.schedules.keys()):
        schedule = recorded.schedules[name]
        rule = renewal_rule(schedule, item)
        if rule is None:
            continue
        _, age = _interval(rule, unit, chosen.get("water"), chosen.get("use"))
        if age is None:
            continue
        severe = {_interval(rule, unit, *ran_in) for ran_in in by_schedule[name]}
        shortened = sorted((word, less) for word, less in severe if word and less is not None and less < age)
        found.append(MakerInterval(name, age, is_grave_item(schedule, item), tuple(shortened)))
    return found


def _interval(rule: Rule, unit: Unit, water: str | None, use: str | None) -> tuple[str | None, float | None]:
    """A rule's interval in such water and use, with the word that shortens it, if one does."""
    severe = severe_factor(rule, Boat("", None, "", water=water, use=use))
    limits = interval_limits(rule, severe, False)
    word = None if severe is None else severe[0]
    if unit == "months":
        return word, None if limits.months is None else float(limits.months)
    return word, None if limits.tenths is None else float(limits.tenths) / 10


def grave_anywhere(recorded: RecordedLives, lives: Iterable[ItemLife], item: str) -> bool:
    """Whether any schedule that the lives ran under says that the item's failure is grave."""
    names = {life.conditions.schedule for life in lives}
    return any(is_grave_item(s, item) for name, s in recorded.schedules.items() if name in names)

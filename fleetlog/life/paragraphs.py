"""An answer about a kind of item as paragraphs, in the order in which it is told."""

from __future__ import annotations

from fleetlog.life.answer import GroupLife, LifeAnswer, MakerInterval
from fleetlog.life.words import (
    group_in_words,
    life_in_words,
    overall_in_words,
    pair_in_words,
    schedule_in_words,
    tally_in_words,
    too_few_in_words,
)


def paragraphs(answer: LifeAnswer) -> list[str]:
    """What a technician reads: of all lives, of each group, of groups compared, of the lives left out.

    Of three groups or more only the pairs that differ are told.
    """
    interval = answer.interval
    said = [_of_group(answer, answer.whole, answer.named, interval)]
    if interval is None and answer.whole.fit is not None:
        said += [schedule_in_words(i, answer.whole.fit) for i in answer.intervals]
    for group in answer.groups:
        name = _place(answer.split_by, group.name)
        name = name[:1].upper() + name[1:]
        if group.fit is not None:
            said.append(group_in_words(name, group.tally, group.fit))
        else:
            said.append(f"{name}: {group.refusal}.")
    overall, pairs = answer.overall, answer.pairs
    if overall is not None:
        said.append(overall_in_words(answer.item, overall.degrees // 2 + 1, answer.split_by, overall))
        pairs = tuple(pair for pair in pairs if pair.differ)
    for pair in pairs:
        first, second = _where(answer.split_by, pair.first), _where(answer.split_by, pair.second)
        said.append(pair_in_words(answer.item, first, second, pair))
    said += left_out_in_words(answer.whole)
    return said


def left_out_in_words(group: GroupLife) -> list[str]:
    """How many lives were left out, by reason; nothing where none was."""
    reasons: dict[str, int] = {}
    for life in group.left_out:
        reasons[life.reason] = reasons.get(life.reason, 0) + 1
    if not reasons:
        return []
    listed = "; ".join(f"{count}: {reason}" for reason, count in reasons.items())
    return [f"Left out: {listed}."]


def _of_group(answer: LifeAnswer, group: GroupLife, item: str, interval: MakerInterval | None) -> str:
    if group.fit is not None:
        return life_in_words(item, group.tally, group.fit, interval)
    if group.outlasted is None:
        why = str(group.refusal)
        return f"{tally_in_words(item, group.tally)} {why[:1].upper()}{why[1:]}."
    shape = answer.stated_shape or 0.0
    return too_few_in_words(item, group.tally, group.outlasted, shape, answer.unit)


def _place(split_by: str, name: str) -> str:
    """How a group is named in a sentence: `salt water`, `hire use`, `part NV-4410`, `other water`."""
    if name == f"other {split_by}":
        return name
    if split_by in ("water", "use"):
        return f"{name} {split_by}"
    return name if split_by == "family" else f"{split_by} {name}"


def _where(split_by: str, name: str) -> str:
    """Where a group's lives ran: `in salt water`, `with part NV-4410`, `on engines of another family`."""
    is_other = name == f"other {split_by}"
    if split_by == "part":
        return "with another part" if is_other else f"with part {name}"
    if split_by == "maker":
        return "with parts by others" if is_other else f"with parts by {name}"
    if split_by == "family":
        return f"on engines of {'another family' if is_other else name}"
    return f"in {_place(split_by, name)}"

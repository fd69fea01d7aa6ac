"""An answer about a kind of item as paragraphs, in the order in which it is told."""

from __future__ import annotations

from fleetlog.life.answer import GroupLife, LifeAnswer, MakerInterval
from fleetlog.life.words import (
    comparison_in_words,
    group_in_words,
    life_in_words,
    schedule_in_words,
    tally_in_words,
    too_few_in_words,
)


def paragraphs(answer: LifeAnswer) -> list[str]:
    """What a technician reads: of all lives, of each group, of each pair, of the lives left out."""
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
    for pair in answer.pairs:
        first, second = _place(answer.split_by, pair.first), _place(answer.split_by, pair.second)
        said.append(comparison_in_words(answer.item, first, second, pair.comparison))
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

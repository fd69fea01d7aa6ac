"""An answer about a kind of item as paragraphs and as plain values, in the order in which it is told."""

from __future__ import annotations

from typing import Any

from fleetlog.life.answer import GroupLife, LifeAnswer
from fleetlog.life.figures import life_figures
from fleetlog.life.lives import LifeTally
from fleetlog.life.words import (
    age_in_words,
    comparison_in_words,
    group_in_words,
    life_in_words,
    share_in_words,
    tally_in_words,
    too_few_in_words,
)


def paragraphs(answer: LifeAnswer) -> list[str]:
    """What a technician reads: of all lives, of each group, of each pair, of the lives left out."""
    about = f"{answer.item} ({answer.about})" if answer.about else answer.item
    interval = answer.interval
    said = [_of_group(answer, answer.whole, about, interval.age if interval else None)]
    if interval is None and answer.whole.fit is not None:
        said += [
            f"At the maker's {age_in_words(i.age, answer.unit)} of the {i.schedule} schedule,"
            f" {share_in_words(answer.whole.fit.weibull.failed_share(i.age))} would have failed or been"
            " worn out."
            for i in answer.intervals
        ]
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


def answer_object(answer: LifeAnswer) -> dict[str, Any]:
    """The answer as one mapping for JSON; raises the refusal where all lives together have no fit."""
    found = _group_object(answer, answer.whole, answer.item)
    found["where"] = answer.about or None
    found["left_out"] = len(answer.whole.left_out)
    found["maker_intervals"] = [
        {"schedule": i.schedule, answer.unit: i.age, "grave": i.is_grave} for i in answer.intervals
    ]
    if answer.split_by:
        found["split_by"] = answer.split_by
        found["groups"] = [
            {"group": g.name, **(_group_object(answer, g, answer.item) if _tells(g) else _untold(g))}
            for g in answer.groups
        ]
        found["comparisons"] = [
            {
                "first": pair.first,
                "second": pair.second,
                "chi_square": pair.comparison.chi_square,
                "degrees": 2,
                "p_value": pair.comparison.p_value,
                "differ": pair.comparison.differ,
                "life_factor": pair.comparison.life_factor.value,
                "life_factor_low": _finite(pair.comparison.life_factor.low),
                "life_factor_high": _finite(pair.comparison.life_factor.high),
                "shape_p_value": pair.comparison.shape_p_value,
            }
            for pair in answer.pairs
        ]
    return found


def _of_group(answer: LifeAnswer, group: GroupLife, item: str, interval: float | None) -> str:
    if group.fit is not None:
        return life_in_words(item, group.tally, group.fit, interval)
    if group.outlasted is None:
        why = str(group.refusal)
        return f"{tally_in_words(item, group.tally)} {why[:1].upper()}{why[1:]}."
    shape = answer.stated_shape or 0.0
    return too_few_in_words(item, group.tally, group.outlasted, shape, answer.unit)


def _tells(group: GroupLife) -> bool:
    return group.fit is not None or group.outlasted is not None


def _group_object(answer: LifeAnswer, group: GroupLife, item: str) -> dict[str, Any]:
    if group.fit is not None:
        return life_figures(item, group.tally, group.fit)
    if group.outlasted is None:
        raise group.refusal or AssertionError(item)
    return {
        "item": item,
        "unit": answer.unit,
        **_counts(group.tally),
        "shape": answer.stated_shape,
        "shape_stated": True,
        f"characteristic_life_{answer.unit}": None,
        "characteristic_life_low": group.outlasted,
        "firm": False,
    }


def _untold(group: GroupLife) -> dict[str, Any]:
    return {**_counts(group.tally), "why_not": str(group.refusal)}


def _counts(tally: LifeTally) -> dict[str, Any]:
    return {
        "lives": tally.lives,
        "failed": tally.failed,
        "found_worn": tally.found_worn,
        "sound": tally.sound,
        "entered_with_age": tally.entered_with_age,
    }


def _finite(value: float) -> float | None:
    return value if 0 < value < float("inf") else None


def _place(split_by: str, name: str) -> str:
    """How a group is named in a sentence: `salt water`, `hire use`, `part NV-4410`, `other water`."""
    if name == f"other {split_by}":
        return name
    if split_by in ("water", "use"):
        return f"{name} {split_by}"
    return name if split_by == "family" else f"{split_by} {name}"

"""What the records say of lives, repairs and renewals as plain values for JSON."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from fleetlog.life.answer import GroupLife, LifeAnswer
from fleetlog.life.fit import WeibullFit
from fleetlog.life.lives import LifeTally
from fleetlog.life.profile import Limits

if TYPE_CHECKING:
    from fleetlog.life.mean_cumulative import MeanCumulativeFunction
    from fleetlog.life.recurrence import PowerLaw, TimeBetweenRepairs, Trend
    from fleetlog.life.renewal import RenewalAdvice, RenewalAge


def answer_object(answer: LifeAnswer) -> dict[str, Any]:
    """The answer as one mapping for JSON; raises the refusal where all lives together have no fit."""
    found = _group_object(answer, answer.whole, answer.item)
    found["where"] = answer.about or None
    found["left_out"] = len(answer.whole.left_out)
    found["maker_intervals"] = [
        {
            "schedule": i.schedule,
            answer.unit: i.age,
            "shortened": dict(i.shortened),
            "grave": i.is_grave,
        }
        for i in answer.intervals
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
                "p_value_of_any_pair": pair.chance,
                "differ": pair.differ,
                "life_factor": pair.comparison.life_factor.value,
                "life_factor_low": _limit(pair.comparison.life_factor.low),
                "life_factor_high": _limit(pair.comparison.life_factor.high),
                "shape_p_value": pair.comparison.shape_p_value,
            }
            for pair in answer.pairs
        ]
        found["overall"] = None if answer.overall is None else asdict(answer.overall)
    return found


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


def life_figures(item: str, tally: LifeTally, fit: WeibullFit) -> dict[str, Any]:
    """One flat mapping; lives in the unit their name ends in, null where the evidence sets no limit.

    `shape_low` and `shape_high` are the shape itself where it was stated (`shape_stated`).
    """
    figures: dict[str, Any] = {
        "item": item,
        "unit": fit.unit,
        **_counts(tally),
        "confidence": fit.confidence,
        "shape": fit.shape.value,
        "shape_low": _limit(fit.shape.low),
        "shape_high": _limit(fit.shape.high),
        "shape_stated": fit.is_shape_stated,
    }
    named: tuple[tuple[str, Limits], ...] = (
        ("characteristic_life", fit.characteristic_life),
        ("b10", fit.b10),
        ("b50", fit.b50),
    )
    for name, limits in named:
        figures[f"{name}_{fit.unit}"] = limits.value
        figures[f"{name}_low"] = _limit(limits.low)
        figures[f"{name}_high"] = _limit(limits.high)
    figures["log_likelihood"] = fit.log_likelihood
    figures["firm"] = fit.is_firm
    return figures


def _limit(value: float) -> float | None:
    return value if 0 < value < math.inf else None


def advice_object(advice: RenewalAdvice) -> dict[str, Any]:
    """What the data say beside the maker's interval; null where there is no such age or limit."""
    return {
        "maker_interval": advice.maker_interval,
        "grave": advice.is_grave,
        "advised_age": advice.advised_age,
        "data_say_longer": advice.data_say_longer,
        "sooner_pays": advice.sooner_pays,
        "cost_rate_at_maker": advice.at_maker.cost_rate,
        "failed_share_at_maker": advice.at_maker.failed_share,
        "least_cost_by_age": _renewal_age(advice.by_age),
        "least_cost_when_open": None if advice.when_open is None else _renewal_age(advice.when_open),
    }


def _renewal_age(age: RenewalAge) -> dict[str, Any]:
    return {
        "age": _finite(age.least.age),
        "cost_rate": age.least.cost_rate,
        "failed_share": age.least.failed_share,
        "within_5_percent_from": age.low,
        "within_5_percent_to": _finite(age.high),
        "run_to_failure_cost_rate": age.run_to_failure_cost_rate,
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def mean_rows(mean: MeanCumulativeFunction) -> list[dict[str, Any]]:
    """One row for each age with a repair: engines under watch, repairs, mean repairs per engine, limits.

    Null stands for limits where one engine alone is under watch, and sets none.
    """
    columns = (mean.age, mean.at_risk, mean.repairs, mean.mean, mean.se, mean.low, mean.high)
    names = ("age", "at_risk", "repairs", "mean", "se", "low", "high")
    return [
        dict(zip(names, (_number(value.item()) for value in row), strict=True))
        for row in zip(*columns, strict=True)
    ]


def _number(value: float) -> float | None:
    return None if math.isnan(value) else value


def _between_object(between: TimeBetweenRepairs) -> dict[str, Any]:
    return {
        "mean": between.mean_time.value,
        "low": between.mean_time.low,
        "high": _finite(between.mean_time.high),
        "confidence": between.confidence,
        "growth_slope": between.growth_slope,
        "lengthening": between.lengthening,
        "pairs": between.pairs,
    }


def trend_object(
    trend: Trend | None, law: PowerLaw | None, between: TimeBetweenRepairs | None
) -> dict[str, Any]:
    """The trend, the power law and a lone engine's time between repairs; null where there are too few."""
    return {
        "laplace": None if trend is None else trend.laplace,
        "laplace_p_value": None if trend is None else trend.laplace_p_value,
        "chi_square": None if trend is None else trend.chi_square,
        "chi_square_degrees": None if trend is None else trend.degrees,
        "chi_square_p_value": None if trend is None else trend.chi_square_p_value,
        "power": None if law is None else law.power,
        "scale": None if law is None else law.scale,
        "time_between_repairs": None if between is None else _between_object(between),
    }

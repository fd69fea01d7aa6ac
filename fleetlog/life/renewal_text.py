"""Advice on renewing as plain values for JSON, and the repairs of groups of engines in words."""

from __future__ import annotations

import math
from typing import Any

from fleetlog.life.mean_cumulative import MeanCumulativeFunction
from fleetlog.life.recurrence import PowerLaw, TimeBetweenRepairs, Trend
from fleetlog.life.renewal import RenewalAdvice, RenewalAge


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
    """One row for each age with a repair: engines under watch, repairs, mean repairs per engine, limits."""
    columns = (mean.age, mean.at_risk, mean.repairs, mean.mean, mean.se, mean.low, mean.high)
    names = ("age", "at_risk", "repairs", "mean", "se", "low", "high")
    return [
        dict(zip(names, (value.item() for value in row), strict=True)) for row in zip(*columns, strict=True)
    ]


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

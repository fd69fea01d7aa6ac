"""The figures of a fit under the names that scripts rely on, as plain values for JSON."""

from __future__ import annotations

import math

from fleetlog.life.fit import WeibullFit
from fleetlog.life.lives import LifeTally
from fleetlog.life.profile import Limits


def life_figures(item: str, tally: LifeTally, fit: WeibullFit) -> dict[str, object]:
    """One flat mapping; lives in the unit their name ends in, null where the evidence sets no limit.

    `shape_low` and `shape_high` are the shape itself where it was stated (`shape_stated`).
    """
    figures: dict[str, object] = {
        "item": item,
        "unit": fit.unit,
        "lives": tally.lives,
        "failed": tally.failed,
        "found_worn": tally.found_worn,
        "sound": tally.sound,
        "entered_with_age": tally.entered_with_age,
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

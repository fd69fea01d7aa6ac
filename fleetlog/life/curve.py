"""The arrays of a life's plots, so that whoever draws them only draws.

Weibull paper has log age across and log(-log(1 - share failed)) up, where the distribution is a straight
line; the arrays hold ages and shares, and `paper_height` turns a share into a height.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fleetlog.life.fit import WeibullFit
from fleetlog.life.lives import FloatArray, Unit

PAPER_SHARES = (0.001, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.632, 0.8, 0.9, 0.95, 0.99, 0.999)
"""Shares failed at which Weibull paper is ruled (common practice)."""

_BAND_POINTS = 25
_LINE_POINTS = 60
_TICKS = 8


@dataclass(frozen=True, eq=False)
class LifeCurve:
    """All that a page of plots needs; ages in `unit`, shares from 0 to 1, hazards per unit of age.

    `point_*`: failures on the paper, each halfway up its step (Turnbull: at the end of the stretch they fell
    in). `line_*`: the fitted line. `band_*`: for each share the limits of the age by which
    it has failed. `hazard_*`: the fitted hazard. `step_*`: the share still sound without assuming a
    distribution. `risk_*`: lives under watch at round ages. `remark`: what is doubtful about the steps.
    """

    unit: Unit
    confidence: float
    point_age: FloatArray
    point_failed_share: FloatArray
    line_age: FloatArray
    line_failed_share: FloatArray
    band_failed_share: FloatArray
    band_low_age: FloatArray
    band_high_age: FloatArray
    hazard_age: FloatArray
    hazard: FloatArray
    step_method: str
    step_age: FloatArray
    step_sound_share: FloatArray
    risk_age: FloatArray
    at_risk: FloatArray
    remark: str


def paper_height(failed_share: ArrayLike) -> FloatArray:
    """The height of a share (above 0, below 1) on Weibull paper, log(-log(1 - share))."""
    height: FloatArray = np.log(-np.log1p(-np.asarray(failed_share, dtype=np.float64)))
    return height


def life_curve(fit: WeibullFit) -> LifeCurve:
    """The plots of a fit and of the lives it came from."""
    from fleetlog.life.nonparametric import number_at_risk, survival_steps  # takes seconds to import

    lives, weibull = fit.lives, fit.weibull
    steps = survival_steps(lives)
    before = np.concatenate(([1.0], steps.sound_share[:-1]))
    point_share = 1 - (before + steps.sound_share) / 2
    drawable = (point_share > 0) & (point_share < 1) & (steps.age > 0)
    first = min(0.01, float(point_share[drawable].min(initial=0.01)))
    last = max(0.9, float(point_share[drawable].max(initial=0.9)))
    shares = _evenly_on_paper(first / 2, min((1 + last) / 2, 0.999), _BAND_POINTS)
    bands = [fit.life_limits(float(share)) for share in shares]
    line_shares = _evenly_on_paper(first / 2, min((1 + last) / 2, 0.999), _LINE_POINTS)
    longest = max(lives.longest, float(steps.age.max(initial=0.0)))
    hazard_age = np.linspace(longest / _LINE_POINTS, longest, _LINE_POINTS)
    ticks = _round_ages(longest)
    return LifeCurve(
        unit=fit.unit,
        confidence=fit.confidence,
        point_age=steps.age[drawable],
        point_failed_share=point_share[drawable],
        line_age=np.array([weibull.life_at(float(share)) for share in line_shares]),
        line_failed_share=line_shares,
        band_failed_share=shares,
        band_low_age=np.array([limits.low for limits in bands]),
        band_high_age=np.array([limits.high for limits in bands]),
        hazard_age=hazard_age,
        hazard=weibull.hazard(hazard_age),
        step_method=steps.method,
        step_age=steps.age,
        step_sound_share=steps.sound_share,
        risk_age=ticks,
        at_risk=number_at_risk(lives, ticks),
        remark=steps.remark,
    )


def _evenly_on_paper(first: float, last: float, points: int) -> FloatArray:
    heights = np.linspace(float(paper_height(first)), float(paper_height(last)), points)
    shares: FloatArray = -np.expm1(-np.exp(heights))
    return shares


def _round_ages(longest: float) -> FloatArray:
    """From 0 in round steps (1, 2 or 5 times a power of ten) to no more than the longest age."""
    rough = longest / _TICKS
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * m for m in (1, 2, 5, 10) if power * m >= rough)
    return np.arange(0.0, longest * (1 + 1e-12), step)

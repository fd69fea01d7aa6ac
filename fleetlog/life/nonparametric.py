"""The share still sound at each age, no distribution assumed: Kaplan-Meier, or Turnbull with intervals.

The estimates are surpyval's; here lives go in and plain arrays come out, its warnings as a remark.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from typing import Literal

import numpy as np
from surpyval.univariate.nonparametric.kaplan_meier import KaplanMeier
from surpyval.univariate.nonparametric.turnbull import Turnbull

from fleetlog.errors.life import NoFailures, WeightNotWhole
from fleetlog.life.lives import FloatArray, Lives

_STEPS = 2000
_CLOSE = 1e-8
_UNSETTLED = "the stepped line is not settled everywhere: others fit these lives as well"
_EMPTIED = "at an early age all of the few lives watched had failed: the stepped line is of no use after it"


@dataclass(frozen=True, eq=False)
class SurvivalSteps:
    """The share still sound just after each age at which failures fall; ages in the unit of the lives.

    For Turnbull an age is the end of the stretch in which the failures fall, and `failures` and `at_risk` are
    expected numbers. `remark` says what is doubtful, empty where nothing is.
    """

    method: Literal["Kaplan-Meier", "Turnbull"]
    age: FloatArray
    sound_share: FloatArray
    at_risk: FloatArray
    failures: FloatArray
    remark: str


def survival_steps(lives: Lives) -> SurvivalSteps:
    """Estimate the share still sound, ages of entry respected.

    E. L. Kaplan & P. Meier, J. Am. Stat. Assoc. 53 (1958) 457-481; B. W. Turnbull, J. R. Stat. Soc. B 38
    (1976) 290-295. Refuses lives without a failure, and weights that are no whole numbers.
    """
    exact, sound = lives.is_exact, lives.is_sound
    if sound.all():
        raise NoFailures(float(lives.weight.sum()), lives.longest, lives.unit)
    split = lives.weight != np.rint(lives.weight)
    if split.any():
        raise WeightNotWhole(float(lives.weight[split.argmax()]))
    counts = lives.weight.astype(int)
    entered = lives.entered_at if lives.entered_at.any() else None
    with_intervals = not (exact | sound).all()
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        if with_intervals:
            model = Turnbull.fit(
                xl=lives.low,
                xr=lives.high,
                n=counts,
                tl=entered,
                turnbull_estimator="Kaplan-Meier",
                tol=_CLOSE,
                max_iter=_STEPS,
            )
        else:
            model = KaplanMeier.fit(x=lives.low, c=sound.astype(int), n=counts, tl=entered)
        age = np.asarray(model.x, dtype=np.float64)
        step = np.asarray(model.d, dtype=np.float64) > 1e-9
    sound_share = np.asarray(model.R, dtype=np.float64)[step]
    remark = _UNSETTLED if with_intervals and caught else ""
    if entered is not None and (sound_share <= 0).any() and age[step][sound_share <= 0][0] < lives.longest:
        remark = _EMPTIED
    return SurvivalSteps(
        method="Turnbull" if with_intervals else "Kaplan-Meier",
        age=age[step],
        sound_share=sound_share,
        at_risk=np.asarray(model.r, dtype=np.float64)[step],
        failures=np.asarray(model.d, dtype=np.float64)[step],
        remark=remark,
    )


def number_at_risk(lives: Lives, ages: FloatArray) -> FloatArray:
    """How many lives were under watch and known to be sound at each age, ages in the unit of the lives."""
    entered, left = np.argsort(lives.entered_at), np.argsort(lives.low)
    joined = np.concatenate(([0.0], np.cumsum(lives.weight[entered])))
    gone = np.concatenate(([0.0], np.cumsum(lives.weight[left])))
    come = joined[np.searchsorted(lives.entered_at[entered], ages, side="right")]
    still: FloatArray = come - gone[np.searchsorted(lives.low[left], ages, side="left")]
    return still

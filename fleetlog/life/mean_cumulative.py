"""Mean repairs per engine by age, no law assumed; the function and its robust variance are surpyval's."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special
from surpyval.recurrent.nonparametric.mcf import NonParametricCounting

from fleetlog.errors.life import NoRepairs, ShareOutOfRange
from fleetlog.life.lives import FloatArray
from fleetlog.life.recurrence import Repairs


@dataclass(frozen=True, eq=False)
class MeanCumulativeFunction:
    """Mean repairs per engine up to each age with a repair, with standard errors and limits.

    `se` is robust (J. F. Lawless & C. Nadeau, Technometrics 37 (1995) 158-168): it holds even where some
    engines are plainly worse than others. Limits are set on the logarithm, so that none is below zero. One
    engine alone tells nothing of others: where only one is under watch `se`, `low` and `high` are no numbers.
    """

    age: FloatArray
    at_risk: NDArray[np.int64]
    repairs: NDArray[np.int64]
    mean: FloatArray
    se: FloatArray
    low: FloatArray
    high: FloatArray


def mean_cumulative_function(repairs: Repairs, confidence: float = 0.95) -> MeanCumulativeFunction:
    """Mean repairs per engine by age: W. Nelson, Technometrics 37 (1995) 147-157. Refuses no repairs."""
    if not 0 < confidence < 1:
        raise ShareOutOfRange("confidence", confidence)
    if repairs.age.size == 0:
        raise NoRepairs
    engines = np.arange(repairs.end.size)
    model = NonParametricCounting.fit(
        np.concatenate((repairs.age, repairs.end)),
        i=np.concatenate((repairs.engine, engines)),
        c=np.concatenate((np.zeros(repairs.age.size, int), np.ones(engines.size, int))),
        tl=repairs.start,
    )
    with_repairs = np.asarray(model.d) > 0
    mean, variance = (np.asarray(a, dtype=np.float64)[with_repairs] for a in (model.mcf_hat, model.var))
    at_risk = np.asarray(model.r)[with_repairs].astype(np.int64)
    se = np.where(at_risk > 1, np.sqrt(variance), np.nan)
    factor = np.exp(special.ndtri((1 + confidence) / 2) * se / mean)
    return MeanCumulativeFunction(
        age=np.asarray(model.x, dtype=np.float64)[with_repairs],
        at_risk=at_risk,
        repairs=np.asarray(model.d)[with_repairs].astype(np.int64),
        mean=mean,
        se=se,
        low=mean / factor,
        high=mean * factor,
    )

"""Work that recurs: repairs of many engines by age, and whether they become more frequent.

The trend tests and the power law are the textbook's closed forms and one equation. Repairs per engine without
assuming a law are in `mean_cumulative`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize, special

from fleetlog.errors.life import (
    RepairsDisagreeInNumber,
    RepairsOutsideWatch,
    RepairsTellNoTrend,
    TooFewRepairs,
    WatchIsEmpty,
)
from fleetlog.life.lives import FloatArray
from fleetlog.life.profile import Limits

FEWEST_REPAIRS = 4
"""Laplace's statistic is near normal from four events on (NIST/SEMATECH e-Handbook, 8.2.3.4)."""


@dataclass(frozen=True, eq=False)
class Repairs:
    """Repairs of many engines by age, checked once when made; ages in one unit throughout.

    Engine i was watched above `start[i]`, up to and including `end[i]`; repair j befell `engine[j]` at
    `age[j]`. Refuses engines watched for no time and repairs outside the watch.
    """

    start: FloatArray
    end: FloatArray
    engine: NDArray[np.int64]
    age: FloatArray

    def __post_init__(self) -> None:
        start, end, age = (np.array(a, dtype=np.float64) for a in (self.start, self.end, self.age))
        engine = np.array(self.engine, dtype=np.int64)
        if start.size != end.size:
            raise RepairsDisagreeInNumber("ends of watch", end.size, start.size)
        if engine.size != age.size:
            raise RepairsDisagreeInNumber("engines of repairs", engine.size, age.size)
        empty = ~((end > start) & (start >= 0) & np.isfinite(end))
        if empty.any():
            row = int(empty.argmax())
            raise WatchIsEmpty(row, start[row], end[row])
        outside = ~((age > start[engine]) & (age <= end[engine]))
        if outside.any():
            row = int(outside.argmax())
            raise RepairsOutsideWatch(int(engine[row]), age[row], start[engine[row]], end[engine[row]])
        order = np.lexsort((age, engine))
        for name, array in zip(
            ("start", "end", "engine", "age"), (start, end, engine[order], age[order]), strict=True
        ):
            array.setflags(write=False)
            object.__setattr__(self, name, array)

    @classmethod
    def of_engines(cls, ages: Sequence[ArrayLike], end: ArrayLike, start: ArrayLike | None = None) -> Repairs:
        """Repairs from one array of ages for each engine; watched from new where no start is given."""
        rows = [np.asarray(a, dtype=np.float64).ravel() for a in ages]
        ends = np.asarray(end, dtype=np.float64)
        if len(rows) != ends.size:
            raise RepairsDisagreeInNumber("engines with ages", len(rows), ends.size)
        starts = np.zeros(ends.size) if start is None else np.asarray(start, dtype=np.float64)
        engine = np.repeat(np.arange(len(rows)), [row.size for row in rows])
        return cls(starts, ends, engine, np.concatenate(rows) if rows else np.empty(0))


@dataclass(frozen=True, slots=True)
class Trend:
    """Whether repairs become more frequent with age.

    `laplace` is near standard normal without a trend, above zero where repairs become more frequent.
    `chi_square` on `degrees` is the test against a power law, small where they do. Both p-values are
    two-sided.
    """

    repairs: int
    laplace: float
    laplace_p_value: float
    chi_square: float
    degrees: int
    chi_square_p_value: float


def repair_trend(repairs: Repairs) -> Trend:
    """Laplace's test and the military handbook's, over all engines, each watched to its own end.

    NIST/SEMATECH e-Handbook, 8.2.3.4; pooled over engines as in L. J. Bain & M. Engelhardt, Statistical
    Analysis of Reliability and Life-Testing Models (1991). The chi-square counts repairs of engines watched
    from new. Refuses fewer than FEWEST_REPAIRS repairs.
    """
    n = repairs.age.size
    if n < FEWEST_REPAIRS:
        raise TooFewRepairs(n, FEWEST_REPAIRS)
    start, end = repairs.start[repairs.engine], repairs.end[repairs.engine]
    laplace = float((repairs.age - (start + end) / 2).sum() / math.sqrt(((end - start) ** 2).sum() / 12))
    from_new = start == 0
    chi_square = 2 * float(np.log(end[from_new] / repairs.age[from_new]).sum())
    degrees = 2 * int(from_new.sum())
    below = float(special.chdtr(degrees, chi_square)) if degrees else 0.5
    return Trend(
        repairs=n,
        laplace=laplace,
        laplace_p_value=float(2 * special.ndtr(-abs(laplace))),
        chi_square=chi_square,
        degrees=degrees,
        chi_square_p_value=2 * min(below, 1 - below),
    )


@dataclass(frozen=True, slots=True)
class PowerLaw:
    """Repairs expected by an age, (age / scale) ** power: more frequent with age where power is above 1."""

    power: float
    scale: float
    repairs: int

    def expected(self, age: float) -> float:
        """Repairs of one engine expected from new to an age."""
        return float((age / self.scale) ** self.power)

    def per_unit(self, age: float) -> float:
        """Repairs per unit of age at an age above zero."""
        return float(self.power / self.scale * (age / self.scale) ** (self.power - 1))


def fit_power_law(repairs: Repairs) -> PowerLaw:
    """Crow's maximum likelihood over all engines, each watched from its own start to its own end.

    L. H. Crow, Reliability and Biometry (1974) 379-410. Refuses fewer than FEWEST_REPAIRS repairs.
    """
    n = repairs.age.size
    if n < FEWEST_REPAIRS:
        raise TooFewRepairs(n, FEWEST_REPAIRS)
    unit = float(repairs.end.max())
    log_age_sum = float(np.log(repairs.age / unit).sum())
    end, start = repairs.end / unit, repairs.start / unit
    log_end, log_start = np.log(end), np.log(np.where(start > 0, start, 1.0))

    def slope(log_power: float) -> float:
        power = math.exp(log_power)
        begun = np.where(start > 0, start**power, 0.0)
        exposure = float((end**power - begun).sum())
        weighted = float((end**power * log_end - begun * log_start).sum())
        return 1 + power * (log_age_sum / n - weighted / exposure)

    flattest, steepest = math.log(1e-3), math.log(1e3)
    if not slope(flattest) > 0 > slope(steepest):
        raise RepairsTellNoTrend(n)
    power = math.exp(optimize.brentq(slope, flattest, steepest, xtol=1e-13))
    exposure = float((end**power - np.where(start > 0, start**power, 0.0)).sum())
    return PowerLaw(power, unit * (n / exposure) ** (-1 / power), n)


@dataclass(frozen=True, slots=True)
class TimeBetweenRepairs:
    """One engine's growth slope and the mean time between repairs at the end of its watch, with limits.

    Of the pairs of times between its repairs, `lengthening` have the later one longer: half without a trend,
    more where repairs become rarer (NIST/SEMATECH e-Handbook, 8.2.3.4).
    """

    growth_slope: float
    mean_time: Limits
    confidence: float
    lengthening: int
    pairs: int


def time_between_repairs(ages: ArrayLike, end: float, confidence: float = 0.8) -> TimeBetweenRepairs:
    """The handbook's modified estimate for one engine watched from new to an end, not stopped at a repair.

    NIST/SEMATECH e-Handbook, 8.4.5.2: the slope is 1 - (r - 1) / sum of log(end / age), and the limits
    are the normal approximations there. Refuses fewer than FEWEST_REPAIRS repairs.
    """
    one = Repairs.of_engines([ages], [end])
    r = one.age.size
    if r < FEWEST_REPAIRS:
        raise TooFewRepairs(r, FEWEST_REPAIRS)
    log_sum = float(np.log(end / one.age).sum())
    if log_sum == 0:
        raise RepairsTellNoTrend(r)
    power = (r - 1) / log_sum
    mean_time = end / (r * power)
    z2 = float(special.ndtri((1 + confidence) / 2)) ** 2
    low = r * (r - 1) / (r + z2 / 4 + math.sqrt(r * z2 / 2 + z2 * z2 / 16)) ** 2
    reach = r - math.sqrt(r * z2 / 2)
    high = r * (r - 1) / reach**2 if reach > 0 else math.inf
    gaps = np.diff(one.age, prepend=0.0)
    lengthening = int(np.triu(gaps[:, None] < gaps[None, :], k=1).sum())
    return TimeBetweenRepairs(
        1 - power,
        Limits(mean_time, mean_time * low, mean_time * high),
        confidence,
        lengthening,
        r * (r - 1) // 2,
    )

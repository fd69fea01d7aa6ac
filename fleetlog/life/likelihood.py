"""The Weibull likelihood of lives, with its slopes and curvatures, quick enough for a million lives.

With x the logarithm of age about a centre, the logarithm of the cumulative hazard is the straight line
a + b x: b is the shape, and the characteristic life is where the line crosses zero. Without ages of entry
the log-likelihood is concave in (a, b) (J. Burridge, Biometrika 69 (1982) 465-466, for grouped lives).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple, Self

import numpy as np

from fleetlog.life.lives import FloatArray, Lives

_BLOCK = 1 << 13  # so many lives at once stay in the cache, and below where products wake other threads
_HIGHEST_EXPONENT = 300.0  # beyond it nothing survives, and squares would overflow
_LEAST_HAZARD = 1e-120  # within an interval; below it squares would underflow


class Slopes(NamedTuple):
    """The log-likelihood at one (a, b) with its first and second derivatives."""

    value: float
    a: float
    b: float
    aa: float
    ab: float
    bb: float


@dataclass(frozen=True, eq=False)
class Evidence:
    """Lives arranged for the likelihood: straight terms, hazard terms and interval terms.

    Each life is a sum of cumulative hazards at ages with a sign (+ where it was seen alive or ended, - where
    watching began), for an exact end the logarithm of the hazard, and for an interval that of the chance of
    ending in it once it began.
    """

    log_centre: float
    exact_weight: float
    exact_x_sum: float
    exact_log_age_sum: float
    hazard_x: FloatArray
    hazard_sign: FloatArray
    interval_x: FloatArray  # of the high end
    interval_low_x: FloatArray  # of the low end, 0 where that is age 0
    interval_step: FloatArray  # between them, infinite where the low end is age 0
    interval_weight: FloatArray

    @classmethod
    def of(cls, lives: Lives) -> Self:
        """Arrange lives of which at least one has failed; the centre is the failures' mean log age."""
        exact, sound = lives.is_exact, lives.is_sound
        ended = ~(exact | sound)
        weight = lives.weight
        with np.errstate(divide="ignore"):
            log_low, log_entered = np.log(lives.low), np.log(lives.entered_at)
        log_high = np.log(lives.high[ended])
        exact_weight, interval_weight = weight[exact], weight[ended]
        exact_log_age_sum = float((exact_weight * log_low[exact]).sum())
        # half of an interval is as near as a guess needs to be: only the conditioning hangs on the centre
        guess = log_high + np.log((1 + np.exp(log_low[ended] - log_high)) / 2)
        failures = float(exact_weight.sum() + interval_weight.sum())
        centre = (exact_log_age_sum + float((interval_weight * guess).sum())) / failures
        step = log_high - log_low[ended]
        seen, entered = lives.low > 0, lives.entered_at > 0
        return cls(
            log_centre=centre,
            exact_weight=float(exact_weight.sum()),
            exact_x_sum=exact_log_age_sum - centre * float(exact_weight.sum()),
            exact_log_age_sum=exact_log_age_sum,
            hazard_x=np.concatenate((log_low[seen], log_entered[entered])) - centre,
            hazard_sign=np.concatenate((weight[seen], -weight[entered])),
            interval_x=log_high - centre,
            interval_low_x=np.where(np.isfinite(step), log_low[ended] - centre, 0.0),
            interval_step=step,
            interval_weight=interval_weight,
        )

    @property
    def failures(self) -> float:
        """The weight of all lives that ended."""
        return self.exact_weight + float(self.interval_weight.sum())

    def slopes(self, a: float, b: float) -> Slopes:
        """The log-likelihood and its derivatives at a line of intercept a and slope b > 0."""
        n = self.exact_weight
        value = n * (np.log(b) + a) + b * self.exact_x_sum - self.exact_log_age_sum if n else 0.0
        sums = np.array(
            [value, n, (n / b if n else 0.0) + self.exact_x_sum, 0.0, 0.0, -n / b**2], dtype=np.float64
        )
        for start in range(0, self.hazard_x.size, _BLOCK):
            block = slice(start, start + _BLOCK)
            sums -= _hazard_sums(a, b, self.hazard_x[block], self.hazard_sign[block])
        for start in range(0, self.interval_x.size, _BLOCK):
            block = slice(start, start + _BLOCK)
            sums += _interval_sums(
                a,
                b,
                self.interval_x[block],
                self.interval_low_x[block],
                self.interval_step[block],
                self.interval_weight[block],
            )
        return Slopes(*sums.tolist())


def _hazard_sums(a: float, b: float, x: FloatArray, sign: FloatArray) -> FloatArray:
    """Sums over H = exp(a + b x) and its derivatives."""
    z = b * x
    z += a
    np.minimum(z, _HIGHEST_EXPONENT, out=z)
    np.exp(z, out=z)
    z *= sign
    zx = z * x
    total, first, second = float(z.sum()), float(zx.sum()), float(zx @ x)
    return np.array([total, total, first, total, first, second])


def _interval_sums(
    a: float, b: float, x: FloatArray, low_x: FloatArray, step: FloatArray, weight: FloatArray
) -> FloatArray:
    """Sums over log(1 - exp(-d)) and its derivatives, d the hazard gathered within the interval."""
    high = np.exp(np.minimum(a + b * x, _HIGHEST_EXPONENT))
    fallen = np.expm1(-b * step)  # 0 to -1: how far the hazard at the low end falls short
    low = high * (1 + fallen)
    d = np.maximum(-high * fallen, _LEAST_HAZARD)
    surviving = np.expm1(-d)
    odds = (1 + surviving) / -surviving
    d_b = high * x - low * low_x
    d_bb = high * x * x - low * low_x * low_x
    first = weight * odds
    curved = -first * (1 + odds)
    from_d = float(first @ d)
    from_d_b = float(first @ d_b)
    return np.array(
        [
            weight @ np.log(-surviving),
            from_d,
            from_d_b,
            curved @ (d * d) + from_d,
            curved @ (d * d_b) + from_d_b,
            curved @ (d_b * d_b) + first @ d_bb,
        ]
    )

"""The chance that an engine has reached given hours once its seasonal clock has run so far.

Given its rate, the hours run over the seasonal clock are a gamma process: mean m, variance dispersion x m
(hours), so that hours h are reached with the chance that a gamma variable of shape m / dispersion exceeds
h / dispersion. The rate is known by its logarithm, with a mean that fades into the engine's own level and a
variance that grows as the clock runs on.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from fleetlog.forecast.intervals import over_kinds

Floats = NDArray[np.float64]

LEAST_HOURS = 1e-3


class RateBeliefs(NamedTuple):
    """Rows of engines: per kind of season its chance, and mean and variance of the logarithm of hours a day.

    The engine's own level over the years has `level_mean` (rows x kinds) and `level_variance`; rates depart
    from it with `year_variance`, of which `forgetting` is lost per day of the clock, and the level itself
    wanders by `drift` (variance per day). `dispersion` is the hours of a burst.
    """

    chance: Floats
    mean: Floats
    variance: Floats
    level_mean: Floats
    level_variance: Floats
    year_variance: Floats
    drift: Floats
    forgetting: Floats
    dispersion: Floats

    def rows(self, chosen: NDArray[np.int64]) -> RateBeliefs:
        """The beliefs of the chosen rows."""
        return RateBeliefs(*(of_all[chosen] for of_all in self))

    @classmethod
    def together(cls, parts: Sequence[RateBeliefs]) -> RateBeliefs:
        """The rows of all parts, one after the other."""
        return parts[0] if len(parts) == 1 else cls(*map(np.concatenate, zip(*parts, strict=True)))

    def averaged(self, clock_days: Floats) -> tuple[Floats, Floats]:
        """Mean and variance (rows x kinds) of the logarithm of the rate, averaged over so much clock.

        The rate's logarithm is taken for an Ornstein-Uhlenbeck process about the engine's own level, starting
        from what is believed now; these are the moments of its average over an interval. What is not known of
        the start and of the level is taken to err to the same side.
        """
        clock = np.maximum(over_kinds(self.chance, clock_days), 0.0)
        span = np.maximum(clock * self.forgetting, 1e-4)
        share = np.expm1(-span) / -span
        later, square = 1 - share, share * share
        fresh = np.where(span < 0.02, 2 * span / 3, 2 * later / span - square)
        mean = self.level_mean * later[:, None] + self.mean * share[:, None]
        level = later * later * self.level_variance
        alike = np.minimum(self.variance, self.level_variance[:, None])
        variance = square[:, None] * self.variance + (2 * share * later)[:, None] * alike
        variance = variance + (level + self.year_variance * fresh + self.drift * clock / 3)[:, None]
        return mean, variance


def reached_chance(
    beliefs: RateBeliefs, clock_days: Floats, hours: Floats, even: Floats | None = None
) -> Floats:
    """The chance (one a row) that `hours` more are reached within the clocks (rows x kinds) run so far.

    The gamma tail by Wilson and Hilferty's cube root (Proc. Natl. Acad. Sci. 17, 1931, 684-688), the rate's
    spread by the probit of a normal mixture along the line from the mean to where the chance is one half.
    `even` are the `even_odds_hours` where they are known already.
    """
    mean, variance = beliefs.averaged(clock_days)
    log_hours = mean + np.log(np.maximum(clock_days, 1e-6))
    burst = beliefs.dispersion[:, None]
    need = np.maximum(hours, LEAST_HOURS)[:, None]
    even = even_odds_hours(need, burst) if even is None else even
    away = log_hours - np.log(even)
    chord = np.copysign(np.maximum(np.abs(away), 1e-3), away)
    expected = np.exp(chord) * even
    score = 3 * np.sqrt(expected / burst) * (1 - burst / (9 * expected) - np.cbrt(need / expected))
    spread = np.sqrt(variance + (chord / np.maximum(np.abs(score), 1e-6)) ** 2)
    return over_kinds(beliefs.chance, ndtr(away / spread))


def even_odds_hours(need: Floats, burst: Floats) -> Floats:
    """The mean hours at which `need` are reached with even odds, by the same cube root.

    As its score is zero just there, the chance falls with the hours needed, however few bursts they
    take. With x the mean in bursts, y its cube root and c the cube root of the bursts needed,
    y^3 - c y^2 = 1/9, of which Cardano's formula gives the one real root.
    """
    bursts = need / burst
    root, cube = np.cbrt(bursts), bursts / 27
    more = np.cbrt(cube + 1 / 18 + np.sqrt((2 * cube + 1 / 18) / 18))
    found: Floats = burst * (root / 3 + more + root * root / (9 * more)) ** 3
    return found

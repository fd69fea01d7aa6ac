"""Whether two groups of lives differ, and by what factor: does salt shorten it?"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import reduce

from scipy import optimize, special

from fleetlog.errors.life import LivesInDifferentUnits
from fleetlog.life.fit import WeibullFit, fit_weibull
from fleetlog.life.lives import Lives
from fleetlog.life.profile import Limits

SIGNIFICANT = 0.05
"""Below this chance of so great a difference between like groups, they differ (common practice)."""

_FARTHEST = 12.0  # in logarithms of the factor between two lives


@dataclass(frozen=True, eq=False)
class Comparison:
    """Two groups fitted apart and together.

    `chi_square` on 2 degrees of freedom and `p_value`: the likelihood-ratio test of one distribution for both
    against one each. `life_factor`: the first group's life as a multiple of the second's where both have one
    shape, with limits by profile likelihood; `shape_p_value` tests whether one shape will do (1 degree).
    """

    first: WeibullFit
    second: WeibullFit
    together: WeibullFit
    chi_square: float
    p_value: float
    life_factor: Limits
    shape_p_value: float


@dataclass(frozen=True, slots=True)
class Overall:
    """Several groups fitted apart and all together, by likelihood ratio: do they differ at all?"""

    chi_square: float
    degrees: int
    p_value: float

    @property
    def differ(self) -> bool:
        """Whether such great differences would be rare among like groups."""
        return self.p_value < SIGNIFICANT


def compare_all(groups: Sequence[Lives]) -> Overall:
    """Compare groups in one unit all at once; refuses whatever `fit_weibull` refuses of any, or of all."""
    apart = sum(fit_weibull(group).log_likelihood for group in groups)
    together = fit_weibull(reduce(Lives.joined, groups)).log_likelihood
    chi_square, degrees = max(0.0, 2 * (apart - together)), 2 * (len(groups) - 1)
    return Overall(chi_square, degrees, float(special.chdtrc(degrees, chi_square)))


def adjusted(p_values: Sequence[float]) -> list[float]:
    """The chance of each difference among so many compared: S. Holm, Scand. J. Stat. 6 (1979) 65-70."""
    found, least = dict.fromkeys(range(len(p_values)), 1.0), 0.0
    for rank, place in enumerate(sorted(found, key=lambda i: p_values[i])):
        least = max(least, min(1.0, p_values[place] * (len(p_values) - rank)))
        found[place] = least
    return list(found.values())


def compare_groups(first: Lives, second: Lives, confidence: float = 0.95) -> Comparison:
    """Compare two groups by likelihood ratio (Meeker & Escobar, 1998, sections 8.3 and 17.3).

    Refuses groups in different units, and whatever `fit_weibull` refuses of either.
    """
    if first.unit != second.unit:
        raise LivesInDifferentUnits(first.unit, second.unit)
    fits = fit_weibull(first, confidence), fit_weibull(second, confidence)
    together = fit_weibull(first.joined(second), confidence)
    apart = fits[0].log_likelihood + fits[1].log_likelihood
    chi_square = max(0.0, 2 * (apart - together.log_likelihood))
    one_shape = _one_shape(first, second)
    start = math.log(fits[0].weibull.life_at(0.5) / fits[1].weibull.life_at(0.5))
    found = optimize.minimize_scalar(
        lambda log_factor: -one_shape(log_factor), bracket=(start - 0.05, start + 0.05), tol=1e-8
    )
    log_factor, top = float(found.x), -float(found.fun)
    target = top - float(special.chdtri(1, 1 - confidence)) / 2
    low, high = (_crossing(one_shape, target, log_factor, sign) for sign in (-1.0, 1.0))
    return Comparison(
        first=fits[0],
        second=fits[1],
        together=together,
        chi_square=chi_square,
        p_value=float(special.chdtrc(2, chi_square)),
        life_factor=Limits(math.exp(log_factor), math.exp(low), math.exp(high)),
        shape_p_value=float(special.chdtrc(1, max(0.0, 2 * (apart - top)))),
    )


def _one_shape(first: Lives, second: Lives) -> Callable[[float], float]:
    """The highest likelihood with one shape, by the log of the factor between the lives.

    With one shape the second group's ages times that factor follow the first group's distribution; the
    densities of exact ends change by the factor too.
    """
    exact_weight = float(second.weight[second.is_exact].sum())

    def highest(log_factor: float) -> float:
        pooled = fit_weibull(first.joined(second.scaled(math.exp(log_factor))))
        return pooled.log_likelihood + exact_weight * log_factor

    return highest


def _crossing(profile: Callable[[float], float], target: float, top: float, sign: float) -> float:
    step = 0.1
    while profile(top + sign * step) > target:
        step *= 2
        if step > _FARTHEST:
            return math.copysign(math.inf, sign)
    return float(optimize.brentq(lambda at: profile(at) - target, top, top + sign * step, xtol=1e-9))

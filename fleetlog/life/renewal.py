"""When to renew an item: the age of least cost per hour, how flat it is, and the risk carried till then.

Ages and costs per unit of age are in the unit of the distribution (hours or months), costs in one currency.
What the data say stops at the maker's interval: see `advise_renewal`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy import integrate, optimize

from fleetlog.errors.life import CostNotPositive, IntervalNotPositive
from fleetlog.life.weibull import Weibull

NEAR_LEAST = 0.05
"""Ages whose cost is within this share of the least count as just as good."""

_SOONEST, _LATEST = 1e-11, 1e4  # characteristic lives; an optimum beyond them is at once, or none


@dataclass(frozen=True, slots=True)
class RenewalCosts:
    """What a renewal costs when planned, and when forced by a failure (the wreck, the tow, the lost day)."""

    planned: float
    failure: float

    def __post_init__(self) -> None:
        for what, cost in (("planned renewal", self.planned), ("failure", self.failure)):
            if not (math.isfinite(cost) and cost > 0):
                raise CostNotPositive(what, cost)


@dataclass(frozen=True, slots=True)
class RenewalAt:
    """What renewing at one age means: cost per unit of age, and the chance of failing before."""

    age: float
    cost_rate: float
    failed_share: float


@dataclass(frozen=True, slots=True)
class RenewalAge:
    """The age of least cost, and the ages between which the cost is within NEAR_LEAST of it.

    `least` has an infinite age where no renewal pays (running to failure costs least), and the range then
    begins where running on is as good. `high` is infinite where waiting longer never costs much more.
    """

    least: RenewalAt
    low: float
    high: float
    run_to_failure_cost_rate: float

    @property
    def is_finite(self) -> bool:
        """Whether renewing by age pays at all."""
        return math.isfinite(self.least.age)


def renewal_cost_rate(life: Weibull, costs: RenewalCosts, age: float) -> float:
    """Cost per unit of age of renewing at `age`, or at failure where that comes first.

    R. E. Barlow & L. Hunter, Operations Research 8 (1960) 90-100. Refuses an age not above zero.
    """
    if not age > 0:
        raise IntervalNotPositive("age at renewal", age)
    failed = life.failed_share(age)
    return (costs.planned * (1 - failed) + costs.failure * failed) / life.mean_life_to(age)


def renew_by_age(life: Weibull, costs: RenewalCosts) -> RenewalAge:
    """The age of least cost; infinite for a shape of 1 or less, or a plan no cheaper than failure.

    At the optimum hazard × mean age at renewal - share failed = planned / (failure - planned), whose left
    side rises with age where the shape is above 1.
    """
    run_on = costs.failure / life.mean_life()

    def cost_rate(age: float) -> float:
        return renewal_cost_rate(life, costs, age)

    best = math.inf
    if life.shape > 1 and costs.planned < costs.failure:
        wanted = costs.planned / (costs.failure - costs.planned)

        def excess(log_age: float) -> float:
            age = math.exp(log_age) * life.characteristic_life
            return float(life.hazard(age)) * life.mean_life_to(age) - life.failed_share(age) - wanted

        best = _log_root(excess, life)
    return _with_range(life, cost_rate, best, run_on)


def renew_when_open(life: Weibull, costs: RenewalCosts, spacing: float) -> RenewalAge:
    """The age from which to renew whenever access is open anyway, `planned` the cost of doing it then.

    Openings come at chance, on average every `spacing` (same unit): R. Dekker & M. C. Dijkstra, Naval
    Research Logistics 39 (1992) 689-703. The failed share is that before renewal, the wait for an opening
    included. A least age of 0: at every opening.
    """
    _check_spacing(spacing)
    run_on = costs.failure / life.mean_life()

    def cost_rate(age: float) -> float:
        return _open_cost_rate(life, costs, spacing, age)

    best = math.inf
    if life.shape > 1 and costs.planned < costs.failure:
        scale = life.characteristic_life

        def slope(log_age: float) -> float:
            """The optimum's equation: the marginal cost at the next opening against the mean."""
            age = math.exp(log_age) * scale
            return (costs.failure - costs.planned) * _hazard_awaited(life, spacing, age) - cost_rate(age)

        best = _log_root(slope, life)
    return _with_range(life, cost_rate, best, run_on, lambda age: 1 - _renewed_open(life, spacing, age))


@dataclass(frozen=True, slots=True)
class RenewalAdvice:
    """What the records say of the maker's interval, and where they stop.

    `advised_age` is never beyond the maker's interval: the age of least cost where that is sooner, else the
    maker's. For a grave item (its failure wrecks an engine or endangers people) nothing is advised, only
    `sooner_pays` is said: cost is no measure there. `data_say_longer`: the least cost lies beyond the maker's
    interval; the maker's manual governs all the same.
    """

    by_age: RenewalAge
    when_open: RenewalAge | None
    at_maker: RenewalAt
    maker_interval: float
    is_grave: bool
    data_say_longer: bool
    sooner_pays: bool
    advised_age: float | None


def advise_renewal(
    life: Weibull,
    costs: RenewalCosts,
    maker_interval: float,
    *,
    is_grave: bool,
    opening_cost: float | None = None,
    opening_spacing: float | None = None,
) -> RenewalAdvice:
    """Set what the data say beside the maker's interval, all in the unit of `life`.

    `opening_cost` and `opening_spacing`: what renewing costs while access is open anyway, and how far apart
    such openings are; without both nothing is said of them.
    """
    if not (math.isfinite(maker_interval) and maker_interval > 0):
        raise IntervalNotPositive("maker's interval", maker_interval)
    by_age = renew_by_age(life, costs)
    when_open = None
    if opening_cost is not None and opening_spacing is not None:
        when_open = renew_when_open(life, RenewalCosts(opening_cost, costs.failure), opening_spacing)
    at_maker = RenewalAt(
        maker_interval, renewal_cost_rate(life, costs, maker_interval), life.failed_share(maker_interval)
    )
    sooner = by_age.high < maker_interval
    return RenewalAdvice(
        by_age=by_age,
        when_open=when_open,
        at_maker=at_maker,
        maker_interval=maker_interval,
        is_grave=is_grave,
        data_say_longer=by_age.low > maker_interval,
        sooner_pays=sooner,
        advised_age=None if is_grave else min(by_age.least.age, maker_interval) if sooner else maker_interval,
    )


def _check_spacing(spacing: float) -> None:
    if not (math.isfinite(spacing) and spacing > 0):
        raise IntervalNotPositive("spacing of openings", spacing)


def _log_root(function: Callable[[float], float], life: Weibull) -> float:
    """The age at which a function of log(age / characteristic life) rises past 0; 0 or infinite if none."""
    lowest = math.log(_SOONEST)
    if function(lowest) >= 0:
        return 0.0
    highest = 1.0
    while function(highest) < 0:
        highest += 1.0
        if highest > math.log(_LATEST):
            return math.inf
    return float(math.exp(optimize.brentq(function, lowest, highest, xtol=1e-14)) * life.characteristic_life)


def _with_range(
    life: Weibull,
    cost_rate: Callable[[float], float],
    best: float,
    run_on: float,
    failed_share: Callable[[float], float] | None = None,
) -> RenewalAge:
    """The ages on both sides at which the cost exceeds the least by NEAR_LEAST."""
    failed_share = failed_share or life.failed_share
    tiny = life.characteristic_life * 1e-6
    last = life.life_at(1 - 1e-12)
    if math.isfinite(best):
        least = RenewalAt(best, cost_rate(max(best, tiny)), failed_share(best))
    else:
        least = RenewalAt(math.inf, run_on, 1.0)
    limit = least.cost_rate * (1 + NEAR_LEAST)
    top = min(best, last)
    low = 0.0
    if top > tiny and cost_rate(tiny) > limit:
        low = float(optimize.brentq(lambda age: cost_rate(age) - limit, tiny, top, xtol=1e-9 * top))
    high = math.inf
    if best < last and cost_rate(last) > limit:
        start = max(best, tiny)
        high = float(optimize.brentq(lambda age: cost_rate(age) - limit, start, last, xtol=1e-9 * last))
    return RenewalAge(least, low, high, run_on)


def _survives_wait(life: Weibull, spacing: float, age: float) -> float:
    """The chance that an item sound at `age` is so still at the next opening.

    Waits are weighed by the sooner of an opening and of the item's end, as nearly all of it may lie within
    the little that a worn item still lasts.
    """
    begun = life.cumulative_hazard(age)

    def further(wait: float) -> float:
        """The cumulative hazard of a wait; as a difference it would be nothing at high age."""
        if begun < 1:
            return life.cumulative_hazard(age + wait) - begun
        with np.errstate(over="ignore"):
            return float(begun * np.expm1(life.shape * math.log1p(wait / age)))

    ends = 1 / _lasts(life, age) if life.shape > 1 else 0.0
    sooner = 1 / spacing + ends

    def weighed(share: float) -> float:
        wait = -math.log(share) / sooner
        return math.exp(wait * ends - further(wait))

    found, _ = integrate.quad(weighed, 0.0, 1.0, epsabs=1e-13, epsrel=1e-10, limit=200)
    return float(found) / (spacing * sooner)


def _lasts(life: Weibull, age: float) -> float:
    """How long an item sound at `age` runs until one failure is to be expected."""
    begun = life.cumulative_hazard(age)
    if begun < 1:
        return float(life.characteristic_life * (begun + 1) ** (1 / life.shape) - age)
    return float(age * math.expm1(math.log1p(1 / begun) / life.shape))


def _renewed_open(life: Weibull, spacing: float, age: float) -> float:
    """The share that reaches an opening after `age`."""
    return (1 - life.failed_share(age)) * _survives_wait(life, spacing, age)


def _hazard_awaited(life: Weibull, spacing: float, age: float) -> float:
    """The mean hazard at the next opening of an item sound at `age`, of those that are sound at it.

    By parts, the failures during the wait against the openings that are met.
    """
    survives = _survives_wait(life, spacing, age)
    return (1 - survives) / (spacing * survives)


def _open_cost_rate(life: Weibull, costs: RenewalCosts, spacing: float, age: float) -> float:
    renewed = _renewed_open(life, spacing, age)
    spent = costs.planned * renewed + costs.failure * (1 - renewed)
    return spent / (life.mean_life_to(age) + spacing * renewed)

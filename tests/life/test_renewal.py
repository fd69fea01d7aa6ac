"""Ages at renewal: against integration, against simulation, and never beyond the maker's interval."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize

from fleetlog.errors.life import CostNotPositive, IntervalNotPositive
from fleetlog.life.renewal import (
    NEAR_LEAST,
    RenewalCosts,
    advise_renewal,
    renew_by_age,
    renew_when_open,
    renewal_cost_rate,
)
from fleetlog.life.weibull import Weibull

WEAR = Weibull(2.5, 1000)
COSTS = RenewalCosts(planned=1, failure=5)


@settings(deadline=None)
@given(shape=st.floats(1.2, 6), ratio=st.floats(1.5, 100), age_share=st.floats(0.05, 3))
def test_the_cost_rate_is_the_integral_and_none_is_below_the_least(
    shape: float, ratio: float, age_share: float
) -> None:
    life, costs = Weibull(shape, 800), RenewalCosts(10, 10 * ratio)
    age = 800 * age_share
    sound, _ = integrate.quad(lambda t: math.exp(-((t / 800) ** shape)), 0, age, epsrel=1e-10)
    failed = -math.expm1(-((age / 800) ** shape))
    expected = (10 * (1 - failed) + 10 * ratio * failed) / sound
    assert renewal_cost_rate(life, costs, age) == pytest.approx(expected, rel=1e-7)
    assert renew_by_age(life, costs).least.cost_rate <= expected * (1 + 1e-9)


@settings(deadline=None)
@given(shape=st.floats(1.5, 6), ratio=st.floats(3, 100))
def test_at_the_ends_of_the_range_the_cost_is_five_per_cent_above_the_least(
    shape: float, ratio: float
) -> None:
    life, costs = Weibull(shape, 800), RenewalCosts(10, 10 * ratio)
    found = renew_by_age(life, costs)
    limit = found.least.cost_rate * (1 + NEAR_LEAST)
    assert renewal_cost_rate(life, costs, found.low) == pytest.approx(limit, rel=1e-6)
    if math.isfinite(found.high):
        assert renewal_cost_rate(life, costs, found.high) == pytest.approx(limit, rel=1e-6)
    else:
        assert found.run_to_failure_cost_rate <= limit * (1 + 1e-9)
    assert found.low < found.least.age < found.high


@pytest.mark.parametrize(
    ("shape", "planned", "failure"), [(1.0, 1, 5), (0.7, 1, 5), (2.5, 5, 5), (2.5, 6, 5)]
)
def test_without_wear_or_gain_no_age_is_best(shape: float, planned: float, failure: float) -> None:
    life, costs = Weibull(shape, 1000), RenewalCosts(planned, failure)
    found = renew_by_age(life, costs)
    assert not found.is_finite
    assert found.least.cost_rate == pytest.approx(failure / life.mean_life())
    assert found.high == math.inf
    assert not renew_when_open(life, costs, 200).is_finite


@pytest.mark.parametrize("shape", [40.0, 60.0, 150.0, 500.0])
@pytest.mark.parametrize("maker", [45.0, 800.0])
def test_lives_that_all_end_at_almost_one_age_have_an_answer(shape: float, maker: float) -> None:
    found = advise_renewal(Weibull(shape, 50.2), RenewalCosts(120, 900), maker, is_grave=False)
    assert 35 < found.by_age.least.age < 50.2
    assert Weibull(shape, 50.2).mean_life_to(1e-5) == pytest.approx(1e-5, rel=1e-9)


def test_renewing_when_open_costs_what_simulation_says() -> None:
    rng, lives, spacing = np.random.default_rng(1), 400_000, 300.0
    found = renew_when_open(WEAR, COSTS, spacing)
    failure = 1000 * rng.weibull(2.5, lives)
    opening = found.least.age + spacing * rng.exponential(size=lives)
    renewed = opening < failure
    cost_rate = np.where(renewed, 1, 5).sum() / np.minimum(opening, failure).sum()
    assert found.least.cost_rate == pytest.approx(cost_rate, rel=0.01)
    assert found.least.failed_share == pytest.approx(1 - renewed.mean(), abs=0.004)
    for away in (0.7, 1.3):
        opening_then = found.least.age * away + spacing * rng.exponential(size=lives)
        sooner = opening_then < failure
        assert np.where(sooner, 1, 5).sum() / np.minimum(opening_then, failure).sum() > cost_rate


def test_openings_close_together_are_as_good_as_any_age() -> None:
    by_age, when_open = renew_by_age(WEAR, COSTS), renew_when_open(WEAR, COSTS, 0.5)
    assert when_open.least.age == pytest.approx(by_age.least.age, rel=2e-3)
    assert when_open.least.cost_rate == pytest.approx(by_age.least.cost_rate, rel=1e-4)


@pytest.mark.parametrize("spacing", [10.0, 200.0, 20_000.0])
def test_of_lives_that_are_nearly_alike_openings_are_taken_as_of_fixed_ones(spacing: float) -> None:
    """A fixed life L survives the wait from an age with a chance of 1 - exp(-(L - age) / spacing)."""
    life = Weibull(100.0, 400.0)

    def cost_rate(age: float) -> float:
        met = 1 - math.exp(-(life.mean_life() - age) / spacing)
        return (met + 5 * (1 - met)) / (age + spacing * met)

    best = optimize.minimize_scalar(cost_rate, bounds=(0, life.mean_life()), method="bounded")
    found = renew_when_open(life, RenewalCosts(1, 5), spacing)
    assert found.least.age == pytest.approx(best.x, abs=0.02 * life.mean_life())
    assert found.least.cost_rate == pytest.approx(best.fun, rel=0.02)


def test_the_rarer_the_openings_the_sooner_one_is_taken() -> None:
    ages = [renew_when_open(WEAR, COSTS, spacing).least.age for spacing in (50, 200, 800)]
    assert ages == sorted(ages, reverse=True)


# Beside the maker's interval


def test_advice_never_goes_beyond_the_makers_interval() -> None:
    found = advise_renewal(WEAR, COSTS, 300, is_grave=False)
    assert found.data_say_longer
    assert found.advised_age == 300
    assert found.by_age.least.age > 300


@settings(deadline=None)
@given(
    shape=st.floats(0.6, 6), life=st.floats(50, 5000), ratio=st.floats(1.1, 200), maker=st.floats(10, 5000)
)
def test_whatever_the_data_no_advice_is_beyond_the_makers_interval(
    shape: float, life: float, ratio: float, maker: float
) -> None:
    costs = RenewalCosts(1, ratio)
    found = advise_renewal(Weibull(shape, life), costs, maker, is_grave=False)
    assert found.advised_age is not None
    assert found.advised_age <= maker
    assert advise_renewal(Weibull(shape, life), costs, maker, is_grave=True).advised_age is None


def test_a_shorter_interval_is_advised_where_it_clearly_pays() -> None:
    found = advise_renewal(WEAR, COSTS, 1000, is_grave=False)
    assert found.sooner_pays
    assert found.advised_age == pytest.approx(493.047, abs=1e-3)
    assert found.at_maker.failed_share == pytest.approx(1 - math.exp(-1))
    assert found.at_maker.cost_rate > found.by_age.least.cost_rate


def test_an_interval_within_five_per_cent_of_the_least_cost_is_left_alone() -> None:
    found = advise_renewal(WEAR, COSTS, 550, is_grave=False)
    assert not found.sooner_pays
    assert not found.data_say_longer
    assert found.advised_age == 550
    assert found.by_age.low == pytest.approx(374.66, abs=0.01)


def test_for_what_wrecks_an_engine_nothing_is_advised_but_sooner_is_said() -> None:
    longer = advise_renewal(WEAR, COSTS, 300, is_grave=True)
    assert longer.advised_age is None
    sooner = advise_renewal(WEAR, COSTS, 1000, is_grave=True)
    assert sooner.advised_age is None
    assert sooner.sooner_pays


def test_openings_are_judged_by_their_own_cost() -> None:
    found = advise_renewal(WEAR, COSTS, 1000, is_grave=False, opening_cost=0.5, opening_spacing=200)
    assert found.when_open is not None
    alone = renew_when_open(WEAR, RenewalCosts(0.5, 5), 200)
    assert found.when_open.least.age == alone.least.age
    assert advise_renewal(WEAR, COSTS, 1000, is_grave=False, opening_cost=0.5).when_open is None


@pytest.mark.parametrize("cost", [0.0, -1.0, math.inf, math.nan])
def test_impossible_costs_are_refused(cost: float) -> None:
    with pytest.raises(CostNotPositive, match="planned renewal"):
        RenewalCosts(cost, 5)
    with pytest.raises(CostNotPositive, match="failure"):
        RenewalCosts(1, cost)


def test_impossible_intervals_are_refused() -> None:
    with pytest.raises(IntervalNotPositive, match="maker's interval of 0"):
        advise_renewal(WEAR, COSTS, 0, is_grave=False)
    with pytest.raises(IntervalNotPositive, match="spacing of openings"):
        renew_when_open(WEAR, COSTS, -1)
    with pytest.raises(IntervalNotPositive, match="age at renewal"):
        renewal_cost_rate(WEAR, COSTS, 0)

"""Demand for parts: against the binomial, against every outcome written out, and at the edges."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from fleetlog.errors import FleetlogError
from fleetlog.errors.life import (
    ChancesDisagreeInNumber,
    IntervalNotPositive,
    QuantityNotPositive,
    ShareOutOfRange,
)
from fleetlog.life.demand import (
    ExpectedUse,
    chance_within,
    either,
    number_distribution,
    parts_demand,
)


@pytest.mark.parametrize("uses", [1, 30, 2000])
def test_equal_chances_give_the_binomial(uses: int) -> None:
    spread = number_distribution(np.full(uses, 0.3), [1] * uses)
    assert spread == pytest.approx(stats.binom.pmf(np.arange(uses + 1), uses, 0.3), abs=1e-12)


@given(st.lists(st.tuples(st.floats(0, 1), st.integers(1, 4)), min_size=1, max_size=7))
def test_the_distribution_is_that_of_every_outcome(uses: list[tuple[float, int]]) -> None:
    expected = np.zeros(1 + sum(n for _, n in uses))
    for taken in itertools.product([False, True], repeat=len(uses)):
        chance = math.prod(p if t else 1 - p for (p, _), t in zip(uses, taken, strict=True))
        expected[sum(n for (_, n), t in zip(uses, taken, strict=True) if t)] += chance
    found = number_distribution(np.array([p for p, _ in uses]), [n for _, n in uses])
    assert found == pytest.approx(expected, abs=1e-12)


def test_enough_is_the_least_number_that_suffices_nine_times_in_ten() -> None:
    uses = [ExpectedUse("A-1", 1, (p, 1.0)) for p in (0.5, 0.5, 0.5, 0.5)]
    soon, later = parts_demand(uses, horizons_days=(30, 90))
    assert (soon.expected, soon.enough) == (2.0, 3.0)  # 11/16 with two, 15/16 with three
    assert (later.expected, later.enough) == (4.0, 4.0)


def test_parts_are_listed_by_number_and_horizon() -> None:
    uses = [ExpectedUse("B", 2, (0.1, 0.2, 0.9)), ExpectedUse("A", 1, (0.0, 0.0, 0.0))]
    found = parts_demand(uses)
    assert [(d.part_number, d.horizon_days) for d in found] == [
        ("A", 30), ("A", 90), ("A", 365), ("B", 30), ("B", 90), ("B", 365)
    ]  # fmt: skip
    assert [d.enough for d in found] == [0, 0, 0, 0, 2, 2]
    assert found[5].expected == pytest.approx(1.8)


def test_parts_of_a_litre_are_counted_in_hundredths() -> None:
    (found,) = parts_demand([ExpectedUse("oil", 0.85, (1.0,)), ExpectedUse("oil", 2.1, (1.0,))], (30,))
    assert found.expected == pytest.approx(2.95)
    assert found.enough == pytest.approx(2.95)


def test_a_large_shop_is_worked_out_exactly_too() -> None:
    rng = np.random.default_rng(1)
    chances = rng.random(5000) * 0.4
    (found,) = parts_demand([ExpectedUse("A", 1, (p,)) for p in chances], (90,))
    near = chances.sum() + 1.2815516 * math.sqrt((chances * (1 - chances)).sum())
    assert found.expected == pytest.approx(chances.sum())
    assert found.enough == pytest.approx(near, abs=1.5)


def test_a_window_gives_its_own_shares_at_its_own_days() -> None:
    assert chance_within(40, 40, 60, 100) == pytest.approx(0.1)
    assert chance_within(60, 40, 60, 100) == pytest.approx(0.5)
    assert chance_within(100, 40, 60, 100) == pytest.approx(0.9)


def test_a_window_without_width_is_certain_at_its_day() -> None:
    assert chance_within(29, 30, 30, 30) == 0.0
    assert chance_within(30, 30, 30, 30) == 1.0
    assert chance_within(30, -5, -5, -5) == 1.0
    assert chance_within(30, 10, 30, 30) == 1.0  # the calendar limit caps it


@given(
    days=st.lists(st.floats(-400, 4000), min_size=3, max_size=3),
    horizons=st.lists(st.floats(1, 2000), min_size=2, max_size=2),
)
def test_a_longer_horizon_never_makes_work_less_likely(days: list[float], horizons: list[float]) -> None:
    early, likely, late = sorted(days)
    short, long = sorted(horizons)
    sooner, later = (chance_within(h, early, likely, late) for h in (short, long))
    assert 0 <= sooner <= later <= 1


def test_either_of_two_independent_things() -> None:
    assert either(0.5, 0.5) == 0.75
    assert either(1.0, 0.3) == 1.0


@pytest.mark.parametrize(
    ("use", "refusal"),
    [
        (ExpectedUse("A", 0, (0.5,)), QuantityNotPositive),
        (ExpectedUse("A", -1, (0.5,)), QuantityNotPositive),
        (ExpectedUse("A", 0.333, (0.5,)), QuantityNotPositive),
        (ExpectedUse("A", math.nan, (0.5,)), QuantityNotPositive),
        (ExpectedUse("A", 1, (1.5,)), ShareOutOfRange),
        (ExpectedUse("A", 1, (math.nan,)), ShareOutOfRange),
        (ExpectedUse("A", 1, (0.5, 0.6)), ChancesDisagreeInNumber),
    ],
)
def test_uses_that_cannot_be_are_refused_by_part_number(
    use: ExpectedUse, refusal: type[FleetlogError]
) -> None:
    with pytest.raises(refusal, match="part A"):
        parts_demand([use], (30,))


def test_horizons_and_levels_that_cannot_be_are_refused() -> None:
    with pytest.raises(IntervalNotPositive):
        parts_demand([], (0,))
    with pytest.raises(IntervalNotPositive):
        chance_within(-1, 0, 1, 2)
    with pytest.raises(ShareOutOfRange):
        parts_demand([], (30,), level=90)
    assert parts_demand([]) == ()

"""Whether two groups differ, and how often they are said to when they don't."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fleetlog.errors.life import LivesInDifferentUnits, TooFewFailures
from fleetlog.life.compare import SIGNIFICANT, adjusted, compare_all, compare_groups
from fleetlog.life.lives import Lives
from tests.life.samples import lives_with_failures, mixed_lives


def test_a_group_that_lives_half_as_long_is_found_out() -> None:
    rng = np.random.default_rng(1)
    salt, fresh = mixed_lives(rng, 80, 2.0, 500), mixed_lives(rng, 80, 2.0, 1000)
    found = compare_groups(salt, fresh)
    assert found.p_value < SIGNIFICANT
    assert found.life_factor.low < 0.5 < found.life_factor.high < 1
    assert found.shape_p_value > 0.05


def test_groups_in_the_other_order_give_the_reciprocal() -> None:
    rng = np.random.default_rng(2)
    first, second = mixed_lives(rng, 40, 1.5, 700), mixed_lives(rng, 60, 1.5, 1000)
    one, other = compare_groups(first, second), compare_groups(second, first)
    assert one.chi_square == pytest.approx(other.chi_square, rel=1e-8)
    assert one.life_factor.value == pytest.approx(1 / other.life_factor.value, rel=1e-5)
    assert one.life_factor.low == pytest.approx(1 / other.life_factor.high, rel=1e-5)


def test_a_group_compared_with_itself_does_not_differ() -> None:
    lives = mixed_lives(np.random.default_rng(3), 50, 1.5, 1000)
    found = compare_groups(lives, lives)
    assert found.chi_square == pytest.approx(0, abs=1e-8)
    assert found.p_value == pytest.approx(1)
    assert found.life_factor.value == pytest.approx(1, rel=1e-4)


def test_like_groups_are_said_to_differ_about_as_rarely_as_the_test_promises() -> None:
    """Nominally 5 %; small groups run a little above."""
    rng, samples = np.random.default_rng(4), 60
    said = sum(
        compare_groups(*(lives_with_failures(rng, 20, 10, 2.0) for _ in range(2))).p_value < SIGNIFICANT
        for _ in range(samples)
    )
    assert said / samples < 0.16


def test_two_groups_at_once_are_the_pair_and_like_groups_do_not_differ() -> None:
    rng = np.random.default_rng(5)
    first, second, third = (mixed_lives(rng, 60, 2.0, scale) for scale in (500, 500, 1500))
    pair, both = compare_groups(first, third), compare_all([first, third])
    assert (both.degrees, both.differ) == (2, True)
    assert both.chi_square == pytest.approx(pair.chi_square, rel=1e-9)
    assert both.p_value == pytest.approx(pair.p_value, rel=1e-9)
    assert not compare_all([first, second, first]).differ
    assert compare_all([first, second, third]).degrees == 4


def test_the_chance_of_any_of_several_differences_is_holms() -> None:
    """Against the definition: the k-th smallest times those not smaller, never falling, at most 1."""
    assert adjusted([0.01, 0.04, 0.03]) == pytest.approx([0.03, 0.06, 0.06])
    assert adjusted([0.6, 0.7]) == [1.0, 1.0]
    assert adjusted([0.02]) == [0.02]
    assert adjusted([]) == []


def test_different_shapes_are_told_apart_from_different_lives() -> None:
    rng = np.random.default_rng(5)
    found = compare_groups(lives_with_failures(rng, 60, 0, 0.8), lives_with_failures(rng, 60, 0, 4.0))
    assert found.shape_p_value < 0.001


def test_groups_that_cannot_be_compared_are_refused() -> None:
    age = [100.0, 200.0, 300.0]
    hours, months = Lives.from_arrays(age, age), Lives.from_arrays(age, age, unit="months")
    with pytest.raises(LivesInDifferentUnits, match="in hours, the other's in months"):
        compare_groups(hours, months)
    with pytest.raises(TooFewFailures):
        compare_groups(hours, Lives.from_arrays([100.0, 50.0], [100.0, math.inf]))

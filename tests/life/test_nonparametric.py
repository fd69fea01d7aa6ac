"""Stepped curves worked out by hand, and the number at risk."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlog.errors.life import NoFailures, WeightNotWhole
from fleetlog.life.lives import Lives
from fleetlog.life.nonparametric import number_at_risk, survival_steps
from tests.life.samples import mixed_lives


def test_kaplan_meier_multiplies_the_shares_that_stay_sound() -> None:
    lives = Lives.from_arrays([100.0, 200.0, 250.0, 300.0], [100.0, math.inf, 250.0, math.inf])
    steps = survival_steps(lives)
    assert steps.method == "Kaplan-Meier"
    assert steps.age.tolist() == [100.0, 250.0]
    assert steps.sound_share == pytest.approx([3 / 4, 3 / 4 * 1 / 2])
    assert steps.at_risk.tolist() == [4.0, 2.0]


def test_one_that_came_late_is_not_at_risk_before() -> None:
    lives = Lives.from_arrays([100.0, 250.0, 300.0], [100.0, 250.0, math.inf], [0.0, 200.0, 0.0])
    steps = survival_steps(lives)
    assert steps.at_risk.tolist() == [2.0, 2.0]
    assert steps.sound_share == pytest.approx([1 / 2, 1 / 4])


def test_turnbull_divides_a_failure_among_the_stretches_it_may_lie_in() -> None:
    lives = Lives.from_arrays([0.0, 0.0, 100.0], [100.0, 200.0, 200.0])
    steps = survival_steps(lives)
    assert steps.method == "Turnbull"
    # by symmetry the one that may lie in either stretch counts half in each
    assert steps.age.tolist() == [100.0, 200.0]
    assert steps.sound_share == pytest.approx([1 / 2, 0], abs=1e-6)


def test_a_curve_that_falls_to_nothing_early_is_remarked_on() -> None:
    lives = Lives.from_arrays([100.0, 300.0, 400.0], [100.0, 300.0, 400.0], [50.0, 200.0, 200.0])
    assert "of no use after it" in survival_steps(lives).remark


def test_the_steps_follow_the_distribution_they_were_drawn_from() -> None:
    lives = mixed_lives(np.random.default_rng(1), 3000, 2.0, 1000)
    steps = survival_steps(lives)
    well_watched = steps.at_risk > 200
    truth = np.exp(-((steps.age[well_watched] / 1000) ** 2))
    # within a stretch between looks the step stands at its end
    assert steps.sound_share[well_watched] == pytest.approx(truth, abs=0.05)


def test_what_the_stepped_curve_cannot_count_is_refused() -> None:
    with pytest.raises(NoFailures):
        survival_steps(Lives.from_arrays([100.0], [math.inf]))
    with pytest.raises(WeightNotWhole, match=r"a weight of 1\.5"):
        survival_steps(Lives.from_arrays([100.0], [100.0], weight=[1.5]))


@given(seed=st.integers(0, 1000))
def test_the_number_at_risk_is_counted_life_by_life(seed: int) -> None:
    lives = mixed_lives(np.random.default_rng(seed), 30, 2.0, 1000)
    ages = np.array([0.0, 100.0, 500.0, *lives.low[:3], *lives.entered_at[:3]])
    expected = [
        sum(w for e, low, w in zip(lives.entered_at, lives.low, lives.weight, strict=True) if e <= age <= low)
        for age in ages
    ]
    assert number_at_risk(lives, ages).tolist() == expected

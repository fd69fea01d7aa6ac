"""The arrays of the plots fit together and to the fit."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fleetlog.life.curve import LifeCurve, life_curve, paper_height
from fleetlog.life.fit import WeibullFit, fit_weibull
from fleetlog.life.lives import Lives
from tests.life.samples import lives_with_failures, mixed_lives


@pytest.fixture(scope="module")
def fit() -> WeibullFit:
    return fit_weibull(mixed_lives(np.random.default_rng(1), 80, 2.2, 500))


@pytest.fixture(scope="module")
def curve(fit: WeibullFit) -> LifeCurve:
    return life_curve(fit)


def test_the_line_is_straight_on_weibull_paper_with_the_shape_as_its_slope(
    fit: WeibullFit, curve: LifeCurve
) -> None:
    slopes = np.diff(paper_height(curve.line_failed_share)) / np.diff(np.log(curve.line_age))
    assert slopes == pytest.approx(np.full(slopes.size, fit.weibull.shape), rel=1e-6)


def test_the_band_holds_the_line_and_meets_the_limits_of_b10(fit: WeibullFit, curve: LifeCurve) -> None:
    line = np.array([fit.weibull.life_at(float(share)) for share in curve.band_failed_share])
    assert np.all(curve.band_low_age < line)
    assert np.all(line < curve.band_high_age)
    assert np.all(np.diff(curve.band_high_age) > 0)
    heights = paper_height(curve.band_failed_share)
    b10_low = np.exp(np.interp(paper_height(0.1), heights, np.log(curve.band_low_age)))
    assert b10_low == pytest.approx(fit.b10.low, rel=0.01)


def test_points_can_be_drawn_and_lie_within_the_line(curve: LifeCurve) -> None:
    assert np.all(np.isfinite(paper_height(curve.point_failed_share)))
    assert np.all(np.diff(curve.point_failed_share) > 0)
    assert curve.line_failed_share[0] < curve.point_failed_share[0]
    assert curve.line_failed_share[-1] > curve.point_failed_share[-1]


def test_points_stand_halfway_up_their_steps() -> None:
    ages = [100.0, 200.0, 300.0, 400.0]
    curve = life_curve(fit_weibull(Lives.from_arrays(ages, ages)))
    assert curve.point_failed_share == pytest.approx([1 / 8, 3 / 8, 5 / 8, 7 / 8])
    assert curve.point_age.tolist() == ages


def test_the_hazard_rises_where_they_wear_out(curve: LifeCurve) -> None:
    assert np.all(np.diff(curve.hazard) > 0)


def test_the_number_at_risk_stands_at_round_ages(fit: WeibullFit, curve: LifeCurve) -> None:
    step = curve.risk_age[1]
    assert curve.risk_age[0] == 0
    assert round(step / 10 ** math.floor(math.log10(step)), 9) in (1, 2, 5)
    assert curve.risk_age[-1] <= max(fit.lives.longest, curve.step_age.max())
    assert curve.at_risk[0] == np.sum(fit.lives.entered_at == 0)


@pytest.mark.parametrize("shape", [0.5, 8.0])
def test_any_shape_gives_a_page_that_can_be_drawn(shape: float) -> None:
    lives = lives_with_failures(np.random.default_rng(2), 5, 20, shape)
    curve = life_curve(fit_weibull(lives))
    for name in ("point_age", "line_age", "band_low_age", "hazard", "at_risk"):
        assert np.all(np.isfinite(getattr(curve, name))), name
    assert curve.risk_age.size < 15

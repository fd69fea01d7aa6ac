"""Fits and curves against lifelines, surpyval and scipy, to 5e-4: their optimisers stop early."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from lifelines import KaplanMeierFitter, WeibullFitter
from scipy import stats
from surpyval import Weibull as SurpyvalWeibull

from fleetlog.life.compare import compare_groups
from fleetlog.life.fit import fit_stated_shape, fit_weibull
from fleetlog.life.lives import Lives
from fleetlog.life.nonparametric import survival_steps
from tests.life.samples import mixed_lives
from tests.life.standard_errors import standard_errors

SAMPLES = [(60, 0.8), (200, 1.6), (800, 3.0)]


def lifelines_fit(lives: Lives) -> WeibullFitter:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return WeibullFitter().fit_interval_censoring(
            lives.low, lives.high, entry=lives.entered_at, weights=lives.weight
        )


@pytest.mark.parametrize(("number", "shape"), SAMPLES)
def test_lifelines_agrees_on_every_kind_of_evidence(number: int, shape: float) -> None:
    lives = mixed_lives(np.random.default_rng(number), number, shape, 1000)
    ours, theirs = fit_weibull(lives), lifelines_fit(lives)
    assert ours.weibull.shape == pytest.approx(theirs.rho_, rel=5e-4)
    assert ours.weibull.characteristic_life == pytest.approx(theirs.lambda_, rel=5e-4)
    assert ours.log_likelihood >= theirs.log_likelihood_ - 1e-6
    se_shape, _ = standard_errors(ours)
    assert se_shape == pytest.approx(theirs.summary.loc["rho_", "se(coef)"], rel=5e-3)


@pytest.mark.parametrize(("number", "shape"), SAMPLES)
def test_surpyval_agrees_on_every_kind_of_evidence(number: int, shape: float) -> None:
    lives = mixed_lives(np.random.default_rng(number + 1), number, shape, 1000)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = SurpyvalWeibull.fit(xl=lives.low, xr=lives.high, tl=lives.entered_at)
    scale, shape_found = theirs.params
    ours = fit_weibull(lives).weibull
    assert ours.shape == pytest.approx(shape_found, rel=5e-4)
    assert ours.characteristic_life == pytest.approx(scale, rel=5e-4)


@pytest.mark.parametrize(("number", "shape"), SAMPLES)
def test_scipy_agrees_without_late_entry(number: int, shape: float) -> None:
    drawn = mixed_lives(np.random.default_rng(number + 2), number, shape, 1000)
    lives = Lives.from_arrays(drawn.low, drawn.high)
    interval = ~(lives.is_exact | lives.is_sound)
    data = stats.CensoredData(
        uncensored=lives.low[lives.is_exact],
        right=lives.low[lives.is_sound],
        interval=np.column_stack((lives.low[interval], lives.high[interval])),
    )
    with np.errstate(divide="ignore"):
        shape_found, _, scale = stats.weibull_min.fit(data, floc=0)
    ours = fit_weibull(lives).weibull
    assert ours.shape == pytest.approx(shape_found, rel=5e-4)
    assert ours.characteristic_life == pytest.approx(scale, rel=5e-4)


def test_lifelines_agrees_on_kaplan_meier_with_late_entry_and_weights() -> None:
    rng = np.random.default_rng(5)
    drawn = mixed_lives(rng, 300, 1.5, 1000)
    keep = drawn.is_exact | drawn.is_sound
    weight = rng.integers(1, 4, keep.sum()).astype(float)
    lives = Lives.from_arrays(drawn.low[keep], drawn.high[keep], drawn.entered_at[keep], weight)
    ours = survival_steps(lives)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = KaplanMeierFitter().fit(
            lives.low, lives.is_exact, entry=lives.entered_at, weights=lives.weight
        )
    assert ours.method == "Kaplan-Meier"
    assert ours.sound_share == pytest.approx(theirs.predict(ours.age).to_numpy(), rel=1e-9)


def test_lifelines_agrees_on_turnbull() -> None:
    drawn = mixed_lives(np.random.default_rng(6), 120, 2.0, 1000)
    lives = Lives.from_arrays(drawn.low, drawn.high)
    ours = survival_steps(lives)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = KaplanMeierFitter().fit_interval_censoring(
            lives.low, np.where(lives.is_sound, np.inf, lives.high), tol=1e-9
        )
    # lifelines shows a step at the age that follows it
    following = theirs.survival_function_.index.searchsorted(ours.age, side="right")
    after = theirs.survival_function_.to_numpy()[following]
    assert ours.method == "Turnbull"
    assert ours.remark == ""
    assert ours.sound_share == pytest.approx(after.min(axis=1), abs=5e-4)
    assert ours.sound_share == pytest.approx(after.max(axis=1), abs=5e-4)


def test_two_groups_have_the_chi_square_of_three_library_fits() -> None:
    rng = np.random.default_rng(8)
    salt, fresh = mixed_lives(rng, 90, 2.0, 600), mixed_lives(rng, 110, 2.0, 1000)
    found = compare_groups(salt, fresh)
    one_by_one = [lifelines_fit(group).log_likelihood_ for group in (salt, fresh, salt.joined(fresh))]
    chi_square = 2 * (one_by_one[0] + one_by_one[1] - one_by_one[2])
    assert found.chi_square == pytest.approx(chi_square, rel=5e-4)
    assert found.p_value == pytest.approx(stats.chi2.sf(chi_square, 2), rel=5e-3)


def test_a_stated_shape_is_the_fixed_shape_fit_of_scipy() -> None:
    drawn = mixed_lives(np.random.default_rng(9), 40, 2.0, 1000)
    lives = Lives.from_arrays(drawn.low, drawn.high)
    interval = ~(lives.is_exact | lives.is_sound)
    data = stats.CensoredData(
        uncensored=lives.low[lives.is_exact],
        right=lives.low[lives.is_sound],
        interval=np.column_stack((lives.low[interval], lives.high[interval])),
    )
    with np.errstate(divide="ignore"):
        _, _, scale = stats.weibull_min.fit(data, fc=2.5, floc=0)
    found = fit_stated_shape(lives, 2.5).weibull
    assert found.characteristic_life == pytest.approx(scale, rel=5e-4)

"""The day on which hours are reached, against the textbook and against simulation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.special import gammaincc

from fleetlog.forecast.hitting import RateBeliefs, even_odds_hours, reached_chance


def beliefs(rows: int, rate: float, variance: float, dispersion: float, kinds: int = 1) -> RateBeliefs:
    return RateBeliefs(
        chance=np.full((rows, kinds), 1 / kinds),
        mean=np.full((rows, kinds), np.log(rate)),
        variance=np.full((rows, kinds), variance),
        level_mean=np.full((rows, kinds), np.log(rate)),
        level_variance=np.full(rows, variance),
        year_variance=np.zeros(rows),
        drift=np.zeros(rows),
        forgetting=np.full(rows, 1e-9),
        dispersion=np.full(rows, dispersion),
    )


@pytest.mark.parametrize("dispersion", [0.5, 3.0, 8.0])
@pytest.mark.parametrize("hours", [10.0, 50.0, 400.0])
def test_a_known_rate_gives_the_hitting_time_of_a_gamma_process(hours: float, dispersion: float) -> None:
    days = np.linspace(1, 3 * hours / 0.5, 200)
    known = beliefs(len(days), 0.5, 1e-9, dispersion)
    found = reached_chance(known, days[:, None], np.full(len(days), hours))
    assert np.abs(found - _textbook(days, hours, dispersion)).max() < 0.012


def _textbook(days: np.ndarray, hours: float, dispersion: float) -> np.ndarray:
    """P(T <= t) = P(H(t) >= h), H(t) gamma with shape rate t / dispersion (computed by scipy)."""
    return gammaincc(0.5 * days / dispersion, hours / dispersion)


def test_an_uncertain_rate_gives_the_hitting_time_of_simulated_engines() -> None:
    rng = np.random.default_rng(11)
    rates = 0.4 * np.exp(rng.normal(0, 0.5, 40_000))
    for days in (60.0, 125.0, 260.0):
        ran = rng.gamma(rates * days / 4.0) * 4.0
        one = beliefs(1, 0.4, 0.25, 4.0)
        found = reached_chance(one, np.array([[days]]), np.array([50.0]))[0]
        assert found == pytest.approx((ran >= 50).mean(), abs=0.015)


def test_a_mixture_of_seasons_mixes_the_chances() -> None:
    both = beliefs(1, 0.5, 0.04, 4.0, kinds=2)
    one = beliefs(1, 0.5, 0.04, 4.0)
    hours = np.array([30.0])
    chances = [reached_chance(one, np.array([[clock]]), hours)[0] for clock in (40.0, 90.0)]
    mixed = both._replace(forgetting=np.full(1, 1e-9))
    assert reached_chance(mixed, np.array([[40.0, 90.0]]), hours)[0] == pytest.approx(
        np.mean(chances), abs=1e-6
    )


def test_hours_at_even_odds_have_the_score_zero() -> None:
    need, burst = np.geomspace(1e-3, 1e5, 81), 3.0
    mean = even_odds_hours(need, np.full(81, burst)) / burst
    assert 1 - 1 / (9 * mean) == pytest.approx(np.cbrt(need / burst / mean), abs=1e-12)


@settings(max_examples=300, deadline=None)
@example(hours=0.5, more=1.03125, days=169.0, rate=0.01, variance=1.0, dispersion=5.0)
@given(
    hours=st.floats(0.2, 2000),
    more=st.floats(1.001, 3),
    days=st.floats(0.5, 5000),
    rate=st.floats(0.01, 5),
    variance=st.floats(1e-4, 2),
    dispersion=st.floats(0.1, 20),
)
def test_more_hours_are_never_reached_sooner(
    hours: float, more: float, days: float, rate: float, variance: float, dispersion: float
) -> None:
    two = beliefs(2, rate, variance, dispersion)
    fewer, later = reached_chance(two, np.full((2, 1), days), np.array([hours, hours * more]))
    assert later <= fewer + 1e-12


def test_a_departure_fades_into_the_engines_own_level_which_wanders() -> None:
    one = beliefs(1, 2.0, 0.01, 4.0)
    fading = one._replace(
        level_mean=np.zeros((1, 1)),
        level_variance=np.full(1, 0.05),
        year_variance=np.full(1, 0.1),
        drift=np.full(1, 0.03 / 365),
        forgetting=np.full(1, 0.004),
    )
    soon_mean, soon_variance = fading.averaged(np.array([[5.0]]))
    far_mean, far_variance = fading.averaged(np.array([[7300.0]]))
    assert soon_mean[0, 0] == pytest.approx(np.log(2.0), abs=0.01)
    assert soon_variance[0, 0] == pytest.approx(0.01, abs=0.005)
    assert far_mean[0, 0] == pytest.approx(0.0, abs=0.03)
    # Twenty years: what is not known of the level, and a third of what it wanders (variance of the mean of a
    # random walk).
    assert far_variance[0, 0] == pytest.approx(0.05 + 20 * 0.03 / 3, abs=0.02)


def test_the_variance_of_an_averaged_rate_is_that_of_simulated_ones() -> None:
    rng = np.random.default_rng(11)
    days, years, forgetting, variance = 900, 4000, 1 / 250, 0.2
    step = np.exp(-forgetting)
    off, total = np.full(years, 0.8), np.zeros(years)
    for _ in range(days):
        total += off
        off = step * off + rng.normal(0, np.sqrt(variance * (1 - step**2)), years)
    one = beliefs(1, 1.0, 1e-9, 4.0)
    known = one._replace(
        mean=np.full((1, 1), 0.8),
        level_variance=np.full(1, 1e-9),
        year_variance=np.full(1, variance),
        forgetting=np.full(1, forgetting),
    )
    mean, spread = known.averaged(np.array([[float(days)]]))
    averages = total / days
    assert mean[0, 0] == pytest.approx(averages.mean(), abs=0.02)
    assert spread[0, 0] == pytest.approx(averages.var(), rel=0.08)

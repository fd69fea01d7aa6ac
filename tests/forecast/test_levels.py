"""The level of an engine over the years: its own years, what alike engines do, and new habits."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from fleetlog.forecast.evidence import FleetUsage
from fleetlog.forecast.levels import after_changes, year_moments
from fleetlog.forecast.season import STRETCHES
from fleetlog.forecast.seasons_fit import KINDS, Seasons

FIRST = date(2015, 1, 1).toordinal()


def fleet_of(yearly_hours: np.ndarray) -> FleetUsage:
    """Engines read at each end of year, a row of hours a year each."""
    engines, years = yearly_hours.shape
    readings = np.concatenate([np.zeros((engines, 1)), np.cumsum(yearly_hours, axis=1)], axis=1)
    return FleetUsage.from_arrays(
        uses=("private",),
        use_code=np.zeros(engines, dtype=np.int64),
        reading_offsets=np.arange(engines + 1) * (years + 1),
        reading_day=np.tile(FIRST + 365 * np.arange(years + 1), engines),
        reading_hours=readings.ravel(),
    )


def level_seasons(engines: int) -> Seasons:
    even = np.full((engines, KINDS), 1 / KINDS)
    return Seasons(True, np.ones((KINDS, STRETCHES)), even[:1], np.array([0.1]), even)


def moments_of(year_variance: float, drift: float) -> tuple[float, float]:
    rng = np.random.default_rng(5)
    engines, years = 1500, 6
    level = rng.normal(0, 0.8, engines)[:, None] + np.cumsum(
        rng.normal(0, np.sqrt(drift), (engines, years)), axis=1
    )
    hours = 200 * np.exp(level + rng.normal(0, np.sqrt(year_variance), (engines, years)))
    fleet = fleet_of(hours)
    return year_moments(fleet, level_seasons(engines), FIRST + 365 * years)


def test_how_far_years_differ_and_levels_wander_is_learnt_from_the_fleet() -> None:
    year_variance, drift = moments_of(0.12, 0.04)
    assert year_variance == pytest.approx(0.12, rel=0.2)
    assert drift == pytest.approx(0.04, rel=0.35)


def test_years_that_differ_little_are_told_from_levels_that_wander() -> None:
    year_variance, drift = moments_of(0.03, 0.2)
    assert year_variance == pytest.approx(0.03, abs=0.02)
    assert drift == pytest.approx(0.2, rel=0.25)


def test_an_empty_fleet_has_the_usual_moments() -> None:
    fleet = FleetUsage.of([])
    year_variance, drift = year_moments(fleet, level_seasons(0), FIRST)
    assert year_variance == pytest.approx(0.1)
    assert drift == pytest.approx(0.05)


def test_a_years_chance_leaves_the_level_and_a_new_habit_moves_it() -> None:
    level, spread = np.zeros(3), np.full(3, 0.02)
    now = np.array([0.1, -0.4, -2.5])
    mean, variance = after_changes((level, spread), now, now**2 + 0.02, 0.1)
    assert abs(mean[0]) < 0.03
    assert -0.2 < mean[1] < 0
    assert mean[2] == pytest.approx(-2.5, abs=0.1)
    # Between the two it is less sure than at either end.
    middle, unsure = after_changes((level, spread), np.full(3, -1.0), np.full(3, 1.02), 0.1)
    assert -0.9 < middle[0] < -0.1
    assert unsure[0] > max(variance[0], variance[2])

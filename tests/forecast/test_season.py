"""The seasonal clock, lay-ups recorded and assumed, and seasons that are learnt."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from fleetlog.forecast.engine import EngineForecast
from fleetlog.forecast.evidence import EngineUsage, FleetUsage
from fleetlog.forecast.fit import fit_fleet
from fleetlog.forecast.season import (
    STRETCHES,
    Layups,
    SeasonClock,
    published_profile,
    stored_in_july,
)
from fleetlog.forecast.seasons_fit import fit_seasons
from tests.forecast.simulator import FIRST, Regime, simulate

EVEN = np.ones((1, STRETCHES))
BOTH_HALVES = np.array([published_profile(), published_profile(southern=True)])
START = date(2024, 1, 1).toordinal()


def clock_of(usage: EngineUsage, today: date):
    fleet = FleetUsage.of([usage])
    clock = SeasonClock.of(EVEN, START - 1, START + 4000)
    return Layups.of(fleet, today.toordinal()).stored(clock)


def ran(stored, start: date, end: date) -> float:
    zero = np.zeros(1, dtype=np.int64)
    ends = (np.array([day.toordinal()]) for day in (start, end))
    first, last = (stored.at(zero, day)[0, 0] for day in ends)
    return last - first


def test_a_year_of_any_season_counts_as_a_year() -> None:
    clock = SeasonClock.of(
        np.array([published_profile(), published_profile(southern=True)]), START, START + 4000
    )
    year = clock.at(np.array([START + 1461])) - clock.at(np.array([START]))
    assert year[0] == pytest.approx([1461, 1461], abs=3)


def test_the_southern_season_is_half_a_year_later() -> None:
    clock = SeasonClock.of(
        np.array([published_profile(), published_profile(southern=True)]), START, START + 366
    )
    june, july = (np.array([date(2024, month, 1).toordinal()]) for month in (6, 7))
    north, south = (clock.at(july) - clock.at(june))[0]
    assert north > 5 * south


def test_the_clock_stands_still_from_the_day_stored_to_the_day_before_the_launch() -> None:
    stored = clock_of(EngineUsage("a", layups=((date(2024, 10, 1), date(2025, 4, 1)),)), date(2026, 1, 1))
    assert ran(stored, date(2024, 9, 30), date(2025, 3, 31)) == 0
    assert ran(stored, date(2024, 9, 29), date(2025, 4, 1)) == pytest.approx(2)


def test_overlapping_layups_count_once() -> None:
    layups = ((date(2024, 10, 1), date(2024, 11, 1)), (date(2024, 10, 15), date(2024, 12, 1)))
    stored = clock_of(EngineUsage("a", layups=layups), date(2026, 1, 1))
    assert ran(stored, date(2024, 9, 30), date(2024, 12, 31)) == pytest.approx(92 - 61)


def test_a_layup_without_an_end_stops_the_clock_for_good() -> None:
    stored = clock_of(EngineUsage("a", layups=((date(2024, 10, 1), None),)), date(2024, 12, 1))
    assert ran(stored, date(2024, 9, 30), date(2031, 1, 1)) == 0


def test_last_winters_layup_is_assumed_for_the_next_one() -> None:
    layups = ((date(2024, 10, 1), date(2025, 4, 1)),)
    stored = clock_of(EngineUsage("a", layups=layups), date(2025, 7, 1))
    assert ran(stored, date(2025, 10, 5), date(2026, 3, 25)) == 0
    assumed = stored.layups.assumed_from[0], stored.layups.assumed_to[0]
    assert assumed == (date(2025, 10, 1).toordinal(), date(2026, 4, 1).toordinal())


def test_a_recorded_layup_outranks_the_assumed_one() -> None:
    layups = ((date(2024, 10, 1), date(2025, 4, 1)), (date(2025, 11, 15), date(2026, 2, 1)))
    stored = clock_of(EngineUsage("a", layups=layups), date(2025, 7, 1))
    assert ran(stored, date(2025, 10, 1), date(2025, 11, 14)) == pytest.approx(44)
    assert ran(stored, date(2026, 2, 1), date(2026, 3, 31)) == pytest.approx(58)


def test_no_layup_is_assumed_once_a_winter_went_by_without() -> None:
    layups = ((date(2023, 10, 1), date(2024, 4, 1)),)
    assert clock_of(EngineUsage("a", layups=layups), date(2025, 8, 1)).layups.assumed_from[0] == 0


def test_a_southern_season_is_learnt_without_being_told() -> None:
    regime = Regime(south=True, days=3 * 365)
    usage = simulate(regime, 120, 4).usage
    seasons = fit_seasons(usage, FIRST + 3 * 365, len(usage.uses))
    common = seasons.shares.mean(axis=0) @ seasons.profiles
    summer, winter = common[[0, 1, 2, 33, 34, 35]].mean(), common[15:21].mean()
    assert summer > 3 * winter


def test_without_readings_the_published_season_stands() -> None:
    seasons = fit_seasons(FleetUsage.of([]), START, 1)
    assert np.argmax(seasons.profiles.mean(axis=0)) in range(15, 24)
    south = fit_seasons(FleetUsage.of([]), START, 1, southern=True)
    assert np.argmax(south.profiles.mean(axis=0)) in (*range(6), *range(33, 36))


def test_layups_say_in_which_half_of_the_world_the_season_lies() -> None:
    def laid_up(begin: date, end: date | None) -> FleetUsage:
        return FleetUsage.of([EngineUsage("a", layups=((begin, end),))])

    assert stored_in_july(laid_up(date(2025, 5, 1), date(2025, 10, 10)))
    assert not stored_in_july(laid_up(date(2025, 10, 20), date(2026, 4, 10)))
    assert not stored_in_july(laid_up(date(2025, 7, 1), date(2025, 7, 9)))
    assert not stored_in_july(laid_up(date(2025, 5, 1), None))


def test_a_log_of_the_south_without_readings_expects_use_in_january() -> None:
    today = date(2026, 2, 1)
    usage = EngineUsage("a", layups=((date(2025, 5, 1), date(2025, 10, 10)),))
    parameters = fit_fleet(FleetUsage.of([usage]), today)
    months = {m.month_on.month: m.hours for m in EngineForecast(parameters, usage, today).monthly_hours(12)}
    assert months[1] > 2.5 * months[4]
    assert months[7] == 0

"""The seasonal clock, lay-ups recorded and assumed, and seasons that are learnt."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fleetlog.domain.season import expected_launch
from fleetlog.forecast.evidence import EngineUsage, FleetUsage
from fleetlog.forecast.fit import fit_fleet
from fleetlog.forecast.season import (
    STRETCHES,
    Layups,
    SeasonClock,
    published_profile,
    stored_in_january,
)
from fleetlog.forecast.seasons_fit import fit_seasons
from tests.forecast.asking import by_month
from tests.forecast.judging import began_on
from tests.forecast.simulator import FIRST, REGIMES, Regime, simulate

EVEN = np.ones((1, STRETCHES))
BOTH_HALVES = np.array([published_profile(), np.roll(published_profile(), STRETCHES // 2)])
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
    clock = SeasonClock.of(BOTH_HALVES, START, START + 4000)
    year = clock.at(np.array([START + 1461])) - clock.at(np.array([START]))
    assert year[0] == pytest.approx([1461, 1461], abs=3)


def test_the_clock_stands_still_from_the_day_stored_to_the_day_before_the_launch() -> None:
    stored = clock_of(EngineUsage("a", layups=((date(2024, 10, 1), date(2025, 4, 1)),)), date(2026, 1, 1))
    assert ran(stored, date(2024, 9, 30), date(2025, 3, 31)) == 0
    assert ran(stored, date(2024, 9, 29), date(2025, 4, 1)) == pytest.approx(2)


def test_overlapping_layups_count_once() -> None:
    layups = ((date(2024, 10, 1), date(2024, 11, 1)), (date(2024, 10, 15), date(2024, 12, 1)))
    stored = clock_of(EngineUsage("a", layups=layups), date(2026, 1, 1))
    assert ran(stored, date(2024, 9, 30), date(2024, 12, 31)) == pytest.approx(92 - 61)


def test_the_layups_of_one_engine_are_told_recorded_and_assumed() -> None:
    winter = (date(2025, 10, 1), date(2026, 4, 1))
    usages = [EngineUsage("a", layups=(winter,)), EngineUsage("b"), EngineUsage("c", layups=(winter,))]
    layups = Layups.of(FleetUsage.of(usages), date(2026, 6, 1).toordinal())
    of_each = [
        [(date.fromordinal(begin), date.fromordinal(end)) for begin, end in layups.of_engine(number)]
        for number in range(3)
    ]
    assert of_each[1] == []
    assert of_each[0] == of_each[2]
    assert of_each[0][:2] == [winter, (date(2026, 10, 1), date(2027, 4, 1))]


def test_a_layup_without_an_end_is_expected_to_end_at_the_time_of_year_of_the_last_one() -> None:
    layups = ((date(2023, 11, 20), date(2024, 4, 12)), (date(2024, 10, 1), None))
    stored = clock_of(EngineUsage("a", layups=layups), date(2024, 12, 1))
    assert stored.layups.expected_to[0] == date(2025, 4, 12).toordinal()
    assert ran(stored, date(2024, 9, 30), date(2025, 4, 11)) == 0
    assert ran(stored, date(2025, 4, 11), date(2025, 5, 1)) == pytest.approx(20)
    assert ran(stored, date(2025, 10, 1), date(2026, 4, 10)) == 0  # and so is the next winter's


def test_a_first_layup_without_an_end_is_expected_to_last_a_winter() -> None:
    usage = EngineUsage("a", layups=((date(2024, 10, 1), None),))
    assert clock_of(usage, date(2024, 12, 1)).layups.expected_to[0] == date(2025, 3, 30).toordinal()
    planned = clock_of(usage, date(2024, 8, 1))
    assert ran(planned, date(2024, 8, 1), date(2025, 3, 29)) == pytest.approx(60)


def test_a_boat_still_stored_in_summer_may_be_launched_any_day() -> None:
    stored = clock_of(EngineUsage("a", layups=((date(2024, 10, 1), None),)), date(2025, 6, 1))
    assert stored.layups.expected_to[0] == date(2025, 6, 2).toordinal()
    assert ran(stored, date(2024, 9, 30), date(2025, 6, 1)) == 0


def test_a_boat_stored_for_longer_than_a_year_is_out_of_use_until_further_notice() -> None:
    stored = clock_of(EngineUsage("a", layups=((date(2024, 10, 1), None),)), date(2026, 2, 1))
    assert stored.layups.expected_to[0] == 0
    assert ran(stored, date(2024, 9, 30), date(2031, 1, 1)) == 0


@given(
    st.lists(st.tuples(st.integers(0, 60), st.integers(25, 200)), max_size=3),
    st.integers(0, 400),
    st.integers(1, 600),
)
@example([(0, 25)], 127, 21)
def test_an_expected_launch_is_that_of_the_diary(
    winters: list[tuple[int, int]], stored_after: int, stored_for: int
) -> None:
    layups: list[tuple[date, date | None]] = []
    for year, (late, stay) in enumerate(winters):
        begin = date(2017 + year, 10, 1) + timedelta(days=late)
        layups.append((begin, begin + timedelta(days=stay)))
    stored_on = date(2021, 6, 1) + timedelta(days=stored_after)
    today = stored_on + timedelta(days=stored_for)
    usage = FleetUsage.of([EngineUsage("a", layups=(*layups, (stored_on, None)))])
    found = Layups.of(usage, today.toordinal()).expected_to[0]
    # The year of the clock has 365.2425 days: an anniversary may be a day off, and then the year's turn too.
    launched = layups[-1][1] if layups else None
    launches = [launched] if launched is None else [launched + timedelta(days=off) for off in (-1, 0, 1)]
    expected = [expected_launch(stored_on, launch, today) for launch in launches]
    assert any(abs(found - (day.toordinal() if day else 0)) <= 1 for day in expected)


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
    south = fit_seasons(FleetUsage.of([]), START, 1, winters=-1.0)
    assert np.argmax(south.profiles.mean(axis=0)) in (*range(6), *range(33, 36))


def test_layups_say_in_which_half_of_the_world_the_season_lies() -> None:
    def laid_up(begin: date, end: date | None) -> FleetUsage:
        return FleetUsage.of([EngineUsage("a", layups=((begin, end),))])

    assert stored_in_january(laid_up(date(2025, 5, 1), date(2025, 10, 10))) < -0.9
    assert stored_in_january(laid_up(date(2025, 10, 20), date(2026, 4, 10))) > 0.9
    assert stored_in_january(laid_up(date(2025, 7, 1), date(2025, 7, 9))) == 0
    assert stored_in_january(laid_up(date(2025, 5, 1), None)) == 0


def test_a_winter_of_readings_leaves_the_summer_to_the_published_season() -> None:
    marina = simulate(REGIMES["charter coast"], 300, 31)
    first = FIRST + 3 * 365 + 270
    winter = began_on(marina, first).usage.as_known_on(first + 200)
    seasons = fit_seasons(winter, first + 200, len(winter.uses), stored_in_january(winter))
    months = (seasons.shares @ seasons.profiles).reshape(-1, 12, 3).mean(axis=2)
    summer = dict(zip(winter.uses, months[:, 5:8].sum(axis=1) / 12, strict=True))
    # Boats at work ran all winter: that does not say of the others that they know no season.
    assert summer["commercial"] < 0.45
    assert min(summer["charter"], summer["private"]) > 0.5


def test_a_log_of_the_south_without_readings_expects_use_in_january() -> None:
    today = date(2026, 2, 1)
    usage = EngineUsage("a", layups=((date(2025, 5, 1), date(2025, 10, 10)),))
    parameters = fit_fleet(FleetUsage.of([usage]), today)
    months = by_month(parameters, usage, today)
    assert months[1] > 2.5 * months[4]
    assert months[7] == 0

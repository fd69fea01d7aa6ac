"""A new engine on a boat that has a past: what the boat ran is known, what the engine runs is not yet."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from fleetlog.forecast import EngineForecast, EngineUsage, FleetUsage, fit_fleet
from fleetlog.forecast.scoring import Score, scored
from tests.forecast.asking import annual_hours
from tests.forecast.judging import next_services, read_twice_before, replaced_on
from tests.forecast.simulator import FIRST, REGIMES, simulate

CAME = date(2026, 3, 1)
TODAY = date(2026, 4, 1)


@pytest.mark.parametrize("name", ["charter coast", "lakes in the south", "steady workboats"])
def test_the_use_of_the_boat_makes_the_dates_of_a_new_engine_better(name: str) -> None:
    marina, day = simulate(REGIMES[name], 600, 11), FIRST + 1200
    replaced = read_twice_before(marina, day)[::3]

    def score(is_told: bool) -> Score:
        log = replaced_on(marina, day, replaced, is_told=is_told)
        cases = next_services(log, [date.fromordinal(day + 30)], replaced)
        return scored(cases, log.usage.uses).scores[0]

    told, alone = score(True), score(False)
    assert told.cases == alone.cases > 100
    assert told.pinball_days < 0.85 * alone.pinball_days
    assert 0.7 < told.coverage_share < 0.92


def _quarterly(last: date, hours: float, times: int) -> tuple[tuple[date, int], ...]:
    """Readings every quarter up to a day, so many hours from each to the next."""
    first = last - timedelta(days=91 * (times - 1))
    return tuple((first + timedelta(days=91 * n), round(10 * hours * n)) for n in range(times))


NEW = EngineUsage(
    "N", use="commercial", readings=((CAME, 0),), in_service_on=CAME, came_on=CAME,
    replaced_readings=_quarterly(CAME - timedelta(days=5), 300, 13),
)  # fmt: skip


def test_a_new_engine_is_expected_to_run_what_the_one_before_it_ran() -> None:
    parameters = fit_fleet(FleetUsage.of([]), TODAY)
    assert annual_hours(parameters, NEW, TODAY) == pytest.approx(1204, rel=0.15)
    assert (
        EngineForecast(parameters, NEW, TODAY)
        .basis()
        .startswith("no reading since it was new on 2026-03-01, and 13 of the engine that stood there before")
    )


def test_neither_the_hours_of_the_old_meter_nor_the_time_between_two_engines_tell_anything() -> None:
    parameters = fit_fleet(FleetUsage.of([]), TODAY)
    used = EngineUsage(
        "U", use="commercial", readings=((CAME, 41_230),), in_service_on=date(2015, 1, 1), came_on=CAME,
        replaced_readings=tuple((day, tenths + 7_777) for day, tenths in NEW.replaced_readings),
    )  # fmt: skip
    assert annual_hours(parameters, used, TODAY) == annual_hours(parameters, NEW, TODAY)


def test_a_past_day_knows_nothing_of_an_engine_that_came_later() -> None:
    fleet = FleetUsage.of([NEW])
    assert len(fleet.as_known_on((CAME - timedelta(days=1)).toordinal()).reading_day) == 0
    assert len(fleet.as_known_on(CAME.toordinal()).reading_day) == 14


def test_before_its_first_reading_an_engine_runs_as_the_one_before_it() -> None:
    parameters = fit_fleet(FleetUsage.of([]), TODAY)
    unread = EngineUsage(
        "N", use="commercial", in_service_on=CAME, came_on=CAME, replaced_readings=NEW.replaced_readings
    )
    assert annual_hours(parameters, unread, TODAY) == pytest.approx(1204, rel=0.15)
    assert np.all(np.diff(FleetUsage.of([unread]).reading_hours) > 0)

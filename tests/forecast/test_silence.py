"""How long an engine was not read tells where engines are read because hours were run."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from fleetlog.domain.usage import HoursTarget
from fleetlog.forecast import EngineForecast, EngineUsage, FleetParameters, fit_fleet
from tests.forecast.simulator import FIRST, REGIMES, simulate

TODAY = date.fromordinal(FIRST + 1290)
AFTER_SERVICES = replace(REGIMES["read at services"], gap_days=300, read_at_services_share=1.0)
LAST_READ = date(2021, 5, 1)
STEADY = tuple((LAST_READ - timedelta(days=91 * back), 2000 - 150 * back) for back in reversed(range(12)))


def fitted_to(regime: str) -> FleetParameters:
    marina = simulate(AFTER_SERVICES if regime == "after services" else REGIMES[regime], 300, 3)
    return fit_fleet(marina.usage.as_known_on(TODAY.toordinal()), TODAY)


@pytest.fixture(scope="module")
def after_services() -> FleetParameters:
    return fitted_to("after services")


def likely_days(parameters: FleetParameters, unread_days: int, *, is_stored: bool = False) -> int:
    """Days from its last reading on in which an engine is likely to run 40 h, when so many are past."""
    stored = ((LAST_READ, LAST_READ + timedelta(days=180)),) if is_stored else ()
    usage = EngineUsage("one", use="private", readings=STEADY, layups=stored)
    forecast = EngineForecast(parameters, usage, LAST_READ + timedelta(days=unread_days))
    (window,) = forecast.windows([HoursTarget(2000 + 400)])
    return (window.likely_on - LAST_READ).days


def test_an_engine_that_no_service_brought_in_is_taken_to_have_run_less(
    after_services: FleetParameters,
) -> None:
    days = [likely_days(after_services, unread) for unread in (0, 200, 400)]
    assert 1.2 * days[0] < days[1]
    assert days[1] < days[2]


def test_where_readings_come_by_chance_silence_tells_nothing() -> None:
    by_chance = fitted_to("charter coast")
    assert likely_days(by_chance, 400) == pytest.approx(likely_days(by_chance, 0), rel=0.1)


def test_silence_of_many_years_tells_no_more_than_that_of_two(after_services: FleetParameters) -> None:
    # Dates that went further and further would never ask for a reading.
    assert likely_days(after_services, 3000) == likely_days(after_services, 800)


def test_a_boat_ashore_is_not_silent(after_services: FleetParameters) -> None:
    begun, nearly_over = (likely_days(after_services, days, is_stored=True) for days in (1, 170))
    assert nearly_over == begun

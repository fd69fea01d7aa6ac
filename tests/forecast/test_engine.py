"""What is said of one engine, from none to many readings."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetlog.domain.usage import NOT_IN_SIGHT, DateWindow, HoursTarget
from fleetlog.forecast import EngineForecast, EngineUsage, FleetParameters, FleetUsage, fit_fleet
from fleetlog.forecast.many import years_ahead
from fleetlog.forecast.season import DAYS_PER_STRETCH, YEAR_DAYS
from tests.forecast.asking import annual_hours, by_month
from tests.forecast.simulator import FIRST, REGIMES, simulate

TODAY = date.fromordinal(FIRST + 4 * 365)


@pytest.fixture(scope="module")
def parameters() -> FleetParameters:
    usage = simulate(REGIMES["temperate"], 150, 3).usage.as_known_on(TODAY.toordinal())
    return fit_fleet(usage, TODAY)


def steady(days: int = 900, gap: int = 30, tenths_a_day: int = 2, **known) -> EngineUsage:
    first = TODAY - timedelta(days=days)
    readings = tuple((first + timedelta(days=at), at * tenths_a_day) for at in range(0, days - 20, gap))
    return EngineUsage("steady", use="private", readings=readings, **known)


def windows(parameters: FleetParameters, usage: EngineUsage, *hours: float, today: date = TODAY):
    last = usage.readings[-1][1] if usage.readings else 0
    targets = [HoursTarget(int(last) + round(10 * h)) for h in hours]
    return EngineForecast(parameters, usage, today).windows(targets)


def test_early_likely_and_late_come_in_this_order(parameters: FleetParameters) -> None:
    for window in windows(parameters, steady(), 1, 10, 50, 300):
        assert window.early_on < window.likely_on < window.late_on


def test_nothing_is_reached_before_the_last_reading(parameters: FleetParameters) -> None:
    usage = steady()
    (window,) = windows(parameters, usage, 0.1)
    assert window.early_on > usage.readings[-1][0]


def test_a_window_may_lie_before_today(parameters: FleetParameters) -> None:
    usage = steady()
    (window,) = windows(parameters, usage, 10, today=TODAY + timedelta(days=700))
    assert window.likely_on < TODAY + timedelta(days=700)


@settings(max_examples=25, deadline=None)
@given(hours=st.lists(st.floats(0.1, 900), min_size=2, max_size=6))
def test_more_hours_are_never_due_sooner(parameters: FleetParameters, hours: list[float]) -> None:
    found = windows(parameters, steady(), *sorted(hours))
    for name in ("early_on", "likely_on", "late_on"):
        dates = [getattr(window, name) for window in found]
        assert dates == sorted(dates)


def test_no_date_falls_into_a_recorded_layup(parameters: FleetParameters) -> None:
    stored, afloat = TODAY + timedelta(days=5), TODAY + timedelta(days=260)
    usage = steady(layups=((stored, afloat),))
    for window in windows(parameters, usage, *np.linspace(0.5, 60, 40)):
        for day in (window.early_on, window.likely_on, window.late_on):
            assert not stored <= day < afloat


def test_a_layup_puts_dates_off_and_its_days_add_no_hours(parameters: FleetParameters) -> None:
    afloat = TODAY + timedelta(days=400)
    usage = steady(layups=((usage_end := steady().readings[-1][0] + timedelta(days=1), afloat),))
    (window,) = windows(parameters, usage, 5)
    assert window.early_on >= afloat
    (ahead,) = years_ahead(parameters, [usage], TODAY)
    assert usage_end < TODAY
    assert ahead.today_tenths == (usage.readings[-1][1],) * 3


def test_an_engine_laid_up_until_further_notice_is_due_after_a_winter_or_not_in_sight(
    parameters: FleetParameters,
) -> None:
    usage = steady(layups=((TODAY - timedelta(days=30), None),))
    (window,) = windows(parameters, usage, 5)
    assert TODAY + timedelta(days=150) <= window.early_on < TODAY + timedelta(days=250)
    usage = steady(layups=((TODAY - timedelta(days=500), None),))
    (window,) = windows(parameters, usage, 5)
    assert window == DateWindow.of_day(NOT_IN_SIGHT)


def test_the_late_day_of_an_engine_that_hardly_runs_is_not_in_sight(parameters: FleetParameters) -> None:
    readings = tuple((TODAY - timedelta(days=at), 1000) for at in range(2000, 10, -60))
    (window,) = windows(parameters, EngineUsage("still", use="private", readings=readings), 500)
    assert window.late_on == NOT_IN_SIGHT


def test_a_meter_never_read_goes_by_alike_engines_from_the_day_given(parameters: FleetParameters) -> None:
    since = TODAY - timedelta(days=200)
    for usage in (EngineUsage("new", use="private"), EngineUsage("no meter", use="private", metered=False)):
        forecast = EngineForecast(parameters, usage, TODAY)
        near, far = forecast.windows([HoursTarget(100, since), HoursTarget(1000, since)])
        assert since < near.early_on < near.late_on
        assert near.likely_on < far.likely_on
        assert years_ahead(parameters, [usage], TODAY)[0].today_tenths is None


def test_each_use_has_its_own_habit(parameters: FleetParameters) -> None:
    since = [HoursTarget(1000, TODAY)]
    dates = {
        use: EngineForecast(parameters, EngineUsage("new", use=use), TODAY).windows(since)[0].likely_on
        for use in ("private", "commercial", "never heard of")
    }
    assert dates["commercial"] < dates["never heard of"] < dates["private"]


def test_two_readings_on_one_day_say_no_more_than_one(parameters: FleetParameters) -> None:
    day = TODAY - timedelta(days=30)
    one = EngineUsage("one", use="private", readings=((day, 1000),))
    two = EngineUsage("two", use="private", readings=((day, 990), (day, 1000)))
    assert windows(parameters, one, 20)[0].likely_on == windows(parameters, two, 20)[0].likely_on


def test_own_readings_count_for_more_than_the_fleet(parameters: FleetParameters) -> None:
    slow, fast = (
        windows(parameters, steady(tenths_a_day=1), 50),
        windows(parameters, steady(tenths_a_day=10), 50),
    )
    assert (fast[0].likely_on - TODAY).days < 0.3 * (slow[0].likely_on - TODAY).days


def test_more_readings_make_windows_narrower(parameters: FleetParameters) -> None:
    many = steady()
    few = EngineUsage("few", use="private", readings=many.readings[-2:])
    width = [(w.late_on - w.early_on).days for w in (windows(parameters, u, 100)[0] for u in (few, many))]
    assert width[1] < width[0]


def test_readings_after_today_are_not_seen(parameters: FleetParameters) -> None:
    usage = steady()
    later = EngineUsage(
        "steady", use="private", readings=(*usage.readings, (TODAY + timedelta(days=9), 99_999))
    )
    assert windows(parameters, usage, 50) == EngineForecast(parameters, later, TODAY).windows(
        [HoursTarget(int(usage.readings[-1][1]) + 500)]
    )


def test_readings_before_a_change_of_owner_count_less(parameters: FleetParameters) -> None:
    fast = steady(tenths_a_day=20)
    sold = steady(tenths_a_day=20, changed_on=fast.readings[-1][0])
    kept_rate, sold_rate = (annual_hours(parameters, usage, TODAY) for usage in (fast, sold))
    assert sold_rate < kept_rate


@pytest.mark.parametrize("days_ago", [0, 4, 40])
def test_a_change_that_no_reading_followed_widens_the_window_at_once(
    parameters: FleetParameters, days_ago: int
) -> None:
    read_on = steady().readings[-1][0]
    today = read_on + timedelta(days=days_ago)
    used = replace(steady(), use="commercial")  # it ran a quarter of what commercial engines run
    kept, changed = (
        windows(parameters, replace(used, changed_on=on), 30, today=today)[0] for on in (None, today)
    )
    assert changed.early_on < kept.early_on - timedelta(days=60)
    assert changed.late_on > kept.late_on + timedelta(days=30)


@pytest.mark.parametrize(("before", "since"), [(100, 10), (10, 100)])
def test_a_new_habit_that_nobody_recorded_is_believed_after_two_years(
    parameters: FleetParameters, before: float, since: float
) -> None:
    season = np.array(parameters.kind_shares[parameters.use_index("private")]) @ np.array(parameters.profiles)
    days = TODAY.toordinal() - np.arange(6 * 365 - 1, -1, -1)
    a_day = season[(days % YEAR_DAYS / DAYS_PER_STRETCH).astype(int)] / 365
    hours = np.cumsum(a_day * np.where(days <= TODAY.toordinal() - 2 * 365, before, since))
    read = range(0, len(days), 45)
    readings = tuple((date.fromordinal(int(days[at])), round(10 * hours[at])) for at in read)
    usage = EngineUsage("habit", use="private", readings=readings)
    assert annual_hours(parameters, usage, TODAY) == pytest.approx(since, rel=0.25)


def test_wild_readings_widen_their_own_window_not_the_fleets(parameters: FleetParameters) -> None:
    usage = simulate(REGIMES["temperate"], 150, 3).usage.as_known_on(TODAY.toordinal())
    hours = usage.reading_hours.copy()
    row = slice(int(usage.reading_offsets[40]), int(usage.reading_offsets[41]))
    jumps = np.where(np.arange(row.stop - row.start) % 5 == 4, 400.0, 0.0)
    hours[row] += np.cumsum(jumps)
    wild = FleetUsage.from_arrays(
        **{**{k: getattr(usage, k) for k in usage.__dataclass_fields__}, "reading_hours": hours}
    )
    refitted = fit_fleet(wild, TODAY)
    assert refitted.dispersions == pytest.approx(parameters.dispersions, rel=0.15)
    lumpy = EngineUsage("wild", use="private", readings=_lumpy(steady()))
    (calm,), (rough,) = windows(refitted, steady(), 50), windows(refitted, lumpy, 50)
    assert (rough.late_on - rough.early_on).days > 1.3 * (calm.late_on - calm.early_on).days


def _lumpy(usage: EngineUsage) -> tuple[tuple[date, int], ...]:
    """The same hours in lumps: the meter stands for half a year, then shows everything at once."""
    return tuple((day, int(tenths) // 360 * 360) for day, tenths in usage.readings)


def once_read(parameters: FleetParameters, hours: float, years: float | None, **known) -> float:
    """Hours a year expected of an engine read once, at an age in years that may be known."""
    on = TODAY - timedelta(days=40)
    new = None if years is None else on - timedelta(days=round(365 * years))
    usage = EngineUsage("once", "private", readings=((on, int(10 * hours)),), in_service_on=new, **known)
    return annual_hours(parameters, usage, TODAY)


def test_one_reading_of_an_engine_of_known_age_tells_how_much_it_runs(parameters: FleetParameters) -> None:
    alike = once_read(parameters, 900, None)
    busy, idle = once_read(parameters, 900, 6), once_read(parameters, 30, 6)
    assert 90 < busy < 150
    assert idle < 15 < alike
    assert once_read(parameters, 900, 6, metered=False) == pytest.approx(alike, rel=0.01)


def test_a_wrong_day_of_service_is_outweighed_by_a_few_readings(parameters: FleetParameters) -> None:
    usage = steady(days=500)
    first = usage.readings[0][0]
    usage = replace(usage, readings=tuple((day, tenths + 6000) for day, tenths in usage.readings))
    wrong = replace(usage, in_service_on=first - timedelta(days=60))
    sound, misled = (annual_hours(parameters, one, TODAY) for one in (usage, wrong))
    assert sound <= misled < 1.15 * sound


def test_hours_that_no_engine_could_run_since_the_day_of_service_are_not_believed(
    parameters: FleetParameters,
) -> None:
    assert once_read(parameters, 900, 31 / 365) == once_read(parameters, 900, None)


def test_the_expected_hours_of_the_months_follow_the_season(parameters: FleetParameters) -> None:
    usage = EngineUsage("new", use="private")
    (ahead,) = years_ahead(parameters, [usage], TODAY)
    assert [month_on.day for month_on, _ in ahead.months] == [1] * 12
    months = by_month(parameters, usage, TODAY)
    assert len(months) == 12
    assert months[7] > 3 * months[1]
    assert sum(months.values()) == pytest.approx(annual_hours(parameters, usage, TODAY), rel=0.15)


def test_hours_now_are_an_estimate_between_two_bounds(parameters: FleetParameters) -> None:
    usage = steady()
    (ahead,) = years_ahead(parameters, [usage], TODAY + timedelta(days=60))
    assert ahead.today_tenths is not None
    low, middle, high = ahead.today_tenths
    assert usage.readings[-1][1] <= low < middle < high


def test_what_a_forecast_rests_on_is_said_in_words(parameters: FleetParameters) -> None:
    words = EngineForecast(parameters, steady(), TODAY).basis()
    assert words.startswith(
        f"30 readings, the last on {steady().readings[-1][0].isoformat()}; private engines run "
    )
    assert words.endswith("no lay-up recorded")
    young = fit_fleet(FleetUsage.of([steady(days=200)]), TODAY)
    words = EngineForecast(young, steady(days=200), TODAY).basis()
    assert words.endswith("so the season is that of boats in general")
    assert "no reading yet" in EngineForecast(parameters, EngineUsage("new"), TODAY).basis()
    bare = EngineForecast(parameters, EngineUsage("bare", metered=False), TODAY).basis()
    assert bare.startswith("what alike engines run; ")
    stored = (TODAY + timedelta(days=9), None)
    words = EngineForecast(parameters, steady(layups=(stored,)), TODAY).basis()
    launched = (TODAY + timedelta(days=9 + 180)).isoformat()
    assert f"with no day of launch, which is expected about {launched}" in words
    gone = (TODAY - timedelta(days=500), None)
    assert (
        EngineForecast(parameters, steady(layups=(gone,)), TODAY)
        .basis()
        .endswith("with no day of launch, so long that the boat is taken to be out of use")
    )
    before = (TODAY - timedelta(days=300), TODAY - timedelta(days=120))
    assert "lay-up assumed from" in EngineForecast(parameters, steady(layups=(before,)), TODAY).basis()
    changed = EngineForecast(parameters, steady(changed_on=TODAY - timedelta(days=90)), TODAY).basis()
    assert "changed on" in changed
    ashore = EngineForecast(parameters, steady(is_on_boat=False), TODAY).basis()
    assert ashore.endswith("; it is on no boat now, and taken to run on as it did")
    aged = EngineForecast(parameters, steady(in_service_on=date(2015, 5, 1)), TODAY).basis()
    assert "and what it ran since it was new on 2015-05-01;" not in aged  # its first reading shows none
    shown = replace(steady(in_service_on=date(2015, 5, 1)), readings=((TODAY, 800),))
    assert (
        "and what it ran since it was new on 2015-05-01;" in EngineForecast(parameters, shown, TODAY).basis()
    )


def test_the_hours_of_a_new_engine_are_no_reading_in_words(parameters: FleetParameters) -> None:
    new_on = date(2019, 5, 1)
    readings = ((new_on, 0), (date(2020, 5, 2), 300), (date(2021, 5, 3), 700))
    for known, words in (
        (1, "no reading since it was new on 2019-05-01; "),
        (2, "1 reading since it was new on 2019-05-01, on 2020-05-02; "),
        (3, "2 readings since it was new on 2019-05-01, the last on 2021-05-03; "),
    ):
        usage = EngineUsage("new", in_service_on=new_on, readings=readings[:known])
        assert EngineForecast(parameters, usage, TODAY).basis().startswith(words)


def test_it_is_said_whose_hours_a_year_are_told_and_where_few_engines_tell_them() -> None:
    def said(use: str | None, **engines: int) -> str:
        fleet = [replace(steady(), use=name) for name, many in engines.items() for _ in range(many)]
        fitted = fit_fleet(FleetUsage.of([*fleet, EngineUsage("unread", use="rescue")]), TODAY)
        return EngineForecast(fitted, EngineUsage("asked", use=use), TODAY).basis()

    assert "; outboards in general run 35 h a year on average" in said("private")
    assert "; private engines, judged by 1 engine, run " in said("private", private=1)
    assert "; private engines, judged by 4 engines, run " in said("private", private=4, hire=1)
    assert "; private engines run " in said("private", private=5)
    for use in ("rescue", "charter", None):
        assert "; engines of this log, judged by 4 engines, run " in said(use, private=3, hire=1)
        assert "; engines of this log run " in said(use, private=4, hire=1)


def test_an_engine_of_a_use_never_seen_is_taken_for_one_of_the_fleet() -> None:
    """Whether or not there are engines of which no use is known."""
    uses = {"private": 2, "workboat": 30}
    for unknown in ({}, {None: 2}):
        fleet = [
            replace(steady(tenths_a_day=many), use=use)
            for use, many in (uses | unknown).items()
            for _ in range(8)
        ]
        fitted = fit_fleet(FleetUsage.of(fleet), TODAY)
        (seen, other) = (
            windows(fitted, EngineUsage("new", use=use), 500)[0].likely_on for use in ("workboat", "charter")
        )
        assert other > seen + timedelta(days=100)


def test_a_fleet_of_one_engine_and_of_none_give_windows() -> None:
    usage = steady()
    for fleet in (FleetUsage.of([usage]), FleetUsage.of([])):
        (window,) = windows(fit_fleet(fleet, TODAY), usage, 20)
        assert TODAY - timedelta(days=60) < window.early_on < window.late_on < TODAY + timedelta(days=900)

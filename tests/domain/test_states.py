"""The state of a line, its window of dates, and what a forecast is asked to find it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import pytest

from fleetlog.domain.due import DueLine
from fleetlog.domain.hour_record import hour_record
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Deferral, Engine, Entry, Meter, Reading
from fleetlog.domain.schedule import Deadline, Limits, Rule, Schedule
from fleetlog.domain.usage import DateWindow, HoursTarget
from tests.domain.lines import due_lines
from tests.domain.nasty_ledgers import nasty_case
from tests.domain.two_readings import SteadyForecast

TODAY = date(2024, 6, 1)
NEW = Engine("E1", in_service_on=date(2023, 1, 1), logged_from_new=True)
BELT = Rule("belt", "Belt", "belt", "replace", every=Limits(1000, 60))


@dataclass
class AskedForecast:
    """Gives every target one window, and remembers what it was asked."""

    early_on: date = TODAY + timedelta(days=10)
    likely_on: date = TODAY + timedelta(days=20)
    late_on: date = TODAY + timedelta(days=30)
    asked: list[HoursTarget] = field(default_factory=list)

    def windows(self, targets: Sequence[HoursTarget]) -> Sequence[DateWindow]:
        self.asked.extend(targets)
        return [DateWindow(self.early_on, self.likely_on, self.late_on) for _ in targets]

    def basis(self) -> str:
        return "what it was told"


def read(on: date, tenths: int) -> Reading:
    return Reading(f"r{on}", "E1", on, tenths)


def line(
    forecast: AskedForecast,
    *,
    engine: Engine = NEW,
    rule: Rule = BELT,
    entries: tuple[Entry, ...] = (),
    readings: tuple[Reading, ...] = (read(date(2024, 5, 1), 900),),
    deferrals: tuple[Deferral, ...] = (),
    within_days: int = 60,
) -> DueLine:
    ledger = EngineLedger(engine, entries=entries, readings=readings, deferrals=deferrals)
    [found] = due_lines(ledger, Schedule("s", "S", 1, (rule,)), TODAY, forecast, within_days)
    return found


def likely(days: int) -> AskedForecast:
    on = TODAY + timedelta(days=days)
    return AskedForecast(on - timedelta(days=5), on, on + timedelta(days=5))


@pytest.mark.parametrize(
    ("likely_in_days", "state"),
    [(-1, "needs a reading"), (0, "due"), (60, "due"), (61, "later")],
)
def test_both_ends_of_the_window_asked_for_count(likely_in_days: int, state: str) -> None:
    found = line(likely(likely_in_days))
    assert (found.state, found.wants_doing) == (state, state != "later")


def test_the_window_asked_for_is_the_shops_choice() -> None:
    assert line(likely(10), within_days=9).state == "later"
    assert line(likely(10), within_days=10).state == "due"


def test_where_no_window_is_asked_for_it_is_sixty_days() -> None:
    ledger = EngineLedger(NEW, readings=(read(date(2024, 5, 1), 900),))
    for days, state in ((60, "due"), (61, "later")):
        [found] = due_lines(ledger, Schedule("s", "S", 1, (BELT,)), TODAY, likely(days))
        assert found.state == state


def test_a_reading_above_the_limit_is_overdue_whatever_the_forecast_says() -> None:
    found = line(likely(500), readings=(read(date(2024, 5, 1), 1001),))
    assert (found.state, found.governs) == ("overdue", "hours")


def test_when_a_limit_was_passed_the_window_is_the_day_it_came() -> None:
    """From 900 to 1100 tenths in 20 days, 1000 is reached after ten."""
    asked = AskedForecast()
    found = line(asked, readings=(read(date(2024, 5, 1), 900), read(date(2024, 5, 21), 1100)))
    day = date(2024, 5, 11)
    assert found.window == DateWindow(day, day, day)
    assert asked.asked == []


def test_a_bulletin_is_owed_from_the_day_it_was_issued_where_its_hours_had_been_run_before() -> None:
    issued_on = date(2024, 5, 20)
    bulletin = Rule(
        "hose", "Hose", "hose", "inspect", once=True, by=Deadline(tenths=800), issued_on=issued_on
    )
    found = line(AskedForecast(), rule=bulletin)
    assert (found.state, found.likely_on) == ("overdue", issued_on)


def test_the_forecast_is_asked_for_engine_hours_that_no_reading_has_reached() -> None:
    asked = AskedForecast()
    line(asked)
    assert asked.asked == [HoursTarget(1000)]


def test_the_first_of_both_limits_makes_the_window_and_says_which() -> None:
    by_hours = line(AskedForecast())
    assert by_hours.governs == "hours"
    assert by_hours.window == DateWindow(*(TODAY + timedelta(days=d) for d in (10, 20, 30)))
    by_date = line(AskedForecast(), rule=replace(BELT, every=Limits(1000, 17)))
    assert (by_date.due_on, by_date.governs) == (TODAY, "date")
    assert by_date.window == DateWindow(TODAY, TODAY, TODAY)


def test_on_a_tie_the_date_governs() -> None:
    rule = replace(BELT, every=Limits(1000, 18))
    assert line(likely(30), rule=rule).due_on == TODAY + timedelta(days=30)
    assert line(likely(30), rule=rule).governs == "date"
    assert line(likely(29), rule=rule).governs == "hours"


def test_without_an_hour_meter_it_is_asked_for_hours_run_since_the_fitting() -> None:
    asked = AskedForecast()
    fitted = Entry(
        "e1",
        "E1",
        date(2024, 3, 1),
        "fitted",
        item="belt",
        condition="used",
        prior_tenths=300,
        prior_months=2,
    )
    found = line(asked, engine=replace(NEW, hour_meter=False), entries=(fitted,), readings=())
    assert asked.asked == [HoursTarget(700, date(2024, 3, 1))]
    assert (found.due_tenths, found.governs, found.state) == (None, "hours", "due")


def test_without_an_hour_meter_a_likely_date_gone_by_is_no_accusation() -> None:
    found = line(likely(-100), engine=replace(NEW, hour_meter=False), readings=())
    assert found.state == "needs a reading"


def test_a_deferral_in_hours_is_what_the_forecast_is_asked_for() -> None:
    asked = AskedForecast()
    at = datetime(2024, 5, 2, tzinfo=UTC)
    found = line(asked, deferrals=(Deferral("d", "E1", "belt", "ann", at, "busy", until_tenths=1200),))
    assert asked.asked == [HoursTarget(1200)]
    assert found.due_tenths == 1200


@pytest.mark.parametrize(
    ("until_on", "until_tenths", "likely_in_days", "is_put_off"),
    [
        (None, 1200, 100, True),
        (None, 1200, 10, False),
        (None, 950, 100, False),
        (date(2028, 3, 1), None, 100, True),
        (date(2027, 3, 1), None, 100, False),
        (date(2027, 3, 1), 1200, 100, True),
    ],
)
def test_a_line_is_put_off_where_it_comes_later_by_what_was_said(
    until_on: date | None, until_tenths: int | None, likely_in_days: int, is_put_off: bool
) -> None:
    at = datetime(2024, 5, 2, tzinfo=UTC)
    said = Deferral("d", "E1", "belt", "ann", at, "busy", until_on=until_on, until_tenths=until_tenths)
    assert line(likely(likely_in_days), deferrals=(said,)).is_put_off == is_put_off
    assert not line(likely(likely_in_days)).is_put_off


def test_a_deferral_to_fewer_hours_than_a_line_of_hours_alone_has_puts_nothing_off() -> None:
    at, hours_alone = datetime(2024, 5, 2, tzinfo=UTC), replace(BELT, every=Limits(1000))
    said = Deferral("d", "E1", "belt", "ann", at, "busy", until_tenths=950)
    found = line(likely(100), rule=hours_alone, deferrals=(said,))
    assert (found.state, found.is_put_off) == ("later", False)


def test_a_meter_that_was_never_read_is_asked_for_hours_run_since_service_began() -> None:
    joined, at = replace(NEW, logged_from_new=False), datetime(2024, 5, 2, tzinfo=UTC)
    asked = AskedForecast()
    assert line(asked, engine=joined, readings=()).due_tenths == 1000
    assert asked.asked == [HoursTarget(1000, date(2023, 1, 1))]
    moved = AskedForecast()
    deferral = Deferral("d", "E1", "belt", "ann", at, "busy", until_tenths=1200)
    assert line(moved, engine=joined, readings=(), deferrals=(deferral,)).due_tenths == 1200
    assert moved.asked == [HoursTarget(1200, date(2023, 1, 1))]


def test_a_meter_that_was_never_read_follows_the_calendar_once_work_was_done() -> None:
    asked = AskedForecast()
    fitted = Entry("e1", "E1", date(2024, 3, 1), "fitted", item="belt")
    found = line(asked, engine=replace(NEW, logged_from_new=False), readings=(), entries=(fitted,))
    assert (found.due_on, found.due_tenths, found.governs) == (date(2029, 3, 1), None, "date")
    assert asked.asked == []


def test_a_meter_that_was_never_read_is_asked_for_hours_run_since_the_work_where_no_calendar_tells() -> None:
    asked, rule = AskedForecast(), replace(BELT, every=Limits(1000))
    fitted = Entry("e1", "E1", date(2024, 3, 1), "fitted", item="belt")
    found = line(asked, engine=replace(NEW, logged_from_new=False), rule=rule, readings=(), entries=(fitted,))
    assert asked.asked == [HoursTarget(1000, date(2024, 3, 1))]
    assert (found.due_on, found.due_tenths, found.governs) == (None, None, "hours")


def test_hours_that_a_finding_asks_for_count_from_its_day_where_no_meter_tells() -> None:
    asked = AskedForecast()
    rule = replace(BELT, action="inspect", every=Limits(None, 60))
    looked = Entry("e1", "E1", date(2024, 3, 1), "inspected", item="belt", again_tenths=250)
    found = line(asked, engine=replace(NEW, hour_meter=False), rule=rule, readings=(), entries=(looked,))
    assert asked.asked == [HoursTarget(250, date(2024, 3, 1))]
    assert (found.due_on, found.due_tenths, found.governs) == (date(2029, 3, 1), None, "hours")


def test_a_line_of_no_record_has_no_window() -> None:
    used = Entry("e1", "E1", date(2024, 3, 1), "fitted", item="belt", condition="used")
    found = line(AskedForecast(), entries=(used,))
    assert (found.state, found.due_on, found.due_tenths, found.window) == ("no record", None, None, None)


def test_a_line_of_no_record_has_no_window_where_the_meter_was_never_read() -> None:
    joined, asked = replace(NEW, in_service_on=date(2019, 1, 1), logged_from_new=False), AskedForecast()
    found = line(asked, engine=joined, readings=())
    assert (found.state, found.window, asked.asked) == ("no record", None, [])


@pytest.mark.parametrize("state", ["sold", "scrapped"])
def test_an_engine_sold_or_scrapped_has_no_lines(state: str) -> None:
    ledger = EngineLedger(replace(NEW, state=state))
    assert due_lines(ledger, Schedule("s", "S", 1, (BELT,)), TODAY, AskedForecast()) == []


def test_a_list_begins_with_the_most_urgent_and_ends_with_what_is_later() -> None:
    lines: list[DueLine] = []
    for seed in range(400):
        case = nasty_case(seed)
        last = hour_record(case.ledger, case.today).last
        forecast = SteadyForecast(case.today if last is None else last.on)
        lines.extend(due_lines(case.ledger, case.schedule, case.today, forecast))
    states = ("overdue", "no record", "needs a reading", "due", "next access", "later")
    listed = sorted(lines, key=lambda line: line.order)
    assert {found.state for found in listed} == set(states)
    for one, other in pairwise(listed):
        assert states.index(one.state) <= states.index(other.state)
        if one.state == other.state and other.window is not None:
            assert one.window is not None
            assert one.window.likely_on <= other.window.likely_on


def test_the_day_hours_were_reached_is_the_last_time_they_were() -> None:
    """A confirmed lower reading takes hours back; the limit counts as reached when it was passed for good."""
    back = Reading("back", "E1", date(2024, 3, 1), 50, status="confirmed")
    readings = (read(date(2024, 2, 1), 100), back, read(date(2024, 3, 11), 150))
    record = hour_record(EngineLedger(Engine("E1"), readings=readings), TODAY)
    assert record.reached_on(100) == date(2024, 3, 6)
    assert record.reached_on(151) is None
    assert record.reached_on(10) == date(2024, 2, 1)


def test_a_figure_and_engine_hours_translate_both_ways_through_the_meters() -> None:
    meters = (Meter("E1", date(2024, 2, 1), 3000, 100),)
    record = hour_record(EngineLedger(Engine("E1"), meters=meters), TODAY)
    assert record.engine_tenths(date(2024, 1, 31), 2950) == 2950
    assert record.engine_tenths(date(2024, 2, 1), 105) == 3005
    assert record.meter_tenths(date(2024, 2, 1), 3005) == 105


def test_a_held_reading_says_what_it_was_held_against_and_whether_it_is_below() -> None:
    readings = (read(date(2024, 2, 1), 100), read(date(2024, 2, 2), 99), read(date(2024, 2, 3), 900))
    below, above = hour_record(EngineLedger(Engine("E1"), readings=readings), TODAY).held
    assert (below.is_below, above.is_below) == (True, False)
    assert {(h.against.on, h.against.tenths) for h in (below, above)} == {(date(2024, 2, 1), 100)}
    assert (below.on, below.meter_tenths) == (date(2024, 2, 2), 99)


def test_a_new_engine_starts_at_zero_after_its_trial_runs_and_goes_back_by_a_meter_at_zero() -> None:
    engine = replace(Engine("E1"), in_service_on=date(2024, 2, 1), logged_from_new=True)
    ledger = EngineLedger(engine, readings=(read(date(2024, 1, 20), 4), read(date(2024, 3, 1), 400)))
    assert hour_record(ledger, TODAY).falls == []
    [fall] = hour_record(replace(ledger, meters=(Meter("E1", date(2024, 4, 1), 0, 0),)), TODAY).falls
    assert (fall.on, fall.tenths, fall.below.tenths) == (date(2024, 4, 1), 0, 400)


def test_engine_hours_go_back_by_a_confirmed_figure_or_a_meter_but_not_where_a_meter_puts_one_right() -> None:
    readings = (read(date(2024, 2, 1), 400), replace(read(date(2024, 2, 2), 310), status="confirmed"))
    meters = (
        Meter("E1", date(2024, 3, 1), 300, 0),
        Meter("E1", date(2024, 4, 1), 9000, 0),
        Meter("E1", date(2024, 5, 1), 305, 0),
    )
    record = hour_record(EngineLedger(Engine("E1"), readings=readings, meters=meters), TODAY)
    assert [(f.on, f.tenths, f.meter_tenths, f.below.tenths, f.below_meter_tenths) for f in record.falls] == [
        (date(2024, 2, 2), 310, 310, 400, 400),
        (date(2024, 3, 1), 300, None, 310, 310),
    ]

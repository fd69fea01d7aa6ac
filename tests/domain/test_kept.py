"""What is kept of an engine's lines holds on every day of its span, and comes to the same states."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from random import Random

import pytest

from fleetlog.domain.due import DueLine, engine_limits, state_on
from fleetlog.domain.evidence import Answer, Measurement
from fleetlog.domain.kept import (
    KeptLine,
    days_alike,
    days_of_wear,
    fact_days,
    kept_line,
    listed_line,
)
from fleetlog.domain.ledger import BoatLedger, EngineLedger, Evidence
from fleetlog.domain.records import (
    Boat,
    Change,
    Deferral,
    Engine,
    Entry,
    Layup,
    Meter,
    Mount,
    Ownership,
    Reading,
    Void,
)
from fleetlog.domain.schedule import Rule, Schedule
from tests.domain.lines import due_lines
from tests.domain.nasty_ledgers import Case, nasty_case
from tests.domain.test_condition import ANODE, METERLESS, NEW, OneADay, looked
from tests.domain.two_readings import SteadyForecast

BLOCKS = 10
CASES_A_BLOCK = 150


def lines_on(case: Case, day: date, forecast_on: date, within_days: int = 0) -> list[DueLine]:
    return due_lines(case.ledger, case.schedule, day, SteadyForecast(forecast_on), within_days)


def kept_on(case: Case, day: date, forecast_on: date) -> list[KeptLine]:
    return [kept_line(line) for line in lines_on(case, day, forecast_on)]


def span_of(case: Case, day: date) -> tuple[date, date]:
    limits = engine_limits(case.ledger, case.schedule, day)
    return days_alike(fact_days(case.ledger, case.schedule), limits.standings, day)


def days_of(chance: Random, first: date, last: date, today: date) -> list[date]:
    """The ends of a span as far as they are near, and some days between."""
    near_first = max(first, today - timedelta(days=900))
    near_last = min(last, today + timedelta(days=900))
    between = [near_first + timedelta(days=chance.randint(0, (near_last - near_first).days)) for _ in "123"]
    return [near_first, near_last, *between]


@pytest.mark.parametrize("block", range(BLOCKS))
def test_lines_are_the_same_on_every_day_of_the_span(block: int) -> None:
    for seed in range(block * CASES_A_BLOCK, (block + 1) * CASES_A_BLOCK):
        case = nasty_case(seed)
        first, last = span_of(case, case.today)
        assert first <= case.today <= last, seed
        kept = kept_on(case, case.today, case.today)
        for day in days_of(Random(seed), first, last, case.today):
            assert kept_on(case, day, case.today) == kept, (seed, day)


def test_spans_are_seldom_a_single_day() -> None:
    lengths = []
    for seed in range(200):
        case = nasty_case(seed)
        first, last = span_of(case, case.today)
        lengths.append((last - max(first, date(2020, 1, 1))).days)
    assert sum(length > 7 for length in lengths) > len(lengths) / 2


@pytest.mark.parametrize("within_days", [0, 1, 30, 400])
def test_states_follow_from_what_is_kept_and_the_day(within_days: int) -> None:
    for seed in range(300):
        case = nasty_case(seed)
        until_on = case.today + timedelta(days=within_days)
        for line in lines_on(case, case.today, case.today, within_days):
            kept = kept_line(line)
            state = state_on(case.today, until_on, kept.always, kept.due_on, kept.likely_on)
            assert state == line.state, seed
            is_shown = kept.shows_on is not None and kept.shows_on <= until_on
            is_told = kept.off_on is not None or line.deferral is not None
            assert is_shown == (state != "later" or is_told), seed


@pytest.mark.parametrize("measured", [("90", "80", "70", "60"), ("90", "70", "55"), ("80", "40"), ("90",)])
@pytest.mark.parametrize("engine", [NEW, METERLESS])
def test_lines_that_wear_brings_nearer_are_the_same_on_every_day_of_their_span(
    measured: tuple[str, ...], engine: Engine
) -> None:
    last_on = date(2024, 5, 1)
    days = [last_on - timedelta(days=100 * (len(measured) - 1 - n)) for n in range(len(measured))]
    tenths = [1000 * (n + 1) if engine.hour_meter else None for n in range(len(measured))]
    entries = tuple(looked(n, days[n], tenths[n], figure) for n, figure in enumerate(measured))
    reading = Reading("r", "E1", last_on, 1000 * len(measured))
    ledger = EngineLedger(engine, entries=entries, readings=(reading,) if engine.hour_meter else ())
    case = Case(ledger, Schedule("s", "S", 1, (ANODE,)), last_on)

    def lines_of(day: date) -> list[DueLine]:
        return due_lines(ledger, case.schedule, day, OneADay(reading))

    for days_on in range(0, 220, 3):
        today = last_on + timedelta(days=days_on)
        first, last = (
            max(span_of(case, today)[0], days_of_wear(lines_of(today), today)[0]),
            min(span_of(case, today)[1], days_of_wear(lines_of(today), today)[1]),
        )
        assert first <= today <= last
        kept = [kept_line(line) for line in lines_of(today)]
        for day in {first if first >= last_on else today, min(last, today + timedelta(days=300))}:
            assert [kept_line(line) for line in lines_of(day)] == kept, (today, day)


def test_a_line_of_no_record_bounds_nothing_by_what_was_measured() -> None:
    fitted = Entry("f", "E1", date(2024, 1, 1), "fitted", item="anode", condition="used", sequence=9)
    entries = (fitted, looked(10, date(2024, 3, 1), 900, "20"))
    schedule = Schedule("s", "S", 1, (replace(ANODE, action="replace"),))
    reading = Reading("r", "E1", date(2024, 5, 1), 1000)
    ledger = EngineLedger(NEW, entries=entries, readings=(reading,))
    lines = due_lines(ledger, schedule, date(2024, 6, 1), OneADay(reading))
    assert [(line.state, line.window) for line in lines] == [("no record", None)]
    assert days_of_wear(lines, date(2024, 6, 1)) == (date.min, date.max)


def test_each_day_on_which_something_begins_to_be_seen_bounds_what_is_kept() -> None:
    first = date(2024, 1, 1)
    day = [first + timedelta(days=n) for n in range(21)]
    at = [datetime(on.year, on.month, on.day, 9, tzinfo=UTC) for on in day]

    def change(kind: str, field: str, was: str | None, on: int) -> Change:
        return Change(kind, "E1", field, was, day[on], at[0], "ann")

    boat = BoatLedger(
        Boat("B", "O", "B"),
        changes=(change("boats", "water", "fresh", 10),),
        ownership=(Ownership("B", "O", day[11]),),
        layups=(Layup("B", day[12], day[13]), Layup("B", day[14])),
    )
    former = EngineLedger(
        Engine("OLD"),
        voids=(Void("o", at[8], "ann", "wrong"),),
        changes=(change("engines", "state", None, 9),),
    )
    measured = Measurement("m", "E1", day[15], "anode", "mass", Decimal(90), "% left")
    answer = Answer("a", "E1", day[16], "entered wrong", "typed wrong", "ann", measurement_id="m")
    of_a_torque = replace(answer, on=day[20], measurement_id=None, torque_id="t")
    ledger = EngineLedger(
        Engine("E1", in_service_on=day[0], boat_id="B"),
        entries=(Entry("e", "E1", day[1], "inspected", item="belt"),),
        readings=(Reading("r", "E1", day[2], 10),),
        meters=(Meter("E1", day[3], 20),),
        voids=(Void("e", at[4], "ann", "wrong"),),
        deferrals=(Deferral("d", "E1", "anode", "ann", at[5], "busy", until_on=day[20]),),
        changes=(
            change("engines", "in_service_on", day[7].isoformat(), 6),
            change("engines", "state", "stored", 6),
        ),
        mounts=(Mount("E1", "B", day[18], to_on=day[19]),),
        boats={"B": boat},
        replaced=(former,),
        evidence=Evidence(measurements=(measured,), answers=(answer, of_a_torque)),
    )
    bulletin = Rule("hose", "Hose", "hose", "inspect", once=True, issued_on=day[17])
    schedule = Schedule("s", "S", 1, (ANODE, bulletin))
    assert sorted(fact_days(ledger, schedule)) == day[:20]
    assert sorted(fact_days(ledger, None)) == [*day[:15], *day[18:20]]
    assert fact_days(EngineLedger(Engine("E1")), schedule) == {day[17]}
    by_interval = replace(ANODE, condition=None)
    assert sorted(fact_days(ledger, Schedule("s", "S", 1, (by_interval,)))) == [*day[:15], *day[18:20]]


def test_a_listed_line_has_the_place_in_a_list_that_the_line_has() -> None:
    for seed in range(50):
        case = nasty_case(seed)
        for line in lines_on(case, case.today, case.today):
            assert listed_line(line, "").order == line.order

"""Figures that are held, and hours of days that no reading tells."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fleetlog.domain.hour_record import (
    AcceptedReading,
    before_its_start,
    figures_without_meter,
    hour_record,
    newly_held,
)
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Engine, Entry, Meter, Reading

TODAY = date(2024, 6, 1)
NEW = Engine("E1", in_service_on=date(2024, 1, 10), logged_from_new=True)


def read(on: date, tenths: int) -> Reading:
    return Reading(f"r{on}{tenths}", "E1", on, tenths)


def looked(on: date, tenths: int | None = None) -> Entry:
    return Entry(f"e{on}", "E1", on, "inspected", item="belt", meter_tenths=tenths)


def test_a_held_figure_is_found_by_its_day_and_what_the_meter_showed() -> None:
    day, next_day = date(2024, 2, 2), date(2024, 2, 3)
    readings = (read(date(2024, 2, 1), 100), read(day, 99), read(day, 98), read(next_day, 99))
    record = hour_record(EngineLedger(Engine("E1"), readings=readings), TODAY)
    for on, tenths in ((day, 98), (day, 99), (next_day, 99)):
        held = record.held_figure(on, tenths)
        assert held is not None
        assert (held.on, held.meter_tenths) == (on, tenths)
    assert record.held_figure(next_day, 98) is None
    assert record.held_figure(date(2024, 2, 1), 100) is None


def test_a_figure_that_another_one_makes_held_is_newly_held_and_no_other() -> None:
    ledger = EngineLedger(Engine("E1"), readings=(read(date(2024, 2, 1), 100), read(date(2024, 2, 2), 99)))
    before = replace(ledger, readings=(*ledger.readings, read(date(2024, 3, 1), 200)))
    after = replace(before, readings=(*before.readings, read(date(2024, 2, 20), 300)))
    held = newly_held(before, hour_record(after, TODAY))
    assert [(one.on, one.meter_tenths) for one in held] == [(date(2024, 3, 1), 200)]
    sound = replace(ledger, readings=ledger.readings[:1])
    assert newly_held(sound, hour_record(sound, TODAY)) == []


def test_engine_hours_that_stay_as_they_were_do_not_go_back() -> None:
    again = replace(read(date(2024, 2, 20), 100), status="confirmed")
    readings, meters = (read(date(2024, 2, 1), 100), again), (Meter("E1", date(2024, 3, 1), 100, 0),)
    assert hour_record(EngineLedger(Engine("E1"), readings=readings, meters=meters), TODAY).falls == []


@pytest.mark.parametrize(("first", "is_known"), [(0, True), (1, False)])
def test_hours_before_the_first_reading_are_not_known_unless_it_is_0(first: int, is_known: bool) -> None:
    readings = (read(date(2024, 2, 1), first), read(date(2024, 3, 1), 50))
    record = hour_record(EngineLedger(Engine("E1"), readings=readings), TODAY)
    earlier = looked(date(2024, 1, 20))
    assert record.tenths_at(earlier) == first
    assert record.known_tenths_at(earlier) == (first if is_known else None)
    assert record.reading_taken_for(earlier) == (
        None if is_known else AcceptedReading(date(2024, 2, 1), first)
    )


def test_the_first_reading_is_told_where_work_from_before_it_says_no_hours() -> None:
    record = hour_record(EngineLedger(Engine("E1"), readings=(read(date(2024, 2, 1), 40),)), TODAY)
    unread, later = looked(date(2024, 1, 20)), looked(date(2024, 2, 2))
    assert record.first_after_unread([later, unread]) == AcceptedReading(date(2024, 2, 1), 40)
    assert record.first_after_unread([later, looked(date(2024, 1, 20), 30)]) is None


def test_without_any_reading_no_hours_are_told_of_any_work() -> None:
    record, work = hour_record(EngineLedger(Engine("E1")), TODAY), looked(date(2024, 2, 2))
    assert record.tenths_at(work) is None
    assert record.known_tenths_at(work) is None
    assert record.reading_taken_for(work) is None


def test_hours_of_the_day_of_a_reading_are_taken_for_nothing_and_later_ones_for_the_last() -> None:
    days = date(2024, 2, 1), date(2024, 3, 1), date(2024, 4, 1)
    record = hour_record(EngineLedger(Engine("E1"), readings=tuple(read(day, 100) for day in days)), TODAY)
    between = date(2024, 3, 2)
    assert [record.reading_taken_for(looked(day)) for day in (*days, between)] == [None] * 4
    assert record.reading_taken_for(looked(date(2024, 4, 2))) == AcceptedReading(days[-1], 100)


@pytest.mark.parametrize(
    ("engine", "on", "tenths", "starts_on"),
    [
        (NEW, date(2024, 1, 9), 1, date(2024, 1, 10)),
        (NEW, date(2024, 1, 9), 0, None),
        (NEW, date(2024, 1, 10), 1, None),
        (replace(NEW, logged_from_new=False), date(2024, 1, 9), 1, None),
    ],
)
def test_a_new_engine_has_run_no_hours_before_its_first_day(
    engine: Engine, on: date, tenths: int, starts_on: date | None
) -> None:
    assert before_its_start(engine, on, tenths) == starts_on


def test_figures_of_an_engine_without_a_meter_are_counted_as_they_count_for_nothing() -> None:
    rows = {"entries": (looked(date(2024, 2, 1), 100),), "readings": (read(date(2024, 3, 1), 200),)}
    metered = EngineLedger(NEW, **rows)  # type: ignore[arg-type]
    meterless = replace(metered, engine=replace(NEW, hour_meter=False))
    assert (figures_without_meter(metered), figures_without_meter(meterless)) == (0, 2)
    assert hour_record(meterless, TODAY).days == []

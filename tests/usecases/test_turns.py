"""When work comes round again, and the parts that it takes each time."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from fleetlog.domain.batch import Batch
from fleetlog.domain.fleet import FleetState
from fleetlog.domain.records import Boat, Engine, Entry, Reading
from fleetlog.domain.schedule import ScheduleText
from fleetlog.store.log import Log
from fleetlog.usecases.demand import part_demands
from fleetlog.usecases.fleet import fleet_state
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.turns import Turns, turns_of, windows_of_turns

TODAY = date(2026, 4, 15)
OCCASION = Occasion("Kim", datetime(2026, 4, 15, 9, 0, tzinfo=UTC), TODAY)
SCHEDULE = """
name = "Twin"
revision = 1

[[rule]]
key = "oil"
title = "Change oil"
item = "oil"
action = "replace"
every = { months = 3 }
parts = [{ number = "OIL", quantity = 1.5 }]

[[rule]]
key = "gasket"
title = "Renew gasket"
item = "gasket"
action = "replace"
renew_when_disturbed = true
access = "cover off"
parts = [{ number = "GASKET" }]

[[rule]]
key = "cover"
title = "Look under the cover"
item = "cam"
action = "inspect"
every = { months = 12 }
access = "cover off"

[[rule]]
key = "pump"
title = "Renew impeller"
item = "impeller"
action = "replace"
every = { hours = 100 }
parts = [{ number = "PUMP" }]
"""


@pytest.fixture
def shop(log: Log) -> Log:
    """One engine of 100 hours a year, its oil last changed a month ago, its gasket put back used."""
    engine = Engine(
        "E1", "M", "T", "Twin", in_service_on=date(2024, 4, 15), logged_from_new=True, boat_id="b"
    )
    entries = [
        Entry("e1", "E1", date(2026, 3, 15), "fitted", item="oil"),
        Entry("e2", "E1", date(2026, 3, 15), "reused", item="gasket"),
        Entry("e3", "E1", date(2025, 6, 1), "inspected", item="cam"),
        Entry("e4", "E1", date(2026, 4, 1), "fitted", item="impeller", meter_tenths=1960),
    ]
    readings = [
        Reading(f"r{n}", "E1", date(2024, 4, 15).replace(year=2024 + n // 12, month=n % 12 + 1), 80 * (n - 3))
        for n in range(4, 27)
    ]
    with log.writing("Kim", OCCASION.at) as writer:
        writer.add(
            Batch(
                schedules=[ScheduleText("Twin", 1, SCHEDULE)],
                boats=[Boat("b", None, "Gull", use="private")],
                engines=[engine],
                readings=readings,
                entries=entries,
            )
        )
    return log


def state_of(log: Log) -> FleetState:
    with log.reading() as reader:
        return fleet_state(reader, TODAY, 60)


def test_turns_by_the_calendar_count_the_interval_on_from_the_next_limit(shop: Log) -> None:
    state = state_of(shop)
    [engine] = state.engines
    oil = next(line for line in engine.lines if line.rule.key == "oil")
    turns = turns_of(engine, oil, TODAY)
    assert turns is not None
    [windows] = windows_of_turns(state, [turns], (1, 2))
    assert [w.likely_on for w in windows] == [date(2026, 9, 15), date(2026, 12, 15)]
    late = turns_of(engine, replace(oil, state="overdue"), TODAY)
    assert late is not None
    assert late.day(1) == date(2026, 7, 15)


def test_turns_by_hours_follow_one_another_in_order(shop: Log) -> None:
    state = state_of(shop)
    [engine] = state.engines
    pump = next(line for line in engine.lines if line.rule.key == "pump")
    turns = turns_of(engine, pump, TODAY)
    assert turns is not None
    [windows] = windows_of_turns(state, [turns], (1, 2, 3))
    days = [w.likely_on for w in windows]
    assert days == sorted(days)
    assert days[0] > (pump.likely_on or date.max)


def test_what_waits_for_an_access_comes_round_only_with_it(shop: Log) -> None:
    state = state_of(shop)
    [engine] = state.engines
    gasket = next(line for line in engine.lines if line.rule.key == "gasket")
    assert turns_of(engine, gasket, TODAY) is None
    assert Turns("E1", None, None, None, None).day(1) is None


def test_parts_are_expected_for_every_turn_within_the_horizon(shop: Log) -> None:
    found = {(p.part_number, p.days): p for p in part_demands(shop, OCCASION, (30, 90, 365), 0.9)}
    assert found["OIL", 30].expected == 0
    assert found["OIL", 90].expected == 1.5
    assert found["OIL", 365].expected == 6.0
    assert found["OIL", 365].to_order == found["OIL", 365].enough == 6.0
    assert found["GASKET", 30].expected == 0
    assert found["GASKET", 90].expected == 1
    assert 0 < found["PUMP", 365].expected < 2
    assert found["OIL", 30].on_shelf is None


def test_turns_that_are_not_in_sight_take_no_parts_however_long_the_horizon(shop: Log) -> None:
    found = {(p.part_number, p.days): p for p in part_demands(shop, OCCASION, (2_900, 3_000), 0.9)}
    pumps = found["PUMP", 3_000].expected - found["PUMP", 2_900].expected
    assert 0 <= pumps < 1
    assert found["OIL", 3_000].expected - found["OIL", 2_900].expected == 1.5

"""Repairs of an engine by age: one a visit, over the time in which the engine was watched."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.lives import Age
from fleetlog.domain.records import Engine, Entry, Reading, Visit
from fleetlog.domain.repairs import EngineRepairs, repairs_of
from fleetlog.domain.travel import Home

NEW = Engine("E1", in_service_on=date(2023, 1, 1), logged_from_new=True)
VISITS = {"v1": Visit("v1", why="Breakdown off the point"), "v2": Visit("v2", why="booked service")}
READINGS = (Reading("r1", "E1", date(2023, 7, 1), 500), Reading("r2", "E1", date(2025, 1, 1), 2000))
ENTRIES = (
    Entry("a", "E1", date(2023, 7, 1), "inspected", "v1", item="fuel filter"),
    Entry("b", "E1", date(2023, 7, 2), "fitted", "v1", item="fuel filter", reason="failed", sequence=1),
    Entry("c", "E1", date(2024, 1, 1), "fitted", "v2", 1000, item="thermostat", reason="failed", sequence=2),
    Entry("d", "E1", date(2024, 7, 1), "fitted", "v2", 1500, item="impeller", reason="worn", sequence=3),
)


def repairs(engine: Engine = NEW, item: str | None = None) -> EngineRepairs:
    ledger = EngineLedger(engine, entries=ENTRIES, readings=READINGS, visits=VISITS)
    return repairs_of(Home(ledger, None, date(2025, 1, 1)), item)


def test_a_visit_with_a_breakdown_or_a_failed_item_is_one_repair() -> None:
    found = repairs()
    assert [repair.hours for repair in found.repairs] == [50, 100]
    assert (found.start, found.end.hours) == (Age(0, 0), 200)


def test_of_one_kind_of_item_only_its_own_failures_count() -> None:
    assert [repair.hours for repair in repairs(item="Thermostat").repairs] == [100]
    assert repairs(item="impeller").repairs == ()


def test_a_used_engine_is_watched_from_the_first_word_of_it() -> None:
    found = repairs(replace(NEW, logged_from_new=False))
    assert found.start.hours == 50
    assert found.start.months is not None
    assert round(found.start.months) == 6
    assert repairs(Engine("E1")).end == Age(200, None)


def test_without_a_meter_repairs_have_months_alone() -> None:
    found = repairs(replace(NEW, hour_meter=False))
    assert [repair.hours for repair in found.repairs] == [None, None]
    assert [round(repair.months or 0) for repair in found.repairs] == [6, 12]

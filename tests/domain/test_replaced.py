"""What a boat ran before an engine came to it, from the engine that stood at its place before."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.records import Boat, Engine, Mount, Reading
from fleetlog.domain.replaced import RunBefore
from fleetlog.domain.replaced import run_before as run_before_as_seen
from fleetlog.domain.satisfaction import seen_on

BOATS = {key: BoatLedger(Boat(key, None, f"boat {key}")) for key in ("A", "B")}
OFF, CAME, TODAY = date(2025, 3, 10), date(2025, 4, 2), date(2025, 6, 1)
SPRING, AUTUMN = (date(2024, 4, 1), 4_000), (date(2024, 10, 1), 6_500)
AFTER = (date(2025, 5, 1), 7_000)


def run_before(ledger: EngineLedger, today: date) -> RunBefore | None:
    return run_before_as_seen(ledger, seen_on(ledger, today))


def ledger(serial: str, *mounts: Mount, read: tuple[tuple[date, int], ...] = ()) -> EngineLedger:
    readings = tuple(Reading(f"{serial}-{on}", serial, on, tenths) for on, tenths in read)
    return EngineLedger(Engine(serial), readings=readings, mounts=mounts, boats=BOATS)


OLD = ledger("OLD", Mount("OLD", "A", date(2019, 5, 1), None, OFF), read=(SPRING, AUTUMN, AFTER))
NEW = replace(ledger("NEW", Mount("NEW", "A", CAME), read=((CAME, 0),)), replaced=(OLD,))


def test_the_engine_before_tells_what_the_boat_ran_up_to_the_day_it_came_off() -> None:
    assert run_before(NEW, TODAY) == RunBefore(CAME, (SPRING, AUTUMN))
    assert run_before(NEW, date(2025, 4, 1)) is None


def test_an_engine_without_a_mount_is_there_since_it_came_into_service_or_was_first_read() -> None:
    new = Engine("NEW", boat_id="A", in_service_on=CAME)
    assert run_before(replace(NEW, engine=new, mounts=()), TODAY) == RunBefore(CAME, (SPRING, AUTUMN))
    unknown = replace(NEW, engine=replace(new, in_service_on=None), mounts=())
    assert run_before(unknown, TODAY) == RunBefore(CAME, (SPRING, AUTUMN))
    assert run_before(replace(unknown, readings=()), TODAY) is None


def test_a_used_engine_without_a_mount_is_there_since_it_was_first_read() -> None:
    used = replace(NEW, engine=Engine("NEW", boat_id="A", in_service_on=date(2015, 5, 1)), mounts=())
    assert run_before(used, TODAY) == RunBefore(CAME, (SPRING, AUTUMN))


def test_a_twin_that_came_off_was_not_replaced_by_the_other_one() -> None:
    read = tuple((date(year, 6, 1), 1_000 * (year - 2018)) for year in range(2019, 2025))
    other = ledger("TWIN", read=read)
    twin = replace(other, engine=Engine("TWIN", boat_id="A", in_service_on=date(2019, 5, 1)), replaced=(OLD,))
    assert run_before(twin, TODAY) is None


def off(boat_id: str = "A", position: str | None = None, to_on: date | None = OFF) -> EngineLedger:
    return replace(OLD, mounts=(Mount("OLD", boat_id, date(2019, 5, 1), position, to_on),))


@pytest.mark.parametrize(
    "former",
    [
        off(boat_id="B"),
        off(position="auxiliary"),
        off(to_on=None),
        off(to_on=date(2024, 2, 1)),
        off(to_on=date(2025, 8, 1)),
        replace(OLD, readings=OLD.readings[:1]),
        replace(OLD, engine=replace(OLD.engine, hour_meter=False)),
    ],
    ids=[
        "on another boat",
        "at another place",
        "is still there",
        "came off long before",
        "came off long after",
        "was read once",
        "has no meter",
    ],
)
def test_no_other_engine_tells_it(former: EngineLedger) -> None:
    assert run_before(replace(NEW, replaced=(former,)), TODAY) is None


def test_of_two_engines_the_one_that_came_off_last_tells_it() -> None:
    lent = ledger(
        "LENT",
        Mount("LENT", "A", OFF, None, date(2025, 4, 1)),
        read=((OFF, 100), (date(2025, 4, 1), 180)),
    )
    found = run_before(replace(NEW, replaced=(OLD, lent)), TODAY)
    assert found == RunBefore(CAME, ((OFF, 100), (date(2025, 4, 1), 180)))


def test_an_engine_that_comes_back_to_its_boat_is_told_by_itself() -> None:
    there_before = Mount("NEW", "A", date(2021, 1, 1), None, date(2024, 12, 1))
    assert run_before(replace(NEW, mounts=(there_before, *NEW.mounts)), TODAY) is None


def test_a_reading_that_is_held_is_not_told() -> None:
    readings = (*OLD.readings, Reading("slip", "OLD", date(2024, 7, 1), 90))
    assert run_before(replace(NEW, replaced=(replace(OLD, readings=readings),)), TODAY) == RunBefore(
        CAME, (SPRING, AUTUMN)
    )

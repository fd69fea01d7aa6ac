"""Lists and searches, and how many statements reading takes: as many for a fleet as for one engine."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import (
    Boat,
    Change,
    Engine,
    Entry,
    Layup,
    Mount,
    Owner,
    Ownership,
    Reading,
    Visit,
    Void,
)
from fleetlog.domain.schedule import ScheduleText
from fleetlog.errors.log import ScheduleInLogUnreadable
from fleetlog.store import direct, engine_reader
from fleetlog.store.chain.heads import ENGINE_LINKS, EXTRACTS, FACT_SEALS, LOG_LINKS
from fleetlog.store.chain.salts import SALTS
from fleetlog.store.kept.fits import _FITS
from fleetlog.store.kept.lines import _KEPT, _LINES
from fleetlog.store.log import Log
from fleetlog.store.models.ledger import Base
from fleetlog.store.reader import Reader
from fleetlog.store.shapes import ITEMS, ONCE_KEYS, RULINGS, SHAPES, WRITINGS
from tests.store.rows import AT, SCHEDULE, a_marina
from tests.store.said import statements


def a_fleet(size: int, start: int = 0) -> Batch:
    """Engines on boats of their own, each with readings, a visit, entries and what else a ledger has."""
    day, numbers = date(2024, 1, 1), range(start, start + size)
    return Batch(
        owners=[Owner(f"o{n}", f"Owner {n}") for n in numbers],
        boats=[Boat(f"b{n}", f"o{n}", f"Boat {n}") for n in numbers],
        engines=[Engine(f"S{n}", boat_id=f"b{n}") for n in numbers],
        changes=[Change("engines", f"S{n}", "family", "V4", day, AT, "Kim", 1) for n in numbers],
        ownership=[Ownership(f"b{n}", f"o{n}", day) for n in numbers],
        layups=[Layup(f"b{n}", day) for n in numbers],
        mounts=[Mount(f"S{n}", f"b{n}", day) for n in numbers],
        readings=[
            Reading(f"r{n}-{k}", f"S{n}", day + timedelta(days=k), 10 * k, status="confirmed")
            for n in numbers
            for k in range(3)
        ],
        visits=[Visit(f"v{n}", f"b{n}") for n in numbers],
        entries=[
            Entry(f"e{n}-{k}", f"S{n}", day, "inspected", f"v{n}", item=f"item {k}")
            for n in numbers
            for k in range(3)
        ],
        voids=[Void(f"e{n}-0", AT, "Kim", "wrong") for n in numbers],
    )


def counted(log: Log, size: int, ask: Callable[[Reader], Any]) -> int:
    """How many statements a question takes of a log with a fleet of this size."""
    with log.reading() as reader:
        have = len(reader.serials())
    with log.writing("Kim", AT) as writer:
        writer.add(a_fleet(size - have, have))
    with log.reading() as reader, statements() as seen:
        ask(reader)
    return len(seen)


@pytest.mark.parametrize(
    "ask",
    [
        lambda reader: list(reader.ledgers()),
        lambda reader: list(reader.ledgers(reader.serials())),
        lambda reader: reader.batch(),
        lambda reader: reader.existing("entries", [f"e{n}-1" for n in range(60)]),
        lambda reader: reader.existing("readings", [f"r{n}-1" for n in range(60)]),
        lambda reader: reader.existing("mounts", [(f"S{n}", date(2024, 1, 1)) for n in range(60)]),
        lambda reader: reader.boat_ledgers(),
    ],
    ids=["the fleet", "by serial", "everything", "entries", "readings", "mounts", "boats"],
)
def test_reading_takes_as_many_statements_for_many_engines_as_for_few(
    log: Log, ask: Callable[[Reader], Any]
) -> None:
    few, many = counted(log, 3, ask), counted(log, 60, ask)
    assert few == many
    assert many <= 41  # everything: one a kind


def test_adding_takes_as_many_statements_for_many_rows_as_for_few(log: Log) -> None:
    counts = []
    for start, size in ((0, 3), (3, 12)):
        with log.writing("Kim", AT) as writer, statements() as seen:
            writer.add(a_fleet(size, start))
        counts.append(len(seen))
    assert counts[1] <= counts[0] <= 50  # the second time the items are known


def test_a_fleet_read_in_several_stretches_is_the_whole_fleet(
    log: Log, monkeypatch: pytest.MonkeyPatch
) -> None:
    with log.writing("Kim", AT) as writer:
        writer.add(a_fleet(10))
    with log.reading() as reader:
        whole = list(reader.ledgers())
    monkeypatch.setattr(engine_reader, "ENGINES_AT_ONCE", 3)
    with log.reading() as reader:
        assert [one.engine.serial for one in reader.ledgers()] == [f"S{n}" for n in range(10)]
        for one, other in zip(reader.ledgers(), whole, strict=True):
            assert (one.entries, one.readings, one.voids, one.changes) == (
                other.entries,
                other.readings,
                other.voids,
                other.changes,
            )


@pytest.mark.parametrize("at_once", [1, 2, 3])
def test_rows_fetched_a_few_at_a_time_are_all_rows_with_their_types(
    log: Log, monkeypatch: pytest.MonkeyPatch, at_once: int
) -> None:
    fleet = a_fleet(3)
    with log.writing("Kim", AT) as writer:
        writer.add(fleet)
    monkeypatch.setattr(direct, "ROWS_AT_ONCE", at_once)
    with log.reading() as reader:
        assert reader.rows("layups") == fleet.layups
        assert [one.readings[0].on for one in reader.ledgers()] == [date(2024, 1, 1)] * 3


def test_engines_of_one_stretch_share_their_boats(log: Log) -> None:
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(boats=[Boat("b", None, "B")], engines=[Engine(s, boat_id="b") for s in ("P", "S")]))
    with log.reading() as reader:
        port, starboard = reader.ledgers()
    assert port.boats["b"] is starboard.boats["b"]


def test_serials_are_found_by_any_part_in_any_case(log: Log) -> None:
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(engines=[Engine(s) for s in ("AB-1001", "ab-1002", "X_9%", "X19", "ÅÄÖ7")]))
    with log.reading() as reader:
        assert reader.serials() == ["AB-1001", "ab-1002", "X_9%", "X19", "ÅÄÖ7"]
        assert reader.serials_like("Ab-1") == ["AB-1001", "ab-1002"]
        assert reader.serials_like("002") == ["ab-1002"]
        assert reader.serials_like("_9") == reader.serials_like("%") == ["X_9%"]
        assert reader.serials_like("åäö") == ["ÅÄÖ7"]
        assert reader.serials_like("nothing") == []


def test_a_boats_engines_are_those_that_ever_stood_on_it(log: Log) -> None:
    with log.writing("Kim", AT) as writer:
        writer.add(a_marina())
    with log.reading() as reader:
        assert reader.serials_of_boat("gull") == ["AB-1001"]
        assert reader.serials_of_boat("tern") == ["AB-1001", "X_9%", "ab-1002"]
        assert reader.serials_of_boat("wreck") == []


def test_the_newest_revision_of_a_schedule_is_the_one_that_holds(log: Log) -> None:
    with log.writing("Kim", AT) as writer:
        writer.add(
            Batch(schedules=[ScheduleText("small", n, SCHEDULE.format(revision=n)) for n in (10, 2, 9)])
        )
    with log.reading() as reader:
        schedules = reader.schedules()
        assert [s.revision for s in reader.batch().schedules] == [2, 9, 10]
    assert {name: s.revision for name, s in schedules.items()} == {"small": 10}
    assert schedules["small"].rules[0].key == "impeller"


def test_a_schedule_that_cannot_be_read_is_named(log: Log) -> None:
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(schedules=[ScheduleText("odd", 3, "name = ")]))
    with log.reading() as reader, pytest.raises(ScheduleInLogUnreadable, match="'odd', revision 3"):
        reader.schedules()


def test_owners_boats_and_engines_are_listed_by_their_ids(log: Log) -> None:
    marina = a_marina()
    with log.writing("Kim", AT) as writer:
        writer.add(marina)
    with log.reading() as reader:
        assert list(reader.owners().values()) == marina.owners
        assert list(reader.boats()) == ["gull", "tern", "wreck"]
        assert list(reader.engines()) == ["AB-1001", "ab-1002", "X_9%"]


def test_statements_speak_of_every_column_that_the_models_have() -> None:
    light = {shape.kind: shape.table for shape in SHAPES.values()}
    light |= {
        table.name: table
        for table in (
            *(WRITINGS, ONCE_KEYS, ITEMS, RULINGS, _FITS, _KEPT, _LINES),
            *(SALTS, LOG_LINKS, ENGINE_LINKS, FACT_SEALS, EXTRACTS),
        )
    }
    for name, table in Base.metadata.tables.items():
        assert {c.name for c in light[name].columns} == {c.name for c in table.columns}, name
        for column in light[name].columns:
            if not isinstance(column.type, type(light["owners"].c.name.type)):
                assert type(column.type) is type(table.c[column.name].type), (name, column.name)

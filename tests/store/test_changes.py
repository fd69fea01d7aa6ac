"""Facts that change keep what they were; rulings and ends are added once."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from sqlalchemy import event

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Boat, Change, Engine, Owner
from fleetlog.errors.log import (
    EndIsSet,
    EngineNotInLog,
    NotInLog,
    ReadingNotInLog,
    RowsRefused,
    WrittenMeanwhile,
)
from fleetlog.store.log import Log
from tests.store.rows import AT, a_marina


@pytest.fixture
def marina_log(log: Log) -> Log:
    """A log with the small marina in it, its facts unchanged so far."""
    marina = a_marina()
    marina.changes = []
    with log.writing("Kim", AT) as writer:
        writer.add(marina)
    return log


def test_a_change_replaces_the_row_and_keeps_what_was_field_by_field(marina_log: Log) -> None:
    boat = a_marina().boats[0]
    moved = replace(boat, owner_id="bo", water="fresh")
    with marina_log.writing("Lou", AT) as writer:
        changes = writer.change("boats", moved, date(2025, 3, 1))
    assert changes == [
        Change("boats", "gull", "owner_id", "ann", date(2025, 3, 1), AT, "Lou", 1),
        Change("boats", "gull", "water", "salt", date(2025, 3, 1), AT, "Lou", 2),
    ]
    with marina_log.reading() as reader:
        ledger = reader.boat_ledgers()["gull"]
        assert reader.batch().changes == changes
    assert ledger.boat == moved
    assert ledger.changes == tuple(changes)
    assert ledger.boat_on(date(2025, 2, 28)) == boat
    assert ledger.boat_on(date(2025, 3, 1)) == moved


def test_an_engine_can_be_seen_as_it_was_described_on_any_day(marina_log: Log) -> None:
    first = a_marina().engines[0]
    second = replace(first, in_service_on=None, logged_from_new=False, model_year=None, boat_id=None)
    third = replace(second, hour_meter=False, in_service_on=date(2020, 2, 2))
    for row, day in ((second, date(2024, 1, 1)), (third, date(2025, 1, 1))):
        with marina_log.writing("Lou", AT) as writer:
            writer.change("engines", row, day)
    with marina_log.reading() as reader:
        ledger = reader.ledger(first.serial)
    assert [ledger.engine_on(date(year, 6, 1)) for year in (2023, 2024, 2025)] == [first, second, third]
    assert set(ledger.boats) >= {"gull"}, "the boat it once stood on"


def test_owners_change_too_and_only_where_something_differs(marina_log: Log) -> None:
    owner = a_marina().owners[0]
    with marina_log.writing("Lou", AT) as writer:
        assert writer.change("owners", owner, date(2025, 1, 1)) == []
        changes = writer.change("owners", replace(owner, remind_by="none", phone=None), date(2025, 1, 1))
    assert [(c.field, c.was) for c in changes] == [("phone", "0123"), ("remind_by", "email")]
    with marina_log.reading() as reader:
        assert reader.owners()["ann"] == replace(owner, remind_by="none", phone=None)


@pytest.mark.parametrize(
    ("kind", "row"), [("owners", Owner("z", "Z")), ("boats", Boat("z", None, "Z")), ("engines", Engine("z"))]
)
def test_what_is_not_there_cannot_change(marina_log: Log, kind: str, row: Any) -> None:
    with (
        pytest.raises(NotInLog, match=f"'z' is not among the {kind}"),
        marina_log.writing("Lou", AT) as writer,
    ):
        writer.change(kind, row, date(2025, 1, 1))


def test_two_people_who_change_the_same_owner_at_once_do_not_undo_each_other(marina_log: Log) -> None:
    owner = a_marina().owners[0]

    def meanwhile(connection: Any, _cursor: Any, statement: str, *_: Any) -> None:
        if statement.startswith("UPDATE owners") and "version + 1" not in statement:
            connection.exec_driver_sql("UPDATE owners SET version = version + 1")

    def write() -> None:
        with marina_log.writing("Lou", AT) as writer:
            event.listen(writer._connection, "before_cursor_execute", meanwhile)
            writer.change("owners", replace(owner, phone="9"), date(2025, 1, 1))

    with pytest.raises(WrittenMeanwhile, match="ann"):
        write()
    with marina_log.reading() as reader:
        assert reader.owners()["ann"] == owner


def test_the_latest_ruling_on_a_reading_counts(marina_log: Log) -> None:
    def statuses() -> list[str | None]:
        with marina_log.reading() as reader:
            (row,) = reader.existing("readings", ["r1"]).values()
            return [
                row.status,
                reader.ledger("AB-1001").readings[0].status,
                reader.batch().readings[0].status,
            ]

    assert statuses() == [None] * 3
    for status in ("confirmed", "withdrawn", "confirmed"):
        with marina_log.writing("Lou", AT) as writer:
            writer.rule_on_reading("r1", status, "asked the owner")
        assert statuses() == [status] * 3


def test_a_ruling_needs_a_reading_and_a_known_word(marina_log: Log) -> None:
    with pytest.raises(ReadingNotInLog, match="'z'"), marina_log.writing("Lou", AT) as writer:
        writer.rule_on_reading("z", "confirmed")
    with pytest.raises(RowsRefused), marina_log.writing("Lou", AT) as writer:
        writer.rule_on_reading("r1", "perhaps")


def test_an_open_end_is_filled_in_once(marina_log: Log) -> None:
    day = date(2026, 3, 1)
    with marina_log.writing("Lou", AT) as writer:
        writer.end("visits", "v2", day)
        writer.end("mounts", ("AB-1001", date(2021, 5, 1)), day)
        writer.end("layups", ("gull", date(2025, 11, 1)), day)
    with marina_log.reading() as reader:
        batch = reader.batch()
    assert batch.visits[1].closed_on == batch.mounts[1].to_on == batch.layups[1].to_on == day
    for kind, fill in (
        ("visits", lambda w: w.end("visits", "v2", date(2026, 4, 1))),
        ("mounts", lambda w: w.end("mounts", ("AB-1001", date(2021, 5, 1)), date(2026, 4, 1))),
        ("layups", lambda w: w.end("layups", ("gull", date(2025, 11, 1)), date(2026, 4, 1))),
    ):
        with (
            pytest.raises(EndIsSet, match=f"{kind} ended on 2026-03-01"),
            marina_log.writing("L", AT) as writer,
        ):
            fill(writer)


def test_the_end_of_what_is_not_there_is_refused(marina_log: Log) -> None:
    day = date(2026, 3, 1)
    with pytest.raises(NotInLog, match="'v9' is not among the visits"), marina_log.writing("L", AT) as writer:
        writer.end("visits", "v9", day)
    with pytest.raises(NotInLog, match="AB-1001 from 2000-01-01"), marina_log.writing("L", AT) as writer:
        writer.end("mounts", ("AB-1001", date(2000, 1, 1)), day)
    with pytest.raises(EngineNotInLog), marina_log.writing("L", AT) as writer:
        writer.end("mounts", ("Q", date(2000, 1, 1)), day)
    with pytest.raises(NotInLog, match="among the layups"), marina_log.writing("L", AT) as writer:
        writer.end("layups", ("tern", date(2000, 1, 1)), day)


def test_changes_brought_in_stand_after_those_that_are_there(marina_log: Log) -> None:
    owner = a_marina().owners[0]
    with marina_log.writing("Lou", AT) as writer:
        writer.change("owners", replace(owner, phone="1"), date(2025, 1, 1))
        writer.add(Batch(changes=[Change("owners", "ann", "phone", "0", date(2024, 1, 1), AT, "Kim", 7)]))
    with marina_log.reading() as reader:
        assert [(c.was, c.sequence) for c in reader.batch().changes] == [("0123", 1), ("0", 2)]

"""From nothing to head, every step up and down with rows in place, and no other tables than the models'."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Connection, inspect

from fleetlog.errors.log import MigrationBrokeReferences
from fleetlog.store import migrating
from fleetlog.store.connecting import begin_to_write, connect
from fleetlog.store.kept.fits import KeptFit
from fleetlog.store.models.ledger import CURRENT, KEPT, Base
from fleetlog.store.once import Once
from fleetlog.store.opening import open_log
from fleetlog.store.place import place_of
from tests.conftest import empty_log
from tests.store.kept_rows import keep_a_line
from tests.store.rows import AT, a_marina
from tests.store.schemas import schema_text

OPTIONAL = {"alembic_version"}
SERVING = {"kept_engines": frozenset({"fit", "first_on", "last_on"})}
"""What a step empties that puts kept lines out of date."""


@contextmanager
def migrating_at(place: str) -> Iterator[Connection]:
    """A connection as migrations have it: foreign keys off, one transaction."""
    engine = connect(place_of(place), foreign_keys=False)
    try:
        with engine.connect() as connection, begin_to_write(connection):
            yield connection
    finally:
        engine.dispose()


def rows_of(connection: Connection) -> dict[str, list[dict[str, object]]]:
    """Every row of every table, whatever the tables are."""
    tables = set(inspect(connection).get_table_names()) - OPTIONAL
    return {
        table: [dict(row) for row in connection.exec_driver_sql(f"SELECT * FROM {table}").mappings()]
        for table in tables
    }


def assert_rows_kept(
    before: dict[str, list[dict[str, object]]], after: dict[str, list[dict[str, object]]]
) -> None:
    """Tables that are there before and after hold the same rows, in the columns that are in both."""
    for table in before.keys() & after.keys():
        assert len(before[table]) == len(after[table]), table
        for old, new in zip(before[table], after[table], strict=True):
            shared = (old.keys() & new.keys()) - SERVING.get(table, frozenset())
            assert {c: old[c] for c in shared} == {c: new[c] for c in shared}, table


def test_the_head_that_the_log_expects_is_the_newest_migration() -> None:
    assert migrating.script_directory().get_heads() == [migrating.HEAD]
    assert migrating.known_revisions()[-1] == migrating.HEAD


def test_a_log_that_was_migrated_from_nothing_is_at_head(new_place: Callable[[], str]) -> None:
    place = new_place()
    with migrating_at(place) as connection:
        migrating.migrate(connection, migrating.HEAD)
    log = open_log(place, at=AT, create=False)
    assert log.notices == []
    log.dispose()


def test_every_step_down_and_up_again_keeps_the_rows_of_a_populated_log(new_place: Callable[[], str]) -> None:
    place = new_place()
    log = open_log(place, at=AT)
    log.once = Once("a key")
    with log.writing("Kim", AT) as writer:
        writer.add(a_marina())
        writer.keep(KeptFit("abc", AT.date(), 3, "{}"))
        writer.note_extract(a_marina().engines[0].serial, AT.date(), "0" * 64)
    keep_a_line(log, "AB-1001")
    log.dispose()
    steps = ["base", *migrating.known_revisions()]
    schemas: dict[str, list[str]] = {}
    with migrating_at(place) as connection:
        rows = rows_of(connection)
        assert all(rows.values()), "a table without rows shows nothing"
        schemas[steps[-1]] = schema_text(connection)
        for revision in reversed(steps[:-1]):
            migrating.migrate(connection, revision)
            schemas[revision] = schema_text(connection)
            assert_rows_kept(rows, rows_of(connection))
            rows = rows_of(connection)
        for revision in steps[1:]:
            migrating.migrate(connection, revision)
            assert schema_text(connection) == schemas[revision]
            assert_rows_kept(rows, rows_of(connection))
            rows = rows_of(connection)


def test_lines_kept_by_another_version_are_out_of_date(new_place: Callable[[], str]) -> None:
    place = new_place()
    log = open_log(place, at=AT)
    with log.writing("Kim", AT) as writer:
        writer.add(a_marina())
    keep_a_line(log, "AB-1001")
    log.dispose()
    with migrating_at(place) as connection:
        for revision in ("0017", "0018", "0016", "0017"):
            migrating.migrate(connection, revision)
            kept = next(row for row in rows_of(connection)["kept_engines"])
            assert (kept["fit"], kept["first_on"], kept["last_on"]) == (None, None, None)


def test_ends_that_came_without_a_reason_hold_in_the_chain_when_reasons_are_added(
    new_place: Callable[[], str],
) -> None:
    place = new_place()
    log = open_log(place, at=AT)
    marina = a_marina()
    for kind in ("terms", "supersessions", "wishes"):
        rows = [replace(row, withdrawn_reason=None) for row in getattr(marina, kind)]
        setattr(marina, kind, rows)
    marina.tools = [replace(tool, retired_reason=None) for tool in marina.tools]
    marina.corrections, marina.layup_changes = [], []  # the version before has none
    with log.writing("Kim", AT) as writer:
        writer.add(marina)
    with log.writing("Jo", AT) as writer:
        writer.end("terms", "w2", date(2026, 5, 1), None)
        writer.end("wishes", "w2", date(2026, 5, 1), None)
    with log.reading() as reader:
        head = reader.head()
    for revision in ("0012", migrating.HEAD):
        with migrating_at(place) as connection:
            migrating.migrate(connection, revision)
    with log.reading() as reader:
        report = reader.check_chains()
    log.dispose()
    assert (report.faults, report.head) == ([], head)


def test_a_downgrade_to_nothing_leaves_no_trace(new_place: Callable[[], str]) -> None:
    place = new_place()
    empty_log(place).dispose()
    with migrating_at(place) as connection:
        migrating.migrate(connection, "base")
        assert schema_text(connection) == []
        assert connection.exec_driver_sql("SELECT count(*) FROM alembic_version").scalar() == 0


def test_the_migrations_come_to_what_the_models_say(
    log_place: Callable[[], str], new_place: Callable[[], str]
) -> None:
    with migrating_at(log_place()) as connection:
        assert migrating.differences(connection) == []
        migrated = schema_text(connection)
    with migrating_at(new_place()) as connection:
        Base.metadata.create_all(connection)
        created = schema_text(connection)
    assert migrated == created


def test_the_comparison_sees_what_is_missing(new_place: Callable[[], str]) -> None:
    place = new_place()
    empty_log(place).dispose()
    with migrating_at(place) as connection:
        whole = schema_text(connection)
        connection.exec_driver_sql("DROP INDEX ix_boats_owner_id")
        assert [str(difference[0]) for difference in migrating.differences(connection)] == ["add_index"]
        on = "" if connection.dialect.name == "sqlite" else " ON entries"
        connection.exec_driver_sql(f"DROP TRIGGER entries_never_changed{on}")
        assert len(schema_text(connection)) == len(whole) - 2


def test_every_table_but_those_of_today_is_guarded_at_head(log_place: Callable[[], str]) -> None:
    with migrating_at(log_place()) as connection:
        text = "\n".join(schema_text(connection))
    for table in Base.metadata.tables:
        for trigger in ("never_changed", "never_deleted"):
            assert (f"{table}_{trigger}" in text) == (table not in CURRENT | KEPT), table


def test_references_left_dangling_by_a_migration_of_a_file_are_refused(tmp_path: Path) -> None:
    place = str(tmp_path / "log.sqlite")
    empty_log(place).dispose()
    with migrating_at(place) as connection:
        connection.exec_driver_sql("INSERT INTO boats (boat_id, name, writing_no) VALUES ('b', 'Gull', 77)")
        with pytest.raises(MigrationBrokeReferences, match="1 row, the first of boats"):
            migrating.migrate(connection, migrating.HEAD)

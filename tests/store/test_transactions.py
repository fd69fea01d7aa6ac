"""One transaction a block: all of it or nothing, one writer at a time, and a ledger that only grows."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Boat, Engine, Entry, Owner, Reading
from fleetlog.errors.log import LogBusy, LogDamaged, LogDiskFull, LogReadOnly, RowsRefused
from fleetlog.store.connecting import connect
from fleetlog.store.log import Log
from fleetlog.store.models.kept import KEPT
from fleetlog.store.models.ledger import CURRENT, MAY_FILL, Base
from fleetlog.store.once import Once
from fleetlog.store.opening import open_log
from tests.store.rows import AT, a_marina, in_ledger_order
from tests.store.said import statements


@pytest.fixture
def marina_log(log: Log) -> Log:
    """A log with the small marina in it."""
    log.once = Once("the small marina")
    with log.writing("Kim", AT) as writer:
        writer.add(a_marina())
    return log


def execute(log: Log, statement: str) -> None:
    """A statement of somebody who does not go through the store's functions."""
    engine = connect(log.place)
    try:
        with engine.begin() as connection:
            connection.execute(text(statement))
    finally:
        engine.dispose()


# All or nothing


@pytest.mark.parametrize("error", [ZeroDivisionError, KeyboardInterrupt, SystemExit])
def test_a_block_left_by_an_error_leaves_nothing(log: Log, error: type[BaseException]) -> None:
    def fail() -> None:
        with log.writing("Kim", AT) as writer:
            writer.add(a_marina())
            raise error

    with pytest.raises(error):
        fail()
    with log.reading() as reader:
        assert reader.batch() == Batch()
    with log.writing("Kim", AT) as writer:
        writer.add(a_marina())
    with log.reading() as reader:
        assert reader.batch() == in_ledger_order(a_marina())


def test_a_block_that_writes_nothing_leaves_no_mark(marina_log: Log) -> None:
    counted = "SELECT count(*) FROM writings"
    engine = connect(marina_log.place)
    with engine.connect() as connection:
        before = connection.execute(text(counted)).scalar()
    with marina_log.writing("Kim", AT) as writer:
        writer.add(Batch())
        assert writer.change("owners", a_marina().owners[0], date(2026, 1, 1)) == []
    with engine.connect() as connection:
        assert connection.execute(text(counted)).scalar() == before
    engine.dispose()


def test_every_row_says_who_wrote_it_and_when(marina_log: Log) -> None:
    with marina_log.writing("Lou", AT.replace(year=2027)) as writer:
        writer.add(Batch(owners=[Owner("new", "New")]))
    engine = connect(marina_log.place)
    query = (
        "SELECT owner_id, recorded_by, recorded_at FROM owners JOIN writings"
        " ON writings.writing_no = owners.writing_no ORDER BY owner_no"
    )
    with engine.connect() as connection:
        rows = [tuple(row) for row in connection.execute(text(query))]
    engine.dispose()
    first, later = (int(AT.replace(year=year).timestamp()) * 10**6 + AT.microsecond for year in (2026, 2027))
    assert rows == [("ann", "Kim", first), ("bo", "Kim", first), ("new", "Lou", later)]


def test_a_reader_sees_one_state_while_others_write(log: Log) -> None:
    with log.reading() as reader:
        assert reader.serials() == []
        with log.writing("Kim", AT) as writer:
            writer.add(Batch(engines=[Engine("A")]))
            assert writer.serials() == ["A"]
        assert reader.serials() == []
    with log.reading() as reader:
        assert reader.serials() == ["A"]


def test_references_are_checked(marina_log: Log) -> None:
    for batch in (
        Batch(boats=[Boat("b", "nobody", "Gull")]),
        Batch(engines=[Engine("Z", boat_id="nowhere")]),
        Batch(entries=[Entry("z", "AB-1001", date(2025, 1, 1), "serviced", visit_id="never")]),
    ):
        with pytest.raises(RowsRefused), marina_log.writing("Kim", AT) as writer:
            writer.add(batch)


@pytest.mark.parametrize(
    "batch",
    [
        Batch(owners=[Owner("z", "Z", remind_by="pigeon")]),
        Batch(boats=[Boat("z", None, "Z", water="beer")]),
        Batch(engines=[Engine("z", state="lost")]),
        Batch(readings=[Reading("z", "AB-1001", date(2025, 1, 1), -1)]),
        Batch(readings=[Reading("z", "AB-1001", date(2025, 1, 1), 1, status="perhaps")]),
        Batch(entries=[Entry("z", "AB-1001", date(2025, 1, 1), "painted")]),
        Batch(entries=[Entry("z", "AB-1001", date(2025, 1, 1), "rebuilt", scope="sail")]),
    ],
)
def test_words_and_figures_out_of_range_are_refused(marina_log: Log, batch: Batch) -> None:
    with pytest.raises(RowsRefused), marina_log.writing("Kim", AT) as writer:
        writer.add(batch)


# What a writing costs


def a_reading_of(serial: str, number: int) -> Batch:
    return Batch(readings=[Reading(f"{serial} {number}", serial, date(2025, 1, 1), number)])


def test_a_reading_is_a_handful_of_statements(log: Log) -> None:
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(engines=[Engine("A")]))
    with statements() as said, log.writing("Kim", AT) as writer:
        writer.add(a_reading_of("A", 1))
    assert 8 <= len(said) <= 11, said


def test_a_reading_is_as_much_work_in_a_long_ledger_as_in_a_short_one(file_log: Log) -> None:
    with file_log.writing("Kim", AT) as writer:
        readings = [Reading(f"r{n}", "A", date(2025, 1, 1), n) for n in range(2_000)]
        writer.add(Batch(engines=[Engine("A"), Engine("B")], readings=readings))
    steps = {"A": 0, "B": 0}
    for serial in steps:
        with file_log.writing("Kim", AT) as writer:

            def count(of: str = serial) -> int:
                steps[of] += 1
                return 0

            raw: Any = writer._connection.connection.driver_connection
            raw.set_progress_handler(count, 1)
            writer.add(a_reading_of(serial, 1))
            raw.set_progress_handler(None, 1)
    assert steps["A"] < 1.5 * steps["B"]


# A ledger that only grows


def test_no_row_of_the_ledger_is_changed_or_deleted_by_anybody(marina_log: Log) -> None:
    with marina_log.writing("Kim", AT) as writer:
        writer.note_extract(a_marina().engines[0].serial, AT.date(), "0" * 64)
    for table in sorted(set(Base.metadata.tables) - CURRENT - KEPT):
        number = "writing_no" if "writing_no" in Base.metadata.tables[table].columns else "link_no"
        for statement in (
            f"UPDATE {table} SET {number} = {number}",
            f"DELETE FROM {table}",
        ):
            if table in MAY_FILL and statement.startswith("UPDATE"):
                statement = f"UPDATE {table} SET writing_no = writing_no + 1"
            with pytest.raises(DBAPIError, match="never changed or deleted"):
                execute(marina_log, statement)
    with marina_log.reading() as reader:
        assert reader.batch() == in_ledger_order(a_marina())


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE visits SET closed_on = 738000 WHERE visit_id = 'v1'",
        "UPDATE visits SET closed_on = NULL WHERE visit_id = 'v1'",
        "UPDATE mounts SET to_on = to_on + 1 WHERE to_on IS NOT NULL",
        "UPDATE layups SET to_on = to_on + 1 WHERE to_on IS NOT NULL",
        "UPDATE layups SET to_on = 739999, from_on = 1 WHERE to_on IS NULL",
    ],
)
def test_what_was_filled_in_stays(marina_log: Log, statement: str) -> None:
    with pytest.raises(DBAPIError, match="never changed or deleted"):
        execute(marina_log, statement)


def test_replacing_a_row_of_a_file_does_not_get_past_the_guard(whole_file: Path, tmp_path: Path) -> None:
    path = tmp_path / "log.sqlite"
    path.write_bytes(whole_file.read_bytes())
    log = open_log(str(path), at=AT)
    with log.writing("Kim", AT) as writer:
        writer.add(a_marina())
    with pytest.raises(DBAPIError, match="never changed or deleted"):
        execute(log, "INSERT OR REPLACE INTO voids SELECT * FROM voids")
    log.dispose()


# How a file is kept


@pytest.fixture
def file_log(whole_file: Path, tmp_path: Path) -> Iterator[Log]:
    """A log in a file."""
    path = tmp_path / "file.sqlite"
    path.write_bytes(whole_file.read_bytes())
    log = open_log(str(path), at=AT)
    yield log
    log.dispose()


@pytest.mark.usefixtures("synchronous_as_shipped")
def test_a_file_is_written_ahead_synced_at_every_commit_and_its_references_checked(file_log: Log) -> None:
    engine = connect(file_log.place)
    with engine.connect() as connection:
        settings = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys", "recursive_triggers")
        }
    engine.dispose()
    assert settings == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "recursive_triggers": 1}


def test_a_writer_that_waits_too_long_is_told_to_try_again(
    file_log: Log, held_by_another: Callable[[Log], AbstractContextManager[None]]
) -> None:
    with held_by_another(file_log), pytest.raises(LogBusy, match="try again"), file_log.writing("Kim", AT):
        pass


def test_a_writer_begins_as_soon_as_the_one_before_it_is_done(file_log: Log) -> None:
    began = threading.Event()

    def write() -> None:
        with file_log.writing("Lou", AT) as writer:
            began.set()
            writer.add(Batch(owners=[Owner("lou", "Lou")]))

    second = threading.Thread(target=write)
    with file_log.writing("Kim", AT) as writer:
        second.start()
        assert not began.wait(0.05)
        writer.add(Batch(owners=[Owner("kim", "Kim")]))
    second.join()
    with file_log.reading() as reader:
        assert set(reader.owners()) == {"kim", "lou"}


def test_a_full_disk_is_said_and_nothing_is_recorded(file_log: Log) -> None:
    def fill() -> None:
        with file_log.writing("Kim", AT) as writer:
            pages = writer._connection.exec_driver_sql("PRAGMA page_count").scalar()
            writer._connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
            writer.add(Batch(owners=[Owner(f"o{n}", "x" * 500) for n in range(500)]))

    with pytest.raises(LogDiskFull, match=r"or that of temporary files, is full"):
        fill()
    with file_log.reading() as reader:
        assert reader.owners() == {}


def test_a_log_that_may_only_be_read_is_said_to_be(file_log: Log) -> None:
    def write() -> None:
        with file_log.writing("Kim", AT) as writer:
            writer._connection.exec_driver_sql("PRAGMA query_only = ON")
            writer.add(Batch(owners=[Owner("o", "O")]))

    with pytest.raises(LogReadOnly, match="read-only"):
        write()


def test_a_damaged_file_is_said_to_be(whole_file: Path, tmp_path: Path) -> None:
    path = tmp_path / "damaged.sqlite"
    path.write_bytes(whole_file.read_bytes())
    log = open_log(str(path), at=AT)
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(owners=[Owner(f"o{n}", "x" * 500) for n in range(500)]))
    log.dispose()
    content = bytearray(path.read_bytes())
    content[-60 * 4096 :] = b"\xa5" * (60 * 4096)
    path.write_bytes(content)
    log = open_log(str(path), at=AT)
    with pytest.raises(LogDamaged, match="fleetlog rescue"), log.reading() as reader:
        reader.owners()
    log.dispose()


# Several at once


def test_writers_at_once_lose_nothing_and_number_each_ledger_without_gaps(log: Log) -> None:
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(engines=[Engine("A"), Engine("B")]))
    failures: list[BaseException] = []

    def write(name: str) -> None:
        try:
            for n in range(5):
                with log.writing(name, AT) as writer:
                    rows = [Entry(f"{name} {n} {s}", s, date(2025, 1, 1), "serviced") for s in ("B", "A")]
                    writer.add(Batch(entries=rows))
        except BaseException as error:
            failures.append(error)

    threads = [threading.Thread(target=write, args=(name,)) for name in ("Kim", "Lou", "Max")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    with log.reading() as reader:
        for ledger in reader.ledgers():
            assert [e.sequence for e in ledger.entries] == list(range(1, 16))
            assert len({e.entry_id for e in ledger.entries}) == 15

"""Many writers at once: 8 processes on SQLite or 32 on PostgreSQL, beside as many bare ones.

    python -m tests.benchmarks.writers [--seconds 60] [--processes 8] [--log URL|PATH]

Every writer records readings, and as every fifth writing a visit with a reading and three entries, through
`Log.writing`; it notes the rows of each block that has ended, and how long it took with waiting. At the end
every noted row must be there as it was given, none twice, ledgers without gaps, and the chains must hold.

The rate is given as a ratio to two floors with the same durability, as many writers, and the same way to wait
for each other (left to SQLite, one of eight bare writers writes and the others stand still):

- *the same statements bare*: the statements of one reading and of one visit are noted as the program says
  them (look-ups, rows, salts, links, the mark on the kept lines), and said again to the driver on the same
  tables, as often as they go, with the ids, numbers and links of the time;
- *two inserts*: a row and a writing in tables with nothing but their keys, less than any record needs.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import re
import sqlite3
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import event

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Engine, Entry, Reading, Visit
from fleetlog.errors import FleetlogError
from fleetlog.store import direct
from fleetlog.store.connecting import BUSY_SECONDS, begin_writing, connect
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.store.place import Place, place_of

AT = datetime(2026, 4, 15, 12, tzinfo=UTC)
ENGINES = 4
VISIT_EACH = 5
ENTRIES = 3
Row = tuple[str, str, date, int | None]


class Done(NamedTuple):
    """What one writer did: confirmed writings and their rows, refusals, longest wait, processor time."""

    writings: int
    rows: list[Row]
    refusals: list[str]
    longest_s: float
    processor_s: float


def _is_visit(number: int) -> bool:
    return number % VISIT_EACH == VISIT_EACH - 1


def _batch(writer_no: int, number: int) -> Batch:
    serial, on = f"E-{writer_no % ENGINES}", date(2020, 1, 1) + timedelta(days=number % 2000)
    name = f"w{writer_no}-{number}"
    batch = Batch(readings=[Reading(f"r{name}", serial, on, abs(number))])
    if _is_visit(number):
        batch.visits = [Visit(f"v{name}", None, on)]
        batch.entries = [
            Entry(f"e{name}-{k}", serial, on, "serviced", f"v{name}", abs(number), item=f"item {k}")
            for k in range(ENTRIES)
        ]
    return batch


def _rows(batch: Batch) -> list[Row]:
    rows: list[Row] = [("reading", r.reading_id, r.on, r.meter_tenths) for r in batch.readings]
    rows += [("visit", v.visit_id, v.opened_on, None) for v in batch.visits]
    return rows + [("entry", e.entry_id, e.on, e.meter_tenths) for e in batch.entries]


def _write(log: Log, writer_no: int, batch: Batch) -> None:
    with log.writing(f"writer {writer_no}", AT) as writer:
        writer.add(batch)


# What the writers do

_ready: Any = None


def _get_ready(barrier: Any) -> None:
    global _ready
    _ready = barrier


def _do(task: Callable[[str, int, float], Done], where: str, writer_no: int, seconds: float) -> Done:
    try:
        return task(where, writer_no, seconds)
    except BaseException:
        _ready.abort()
        raise


def _repeat(write: Callable[[int], list[Row]], seconds: float) -> Done:
    """Writes for some seconds, from when all writers are ready: each has written a few before it is."""
    rows = [row for number in range(-VISIT_EACH, 0) for row in write(number)]
    writings, refusals, longest = 0, list[str](), 0.0
    _ready.wait(300)
    processor, end = time.process_time(), time.monotonic() + seconds
    while (begun := time.monotonic()) < end:
        try:
            rows += write(writings + len(refusals))
            writings += 1
        except FleetlogError as error:
            refusals.append(str(error))
        longest = max(longest, time.monotonic() - begun)
    return Done(writings, rows, refusals, longest, time.process_time() - processor)


def _record(where: str, writer_no: int, seconds: float) -> Done:
    log = open_log(where, at=AT)

    def write(number: int) -> list[Row]:
        batch = _batch(writer_no, number)
        _write(log, writer_no, batch)
        return _rows(batch)

    done = _repeat(write, seconds)
    log.dispose()
    return done


def _say_the_same(where: str, writer_no: int, seconds: float) -> Done:
    log = open_log(where, at=AT)
    beyond = 10**6 * VISIT_EACH
    reading, visit = (_statements(log, writer_no, beyond + k) for k in (0, VISIT_EACH - 1))
    log.dispose()
    with _bare(place_of(where)) as (begin, connection):

        def write(number: int) -> list[Row]:
            begin()
            _say(connection, visit if _is_visit(number) else reading, f"bare{writer_no}-{number}")
            connection.commit()
            return []

        return _repeat(write, seconds)


def _insert_two(where: str, writer_no: int, seconds: float) -> Done:
    with _bare(place_of(where)) as (begin, connection):

        def write(number: int) -> list[Row]:
            begin()
            connection.execute("INSERT INTO bare_writings (at, by) VALUES (1, 'writer')")
            connection.execute(f"INSERT INTO bare_readings (id, n) VALUES ('{writer_no}-{number}', 1)")
            connection.commit()
            return []

        return _repeat(write, seconds)


# The bare driver


@contextmanager
def _bare(place: Place) -> Iterator[tuple[Callable[[], Any], Any]]:
    """What begins a transaction, and a connection of the driver, as durable as a log's."""
    if place.path is None:
        import psycopg

        with psycopg.connect(place.url.set(drivername="postgresql").render_as_string(False)) as connection:
            yield (lambda: None), connection  # the driver begins by itself
        return
    with closing(sqlite3.connect(place.path, timeout=BUSY_SECONDS, isolation_level=None)) as file:
        file.execute("PRAGMA synchronous = FULL")
        file.execute("PRAGMA foreign_keys = ON")
        yield (lambda: begin_writing(file)), file


class Statement(NamedTuple):
    """A statement as it was said: where it inserts, the table and the columns; its parameters."""

    text: str
    table: str
    columns: tuple[str, ...]
    given: Any


_INSERT = re.compile(r"INSERT INTO (\w+) \(([^)]*)\)")
_LAST_SEQUENCE = re.compile(r"max\((\w+)\.sequence\)")


def _statements(log: Log, writer_no: int, number: int) -> list[Statement]:
    """What one writing says to the database, between its beginning and its commit."""
    said: list[Statement] = []
    say = direct.say

    def note(connection: Any, text: str, *rows: Any) -> Any:
        found = _INSERT.match(text.replace('"', ""))
        table, columns = (found[1], tuple(found[2].split(", "))) if found else ("", ())
        said.append(Statement(text, table, columns, *rows))
        return say(connection, text, *rows)

    def refuse(_connection: Any, _cursor: Any, text: str, *_: Any) -> None:
        raise AssertionError(f"not noted: {text}")

    direct.say = note
    event.listen(log._engine, "before_cursor_execute", refuse)
    _write(log, writer_no, _batch(writer_no, number))
    event.remove(log._engine, "before_cursor_execute", refuse)
    direct.say = say
    return said


def _say(connection: Any, statements: list[Statement], name: str) -> None:
    """Says statements again, with ids made of a name, and with the numbers that the database gives."""
    now: dict[str, Any] = {"reading_id": name, "visit_id": name}
    last: dict[str, int] = {}
    for statement in statements:
        now["sequence"] = last.get(statement.table, 0)
        cursor = connection.execute(statement.text, _as_of_now(statement, now, name))
        if cursor.description is None:
            continue
        found = cursor.fetchall()
        sequence_of = _LAST_SEQUENCE.search(statement.text)
        if sequence_of:
            last[sequence_of[1]] = found[0][1]
        elif statement.table == "writings":
            now["writing_no"] = now["touched_no"] = found[0][0]
        elif "FROM log_links" in statement.text:
            now["link_no"] = found[0][0] + 1


def _as_of_now(statement: Statement, now: dict[str, Any], name: str) -> Any:
    given, columns = statement.given, statement.columns
    if isinstance(given, dict):
        return {name: now.get(name, value) for name, value in given.items()}
    if not columns:
        return given
    values: list[Any] = []
    for start in range(0, len(given), len(columns)):
        now["sequence"] = now["sequence"] + 1
        now["entry_id"] = f"{name}-{start}"
        row = given[start : start + len(columns)]
        values += (now.get(column, value) for column, value in zip(columns, row, strict=True))
    return values


# The run


class _Writers:
    """As many processes, each of which does a task at the same time as the others."""

    def __init__(self, processes: int) -> None:
        context = multiprocessing.get_context("spawn")
        self._processes = processes
        self._pool = context.Pool(processes, _get_ready, (context.Barrier(processes),))

    def do(self, task: Callable[[str, int, float], Done], where: str, seconds: float) -> list[Done]:
        orders = [(task, where, number, seconds) for number in range(self._processes)]
        return self._pool.starmap(_do, orders, chunksize=1)

    def end(self) -> None:
        self._pool.close()
        self._pool.join()


def _prepare_two(where: str) -> None:
    engine = connect(place_of(where))
    with engine.begin() as connection:
        number = "INTEGER PRIMARY KEY" if engine.dialect.name == "sqlite" else "SERIAL PRIMARY KEY"
        connection.exec_driver_sql(f"CREATE TABLE bare_writings (no {number}, at INTEGER, by TEXT)")
        connection.exec_driver_sql("CREATE TABLE bare_readings (id TEXT PRIMARY KEY, n INTEGER)")
    engine.dispose()


def _check(log: Log, found: list[Done]) -> None:
    """What was confirmed is what is there, once, in ledgers without gaps and chains that hold."""
    told = [row for done in found for row in done.rows]
    with log.reading() as reader:
        batch, faults = reader.batch(), reader.check_chains().faults
    assert sorted(map(str, told)) == sorted(map(str, _rows(batch))), "confirmed is not what is there"
    for rows in (batch.readings, batch.entries):
        ledgers: dict[str, list[int]] = {}
        for row in rows:
            ledgers.setdefault(row.serial, []).append(row.sequence)
        assert all(ledger == list(range(1, len(ledger) + 1)) for ledger in ledgers.values()), "a gap"
    assert not faults, faults[0]


def _show(what: str, found: list[Done], seconds: float) -> float:
    counts, longest = [done.writings for done in found], max(done.longest_s for done in found)
    rate, processor_ms = sum(counts) / seconds, sum(done.processor_s for done in found) * 1000 / sum(counts)
    print(
        f"{what:<20}{rate:8.1f}/s, {processor_ms:5.2f} ms of processor time each,"
        f" longest {longest:.2f} s, a writer wrote {min(counts)} to {max(counts)}"
    )
    return rate


def run(where: str, processes: int, seconds: float) -> None:
    """Lets the writers write, checks what they were told, and prints the rates."""
    log = open_log(where, at=AT)
    with log.writing("setup", AT) as writer:
        writer.add(Batch(engines=[Engine(f"E-{n}") for n in range(ENGINES)]))
    print(f"{processes} writers, {seconds:g} s, load {os.getloadavg()[0]:.1f} before")
    writers = _Writers(processes)
    found = writers.do(_record, where, seconds)
    _check(log, found)
    log.dispose()
    rate = _show("recorded", found, seconds)
    refusals = [refusal for done in found for refusal in done.refusals]
    print(f"{len(refusals)} refusals" + (f", the first: {refusals[0]}" if refusals else ""))
    same = _show("the same statements", writers.do(_say_the_same, where, seconds), seconds)
    _prepare_two(where)
    two = _show("two inserts", writers.do(_insert_two, where, seconds), seconds)
    writers.end()
    print(f"recorded is {rate / same:.2f} of the same statements bare, {rate / two:.2f} of two inserts")


def main() -> None:
    """The command line."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--processes", type=int)
    parser.add_argument("--log", help="an empty PostgreSQL database; without it a SQLite file is made")
    given = parser.parse_args()
    if given.log:
        run(given.log, given.processes or 32, given.seconds)
    else:
        with tempfile.TemporaryDirectory() as folder:
            run(str(Path(folder) / "log.db"), given.processes or 8, given.seconds)


if __name__ == "__main__":
    main()

"""Many writers at once: 8 processes on SQLite or 32 on PostgreSQL, beside the same inserts in bare SQL.

    python -m tests.benchmarks.writers [--seconds 60] [--processes 8] [--log URL|PATH]

Every writer records readings through `Log.writing`, notes each one whose block has ended, and how long
it waited. At the end every noted reading must be there, none twice, and the chains must hold; the rate is
given as a ratio to as many writers that insert a row and a writing bare, with the same durability.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sqlite3
import tempfile
import time
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Engine, Reading
from fleetlog.errors import FleetlogError
from fleetlog.store.connecting import begin_writing
from fleetlog.store.opening import open_log
from fleetlog.store.place import place_of

AT = datetime(2026, 4, 15, 12, tzinfo=UTC)
Answer = tuple[list[str], float, list[str]]


def _write(where: str, writer_no: int, seconds: float, answers: Any) -> None:
    log = open_log(where, at=AT)
    done, longest, errors = [], 0.0, []
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        reading_id = f"w{writer_no}-{len(done) + len(errors)}"
        on = date(2020, 1, 1) + timedelta(days=len(done) % 2000)
        started = time.monotonic()
        try:
            with log.writing(f"writer {writer_no}", AT) as writer:
                writer.add(Batch(readings=[Reading(reading_id, f"E-{writer_no % 4}", on, len(done))]))
            done.append(reading_id)
        except FleetlogError as error:
            errors.append(str(error))
        longest = max(longest, time.monotonic() - started)
    log.dispose()
    answers.put((done, longest, errors))


def _write_bare(where: str, writer_no: int, seconds: float, answers: Any) -> None:
    place, done = place_of(where), []
    statements = (
        "INSERT INTO bare_writings (at, by) VALUES (1, 'writer')",
        f"INSERT INTO bare_readings (id, n) VALUES ('{writer_no}-%d', 1)",
    )
    end = time.monotonic() + seconds
    if place.path is not None:
        with closing(sqlite3.connect(place.path, timeout=30, isolation_level=None)) as connection:
            connection.execute("PRAGMA synchronous = FULL")
            while time.monotonic() < end:
                begin_writing(connection)
                for statement in statements:
                    connection.execute(statement.replace("%d", str(len(done))))
                connection.execute("COMMIT")
                done.append("")
    else:
        import psycopg

        with psycopg.connect(place.url.set(drivername="postgresql").render_as_string(False)) as connection:
            while time.monotonic() < end:
                for statement in statements:
                    connection.execute(statement.replace("%d", str(len(done))))  # type: ignore[arg-type]
                connection.commit()
                done.append("")
    answers.put((done, 0.0, []))


def _together(task: Any, where: str, processes: int, seconds: float) -> list[Answer]:
    context = multiprocessing.get_context("spawn")
    answers = context.Queue()
    writers = [context.Process(target=task, args=(where, n, seconds, answers)) for n in range(processes)]
    for writer in writers:
        writer.start()
    found = [answers.get() for _ in writers]
    for writer in writers:
        writer.join()
    return found


def _prepare_bare(where: str) -> None:
    from fleetlog.store.connecting import connect

    engine = connect(place_of(where))
    with engine.begin() as connection:
        number = "INTEGER PRIMARY KEY" if engine.dialect.name == "sqlite" else "SERIAL PRIMARY KEY"
        connection.exec_driver_sql(f"CREATE TABLE bare_writings (no {number}, at INTEGER, by TEXT)")
        connection.exec_driver_sql("CREATE TABLE bare_readings (id TEXT PRIMARY KEY, n INTEGER)")
    engine.dispose()


def run(where: str, processes: int, seconds: float) -> None:
    """Lets the writers write, checks what they were told, and prints the rates."""
    log = open_log(where, at=AT)
    with log.writing("setup", AT) as writer:
        writer.add(Batch(engines=[Engine(f"E-{n}") for n in range(4)]))
    found = _together(_write, where, processes, seconds)
    told = [one for done, _, _ in found for one in done]
    with log.reading() as reader:
        there = [reading.reading_id for reading in reader.batch().readings]
        faults = reader.check_chains().faults
    log.dispose()
    assert len(told) == len(set(told))
    assert sorted(told) == sorted(there), "what was acknowledged is not what is there"
    assert not faults, faults[0]
    errors = [error for _, _, said in found for error in said]
    _prepare_bare(where)
    bare = sum(len(done) for done, _, _ in _together(_write_bare, where, processes, seconds))
    fewest, most = min(len(d) for d, _, _ in found), max(len(d) for d, _, _ in found)
    print(f"{processes} writers, {seconds:g} s: {len(told) / seconds:.1f} writings a second, all there once")
    print(f"ratio to bare statements ({bare / seconds:.1f}/s): {len(told) / max(bare, 1):.2f}")
    print(f"longest wait {max(wait for _, wait, _ in found):.2f} s; a writer wrote {fewest} to {most}")
    print(f"{len(errors)} refusals" + (f", the first: {errors[0]}" if errors else ""))


def main() -> None:
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__)
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

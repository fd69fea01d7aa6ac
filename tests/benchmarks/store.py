"""How quick the log takes rows in and gives ledgers out, beside the bare driver; prints ratios only.

python tests/benchmarks/store.py [--engines N] [--readings N] [--entries N] [--rounds N] [--url URL]
"""

from __future__ import annotations

import argparse
import gc
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Boat, Engine, Entry, Mount, Owner, Ownership, Reading, Visit
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.store.shapes import SHAPES

AT = datetime(2026, 4, 1, 12, 0, tzinfo=UTC)
BULK = ("owners", "boats", "engines", "mounts", "readings", "visits", "entries")
BEGIN = date(2020, 1, 1)


def a_fleet(engines: int, readings: int, entries: int) -> Batch:
    """Engines, each on a boat of its own, with readings a month apart and entries in visits of five."""
    numbers = range(engines)
    return Batch(
        owners=[Owner(f"o{n}", f"Owner {n}", f"o{n}@example.org") for n in numbers],
        boats=[Boat(f"b{n}", f"o{n}", f"Boat {n}", water="salt", use="private") for n in numbers],
        engines=[
            Engine(f"S{n:07}", "maker", "model", "V6", 2020, BEGIN, True, boat_id=f"b{n}") for n in numbers
        ],
        ownership=[Ownership(f"b{n}", f"o{n}", BEGIN) for n in numbers],
        mounts=[Mount(f"S{n:07}", f"b{n}", BEGIN, "port") for n in numbers],
        readings=[
            Reading(f"r{n}-{k}", f"S{n:07}", BEGIN + timedelta(days=30 * k), 100 * k, "by mail", None, "Kim")
            for n in numbers
            for k in range(readings)
        ],
        visits=[
            Visit(f"v{n}-{v}", f"b{n}", BEGIN + timedelta(days=365 * v), why="booked service")
            for n in numbers
            for v in range((entries + 4) // 5)
        ],
        entries=[
            Entry(
                f"e{n}-{k}",
                f"S{n:07}",
                BEGIN + timedelta(days=365 * (k // 5)),
                "inspected",
                f"v{n}-{k // 5}",
                None,
                item=f"item {k % 15}",
                note="as found",
                by="Kim",
            )
            for n in numbers
            for k in range(entries)
        ],
    )


def seconds(work: Callable[[], Any]) -> float:
    """How long a piece of work takes, in seconds of this process's processor time."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


def bare_tables(batch: Batch) -> dict[str, list[tuple[Any, ...]]]:
    """The rows of the bulky kinds as plain tuples, made before the clock starts."""
    numbers = {engine.serial: n for n, engine in enumerate(batch.engines, start=1)}
    tables = {}
    for kind in BULK:
        shape = SHAPES[kind]
        columns = shape.keeps(getattr(batch, kind))
        if "engine_no" in shape.columns:
            place = shape.columns.index("engine_no")
            columns[place] = [numbers[serial] for serial in columns[place]]
        tables[kind] = list(zip(*columns, strict=True))
    return tables


def bare_insert(path: Path, tables: dict[str, list[tuple[Any, ...]]]) -> None:
    """The same rows by executemany into tables with nothing but columns and the index of the ids."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("BEGIN IMMEDIATE")
        for kind, rows in tables.items():
            columns = SHAPES[kind].columns
            connection.execute(f"CREATE TABLE {kind} ({columns[0]} PRIMARY KEY, {', '.join(columns[1:])})")
            connection.executemany(f"INSERT INTO {kind} VALUES ({', '.join('?' * len(columns))})", rows)
        connection.execute("COMMIT")


def bare_select(log: Log) -> None:
    """The rows of the bulky tables as the driver gives them, for a log of either kind."""
    with log.reading() as reader:
        for kind in BULK:
            columns = ", ".join(SHAPES[kind].columns)
            reader._connection.exec_driver_sql(f"SELECT {columns} FROM {kind}").cursor.fetchall()  # type: ignore[union-attr]


def ledgers(log: Log) -> None:
    """Every ledger, each let go of when the next one comes."""
    with log.reading() as reader:
        for _ in reader.ledgers():
            pass


def one_ledger(log: Log, serial: str) -> None:
    with log.reading() as reader:
        reader.ledger(serial)


def show(what: str, took: float, floor: float, floor_name: str) -> None:
    print(f"{what:<34}{took:9.3f} s  {took / floor:6.2f} × {floor_name} ({floor:.3f} s)")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--engines", type=int, default=10_000)
    parser.add_argument("--readings", type=int, default=30)
    parser.add_argument("--entries", type=int, default=20)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--url", help="an empty PostgreSQL schema or database; without it a SQLite file")
    given = parser.parse_args()
    batch = a_fleet(given.engines, given.readings, given.entries)
    gc.freeze()  # the collector need not walk the rows to be written while it reads others
    rows = sum(batch.counts().values())
    print(f"{given.engines:,} engines, {rows:,} rows")
    with tempfile.TemporaryDirectory() as folder:
        tables = bare_tables(batch)
        floor = seconds(lambda: bare_insert(Path(folder) / "bare.sqlite", tables))
        path = Path(folder) / "log.sqlite"
        log = open_log(given.url or str(path), at=AT)

        def add() -> None:
            with log.writing("Kim", AT) as writer:
                writer.add(batch)

        show("add, one transaction", seconds(add), floor, "bare executemany")
        if not given.url:
            sizes = [p.stat().st_size for p in (path, Path(folder) / "bare.sqlite")]
            print(f"{'size of the file':<34}{sizes[0] / 1e6:9.1f} MB  bare {sizes[1] / 1e6:.1f} MB")

        takes = [
            (seconds(lambda: bare_select(log)), seconds(lambda: ledgers(log))) for _ in range(given.rounds)
        ]
        floor, whole = (statistics.median(times) for times in zip(*takes, strict=True))
        show("ledgers of the whole fleet", whole, floor, "bare SELECT")
        serials = [engine.serial for engine in batch.engines]
        for serial in serials[:20]:
            one_ledger(log, serial)
        one = statistics.median(seconds(lambda s=s: one_ledger(log, s)) for s in serials[-100:])  # type: ignore[misc]
        print(f"{'one ledger, statements known':<34}{1000 * one:9.2f} ms")
        with log.reading() as reader:
            keys = [r.reading_id for r in batch.readings]
            took = seconds(lambda: reader.existing("readings", keys))
            print(f"{'existing, every reading':<34}{took:9.3f} s")
        log.dispose()


if __name__ == "__main__":
    main()

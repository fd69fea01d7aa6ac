"""How the program does in large fleets, each figure beside a floor measured in the same run.

python -m tests.benchmarks.scale [--engines N] [--rounds N] [--parts start,due,...] [--folder FOLDER]
    [--processor-time]

Prints a table: what, its median, the floor's, and their ratio. The log and the files are made in a temporary
folder. Ratios say something on a machine that is otherwise quiet.
"""

from __future__ import annotations

import argparse
import csv
import os
import platform
import resource
import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path
from traceback import print_exc
from typing import Any

from sqlalchemy import make_url

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Entry, Visit
from fleetlog.exchange.csv.writing import write_folder
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.usecases.due import DueQuestion, list_due
from fleetlog.usecases.exporting import export_folder
from fleetlog.usecases.imports.folder import import_folder
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.refreshing import refresh_log
from fleetlog.usecases.standing import keep_what_is_written_to
from tests.benchmarks.fleet import TODAY, a_fleet

AT = datetime(2026, 4, 15, 7, 0, tzinfo=UTC)
NOW = Occasion("Kim", AT, TODAY)
PARTS = ("start", "due", "refresh", "visit", "files", "folder")
"""Besides, `copy` needs `--postgres`."""

ROWS_OF_A_LEDGER = (
    "readings",
    "entries",
    "visits",
    "mounts",
    "meters",
    "voids",
    "deferrals",
    "engines",
    "boats",
)


_clock = time.perf_counter


def processor_seconds() -> float:
    """What this process and those it waited for have used of the processors."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(u.ru_utime + u.ru_stime for u in used)


def seconds(work: Callable[[], Any]) -> float:
    """How long a piece of work takes by the clock, or what it uses of the processors."""
    begun = _clock()
    work()
    return _clock() - begun


def measure(what: str, rounds: int, work: Callable[[], Any], floor: Callable[[], Any], most: str) -> None:
    """Both in turn, so that both meet the same noise; the medians and their ratio."""
    took = [(seconds(floor), seconds(work)) for _ in range(rounds)]
    bare, ours = (statistics.median(times) for times in zip(*took, strict=True))
    print(f"| {what} | {ours:.4f} s | {bare:.4f} s | {ours / bare:.2f} × | {most} |", flush=True)


def start(path: Path, log: Log, rounds: int, given: argparse.Namespace) -> None:
    """What a person waits for: help, and one engine's history, with bytecode kept as when installed."""
    with log.reading() as reader:
        serial = reader.serials()[-1]
    environment = os.environ | {
        "FLEETLOG_LOG": str(path),
        "FLEETLOG_TODAY": TODAY.isoformat(),
        "PYTHONPYCACHEPREFIX": str(given.scratch / "bytecode"),
    }
    environment.pop("PYTHONDONTWRITEBYTECODE", None)

    def run(*words: str) -> None:
        subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL, env=environment)

    for what, ours, floor, most in (
        ("`--help`", ("--help",), "import click", "1.3"),
        ("one engine's history, whole process", ("history", serial), "import click, sqlalchemy", "1.5"),
    ):
        run("-m", "fleetlog", *ours)
        run("-c", floor)
        measure(what, rounds, partial(run, "-m", "fleetlog", *ours), partial(run, "-c", floor), most)


_BARE_LINES = """
SELECT e.serial, b.name, k.boat_id, o.name, k.owner_id, e.schedule, e.family, l.rule, l.position, l.always,
       l.last_done_on, l.last_done_tenths, l.due_on, l.due_tenths, l.governs, l.early_on, l.likely_on,
       l.late_on, k.read_tenths, k.read_on, l.deferred_on, l.deferred_tenths, l.off_on, k.held
FROM kept_lines l JOIN kept_engines k USING (engine_no) JOIN engines e USING (engine_no)
LEFT JOIN boats b ON b.boat_id = k.boat_id LEFT JOIN owners o ON o.owner_id = k.owner_id
WHERE l.shows_on <= ?"""


def due(path: Path, log: Log, rounds: int, _given: argparse.Namespace) -> None:
    """The due lines of the next 60 days as values of the domain, beside the same rows by bare SQL."""
    until = TODAY.toordinal() + 60
    with log.reading() as reader:
        owner = list(reader.owners())[len(reader.owners()) // 2]
    with closing(sqlite3.connect(path)) as connection:
        lines = len(list_due(log, NOW, DueQuestion()))
        measure(
            f"due lines, whole marina ({lines:,} lines)",
            rounds,
            lambda: list_due(log, NOW, DueQuestion()),
            lambda: connection.execute(_BARE_LINES, (until,)).fetchall(),
            "3",
        )
        within = DueQuestion(within_days=0)
        lines = len(list_due(log, NOW, within))
        measure(
            f"due lines, whole marina, by today ({lines:,} lines)",
            rounds,
            lambda: list_due(log, NOW, within),
            lambda: connection.execute(_BARE_LINES, (TODAY.toordinal(),)).fetchall(),
            "3",
        )
        of_owner = _BARE_LINES + " AND k.owner_id = ?"
        question = DueQuestion(owner=owner)
        measure(
            f"due lines of one owner ({len(list_due(log, NOW, question))} lines)",
            5 * rounds,
            lambda: list_due(log, NOW, question),
            lambda: connection.execute(of_owner, (until, owner)).fetchall(),
            "3",
        )


def refresh(path: Path, log: Log, rounds: int, given: argparse.Namespace) -> None:
    """Every kept line worked out anew, beside a bare read of the ledgers and a bare write of the lines."""

    def bare() -> None:
        with closing(sqlite3.connect(path)) as source, tempfile.TemporaryDirectory() as folder:
            for table in ROWS_OF_A_LEDGER:
                source.execute(f"SELECT * FROM {table}").fetchall()
            kept = source.execute("SELECT * FROM kept_lines")
            rows, columns = kept.fetchall(), len(kept.description)
            with closing(sqlite3.connect(Path(folder) / "bare.db", isolation_level=None)) as target:
                target.execute("PRAGMA journal_mode = WAL")
                target.execute("BEGIN")
                target.execute(f"CREATE TABLE kept_lines ({', '.join(f'c{n}' for n in range(columns))})")
                target.executemany(f"INSERT INTO kept_lines VALUES ({', '.join('?' * columns)})", rows)
                target.execute("COMMIT")

    for processes in sorted({1, given.processes} if given.rounds > 1 else {given.processes}):
        measure(
            f"refresh of every line, {processes} process(es)",
            max(1, rounds // 2),
            lambda n=processes: refresh_log(log, TODAY, processes=n),
            bare,
            "8 on two",
        )


def visit(_path: Path, log: Log, rounds: int, given: argparse.Namespace) -> None:
    """A visit of five entries recorded with its lines, durably, beside bare one-row commits."""
    log.when_written = lambda writer, serials: keep_what_is_written_to(writer, NOW, serials, print_exc)
    with log.reading() as reader:
        serials = reader.serials()[:: max(1, len(reader.serials()) // 200)][:200]
    left = iter(range(time.time_ns(), sys.maxsize))

    def record() -> None:
        for serial in serials[:40]:
            number = next(left)
            entries = [
                Entry(f"N{number}-{k}", serial, TODAY, "inspected", f"N{number}", item=f"item {k}")
                for k in range(5)
            ]
            with log.writing("Kim", AT) as writer:
                writer.add(Batch(visits=[Visit(f"N{number}", opened_on=TODAY)], entries=entries))

    with closing(sqlite3.connect(given.scratch / "bare.db", isolation_level=None)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("CREATE TABLE one (a, b, c)")

        def bare() -> None:
            for serial in serials[:40]:
                connection.execute("BEGIN IMMEDIATE")
                connection.execute("INSERT INTO one VALUES (?, ?, ?)", (serial, 1, "inspected"))
                connection.execute("COMMIT")

        measure("40 visits recorded with their lines", rounds, record, bare, "5 (0.2 of the rate)")


def files(path: Path, log: Log, rounds: int, given: argparse.Namespace) -> None:
    """Import and export of the whole folder, beside the csv module with bare SQL."""
    folder = given.scratch / "folder"
    write_folder(a_fleet(given.engines), folder)
    tables = sorted(folder.glob("*.csv"))
    left = iter(range(10**9))

    def bare_import() -> None:
        with closing(
            sqlite3.connect(given.scratch / f"b{next(left)}.db", isolation_level=None)
        ) as connection:
            connection.execute("PRAGMA journal_mode = WAL")
            connection.execute("BEGIN")
            for table in tables:
                with table.open(newline="", encoding="utf-8") as file:
                    rows = csv.reader(file)
                    columns = next(rows)
                    names = ", ".join(f'"{c}"' for c in columns)
                    connection.execute(f"CREATE TABLE {table.stem} ({names})")
                    connection.executemany(
                        f"INSERT INTO {table.stem} VALUES ({', '.join('?' * len(columns))})", rows
                    )
            connection.execute("COMMIT")

    def take_in() -> None:
        new = open_log(str(given.scratch / f"i{next(left)}.db"), at=AT)
        import_folder(new, NOW, folder)
        new.dispose()

    measure("import of the folder", max(1, rounds // 2), take_in, bare_import, "6")

    def bare_export() -> None:
        out = given.scratch / f"e{next(left)}"
        out.mkdir()
        with closing(sqlite3.connect(path)) as connection:
            for table in (
                "owners",
                "boats",
                "engines",
                "ownership",
                "layups",
                "readings",
                "visits",
                "entries",
            ):
                with (out / f"{table}.csv").open("w", newline="", encoding="utf-8") as file:
                    csv.writer(file).writerows(connection.execute(f"SELECT * FROM {table}"))

    measure(
        "export of the folder",
        max(1, rounds // 2),
        lambda: export_folder(log, given.scratch / f"x{next(left)}"),
        bare_export,
        "4",
    )


def copy(path: Path, _log: Log, rounds: int, given: argparse.Namespace) -> None:
    """The log copied to PostgreSQL, read back and hashed, beside COPY of the same rows into bare tables."""
    import psycopg

    from fleetlog.usecases.copying import copy_log

    server = make_url(given.postgres)
    admin = psycopg.connect(given.postgres, autocommit=True)
    made = []

    def empty_database() -> str:
        made.append(f"scale_{time.time_ns()}")
        admin.execute(f"CREATE DATABASE {made[-1]}")  # type: ignore[arg-type]
        return server.set(database=made[-1]).render_as_string(hide_password=False)

    def bare() -> None:
        kinds = {"INTEGER": "bigint", "BIGINT": "bigint", "BLOB": "bytea"}
        with closing(sqlite3.connect(path)) as source, psycopg.connect(empty_database()) as target:
            names = source.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
            for (table,) in names:
                told = source.execute(f"SELECT name, type FROM pragma_table_info('{table}')").fetchall()
                columns = ", ".join(f'"{name}" {kinds.get(kind, "text")}' for name, kind in told)
                target.execute(f"CREATE TABLE {table} ({columns})")  # type: ignore[arg-type]
                with target.cursor() as cursor, cursor.copy(f"COPY {table} FROM STDIN") as into:  # type: ignore[arg-type]
                    for row in source.execute(f"SELECT * FROM {table}"):
                        into.write_row(row)

    try:
        measure(
            "copy-log to PostgreSQL",
            max(1, rounds // 2),
            lambda: copy_log(str(path), empty_database(), NOW),
            bare,
            "4",
        )
    finally:
        for name in made:
            admin.execute(f"DROP DATABASE {name}")  # type: ignore[arg-type]
        admin.close()


def folder(_path: Path, _log: Log, rounds: int, given: argparse.Namespace) -> None:
    """The whole due list from a folder, import and all, beside pandas and a spreadsheet on the same files."""
    import pandas

    from tests.benchmarks.spreadsheet import MOST_SECONDS, RULES, recalculated, write_workbook

    source = given.scratch / "folder-of-all"
    write_folder(a_fleet(given.engines), source)
    left = iter(range(10**9))

    def ours() -> None:
        new = open_log(str(given.scratch / f"f{next(left)}.db"), at=AT)
        import_folder(new, NOW, source)
        list_due(new, NOW, DueQuestion())
        new.dispose()

    def with_pandas() -> None:
        engines, readings, entries = (
            pandas.read_csv(source / f"{name}.csv") for name in ("engines", "readings", "entries")
        )
        readings["on"] = pandas.to_datetime(readings["on"])
        entries["on"] = pandas.to_datetime(entries["on"])
        by_engine = readings.sort_values("on").groupby("serial")
        last, first = by_engine.last(), by_engine.first()
        rate = (last["meter"] - first["meter"]) / (last["on"] - first["on"]).dt.days
        done = entries.sort_values("on").groupby(["serial", "item"])[["on", "meter"]].last().reset_index()
        rules = pandas.DataFrame(RULES, columns=["item", "hours", "months"])
        lines = engines[["serial", "in_service_on"]].merge(rules, how="cross").merge(done, how="left")
        lines["on"] = lines["on"].fillna(pandas.to_datetime(lines["in_service_on"]))
        lines["due_on"] = lines["on"] + pandas.to_timedelta(lines["months"] * 30.44, unit="D")
        lines["due_hours"] = lines["meter"].fillna(0) + lines["hours"]
        ahead = (lines["due_hours"] - lines["serial"].map(last["meter"])) / lines["serial"].map(rate)
        by_hours = lines["serial"].map(last["on"]) + pandas.to_timedelta(ahead.clip(0, 20_000), unit="D")
        lines["likely_on"] = lines["due_on"].where(lines["due_on"] < by_hours, by_hours)
        lines[lines["likely_on"] <= pandas.Timestamp(TODAY) + pandas.Timedelta(60, unit="D")].sort_values(
            "likely_on"
        )

    measure(
        "due list from a folder, import, fit of use and all",
        max(1, rounds // 2),
        ours,
        with_pandas,
        "beside pandas",
    )
    soffice = shutil.which("soffice")
    if soffice is None:
        print("No spreadsheet beside it: there is no soffice here.")
        return
    workbook = given.scratch / "due.xlsx"
    lines = write_workbook(source, workbook)

    def with_a_spreadsheet() -> None:
        out = given.scratch / f"s{next(left)}"
        out.mkdir()
        assert len(recalculated(soffice, workbook, out)) == lines

    try:
        measure("the same", 1, ours, with_a_spreadsheet, "beside a spreadsheet")
    except subprocess.TimeoutExpired:
        print(f"A spreadsheet of {lines:,} lines is not recalculated within {MOST_SECONDS} s.")


def fill(log: Log, engines: int) -> None:
    """Puts a fleet into an empty log."""
    fleet = a_fleet(engines)
    with log.writing("Kim", AT) as writer:
        writer.add(fleet)


def machine() -> str:
    """What it was measured on."""
    model = platform.processor() or platform.machine()
    cpuinfo = Path("/proc/cpuinfo")
    if cpuinfo.exists():
        names = [line for line in cpuinfo.read_text().splitlines() if line.startswith("model name")]
        model = names[0].partition(":")[2].strip() if names else model
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    python = f"Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}"
    return f"{os.cpu_count()} × {model}, {platform.system()}, {python}{load}, {date.today().isoformat()}"


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--engines", type=int, default=1_000)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--parts", default=",".join(PARTS), help=f"some of {', '.join(PARTS)}")
    parser.add_argument("--postgres", help="a server that may make databases, for the part `copy`")
    parser.add_argument("--folder", type=Path, help="where the log stays, made there where it is not yet")
    parser.add_argument("--processor-time", action="store_true", help="for a machine that is busy besides")
    given = parser.parse_args()
    if given.processor_time:
        global _clock
        _clock = processor_seconds
    works = {
        "start": start,
        "due": due,
        "refresh": refresh,
        "visit": visit,
        "files": files,
        "folder": folder,
        "copy": copy,
    }
    if given.folder is not None:
        given.folder.mkdir(parents=True, exist_ok=True)
    print(f"{given.engines:,} engines; {machine()}\n")
    print(f"| what | ours | floor | ratio | at most |\n|{' --- |' * 5}")
    with tempfile.TemporaryDirectory(dir=given.folder) as made:
        given.scratch = Path(made)
        path = (given.folder or given.scratch) / f"log-of-{given.engines}.db"
        is_new = not path.exists()
        log = open_log(str(path), at=AT)
        if is_new:
            added = seconds(lambda: fill(log, given.engines))
            print(f"| the log added, its lines left out | {added:.1f} s | | | |", flush=True)
            first = seconds(lambda: refresh_log(log, TODAY, processes=given.processes))
            print(f"| its lines worked out for the first time | {first:.1f} s | | | |", flush=True)
        for part in given.parts.split(","):
            works[part](path, log, given.rounds, given)
        log.dispose()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"\nThe most memory this process took: {peak:,.0f} MiB")


if __name__ == "__main__":
    main()

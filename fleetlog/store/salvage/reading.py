"""Reads what can still be read of a log whose file is cut short or has bytes changed.

The file itself is read page by page and left alone (`leaf_pages`, `wal_pages`); `page_owners` tells which
table a page belongs to. The rows go into a new log in a folder of its own, which refuses what no log can
hold and a key that it has already; that log is then read like any other.

An engine whose own row is lost is named by the serial that its chain began from. Without the list of tables
or the root of `entries` only the rows on the very page that is lost are lost. Not to be told by shape:
`schedules`, `cards` and `shop`, where two of them lost their roots.
"""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Iterator, Set
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, BinaryIO, NamedTuple

from sqlalchemy import Connection, NullPool, create_engine, select
from sqlalchemy.exc import DBAPIError

from fleetlog.domain.batch import Batch
from fleetlog.errors.log import LogUnreadable
from fleetlog.errors.safekeeping import NoRoomToRescue, NothingToRescue
from fleetlog.store import migrating
from fleetlog.store.chain.check import ChainReport, check_chains
from fleetlog.store.chain.remnants import proven_serials
from fleetlog.store.failures import is_of_no_room
from fleetlog.store.salvage.leaf_pages import Pages, Value, page_size
from fleetlog.store.salvage.page_owners import Layout, Owned, layouts, owners
from fleetlog.store.salvage.wal_pages import pages_ahead
from fleetlog.store.shapes import ITEMS, RULINGS, SHAPES, Names, Shape


@dataclass(slots=True)
class Salvage:
    """What was read, and what was not, in sentences.

    `chains` is the comparison of what was read with what was sealed; `not_compared` says why there is none.
    """

    batch: Batch = field(default_factory=Batch)
    remarks: list[str] = field(default_factory=list)
    chains: ChainReport | None = None
    not_compared: str | None = None


class Rebuilt(NamedTuple):
    """A log of all rows that can be read, in sentences what is lost, and the tables that may lack rows."""

    connection: Connection
    remarks: list[str]
    lost: Set[str]


def salvage(source: Path) -> Salvage:
    """All rows that can be read of a log's file. Raises LogUnreadable, NothingToRescue, NoRoomToRescue."""
    with rebuilt(source) as log:
        found = Salvage(remarks=log.remarks)
        _read_all(log.connection, found)
        _compare(log, found)
    if not found.batch.counts():
        raise NothingToRescue(source, "no row of one is in it")
    return found


@contextmanager
def rebuilt(source: Path) -> Iterator[Rebuilt]:
    """A log of all rows that can be read of a log's file, chains too.

    It is gone when the context ends. Raises LogUnreadable, NothingToRescue, NoRoomToRescue.
    """
    with _temporary_folder(source) as folder, _new_log(folder / "log.db") as connection:
        file: sqlite3.Connection = connection.connection.driver_connection  # type: ignore[assignment]
        try:
            with source.open("rb", buffering=0) as stream:
                lost = _take_over(_pages(source, stream), file)
        except OSError as error:
            raise LogUnreadable(str(source), error.strerror or str(error)) from error
        remarks = sorted(text for names, text in lost if not _TOLD.isdisjoint(names))
        yield Rebuilt(connection, remarks, frozenset().union(*(names for names, _ in lost)))


@contextmanager
def _temporary_folder(source: Path) -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="fleetlog-rescue-", ignore_cleanup_errors=True) as folder:
        try:
            yield Path(folder)
        except (sqlite3.Error, DBAPIError) as error:
            said = error.orig if isinstance(error, DBAPIError) else error
            if isinstance(said, sqlite3.Error) and is_of_no_room(said):
                raise NoRoomToRescue(source, str(Path(folder).parent), str(said)) from error
            raise


def _compare(log: Rebuilt, found: Salvage) -> None:
    """Compares a log that was rebuilt with its own chains."""
    try:
        chains = check_chains(log.connection, log.lost)
    except Exception as error:  # whatever the damage brings about
        found.not_compared = " ".join(str(error).split()) or type(error).__name__
    else:
        if chains.heads:
            found.chains = chains
        else:
            found.not_compared = "no link of its chains is left, or its version of the program made none"


@contextmanager
def _new_log(path: Path) -> Iterator[Connection]:
    def connect() -> sqlite3.Connection:
        file = sqlite3.connect(path, isolation_level=None)
        file.execute("PRAGMA journal_mode = MEMORY")
        file.execute("PRAGMA synchronous = OFF")  # it is thrown away, whatever happens
        return file

    engine = create_engine("sqlite+pysqlite://", creator=connect, poolclass=NullPool)
    try:
        with engine.connect() as connection:
            migrating.migrate(connection, migrating.HEAD)
            connection.commit()
            yield connection
    finally:
        engine.dispose()


def _pages(source: Path, stream: BinaryIO) -> Pages:
    """The pages of a file, those written ahead of it in place of its own."""

    def read_at(place: int, size: int) -> bytes:
        try:
            stream.seek(place)
            return stream.read(size)
        except OSError:
            return b""

    length = stream.seek(0, 2)
    ahead = None
    with suppress(FileNotFoundError):
        ahead = pages_ahead(Path(f"{source}-wal").read_bytes())
    if ahead is None:
        size = page_size(read_at, length)
        return Pages(lambda number: read_at((number - 1) * size, size), size, -(-length // size))
    written, size = ahead.pages, ahead.size

    def read(number: int) -> bytes:
        return bytes(written[number]) if number in written else read_at((number - 1) * size, size)

    return Pages(read, size, ahead.count)


def _take_over(pages: Pages, file: sqlite3.Connection) -> list[tuple[Set[str], str]]:
    """Puts all rows that can be read into a new log; what is lost in a sentence, and of which tables."""
    known = layouts(file)
    del known["alembic_version"]
    found = owners(pages, known)
    lost: list[tuple[Set[str], str]] = []
    file.execute("BEGIN")
    for name in known.keys() & found.tables.keys():
        told = _take_table(pages, found.tables[name], known[name], file)
        if told:
            lost.append(({name}, f"{name}: {told}"))
    file.execute("COMMIT")
    doubtful = {number: tables for number, tables in found.doubtful.items() if not _TOLD.isdisjoint(tables)}
    if doubtful:
        size = sum(len(pages.rows(number)[0]) for number in doubtful)
        names = sorted({name for tables in doubtful.values() for name in tables})
        told = f"{', '.join(names)}: rows left out, as any of these may be their table: {size}"
        lost.append((set(names), told))
    return lost


_TOLD = frozenset(SHAPES) | {ITEMS.name, RULINGS.name}
"""The tables whose rows are written out, and so told of where they are lost."""


def _take_table(pages: Pages, table: Owned, known: Layout, file: sqlite3.Connection) -> str:
    """Puts the rows of a table into a new log; what is lost of it, nothing where it seems whole."""
    columns = {column.name for column in known.columns} | {"rowid"}
    lost = 0

    def rows_of(numbers: list[int]) -> Iterator[dict[str, Value]]:
        nonlocal lost
        for number in numbers:
            rows, unreadable = pages.rows(number)
            fitting = [table.layout.named(row) for row in rows if table.layout.fits(row)]
            lost += unreadable + len(rows) - len(fitting)
            yield from ({c: v for c, v in row.items() if c in columns} for row in fitting)

    def taken(row: dict[str, Value]) -> bool:
        try:
            file.execute(_insert(known.name, tuple(row)), tuple(row.values()))
        except sqlite3.IntegrityError:
            return False
        return True

    accepted = [taken(row) for row in rows_of(table.reached)]
    loose = sum(map(taken, sorted(rows_of(table.loose), key=_age)))
    read = sum(accepted)
    lost += len(accepted) - read
    amiss = {
        "on pages that nothing leads to any more": loose,
        "pages that cannot be read": table.lost_pages,
        "rows that cannot be read": lost,
    }
    told = [f"{what}: {size}" for what, size in amiss.items() if size]
    if not table.has_root:
        told.insert(0, "where they begin is lost")
    return "; ".join((f"rows read: {read + loose}", *told)) if told else ""


@cache
def _insert(table: str, columns: tuple[str, ...]) -> str:
    return f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({', '.join('?' * len(columns))})"


def _age(row: dict[str, Value]) -> tuple[int, ...]:
    """Least for the latest state of a row: pages that nothing leads to may hold older ones too."""
    states = map(row.get, ("version", "end_writing_no"))
    return tuple(-state if isinstance(state, int) else 0 for state in states)


def _read_all(connection: Connection, found: Salvage) -> None:
    """Reads a new log of all rows that were found."""
    items = {row[0]: row[1] for row in connection.execute(select(ITEMS.c.item_no, ITEMS.c.spelling))}
    rulings = connection.execute(select(RULINGS.c.reading_id, RULINGS.c.status))
    statuses = {row[0]: row[1] for row in rulings}
    engines = SHAPES["engines"].table.c
    numbered = connection.execute(select(engines.entered_as, engines.serial)).all()
    corrected = {first: serial for first, serial in numbered if serial != first}
    proven = proven_serials(connection).items()
    serials = _Known({number: corrected.get(first, first) for number, first in proven}, "engine")
    names = Names(serials, _Known({None: None, **items}, "item"), statuses, corrected)
    for kind, shape in SHAPES.items():
        setattr(found.batch, kind, _values(shape, list(connection.execute(shape.select)), names, found))


class _Known(dict[Any, Any]):
    """Names by number; a number whose own row is lost gets a name that says so."""

    def __init__(self, known: dict[Any, Any], what: str) -> None:
        super().__init__(known)
        self._what = what

    def __missing__(self, number: Any) -> str:
        return f"rescued-{self._what}-{number}"


def _values(shape: Shape, rows: list[Any], names: Names, found: Salvage) -> list[Any]:
    values = []
    for row in rows:
        try:
            values += shape.values([row], names)
        except (ValueError, TypeError, KeyError, ArithmeticError) as error:
            found.remarks.append(f"{shape.kind}: a row was left out, it makes no sense ({error})")
    return values

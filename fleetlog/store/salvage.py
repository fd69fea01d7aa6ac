"""Reads what can still be read of a log whose file is cut short or has bytes changed.

The file itself is left alone: a copy is read, its header put right and its length filled up to what it
should be. Each table is asked for stretch by stretch; a stretch that fails is halved until single rows
are left, so that one bad page costs the rows on it and no others.
"""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, NullPool, Select, TextClause, create_engine, select, text

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Boat, Engine, Owner, Visit
from fleetlog.errors import NothingToRescue
from fleetlog.store.shapes import ITEMS, RULINGS, SHAPES, Names, Shape

_MAGIC = b"SQLite format 3\0"
_FORMATS = {18: 2, 19: 2, 21: 64, 22: 32, 23: 32}
"""Bytes of the header that are the same in every log: write-ahead formats and payload shares."""

_HIGHEST = 1 << 40
_GIVEN_UP, _ENGINES_GIVEN_UP, _ROWS_OF_ONE_GIVEN_UP = 1_000, 60, 40
"""How many numbers in a row may fail before the search goes on from the other end: keeps it to seconds."""

_CLUSTERED = frozenset({"readings", "entries"})
"""Tables without row numbers, kept in the order of engine and sequence."""


@dataclass(slots=True)
class Salvage:
    """What was read, and what was not, in sentences."""

    batch: Batch = field(default_factory=Batch)
    remarks: list[str] = field(default_factory=list)


def salvage(source: Path) -> Salvage:
    """All rows that can be read of a log's file. Raises NothingToRescue."""
    with (
        tempfile.TemporaryDirectory(prefix="fleetlog-rescue-", ignore_cleanup_errors=True) as folder,
        _opened(source, Path(folder)) as c,
    ):
        found = Salvage()
        try:
            c.exec_driver_sql("SELECT count(*) FROM sqlite_master").scalar()
        except Exception as error:
            raise NothingToRescue(source, _why(error)) from error
        _read_all(c, found)
    if not found.batch.counts():
        raise NothingToRescue(source, found.remarks[0] if found.remarks else "no rows in it")
    _fill_gaps(found)
    return found


@contextmanager
def _opened(source: Path, folder: Path) -> Iterator[Connection]:
    copy = folder / "log.db"
    try:
        shutil.copyfile(source, copy)
        with suppress(FileNotFoundError):
            shutil.copyfile(f"{source}-wal", f"{copy}-wal")
    except OSError as error:
        raise NothingToRescue(source, error.strerror or str(error)) from error
    _mend_header(source, copy)

    def connect() -> sqlite3.Connection:
        raw = sqlite3.connect(copy, isolation_level=None)
        raw.text_factory = lambda data: data.decode("utf-8", "replace")
        raw.execute("PRAGMA writable_schema = ON")  # else a file cut short is refused as a whole
        raw.execute("PRAGMA cell_size_check = ON")
        return raw

    engine = create_engine("sqlite+pysqlite://", creator=connect, poolclass=NullPool)
    try:
        with closing(engine.connect()) as connection:
            yield connection
    except sqlite3.Error as error:
        raise NothingToRescue(source, _why(error)) from error
    finally:
        engine.dispose()


def _mend_header(source: Path, copy: Path) -> None:
    with copy.open("rb+") as stream:
        head = bytearray(stream.read(100))
        if len(head) < 100:
            raise NothingToRescue(source, f"it has {len(head)} bytes")
        head[:16] = _MAGIC
        size = int.from_bytes(head[16:18], "big")
        if size != 1 and (size < 512 or size & (size - 1)):
            head[16:18] = (4096).to_bytes(2, "big")
        for place, value in _FORMATS.items():
            head[place] = value
        head[20] = 0
        stream.seek(0)
        stream.write(head)
        page = int.from_bytes(head[16:18], "big")
        page = 65536 if page == 1 else page
        length = copy.stat().st_size
        pages = int.from_bytes(head[28:32], "big")
        if length % page or (length < pages * page <= 2 * length + 1_000_000):
            stream.truncate(length - length % page)  # of a page that was cut, rows would be half zeros
            stream.truncate(max(-(-length // page), min(pages, 2 * length // page + 1000)) * page)


def _read_all(connection: Connection, found: Salvage) -> None:
    spellings = _rows(connection, found, "items", select(ITEMS.c.item_no, ITEMS.c.spelling))
    items = {row[0]: row[1] for row in spellings}
    rulings = _rows(connection, found, "rulings", select(RULINGS.c.reading_id, RULINGS.c.status))
    statuses = {row[0]: row[1] for row in rulings}
    names = Names(_Known({}, "engine"), _Known({None: None, **items}, "item"), statuses)
    for kind, shape in SHAPES.items():
        query = shape.select
        if kind == "engines":
            query = query.add_columns(shape.table.c.engine_no)
        rows = _rows(connection, found, kind, query)
        if kind == "engines":
            names.serials = _Known({row[-1]: row[0] for row in rows}, "engine")
            rows = [row[:-1] for row in rows]
        setattr(found.batch, kind, _values(shape, rows, names, found))


class _Known(dict[Any, Any]):
    """Names by number; a number whose own row is lost gets a name that says so."""

    def __init__(self, known: dict[Any, Any], what: str) -> None:
        super().__init__(known)
        self._what = what

    def __missing__(self, number: Any) -> str:
        return f"rescued-{self._what}-{number}"


def _rows(connection: Connection, found: Salvage, name: str, query: Select[Any]) -> list[Any]:
    """The rows of one table that can be read, in the order in which they are kept."""
    try:
        return list(connection.execute(query).all())
    except Exception as error:
        why = _why(error)

    def read(where: TextClause, **given: int) -> list[Any]:
        return list(connection.execute(query.where(where), given).all())

    def engine(number: int) -> list[Any]:
        return _all_of(lambda a, b: read(_OF_ONE, number=number, first=a, last=b), _ROWS_OF_ONE_GIVEN_UP)

    if name in _CLUSTERED:
        rows = _all_of(lambda a, b: read(_OF_ENGINES, first=a, last=b), _ENGINES_GIVEN_UP, engine)
    else:
        rows = _all_of(lambda a, b: read(_BY_ROW, first=a, last=b), _GIVEN_UP)
    found.remarks.append(f"{name}: {len(rows)} rows were read, the others cannot be ({why})")
    return rows


_BY_ROW = text("rowid BETWEEN :first AND :last")
_OF_ENGINES = text("engine_no BETWEEN :first AND :last")
_OF_ONE = text("engine_no = :number AND sequence BETWEEN :first AND :last")


def _all_of(
    read: Callable[[int, int], list[Any]],
    given_up: int,
    one: Callable[[int], list[Any]] | None = None,
) -> list[Any]:
    """The rows of every number that can be read: upwards until too many in a row fail, then downwards."""
    if not any(_answers(read, 1 << power) for power in range(0, 41, 4)):
        return []  # what all ways lead through is lost
    upwards = _Search(read, given_up, one)
    if upwards.run(1, _HIGHEST, up=True):
        return upwards.rows
    downwards = _Search(read, given_up, one)
    downwards.run(upwards.reached + 1, _HIGHEST, up=False)
    return upwards.rows + downwards.rows


def _answers(read: Callable[[int, int], list[Any]], number: int) -> bool:
    try:
        read(number, number)
    except Exception:
        return False
    return True


@dataclass(slots=True)
class _Search:
    """Halves what cannot be read until single numbers are left; `reached` is the last number tried."""

    read: Callable[[int, int], list[Any]]
    given_up: int
    one: Callable[[int], list[Any]] | None
    rows: list[Any] = field(default_factory=list)
    reached: int = 0

    def run(self, first: int, last: int, *, up: bool) -> bool:
        """Whether all numbers were tried before `given_up` in a row failed."""
        failed, todo = 0, [(first, last)]
        while todo:
            a, b = todo.pop()
            try:
                rows = self.read(a, b)
            except Exception:
                if a < b:
                    middle = (a + b) // 2
                    halves = [(middle + 1, b), (a, middle)]
                    todo += halves if up else halves[::-1]
                    continue
                rows = self.one(a) if self.one else []
                failed = 0 if rows else failed + 1
            else:
                failed = 0
            self.reached = b if up else a
            self.rows = self.rows + rows if up else rows + self.rows
            if failed > self.given_up:
                return False
        return True


def _values(shape: Shape, rows: list[Any], names: Names, found: Salvage) -> list[Any]:
    values = []
    for row in rows:
        try:
            values += shape.values([row], names)
        except (ValueError, TypeError, KeyError, ArithmeticError) as error:
            found.remarks.append(f"{shape.kind}: a row was left out, it makes no sense ({error})")
    return values


def _fill_gaps(found: Salvage) -> None:
    """Puts a bare row for each engine, boat and owner that rows speak of and whose own row is lost."""
    batch = found.batch
    engines = {e.serial for e in batch.engines}
    kinds = ("mounts", "meters", "readings", "entries", "deferrals", "papers")
    speak = dict.fromkeys(row.serial for kind in kinds for row in getattr(batch, kind) if row.serial)
    for serial in speak:
        if serial not in engines:
            batch.engines.append(Engine(serial))
            found.remarks.append(f"engines: the row of {serial} is lost; a bare one was put in its place")
    boats = {b.boat_id for b in batch.boats}
    speak = dict.fromkeys(
        row.boat_id
        for kind in ("engines", "mounts", "ownership", "layups", "visits")
        for row in getattr(batch, kind)
        if row.boat_id
    )
    for boat_id in speak:
        if boat_id not in boats:
            batch.boats.append(Boat(boat_id, None, boat_id))
            found.remarks.append(f"boats: the row of {boat_id} is lost; a bare one was put in its place")
    owners = {o.owner_id for o in batch.owners}
    speak = dict.fromkeys(row.owner_id for kind in ("boats", "ownership") for row in getattr(batch, kind))
    for owner_id in speak:
        if owner_id and owner_id not in owners:
            batch.owners.append(Owner(owner_id, owner_id))
            found.remarks.append(f"owners: the row of {owner_id} is lost; a bare one was put in its place")
    visits = {v.visit_id for v in batch.visits}
    for visit_id in [*(e.visit_id for e in batch.entries), *(p.visit_id for p in batch.papers)]:
        if visit_id and visit_id not in visits:
            visits.add(visit_id)
            batch.visits.append(Visit(visit_id))
            found.remarks.append(f"visits: the row of {visit_id} is lost; a bare one was put there")
    papers = {paper.paper_id for paper in batch.papers}
    batch.paper_withdrawals = [w for w in batch.paper_withdrawals if w.paper_id in papers]


def _why(error: BaseException) -> str:
    cause = getattr(error, "orig", None) or error
    return str(cause).strip().splitlines()[0] if str(cause).strip() else type(cause).__name__

"""Due lines kept for speed: marks engines that were written to, keeps their lines, and finds those that show.

An engine is out of date as soon as anything that bears on it is written, in the same transaction, and until
its lines are worked out again.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields
from datetime import date
from functools import cache
from operator import attrgetter
from typing import Any, NamedTuple

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    Connection,
    bindparam,
    column,
    delete,
    select,
    table,
    text,
    union_all,
)

from fleetlog.domain.batch import Batch
from fleetlog.domain.kept import KeptEngine, KeptLine
from fleetlog.store.among import among
from fleetlog.store.bulk import insert_rows
from fleetlog.store.column_types import day_number
from fleetlog.store.direct import Direct
from fleetlog.store.row_reader import in_chunks
from fleetlog.store.shapes import SHAPES, light_table, schedule_followed

_OF_LINE = tuple(f.name for f in fields(KeptLine))
_OF_KEPT = ("fit", "first_on", "last_on", "boat_id", "owner_id", "read_on", "read_tenths", "basis", "held")
_LINES = light_table("kept_lines", ("engine_no", "line_no", *_OF_LINE))
_KEPT = light_table("kept_engines", ("engine_no", "touched_no", *_OF_KEPT))
_ENGINES, _BOATS, _OWNERS = (SHAPES[kind].table for kind in ("engines", "boats", "owners"))

_MARK = Direct(
    text(
        "INSERT INTO kept_engines (engine_no, touched_no) VALUES (:engine_no, :touched_no)"
        " ON CONFLICT (engine_no) DO UPDATE SET touched_no = excluded.touched_no,"
        " fit = NULL, first_on = NULL, last_on = NULL"
    )
)
_KEEP = Direct(
    text(
        f"UPDATE kept_engines SET {', '.join(f'{name} = :{name}' for name in _OF_KEPT)}"
        " WHERE engine_no = :engine_no"
    )
)

_OF_ROW = ("engine_no", "line_no", *_OF_LINE)
_ROWS = table("kept_lines", *map(column, _OF_ROW))
"""Lines as the driver gives them, to be compared with those to be kept."""
_ROWS_OF = Direct(select(_ROWS).where(among(_ROWS.c.engine_no, numbers=True)))
_FORGET = Direct(
    delete(_ROWS).where(_ROWS.c.engine_no == bindparam("engine_no"), among(_ROWS.c.line_no, numbers=True))
)

_MOUNTS = SHAPES["mounts"].table
_NUMBERED = select(_ENGINES.c.engine_no, _ENGINES.c.serial)
_BY_SERIAL, _BY_BOAT, _BY_SCHEDULE = (
    Direct(_NUMBERED.where(among(by))) for by in (_ENGINES.c.serial, _ENGINES.c.boat_id, schedule_followed())
)
_BY_MOUNT = Direct(
    _NUMBERED.join_from(_ENGINES, _MOUNTS, _MOUNTS.c.engine_no == _ENGINES.c.engine_no).where(
        among(_MOUNTS.c.boat_id)
    )
)

_CAME_OFF = Direct(
    select(_MOUNTS.c.boat_id).where(among(_MOUNTS.c.engine_no, numbers=True), _MOUNTS.c.to_on.is_not(None))
)
"""Boats that engines came off: what those ran is told of the engines after them too."""


# What was written to


@dataclass(slots=True)
class Touched:
    """What a transaction wrote to that bears on due lines."""

    serials: set[str] = field(default_factory=set)
    engines: dict[int, str] = field(default_factory=dict)
    """Serials by number."""
    boat_ids: set[str] = field(default_factory=set)
    schedules: set[str] = field(default_factory=set)

    def add(self, batch: Batch) -> None:
        """Notes what new rows bear on, but for the engines of rows of an engine: they are noted by number."""
        self.serials.update(engine.serial for engine in batch.engines)
        self.boat_ids.update(owned.boat_id for owned in batch.ownership)
        self.boat_ids.update(layup.boat_id for layup in batch.layups)
        self.boat_ids.update(change.boat_id for change in batch.layup_changes)
        for correction in batch.corrections:
            if correction.kind == "mounts":
                self.serials.add(correction.key)
            else:
                self.boat_ids.add(correction.key)
        self.schedules.update(schedule.name for schedule in batch.schedules)
        for change in batch.changes:
            self.of_row(change.kind, change.key)

    def of_row(self, kind: str, key: str) -> None:
        """Notes an engine or a boat of which something is said otherwise."""
        if kind == "engines":
            self.serials.add(key)
        elif kind == "boats":
            self.boat_ids.add(key)

    def renumber(self, serial: str, right: str) -> None:
        """Knows an engine that was written to by another serial."""
        if serial in self.serials:
            self.serials = (self.serials - {serial}) | {right}
        self.engines = {number: right if of == serial else of for number, of in self.engines.items()}


def touched_engines(connection: Connection, touched: Touched) -> dict[str, int]:
    """The engines that a transaction bears on: their numbers by serial, in the order of the numbers."""
    found = dict(touched.engines)

    def find(query: Direct, keys: Iterable[str]) -> None:
        if asked := sorted(keys):
            found.update(query.rows(connection, keys=asked))

    find(_BY_SERIAL, touched.serials)
    find(_BY_SCHEDULE, touched.schedules)
    came_off = {row[0] for row in _CAME_OFF.rows(connection, keys=sorted(found))} if found else set()
    for query in (_BY_BOAT, _BY_MOUNT):
        find(query, touched.boat_ids | came_off)
    return {found[number]: number for number in sorted(found)}


def mark_out_of_date(connection: Connection, engine_nos: Iterable[int], writing_no: int) -> None:
    """Puts engines out of date, in the order given, so that no two writers wait for each other."""
    for numbers in in_chunks(engine_nos):
        _MARK.do(connection, *({"engine_no": number, "touched_no": writing_no} for number in numbers))


# Keeping


@dataclass(frozen=True, slots=True)
class Seen:
    """An engine as a reader saw it: its number in the tables, and the last writing that bore on it."""

    engine_no: int
    touched_no: int


_SEEN = (
    select(_ENGINES.c.serial, _KEPT.c.engine_no, _KEPT.c.touched_no)
    .join_from(_ENGINES, _KEPT, _KEPT.c.engine_no == _ENGINES.c.engine_no)
    .where(among(_ENGINES.c.serial))
    .order_by(_KEPT.c.engine_no)
)
_SEEN_NOW, _SEEN_AND_HELD = Direct(_SEEN), Direct(_SEEN.with_for_update(of=_KEPT))


def seen_engines(connection: Connection, serials: Iterable[str], *, lock: bool = False) -> dict[str, Seen]:
    """How engines are seen now; those of which nothing was ever marked are left out."""
    rows = (_SEEN_AND_HELD if lock else _SEEN_NOW).rows(connection, keys=list(serials))
    return {serial: Seen(number, touched) for serial, number, touched in rows}


class KeptRows(NamedTuple):
    """What is kept of an engine, as the tables take it."""

    serial: str
    of_engine: tuple[Any, ...]
    lines: list[tuple[Any, ...]]


def rows_to_keep(engine: KeptEngine) -> KeptRows:
    """An engine and its lines as the tables take them, small enough to be handed between processes."""
    return KeptRows(engine.serial, _row_of_engine(engine), [_row_of_line(line) for line in engine.lines])


def _row_maker(names: Sequence[str]) -> Callable[[Any], tuple[Any, ...]]:
    """What makes a row of a value: the attributes of these names, days as their numbers."""
    values_of = attrgetter(*names)
    days = [place for place, name in enumerate(names) if name.endswith("_on")]

    def row_of(value: Any) -> tuple[Any, ...]:
        row = list(values_of(value))
        for place in days:
            row[place] = day_number(row[place])
        return tuple(row)

    return row_of


_row_of_engine, _row_of_line = _row_maker(_OF_KEPT), _row_maker(_OF_LINE)


def keep_engines(connection: Connection, kept: Sequence[KeptRows], seen: Mapping[str, Seen]) -> int:
    """Keeps engines' lines in place of older ones; gives how many.

    An engine that was written to since it was seen is left as it is: what was worked out is out of date.
    """
    now = seen_engines(connection, [engine.serial for engine in kept], lock=True)
    sound = [e for e in kept if e.serial in seen and now.get(e.serial) == seen[e.serial]]
    if sound:
        replace_lines(connection, sound, {engine.serial: now[engine.serial].engine_no for engine in sound})
    return len(sound)


def replace_lines(connection: Connection, kept: Sequence[KeptRows], numbers: Mapping[str, int]) -> None:
    """Keeps lines of engines that nobody else may write to now, in place of older ones.

    Of a visit most lines stay as they were: those are not written again.
    """
    older = set(_ROWS_OF.rows(connection, keys=[numbers[engine.serial] for engine in kept]))
    lines = [
        (numbers[engine.serial], place, *line) for engine in kept for place, line in enumerate(engine.lines)
    ]
    gone: dict[int, list[int]] = defaultdict(list)
    for engine_no, line_no, *_ in older.difference(lines):
        gone[engine_no].append(line_no)
    if gone:
        _FORGET.do(connection, *({"engine_no": number, "keys": gone[number]} for number in sorted(gone)))
    insert_rows(connection, "kept_lines", _OF_ROW, (row for row in lines if row not in older))
    rows = [
        {**dict(zip(_OF_KEPT, engine.of_engine, strict=True)), "engine_no": numbers[engine.serial]}
        for engine in kept
    ]
    _KEEP.do(connection, *rows)


# Finding


_NEWEST = Direct(
    select(_KEPT.c.first_on).where(_KEPT.c.first_on.is_not(None)).order_by(_KEPT.c.first_on.desc()).limit(1)
)


def newest_first_day(connection: Connection) -> date | None:
    """The latest of the days from which kept lines hold."""
    rows = _NEWEST.rows(connection)
    return rows[0][0] if rows else None


_TODAY = bindparam("today", type_=_KEPT.c.first_on.type)
_FIT: BindParameter[str] = bindparam("fit")
_STALE_NOS = union_all(  # one by one: of conditions joined by `or` SQLite makes a walk over all engines
    *(
        select(_KEPT.c.engine_no).where(is_stale)
        for is_stale in (
            _KEPT.c.last_on.is_(None),
            _KEPT.c.last_on < _TODAY,
            _KEPT.c.first_on > _TODAY,
            _KEPT.c.fit < _FIT,  # not `!=`, which no index serves
            _KEPT.c.fit > _FIT,
        )
    )
)
_STALE_SERIALS = (
    select(_ENGINES.c.serial)
    .where(_ENGINES.c.engine_no.in_(_STALE_NOS.scalar_subquery()))
    .order_by(_ENGINES.c.engine_no)
)
_STALE = Direct(_STALE_SERIALS)
_STALE_ONE = Direct(_STALE_SERIALS.where(_ENGINES.c.serial == bindparam("serial")))


def out_of_date(connection: Connection, fit: str, today: date, serial: str | None = None) -> list[str]:
    """The engines whose kept lines do not serve on a day with a fit of the fleet, in their order.

    An engine is marked from the writing on that adds it, so that none is missing here.
    """
    asked: dict[str, Any] = {"fit": fit, "today": today}
    if serial is None:
        return [row[0] for row in _STALE.rows(connection, **asked)]
    return [row[0] for row in _STALE_ONE.rows(connection, **asked, serial=serial)]


_LISTED = (
    _ENGINES.c.serial,
    _BOATS.c.name,
    _KEPT.c.boat_id,
    _OWNERS.c.name,
    _KEPT.c.owner_id,
    _ENGINES.c.schedule,
    _ENGINES.c.family,
    _LINES.c.rule,
    _LINES.c.position,
    _LINES.c.always,
    _LINES.c.last_done_on,
    _LINES.c.last_done_tenths,
    _LINES.c.due_on,
    _LINES.c.due_tenths,
    _LINES.c.governs,
    _LINES.c.early_on,
    _LINES.c.likely_on,
    _LINES.c.late_on,
    _KEPT.c.read_tenths,
    _KEPT.c.read_on,
    _LINES.c.deferred_on,
    _LINES.c.deferred_tenths,
    _LINES.c.off_on,
    _KEPT.c.held,
)


_ASKED: dict[str, ColumnElement[bool]] = {
    "until_on": _LINES.c.shows_on <= bindparam("until_on", type_=_LINES.c.shows_on.type),
    "owner_id": _KEPT.c.owner_id == bindparam("owner_id"),
    "boat_id": _KEPT.c.boat_id == bindparam("boat_id"),
    "serial": _ENGINES.c.serial == bindparam("serial"),
}


@cache
def _listed(asked: tuple[str, ...]) -> Direct:
    query = (
        select(*_LISTED)
        .join_from(_LINES, _KEPT, _KEPT.c.engine_no == _LINES.c.engine_no)
        .join(_ENGINES, _ENGINES.c.engine_no == _LINES.c.engine_no)
        .outerjoin(_BOATS, _BOATS.c.boat_id == _KEPT.c.boat_id)
        .outerjoin(_OWNERS, _OWNERS.c.owner_id == _KEPT.c.owner_id)
    )
    return Direct(query.where(*(_ASKED[name] for name in asked)))


def lines_showing(
    connection: Connection,
    until_on: date | None,
    owner_id: str | None = None,
    boat_id: str | None = None,
    serial: str | None = None,
) -> Iterator[Sequence[Any]]:
    """The kept lines that show on a list up to a day (None: all), with the names that a list shows.

    Each row: serial, boat, its id, owner, their id, schedule, family, rule, position, always, last done (day,
    tenths), due (day, tenths), governs, early, likely, late, last reading (tenths, day), deferred (day,
    tenths), off (day), how many readings are held. Engines out of date are among them.
    """
    asked = {"until_on": until_on, "owner_id": owner_id, "boat_id": boat_id, "serial": serial}
    given = {name: value for name, value in asked.items() if value is not None}
    return _listed(tuple(given)).each(connection, **given)


_KEPT_ENGINES = Direct(
    select(_ENGINES.c.serial, _KEPT.c.engine_no, *(_KEPT.c[name] for name in _OF_KEPT))
    .join_from(_ENGINES, _KEPT, _KEPT.c.engine_no == _ENGINES.c.engine_no)
    .where(among(_ENGINES.c.serial), _KEPT.c.fit.is_not(None))
    .order_by(_KEPT.c.engine_no)
)
_KEPT_LINES = Direct(
    select(_LINES.c.engine_no, *(_LINES.c[name] for name in _OF_LINE))
    .where(among(_LINES.c.engine_no, numbers=True))
    .order_by(_LINES.c.engine_no, _LINES.c.line_no)
)


def kept_engines(connection: Connection, serials: Sequence[str]) -> dict[str, KeptEngine]:
    """What is kept of engines, those out of date left out, in their order."""
    engines = _KEPT_ENGINES.rows(connection, keys=list(serials))
    lines: dict[int, list[KeptLine]] = defaultdict(list)
    for number, *row in _KEPT_LINES.each(connection, keys=[row[1] for row in engines]):
        lines[number].append(KeptLine(*row))
    return {
        serial: KeptEngine(
            serial=serial, lines=tuple(lines[number]), **dict(zip(_OF_KEPT, common, strict=True))
        )
        for serial, number, *common in engines
    }

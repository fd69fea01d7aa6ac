"""Which table the pages of a damaged log belong to, and so which rows each table still has.

A table's pages are those that its root leads to, as far as the list of tables and the inner pages can be
read. A page that nothing leads to, or that two tables lead to, belongs to the one table that its rows fit:
number of columns, kinds of values, what may not be empty. Where several tables that are not whole fit, its
rows are left out and counted: nobody can say what they were.
"""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from contextlib import closing, suppress
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation

from fleetlog.store.salvage.leaf_pages import (
    INDEX_INNER,
    INDEX_LEAF,
    TABLE_INNER,
    TABLE_LEAF,
    Pages,
    Row,
    Value,
)
from fleetlog.store.shapes import FIGURES, YES_OR_NO

_BY_NUMBER = frozenset({TABLE_LEAF, TABLE_INNER})
_BY_COLUMNS = frozenset({INDEX_LEAF, INDEX_INNER})

_STEPS = 1_000_000
"""How long the statement that makes a table may run: it stands in a file that may hold anything."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column: what kinds of values it holds, and whether it may be empty or missing at a record's end."""

    name: str
    kinds: tuple[type, ...]
    may_be_empty: bool
    may_be_missing: bool
    is_number: bool

    def fits(self, value: Value, *, likely: bool) -> bool:
        """Whether it can hold a value, and where asked, whether it is likely to."""
        if value is None:
            return self.may_be_empty or self.is_number
        if self.is_number or not isinstance(value, self.kinds):
            return False
        if isinstance(value, str):
            return "\0" not in value and (self.name not in FIGURES or _is_figure(value))
        if isinstance(value, bytes):
            return True
        bounds = _LIKELY if likely else _POSSIBLE
        least, most = (0, 1) if self.name in YES_OR_NO else bounds.get(self.name[-3:], _ANY)
        return least <= value <= most


_ANY = (-(1 << 63), 1 << 63)
_POSSIBLE = {"_on": (1, 3_652_059), "_at": (-62_135_596_800_000_000, 253_402_300_799_999_999)}
"""The days and moments that there are, from year 1 to 9999."""

_LIKELY = {"_on": (693_596, 803_168), "_at": (31_536_000_000_000, 7_258_118_400_000_000)}
"""Days from 1900 and moments from 1971 to 2199: these tell tables apart."""

_KINDS: dict[str, tuple[type, ...]] = {
    "INTEGER": (int,),
    "BIGINT": (int,),
    "BOOLEAN": (int,),
    "TEXT": (str,),
    "VARCHAR": (str,),
    "BLOB": (bytes,),
}


def _is_figure(text: str) -> bool:
    try:
        return Decimal(text).is_finite()
    except InvalidOperation:
        return False


@dataclass(frozen=True, slots=True)
class Layout:
    """How the rows of a table are kept: its columns in the order of a record."""

    name: str
    columns: tuple[Column, ...]
    by_number: bool

    def fits(self, row: Row, *, likely: bool = False) -> bool:
        """Whether a row can be one of the table's, and where asked, whether its values are likely there."""
        if len(row.values) > len(self.columns) or self.by_number != (row.number is not None):
            return False
        if not all(c.may_be_missing for c in self.columns[len(row.values) :]):
            return False
        return all(c.fits(value, likely=likely) for c, value in zip(self.columns, row.values, strict=False))

    def named(self, row: Row) -> dict[str, Value]:
        """The values of a row that fits by column, without those that its record does not have."""
        values = zip(self.columns, row.values, strict=False)
        named = {c.name: row.number if c.is_number else value for c, value in values}
        if self.by_number and not any(c.is_number for c in self.columns):
            named["rowid"] = row.number
        return named


def layouts(file: sqlite3.Connection) -> dict[str, Layout]:
    """The tables of a SQLite file that can be read."""
    names = file.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
    return {name: _layout(file, name) for (name,) in names}


_ADDED_BEHIND = "writing_no"
"""Columns that came with a later version stand behind this one, and older records end before them."""


def _layout(file: sqlite3.Connection, name: str) -> Layout:
    told = file.execute("SELECT * FROM pragma_table_info(?)", (name,)).fetchall()
    keys = sum(1 for *_, key in told if key)
    try:
        file.execute(f"""SELECT rowid FROM "{name.replace('"', '""')}" LIMIT 0""")
        by_number = True
    except sqlite3.OperationalError:
        by_number = False
        told.sort(key=lambda column: (not column[5], column[5] or column[0]))
    return Layout(
        name,
        tuple(
            Column(
                column,
                _KINDS.get(kind.partition("(")[0].upper(), (int, float, str, bytes)),
                not needed,
                not needed and _ADDED_BEHIND in (name for _, name, *_ in told[:place]),
                by_number and keys == 1 and bool(key) and kind.upper() == "INTEGER",
            )
            for place, (_, column, kind, needed, _, key) in enumerate(told)
        ),
        by_number,
    )


def _layout_of(statement: str) -> Layout | None:
    """The layout of the table that a statement makes; None where it makes none."""
    with closing(sqlite3.connect(":memory:")) as file:
        file.set_progress_handler(lambda: 1, _STEPS)
        with suppress(sqlite3.Error):
            file.execute(statement)
            return next(iter(layouts(file).values()), None)
    return None


@dataclass(slots=True)
class Owned:
    """The pages of one table, by number, and what is known to be lost of it."""

    layout: Layout
    reached: list[int]
    loose: list[int] = field(default_factory=list)
    """Pages that nothing leads to any more."""
    lost_pages: int = 0
    has_root: bool = True

    @property
    def may_have_more(self) -> bool:
        """Whether it may have pages that its root does not lead to."""
        return not self.has_root or self.lost_pages > 0


@dataclass(frozen=True, slots=True)
class Owners:
    """Whose the pages are; `doubtful` are those with rows that may be of several tables, and of which."""

    tables: dict[str, Owned]
    doubtful: dict[int, list[str]]


def owners(pages: Pages, known: Mapping[str, Layout]) -> Owners:
    """Whose the pages of a log are, where `known` has the tables of this version."""
    free = pages.free()
    entries, of_schema, schema_is_whole = _entries(pages, free)
    tables: dict[str, Owned] = {}
    of_indexes: list[int] = []
    claims = Counter(of_schema)
    for entry in entries:
        layout = (_layout_of(entry.statement) or known.get(entry.name)) if entry.is_table else None
        reached, lost = _walk(pages, entry.root, _kinds(entry, layout))
        claims.update(reached)
        if layout is not None:
            tables[entry.name] = Owned(layout, reached, lost_pages=lost)
        elif not entry.is_table:
            of_indexes += reached
    if not schema_is_whole:
        tables |= {name: Owned(known[name], [], has_root=False) for name in known.keys() - tables.keys()}

    unclaimed = [n for n in range(2, pages.count + 1) if claims[n] != 1 and n not in free]
    loose = [number for number in unclaimed if pages.rows(number)[0]]
    if loose:  # then a page that one tree leads to may be another's all the same
        loose += [n for n in of_indexes if claims[n] == 1 and _is_of_a_table(pages, n, tables.values())]
    for owned in tables.values():
        strange = {n for n in owned.reached if claims[n] == 1 and loose and _is_strange(pages, n, owned)}
        own = [n for n in owned.reached if claims[n] == 1 and n not in strange]
        owned.lost_pages += len(owned.reached) - len(own)
        owned.reached = own
        loose += strange
    doubtful = {}
    for number in loose:
        fitting = _fitting(pages.rows(number)[0], list(tables.values()))
        if len(fitting) == 1:
            fitting[0].loose.append(number)
        elif fitting:
            doubtful[number] = [owned.layout.name for owned in fitting]
    return Owners(tables, doubtful)


def _is_strange(pages: Pages, number: int, owned: Owned) -> bool:
    """Whether a page that a table leads to has rows, and none that could be the table's."""
    rows, _ = pages.rows(number)
    return bool(rows) and not any(map(owned.layout.fits, rows))


def _is_of_a_table(pages: Pages, number: int, tables: Iterable[Owned]) -> bool:
    """Whether all rows of a page that an index leads to are whole rows of one table."""
    rows, _ = pages.rows(number)
    return bool(rows) and any(
        owned.layout.fits(rows[0])
        and all(
            len(row.values) == len(owned.layout.columns) and owned.layout.fits(row, likely=True)
            for row in rows
        )
        for owned in tables
        if not owned.layout.by_number
    )


def _fitting(rows: list[Row], tables: list[Owned]) -> list[Owned]:
    """The tables that rows fit: all rows if that can be, by all columns, and of those the ones not whole."""

    def fit(owned: Owned) -> list[bool]:
        return [owned.layout.fits(row, likely=True) for row in rows]

    def is_complete(owned: Owned) -> bool:
        return all(len(row.values) == len(owned.layout.columns) for row in rows)

    fitting = [o for o in tables if all(fit(o))] or [o for o in tables if any(fit(o))]
    fitting = list(filter(is_complete, fitting)) or fitting
    return [owned for owned in fitting if owned.may_have_more] or fitting


@dataclass(frozen=True, slots=True)
class _Entry:
    """A line of the list of tables and indexes."""

    name: str
    is_table: bool
    root: int
    statement: str


_KINDS_OF_ENTRY = frozenset({"table", "index", "trigger", "view"})


def _entries(pages: Pages, free: Collection[int]) -> tuple[list[_Entry], list[int], bool]:
    """The tables and indexes that a file lists, the pages of that list, and whether it is whole."""
    reached, lost = _walk(pages, 1, _BY_NUMBER)
    listing = list(reached)
    if lost:
        seen = {*reached, *free}
        leaves = (n for n in range(2, pages.count + 1) if n not in seen and pages.kind(n) == TABLE_LEAF)
        listing += [n for n in leaves if _lists_tables(pages.rows(n)[0])]
    entries: dict[tuple[Value, ...], _Entry] = {}
    numbers: set[int | None] = set()
    for number in listing:
        rows, unreadable = pages.rows(number)
        lost += unreadable
        for row in rows:
            if not _is_entry(row) or row.number in numbers:
                lost += 1
                continue
            numbers.add(row.number)
            kind, name, _, root, statement = row.values
            if kind in ("table", "index") and isinstance(root, int):
                entry = _Entry(str(name), kind == "table", root, str(statement or ""))
                entries.setdefault((kind, name), entry)
    return list(entries.values()), listing, not lost


def _lists_tables(rows: list[Row]) -> bool:
    return bool(rows) and all(map(_is_entry, rows))


def _is_entry(row: Row) -> bool:
    return len(row.values) == 5 and row.values[0] in _KINDS_OF_ENTRY


def _kinds(entry: _Entry, layout: Layout | None) -> Collection[int]:
    if not entry.is_table:
        return _BY_COLUMNS
    return _BY_NUMBER if layout is None or layout.by_number else _BY_COLUMNS


def _walk(pages: Pages, root: int, kinds: Collection[int]) -> tuple[list[int], int]:
    """The pages of a tree that can be reached from its root, and how many it leads to that cannot be read."""
    reached: dict[int, None] = {}
    lost, todo = 0, [root]
    while todo:
        number = todo.pop()
        if number in reached or pages.kind(number) not in kinds:
            lost += 1
            continue
        reached[number] = None
        todo += pages.children(number)
    return list(reached), lost

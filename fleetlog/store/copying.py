"""Copies a log, table by table, into an empty one on the same or another kind of database.

Values are copied as they are kept, chains and salts too, and read back from both sides in one order; the
copy stands only where every row is the same.
"""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from itertools import zip_longest
from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    Connection,
    Integer,
    LargeBinary,
    Table,
    Text,
    collate,
    func,
    select,
    text,
    type_coerce,
)

from fleetlog.errors import CopyDiffers, CopyNeedsEmptyLog
from fleetlog.store.bulk import insert_rows
from fleetlog.store.models import Base

_ROWS_AT_ONCE = 10_000


@dataclass(slots=True)
class Copied:
    """How many rows of each table were copied and found the same on both sides.

    `paper_faults` tells of photos and papers that could not be copied, being missing or altered.
    """

    rows: dict[str, int] = field(default_factory=dict)
    paper_faults: list[str] = field(default_factory=list)


def copy_tables(source: Connection, target: Connection, shown: str) -> Copied:
    """Copies every row within the transactions of both connections, then compares row by row.

    `shown` names the target. Raises CopyNeedsEmptyLog and CopyDiffers: then the target's transaction is to
    be taken back.
    """
    tables = Base.metadata.sorted_tables
    if any(target.execute(select(table).limit(1)).first() is not None for table in tables):
        raise CopyNeedsEmptyLog(shown)
    if target.dialect.name == "sqlite":
        target.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
    copied = Copied()
    for table in tables:
        names = [c.name for c in table.columns]
        insert_rows(target, table.name, names, _fit_for(target, table, _rows(source, table)))
        with closing(_rows(source, table)) as ours, closing(_rows(target, table)) as theirs:
            copied.rows[table.name] = _compared(table, ours, theirs)
        _count_on(target, table)
    return copied


def _rows(connection: Connection, table: Table) -> Generator[tuple[Any, ...], None, None]:
    """The rows as they are kept, by primary key, texts in the order of their bytes on every database."""
    columns = [type_coerce(c, _kept_as(c)) for c in table.columns]
    order = [collate(c, "C") if connection.dialect.name == "postgresql" and _is_text(c) else c
             for c in table.primary_key.columns]  # fmt: skip
    query = select(*columns).order_by(*order).execution_options(yield_per=_ROWS_AT_ONCE)
    with connection.execute(query) as result:
        for row in result:
            yield tuple(row)


def _is_text(column: Column[Any]) -> bool:
    return isinstance(_kept_as(column), Text)


def _kept_as(column: Column[Any]) -> Any:
    """The plain type under a column's own: whole numbers for days and moments, text for figures."""
    kept = getattr(column.type, "impl_instance", column.type)
    for plain in (Boolean, LargeBinary, Integer):
        if isinstance(kept, plain):
            return plain()
    return Text()


def _fit_for(target: Connection, table: Table, rows: Iterable[tuple[Any, ...]]) -> Iterable[tuple[Any, ...]]:
    """Rows as the target's driver takes them."""
    flags = [place for place, c in enumerate(table.columns) if isinstance(c.type, Boolean)]
    if not flags or target.dialect.name != "sqlite":
        return rows
    return (tuple(int(v) if n in flags and v is not None else v for n, v in enumerate(row)) for row in rows)


def _compared(table: Table, ours: Iterator[tuple[Any, ...]], theirs: Iterator[tuple[Any, ...]]) -> int:
    count = 0
    for mine, other in zip_longest(ours, theirs):
        if mine != other:
            keys = [n for n, c in enumerate(table.columns) if c.primary_key]
            row = mine or other
            raise CopyDiffers(table.name, ", ".join(str(row[n]) for n in keys))
        count += 1
    return count


def _count_on(target: Connection, table: Table) -> None:
    """Lets a PostgreSQL table number its next row after the last one that was copied."""
    column = table.autoincrement_column
    if target.dialect.name != "postgresql" or column is None:
        return
    sequence = target.scalar(select(func.pg_get_serial_sequence(table.name, column.name)))
    if sequence is not None:
        last = target.scalar(select(func.max(column)))
        if last is not None:
            target.execute(text("SELECT setval(:sequence, :last)"), {"sequence": sequence, "last": last})

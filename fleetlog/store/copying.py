"""Copies a log, table by table, into an empty one on the same or another kind of database.

Values are copied as they are kept, chains and salts too, and read back from both sides in one order; the
copy stands only where every row is the same. What is read back is hashed for the chains as well.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from itertools import chain, zip_longest
from typing import Any

from sqlalchemy import Boolean, Column, Connection, Table, Text

from fleetlog.errors.safekeeping import CopyDiffers, CopyNeedsEmptyLog
from fleetlog.store.bulk import insert_rows, read_rows
from fleetlog.store.chain.check import ChainCheck, ChainReport
from fleetlog.store.chain.rows import CHAINED, as_chained, item_spellings
from fleetlog.store.models.ledger import Base

Rows = list[tuple[Any, ...]]


@dataclass(slots=True)
class Copied:
    """How many rows of each table were copied and found the same on both sides.

    `paper_faults` tells of photos and papers that could not be copied, being missing or altered.
    """

    rows: dict[str, int] = field(default_factory=dict)
    paper_faults: list[str] = field(default_factory=list)


def copy_tables(source: Connection, target: Connection, shown: str) -> tuple[Copied, ChainReport]:
    """Copies every row within the transactions of both connections, then compares row by row.

    Gives what the chains find in the copy, too. `shown` names the target. Raises CopyNeedsEmptyLog and
    CopyDiffers: then the target's transaction is to be taken back.
    """
    tables = Base.metadata.sorted_tables
    filled = " OR ".join(f'EXISTS (SELECT 1 FROM "{table.name}")' for table in tables)
    if target.exec_driver_sql(f"SELECT {filled}").scalar():
        raise CopyNeedsEmptyLog(shown)
    with _references_checked_at_the_end(target):
        for table in tables:
            names = [c.name for c in table.columns]
            with closing(_blocks(source, table)) as blocks:
                insert_rows(target, table.name, names, _fit_for(table, chain.from_iterable(blocks)))
        _count_on(target, tables)
    copied, check, items = Copied(), ChainCheck(target), item_spellings(target)
    for table in tables:
        copied.rows[table.name] = 0
        with closing(_compared(source, target, table)) as blocks:
            for rows in blocks:
                copied.rows[table.name] += len(rows)
                _hand_over(check, table, rows, items)
    return copied, check.report()


@contextmanager
def _references_checked_at_the_end(target: Connection) -> Iterator[None]:
    """Has what rows refer to checked for all of them together, which is quicker than one by one."""
    if target.dialect.name == "sqlite":
        target.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
        yield
        return
    drop, add = target.exec_driver_sql(_REFERENCES).one()
    target.exec_driver_sql(drop)
    yield
    target.exec_driver_sql(add)


_REFERENCES = """
SELECT string_agg(altering || ' DROP ' || named, ';'),
       string_agg(altering || ' ADD ' || named || ' ' || said, ';')
FROM (SELECT 'ALTER TABLE ' || conrelid::regclass AS altering, 'CONSTRAINT ' || quote_ident(conname) AS named,
             pg_get_constraintdef(oid) AS said
      FROM pg_constraint WHERE contype = 'f' AND connamespace = current_schema()::regnamespace) AS known"""
"""The statements that lift all foreign keys, and those that put them back."""


def _blocks(connection: Connection, table: Table) -> Generator[Rows, None, None]:
    """The rows as they are kept, by primary key, texts in the order of their bytes on every database."""
    quote = connection.dialect.identifier_preparer.quote
    bytewise = ' COLLATE "C"' if connection.dialect.name == "postgresql" else ""
    wanted = ", ".join(quote(c.name) for c in table.columns)
    order = ", ".join(quote(c.name) + (bytewise if _is_text(c) else "") for c in table.primary_key.columns)
    statement = f"SELECT {wanted} FROM {quote(table.name)} ORDER BY {order}"
    return read_rows(connection, statement)


def _is_text(column: Column[Any]) -> bool:
    return isinstance(getattr(column.type, "impl_instance", column.type), Text)


def _fit_for(table: Table, rows: Iterator[tuple[Any, ...]]) -> Iterator[tuple[Any, ...]]:
    """Rows as every driver takes them: PostgreSQL's takes no number for yes or no."""
    flags = [place for place, c in enumerate(table.columns) if isinstance(c.type, Boolean)]
    if not flags:
        return rows
    return (tuple(bool(v) if n in flags and v is not None else v for n, v in enumerate(row)) for row in rows)


def _compared(source: Connection, target: Connection, table: Table) -> Generator[Rows, None, None]:
    """The rows of the copy, some thousand at a time. Raises CopyDiffers where the source has another."""
    with closing(_blocks(source, table)) as ours, closing(_blocks(target, table)) as theirs:
        both: Iterator[tuple[Rows, Rows]] = zip_longest(ours, theirs, fillvalue=[])
        for mine, others in both:
            if mine != others:
                row = next(one or other for one, other in zip_longest(mine, others) if one != other)
                keys = (value for value, c in zip(row, table.columns, strict=True) if c.primary_key)
                raise CopyDiffers(table.name, ", ".join(map(str, keys)))
            yield others


def _hand_over(check: ChainCheck, table: Table, rows: Rows, items: dict[int, str]) -> None:
    """Has the chains look at rows that are in them."""
    if table.name in CHAINED:
        columns = dict(zip((c.name for c in table.columns), zip(*rows, strict=True), strict=True))
        for chained in as_chained(table.name, columns, items):
            check.take(chained)


def _count_on(target: Connection, tables: Sequence[Table]) -> None:
    """Lets PostgreSQL number the next row of each table after the last one that was copied."""
    if target.dialect.name != "postgresql":
        return
    numbered = ((t.name, t.autoincrement_column.name) for t in tables if t.autoincrement_column is not None)
    set_on = (
        f"setval(pg_get_serial_sequence('{table}', '{column}'), (SELECT max({column}) FROM {table}))"
        for table, column in numbered
    )
    target.exec_driver_sql(f"SELECT {', '.join(set_on)}")

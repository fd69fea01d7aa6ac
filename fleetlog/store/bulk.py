"""Puts rows into a table, few or many, and reads many, by the fastest way the database has."""

from __future__ import annotations

from collections.abc import Generator, Iterable, Sequence
from contextlib import closing
from functools import lru_cache
from itertools import chain, islice
from typing import Any

from sqlalchemy import Connection

from fleetlog.store import direct
from fleetlog.store.direct import errors_of

ROWS_AT_ONCE = 10_000
"""Rows handed to the driver at once, so that a long import needs no second copy in memory."""

VALUES_AT_ONCE = 1_000
"""Values of one INSERT: SQLite prepares the checks of a table anew for each, PostgreSQL has COPY for more."""


def insert_rows(
    connection: Connection, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]
) -> None:
    """Inserts rows whose values are as the driver takes them, in the order given: many by COPY on PostgreSQL.

    `rows` may be an iterator that makes its rows on the way, but it must not use the connection for it, which
    is busy until the last row is in.
    """
    left = iter(rows)
    at_once = max(1, VALUES_AT_ONCE // len(columns))
    chunk = list(islice(left, at_once))
    if not chunk:
        return
    on_postgresql = connection.dialect.name == "postgresql"
    if on_postgresql and len(chunk) == at_once:
        _copy(connection, f"COPY {_into(table, tuple(columns))} FROM STDIN", chain(chunk, left))
        return
    while chunk:
        statement = _insert(table, tuple(columns), len(chunk), "%s" if on_postgresql else "?")
        direct.say(connection, statement, tuple(chain.from_iterable(chunk))).close()
        chunk = list(islice(left, at_once))


@lru_cache(maxsize=512)
def _insert(table: str, columns: tuple[str, ...], rows: int, mark: str) -> str:
    one_row = f"({', '.join([mark] * len(columns))})"
    return f"INSERT INTO {_into(table, columns)} VALUES {', '.join([one_row] * rows)}"


def _into(table: str, columns: tuple[str, ...]) -> str:
    quoted = ", ".join(f'"{column}"' for column in columns)
    return f'"{table}" ({quoted})'


def _copy(connection: Connection, statement: str, rows: Iterable[Sequence[Any]]) -> None:
    driver: Any = connection.connection.driver_connection
    with errors_of(connection, statement), driver.cursor() as cursor, cursor.copy(statement) as copy:
        for row in rows:
            copy.write_row(row)


def read_rows(connection: Connection, statement: str) -> Generator[list[tuple[Any, ...]], None, None]:
    """The rows of a query as the driver gives them, some thousand at a time.

    On PostgreSQL the connection reads for one such query at a time.
    """
    driver: Any = connection.connection.driver_connection
    on_postgresql = connection.dialect.name == "postgresql"
    cursor = driver.cursor("read_rows") if on_postgresql else driver.cursor()
    with errors_of(connection, statement), closing(cursor):
        cursor.execute(statement)
        while rows := cursor.fetchmany(ROWS_AT_ONCE):
            yield rows

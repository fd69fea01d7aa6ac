"""Puts many rows into a table at once, by the fastest way the database has."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import chain, islice
from typing import Any

from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

ROWS_AT_ONCE = 10_000
"""Rows handed to the driver at once, so that a long import needs no second copy in memory."""

VALUES_AT_ONCE = 1_000
"""Values of one statement on SQLite, which prepares the checks of a table anew for each statement."""


def insert_rows(
    connection: Connection, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]
) -> None:
    """Inserts rows whose values are as the driver takes them, in the order given: by COPY on PostgreSQL.

    Rows that are made on the way may ask the database nothing: the connection is taken until the last one.
    """
    prepare = connection.dialect.identifier_preparer.quote
    into = f"{prepare(table)} ({', '.join(prepare(name) for name in columns)})"
    if connection.dialect.name == "postgresql":
        _copy(connection, f"COPY {into} FROM STDIN", rows)
        return
    one_row = f"({', '.join('?' * len(columns))})"
    left = iter(rows)
    while chunk := list(islice(left, max(1, VALUES_AT_ONCE // len(columns)))):
        statement = f"INSERT INTO {into} VALUES {', '.join([one_row] * len(chunk))}"
        connection.exec_driver_sql(statement, tuple(chain.from_iterable(chunk)))


def _copy(connection: Connection, statement: str, rows: Iterable[Sequence[Any]]) -> None:
    driver: Any = connection.connection.driver_connection
    try:
        with driver.cursor() as cursor, cursor.copy(statement) as copy:
            for row in rows:
                copy.write_row(row)
    except connection.dialect.loaded_dbapi.Error as error:  # as SQLAlchemy does for its own statements
        raise DBAPIError(statement, None, error) from error

"""Says the statements of every writing to the driver itself, with values as the tables keep them.

What SQLAlchemy does around a statement takes ten times as long as it takes SQLite to look up a row, and a
writing holds up all others. So these are made once for each kind of database. Their transaction and what
their errors become are SQLAlchemy's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, Dialect
from sqlalchemy.exc import DBAPIError
from sqlalchemy.sql.elements import ClauseElement

Given = Sequence[Any] | Mapping[str, Any]
Parameters = Callable[[Mapping[str, Any]], Given]


def say(connection: Connection, statement: str, *rows: Given) -> Any:
    """Says a statement to the driver, once for each row of parameters; gives its cursor (or DBAPIError)."""
    cursor: Any = connection.connection.cursor()
    with errors_of(connection, statement):
        if len(rows) == 1:
            cursor.execute(statement, rows[0])
        else:
            cursor.executemany(statement, rows)
    return cursor


@contextmanager
def errors_of(connection: Connection, statement: str) -> Iterator[None]:
    """Raises errors of the driver as SQLAlchemy does for its own statements."""
    base = connection.dialect.loaded_dbapi.Error
    try:
        yield
    except base as error:
        raise DBAPIError.instance(statement, None, error, base, dialect=connection.dialect) from error


class Direct:
    """A statement, made once for each kind of database; rows come as the driver gives them."""

    def __init__(self, statement: ClauseElement) -> None:
        self._statement = statement
        self._made: dict[str, tuple[str, Parameters]] = {}

    def rows(self, connection: Connection, **given: Any) -> list[Any]:
        """What it finds, or gives back of what it writes."""
        found: list[Any] = self._say(connection, given).fetchall()
        return found

    def do(self, connection: Connection, *rows: Mapping[str, Any]) -> None:
        """Says it where nothing is found, once for each row of parameters."""
        self._say(connection, *rows).close()

    def _say(self, connection: Connection, *rows: Mapping[str, Any]) -> Any:
        dialect = connection.dialect
        if dialect.name not in self._made:
            self._made[dialect.name] = _made(self._statement, dialect)
        statement, parameters = self._made[dialect.name]
        return say(connection, statement, *map(parameters, rows))


def _made(statement: ClauseElement, dialect: Dialect) -> tuple[str, Parameters]:
    """A statement as text, and what makes the driver's parameters of its own."""
    compiled: Any = statement.compile(dialect=dialect)
    processors = {name: bind.type.bind_processor(dialect) for name, bind in compiled.binds.items()}
    names, fixed = compiled.positiontup, compiled.params

    def parameters(given: Mapping[str, Any]) -> Given:
        values = {**fixed, **given}
        for name, processor in processors.items():
            if processor is not None:
                values[name] = processor(values[name])
        return values if names is None else [values[name] for name in names]

    return compiled.string, parameters

"""Says the statements of look-ups and of every writing to the driver itself.

What SQLAlchemy does around a statement takes ten times as long as it takes SQLite to look up a row, and a
writing holds up all others. So these are made once for each kind of database. Their transaction, the types
of their values and what their errors become are SQLAlchemy's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from itertools import chain
from typing import Any

from sqlalchemy import Connection, Dialect
from sqlalchemy.exc import DBAPIError
from sqlalchemy.sql.elements import ClauseElement
from sqlalchemy.sql.selectable import SelectBase

Given = Sequence[Any] | Mapping[str, Any]
Parameters = Callable[[Mapping[str, Any]], Mapping[str, Any]]
Processors = Sequence[tuple[int, Callable[[Iterable[Any]], Iterable[Any]]]]
"""By the place of a column, what makes its values of what the driver gives."""

_NUMBERED = ("_no", "_tenths", "_months", "_bytes", "sequence", "revision")
"""How the names end of columns of whole numbers, which have no type of their own here."""

ROWS_AT_ONCE = 10_000


def say(connection: Connection, statement: str, *rows: Given) -> Any:
    """Says a statement to the driver, once for each row of parameters; gives its cursor (or DBAPIError)."""
    driver: Any = connection.connection
    cursor = driver.dbapi_connection.cursor()
    try:
        if len(rows) == 1:
            cursor.execute(statement, rows[0])
        else:
            cursor.executemany(statement, rows)
    except connection.dialect.loaded_dbapi.Error as error:
        raise _as_sqlalchemy(connection, statement, error) from error
    return cursor


class errors_of:
    """A block within which errors of the driver are raised as SQLAlchemy does for its own statements."""

    def __init__(self, connection: Connection, statement: str) -> None:
        self._connection, self._statement = connection, statement

    def __enter__(self) -> None:
        pass

    def __exit__(self, _kind: object, error: BaseException | None, _traceback: object) -> None:
        if isinstance(error, self._connection.dialect.loaded_dbapi.Error):
            raise _as_sqlalchemy(self._connection, self._statement, error) from error


def _as_sqlalchemy(connection: Connection, statement: str, error: Exception) -> BaseException:
    dialect = connection.dialect
    return DBAPIError.instance(statement, None, error, dialect.loaded_dbapi.Error, dialect=dialect)


class Direct:
    """A statement, made once for each kind of database; its rows hold values as its columns' types say."""

    _of_text: Callable[[Iterable[Any]], Iterable[Any]] | None = None
    """What makes the values of a column of text, if anything is made of them."""

    def __init__(self, statement: ClauseElement) -> None:
        self._statement = statement
        self._made: dict[str, tuple[str, Parameters, Processors]] = {}

    def rows(self, connection: Connection, **given: Any) -> list[Any]:
        """What it finds, or gives back of what it writes."""
        statement, parameters, processors = self._for(connection.dialect)
        cursor = say(connection, statement, parameters(given))
        try:
            found = cursor.fetchall()
        except connection.dialect.loaded_dbapi.Error as error:
            raise _as_sqlalchemy(connection, statement, error) from error
        return list(_of_types(found, processors)) if processors else found

    def each(self, connection: Connection, **given: Any) -> Iterator[tuple[Any, ...]]:
        """What it finds, row by row; some thousand are held at once."""
        return chain.from_iterable(self._blocks(connection, given))

    def _blocks(
        self, connection: Connection, given: Mapping[str, Any]
    ) -> Iterator[Iterable[tuple[Any, ...]]]:
        statement, parameters, processors = self._for(connection.dialect)
        cursor = say(connection, statement, parameters(given))
        while True:
            with errors_of(connection, statement):
                found = cursor.fetchmany(ROWS_AT_ONCE)
            yield _of_types(found, processors)
            if len(found) < ROWS_AT_ONCE:
                cursor.close()
                return

    def do(self, connection: Connection, *rows: Mapping[str, Any]) -> None:
        """Says it where nothing is found, once for each row of parameters."""
        statement, parameters, _ = self._for(connection.dialect)
        say(connection, statement, *map(parameters, rows)).close()

    def _for(self, dialect: Dialect) -> tuple[str, Parameters, Processors]:
        made = self._made.get(dialect.name)
        if made is None:
            made = self._made[dialect.name] = _made(self._statement, dialect, self._of_text)
        return made


def _no_bytes(column: Iterable[Any]) -> Iterable[Any]:
    if bytes in map(type, column):
        raise TypeError("bytes where text belongs")
    return column


class OfRows(Direct):
    """A statement on rows of the ledger, in whose texts nobody writes bytes: a file may hold them even so.

    Raises TypeError where a text is bytes, which would else be printed as they are.
    """

    _of_text = staticmethod(_no_bytes)


def _of_types(rows: list[tuple[Any, ...]], processors: Processors) -> Iterable[tuple[Any, ...]]:
    if not rows or not processors:
        return rows
    columns: list[Iterable[Any]] = list(zip(*rows, strict=True))
    for place, processor in processors:
        columns[place] = processor(columns[place])
    return zip(*columns, strict=True)


def _made(
    statement: ClauseElement, dialect: Dialect, of_text: Callable[[Iterable[Any]], Iterable[Any]] | None
) -> tuple[str, Parameters, Processors]:
    """A statement as text, what makes the driver's parameters of its own, and values of what it finds."""
    compiled: Any = statement.compile(dialect=dialect)
    binders = [(name, bind.type.bind_processor(dialect)) for name, bind in compiled.binds.items()]
    binders = [(name, binder) for name, binder in binders if binder is not None]
    fixed = compiled.params

    def parameters(given: Mapping[str, Any]) -> Mapping[str, Any]:
        values = {**fixed, **given}
        for name, binder in binders:
            values[name] = binder(values[name])
        return values

    columns = statement.selected_columns if isinstance(statement, SelectBase) else ()
    processors: list[tuple[int, Callable[[Iterable[Any]], Iterable[Any]]]] = []
    for place, column in enumerate(columns):
        made = column.type.result_processor(dialect, None)
        if made is not None:
            processors.append((place, partial(map, made)))
        elif of_text is not None and dialect.name == "sqlite" and not (column.key or "").endswith(_NUMBERED):
            processors.append((place, of_text))
    return compiled.string, parameters, processors

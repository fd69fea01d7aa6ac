"""Notes what is said to the database: by SQLAlchemy, and to the driver itself."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, Engine, event

from fleetlog.store import direct


@contextmanager
def statements() -> Iterator[list[str]]:
    """The statements that are said meanwhile."""
    said: list[str] = []
    say = direct.say

    def note(_connection: Any, _cursor: Any, statement: str, *_: Any) -> None:
        said.append(statement)

    def noting(connection: Connection, statement: str, *rows: direct.Given) -> Any:
        said.append(statement)
        return say(connection, statement, *rows)

    event.listen(Engine, "before_cursor_execute", note)
    direct.say = noting
    try:
        yield said
    finally:
        direct.say = say
        event.remove(Engine, "before_cursor_execute", note)

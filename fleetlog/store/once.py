"""Recordings that are done once: keys that were used, and writings whose confirmation never came."""

from __future__ import annotations

from sqlalchemy import Connection, Engine, insert, select, text
from sqlalchemy.exc import DBAPIError

from fleetlog.errors import AlreadyRecorded
from fleetlog.store.shapes import ONCE_KEYS, WRITINGS


def refuse_used(connection: Connection, key: str) -> None:
    """Raises AlreadyRecorded where something was recorded under a key."""
    query = (
        select(WRITINGS.c.recorded_by, WRITINGS.c.recorded_at)
        .join(ONCE_KEYS, ONCE_KEYS.c.writing_no == WRITINGS.c.writing_no)
        .where(ONCE_KEYS.c.once_key == key)
    )
    found = connection.execute(query).one_or_none()
    if found is not None:
        raise AlreadyRecorded(key, found.recorded_by, found.recorded_at)


def use_key(connection: Connection, key: str, writing_no: int) -> None:
    """Notes that a writing was recorded under a key; the table takes each key once."""
    connection.execute(insert(ONCE_KEYS).values(once_key=key, writing_no=writing_no))


def was_kept(engine: Engine, writing_no: int) -> bool | None:
    """Whether a writing is in the log, asked on another connection; None where nobody answers.

    Numbers of writings are given out once, kept or not. The old connection may still be at it: it holds the
    links of the chain, and whoever asks waits for it.
    """
    try:
        with engine.connect() as connection, connection.begin():
            connection.execute(text("LOCK TABLE log_links IN EXCLUSIVE MODE"))
            query = select(WRITINGS.c.writing_no).where(WRITINGS.c.writing_no == writing_no)
            return connection.scalar(query) is not None
    except DBAPIError:
        return None

"""Recordings that are done once: keys that were used, and writings whose confirmation never came."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256

from sqlalchemy import Connection, Engine, insert, select, text
from sqlalchemy.exc import DBAPIError

from fleetlog.errors.log import AlreadyRecorded, KeyOfAnother
from fleetlog.store.shapes import ONCE_KEYS, WRITINGS


@dataclass(frozen=True, slots=True)
class Once:
    """A key under which something is recorded once, and the mark of what is said."""

    key: str
    mark: str | None = None


def mark_of(words: Sequence[str], contents: Sequence[str] = ()) -> str:
    """The mark of a command: 32 bits of a digest, to notice something else said under a key.

    Of its words, and of the digests of what the files hold that it records from (`contents`). No more bits,
    since it stays when a person is forgotten.
    """
    said = [list(words), list(contents)] if contents else list(words)
    return sha256(json.dumps(said).encode()).hexdigest()[:8]


def refuse_used(connection: Connection, once: Once) -> None:
    """Raises AlreadyRecorded where this was recorded under its key, KeyOfAnother where something else was.

    A key from before there were marks counts as this one's. Who says the same at the same time waits here:
    further on the rows of the first would be found, and this refused as if another had said it.
    """
    if connection.dialect.name == "postgresql":  # SQLite has one writer at a time
        held = text("SELECT pg_advisory_xact_lock(hashtext('fleetlog once'), hashtext(:key))")
        connection.execute(held, {"key": once.key})
    query = (
        select(WRITINGS.c.recorded_by, WRITINGS.c.recorded_at, ONCE_KEYS.c.mark)
        .join(ONCE_KEYS, ONCE_KEYS.c.writing_no == WRITINGS.c.writing_no)
        .where(ONCE_KEYS.c.once_key == once.key)
    )
    found = connection.execute(query).one_or_none()
    if found is not None:
        is_this = found.mark is None or once.mark is None or found.mark == once.mark
        refusal = AlreadyRecorded if is_this else KeyOfAnother
        raise refusal(once.key, found.recorded_by, found.recorded_at)


def use_key(connection: Connection, once: Once, writing_no: int) -> None:
    """Notes that a writing was recorded under a key; the table takes each key once."""
    connection.execute(insert(ONCE_KEYS).values(once_key=once.key, writing_no=writing_no, mark=once.mark))


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

"""Makes the SQLAlchemy engine of a log, with what its transactions need.

SQLite: foreign keys are checked, the log is written ahead (WAL) and synced at every commit (FULL), and a
transaction begins by an explicit BEGIN, IMMEDIATE for a writer: the driver's own transactions begin too
late and leave half a schema behind when a migration fails. PostgreSQL: a reader has one snapshot
(REPEATABLE READ), a writer holds the engines it reads or adds to.
"""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext, suppress
from functools import partial
from pathlib import Path, PurePath
from time import monotonic, sleep
from typing import Any

from sqlalchemy import Connection, Engine, PoolProxiedConnection, RootTransaction, create_engine, event

from fleetlog.errors.log import LogDriverMissing, ReadWhileWritten
from fleetlog.store.place import Place

SYNCHRONOUS = "FULL"
"""How SQLite commits: what was said to be recorded survives a power cut."""

BUSY_SECONDS = 30
"""How long one program waits for another that is writing."""

_ASK_AGAIN_SECONDS = 0.005
"""At 0.001, eight writers spent half of their processor time on asking."""


def connect(place: Place, *, foreign_keys: bool = True) -> Engine:
    """The engine of a log. Without foreign keys it is for migrations only. Raises LogDriverMissing."""
    if place.path is None:
        try:
            settings = {"connect_timeout": BUSY_SECONDS, "client_encoding": "utf8"}
            engine = create_engine(place.url, connect_args=settings)
        except ModuleNotFoundError:
            raise LogDriverMissing("postgres") from None

        @event.listens_for(engine, "connect")
        def _wait_no_longer(dbapi_connection: Any, _record: Any) -> None:
            with dbapi_connection.cursor() as cursor:
                cursor.execute(f"SET lock_timeout = '{BUSY_SECONDS}s'")
            dbapi_connection.commit()

        return engine
    is_only_read = only_read(place.path)
    if is_only_read:
        as_it_is = partial(sqlite3.connect, reading_uri(place.path), uri=True)
        engine = create_engine(place.url, paramstyle="named", creator=as_it_is)
    else:
        engine = create_engine(place.url, paramstyle="named", connect_args={"timeout": BUSY_SECONDS})
    pragmas = [
        f"PRAGMA foreign_keys = {'ON' if foreign_keys else 'OFF'}",
        *([] if is_only_read else ["PRAGMA journal_mode = WAL"]),
        f"PRAGMA synchronous = {SYNCHRONOUS}",
        "PRAGMA cache_size = -65536",  # 64 MB where an import needs it: the index of the ids is large
        "PRAGMA recursive_triggers = ON",  # else REPLACE deletes rows behind the triggers' back
    ]

    @event.listens_for(engine, "connect")
    def _prepare(dbapi_connection: Any, _record: Any) -> None:
        dbapi_connection.isolation_level = None
        for pragma in pragmas:
            dbapi_connection.execute(pragma)

    engine.dialect.do_begin = _begin  # type: ignore[assignment]  # an event costs forty calls a transaction
    return engine


def _begin(pooled: PoolProxiedConnection) -> None:
    file: Any = pooled.dbapi_connection
    if not file.in_transaction:  # a writer's has begun
        file.execute("BEGIN")


def begin_to_write(connection: Connection) -> RootTransaction:
    """Begins a transaction that writes. Raises sqlite3.OperationalError where others write too long."""
    if connection.dialect.name == "sqlite":
        file: Any = connection.connection.dbapi_connection
        begin_writing(file)
    return connection.begin()


def reading_uri(path: Path) -> str:
    """The address under which SQLite reads a file and leaves it as it is."""
    return file_uri(path, "immutable=1" if only_read(path) else "mode=ro")


def file_uri(path: PurePath, options: str) -> str:
    """The address of a file as SQLite takes it, which knows no server that a path may begin with."""
    return f"{re.sub('^file://(?=[^/])', 'file:////', path.as_uri())}?{options}"


def only_read(path: Path) -> bool:
    """Whether a log can be read only as a file that nobody writes to.

    SQLite keeps files beside a log that is open; where the folder takes none, it reads a file only when told
    that it stays as it is. A file that is itself read-only is read so too: those beside it would be as
    read-only, and hinder whoever may write to it. What was written ahead (the -wal) would be passed over:
    never with one there.
    """
    if os.access(path.parent, os.W_OK) and (os.access(path, os.W_OK) or not path.exists()):
        return False
    try:
        return Path(f"{path}-wal").stat().st_size == 0
    except OSError:
        return True


def written_ahead(path: Path) -> Path | None:
    """The file beside a log in which SQLite holds what is to go into it, or comes out of it again."""
    for beside in (Path(f"{path}-wal"), Path(f"{path}-journal")):
        with suppress(OSError):
            if beside.stat().st_size > 0:
                return beside
    return None


def left_alone(place: Place) -> Callable[[], AbstractContextManager[None]]:
    """A block within which a log is read as `connect` finds it now.

    It raises ReadWhileWritten where one that is `only_read` was written to meanwhile, or may be by now.
    """
    if place.path is None or not only_read(place.path):
        return nullcontext
    return partial(_watched, place.path, place.shown)


@contextmanager
def _watched(path: Path, shown: str) -> Iterator[None]:
    before = path.stat()
    yield
    after = path.stat()
    if (before.st_mtime_ns, before.st_size) != (after.st_mtime_ns, after.st_size) or not only_read(path):
        raise ReadWhileWritten(shown)


def begin_writing(file: sqlite3.Connection) -> None:
    """Begins a transaction that writes. Raises sqlite3.OperationalError where others write too long."""
    file.execute("PRAGMA busy_timeout = 0")
    until = monotonic() + BUSY_SECONDS
    try:
        while True:
            try:
                file.execute("BEGIN IMMEDIATE")
                return
            except sqlite3.OperationalError as error:
                if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or monotonic() > until:
                    raise
            sleep(_ASK_AGAIN_SECONDS)
    finally:
        file.execute(f"PRAGMA busy_timeout = {int(BUSY_SECONDS * 1000)}")


def for_reading(engine: Engine) -> Engine:
    """The engine with the options of a reader's transactions."""
    if engine.dialect.name == "postgresql":
        return engine.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
    return engine

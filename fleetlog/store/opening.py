"""Opens a log: creates it on first use, upgrades an older one, refuses what it cannot be sure of."""

from __future__ import annotations

import sqlite3
import stat
from contextlib import closing, nullcontext
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, text

from fleetlog.errors import first_of
from fleetlog.errors.log import (
    DatabaseNotUtf8,
    LeftOfAnotherLog,
    LogDamaged,
    LogEmpty,
    LogIsNewer,
    LogNotFound,
    LogUnreadable,
    NotALog,
    NotASqliteFile,
    ServerTooOld,
)
from fleetlog.store import migrating
from fleetlog.store.connecting import (
    BUSY_SECONDS,
    begin_to_write,
    connect,
    reading_uri,
    written_ahead,
)
from fleetlog.store.failures import refusing
from fleetlog.store.file_lock import file_lock
from fleetlog.store.integrity import damage_found
from fleetlog.store.log import Log, made_notice
from fleetlog.store.place import Place, place_of

OLDEST_SERVER = 15
"""The oldest PostgreSQL that a log is made or upgraded on."""

_TABLES_OF_A_LOG = {"writings", "engines", "entries", "readings"}


def open_log(
    url_or_path: str,
    *,
    at: datetime,
    create: bool = True,
    papers: Path | None = None,
    papers_elsewhere: Path | None = None,
    shown: str | None = None,
    is_copy: bool = False,
) -> Log:
    """Opens the log at a path (a SQLite file) or a URL, at head.

    Where no file is, a log is begun: it comes to its place with the first writing that is kept, and leaves
    nothing behind where nothing was written when it is closed. In a database the tables are made at once.
    `at` is now, in UTC: a copy kept before an upgrade is dated by it. What was done is in `Log.notices`.
    `papers` is the folder of photos and papers of a log in a database; a file has its own beside it, unless
    it is a copy whose papers are elsewhere.
    Of one that `is_copy` no copy is kept before an upgrade.
    `shown` is what the log is called in refusals, where the person knows it by another name.
    Raises ServerTooOld, DatabaseNotUtf8, LogNotFound (with `create` false), LogEmpty, LeftOfAnotherLog,
    LogIsNewer, NotALog, LogUnreadable, LogFolderNotWritable, LogOutOfReach and what `refusing` finds;
    whatever is refused is left as it was.
    """
    place = place_of(url_or_path)
    if shown is not None:
        place = replace(place, shown=shown)
    folder = papers_elsewhere or (papers if place.path is None else None)
    if place.path is not None:
        left = written_ahead(place.path)
        if not _is_there(place, place.path):
            if not create:
                raise LogNotFound(place.shown)
            if left is not None:
                raise LeftOfAnotherLog(str(left))
            return _begin(place, place.path, folder)
    with refusing(place):
        if place.path is None:
            engine, notices = _ready_database(place, create)
        else:
            notices = _ready_file(place, place.path, None if is_copy else at)
            engine = connect(place)
    return Log(place, engine, notices, folder)


# A SQLite file


def _begin(place: Place, path: Path, papers: Path | None) -> Log:
    from fleetlog.store.begun import BegunFile

    begun = BegunFile(path)
    try:
        with refusing(place):
            _migrate_place(begun.place)
    except BaseException:
        begun.remove()
        raise
    return Log(place, connect(begun.place), [], papers, begun)


def _ready_file(place: Place, path: Path, keep_at: datetime | None) -> list[str]:
    if _revision_of_file(place, path) == migrating.HEAD:
        return []
    with nullcontext() if keep_at is None else file_lock(path):  # a copy is held by who made it
        revision = _revision_of_file(place, path)
        if revision == migrating.HEAD:
            return []
        _refuse_newer(place, revision)
        kept = ""
        if keep_at is not None:
            from fleetlog.store.copies import keep_before_upgrade

            kept = f"; as it was, it is kept in {keep_before_upgrade(path, revision, keep_at)}"
        _migrate_place(place)
    return [f"{_upgraded(revision)}{kept}"]


def _is_there(place: Place, path: Path) -> bool:
    """Whether there is a file. Raises LogEmpty for one without a byte: no log is ever begun by one."""
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            raise LogUnreadable(place.shown, "it is no file")
        if found.st_size == 0:
            raise LogEmpty(place.shown)
    except FileNotFoundError:
        return False
    except OSError as error:
        raise LogUnreadable(place.shown, error.strerror or str(error)) from error
    return True


def _revision_of_file(place: Place, path: Path) -> str:
    """The revision that a file says it is at, read without leaving a trace in it. Raises NotALog."""
    try:
        with path.open("rb") as file:
            if file.read(16) != b"SQLite format 3\0":
                raise NotASqliteFile(place.shown)
    except OSError as error:
        raise LogUnreadable(place.shown, error.strerror or str(error)) from error
    with closing(sqlite3.connect(reading_uri(path), uri=True, timeout=BUSY_SECONDS)) as connection:
        tables = {
            name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        }
        if not tables >= {*_TABLES_OF_A_LOG, "alembic_version"}:
            raise NotALog(place.shown, "the tables of a log are not in it")
        row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    if row is None:
        raise NotALog(place.shown, "it does not say its revision")
    return str(row[0])


# A PostgreSQL database


def _ready_database(place: Place, create: bool) -> tuple[Engine, list[str]]:
    """The engine of a database's log, at head, with the connection by which it was looked at."""
    engine = connect(place)
    try:
        return engine, _bring_to_head(place, engine, create)
    except BaseException:
        engine.dispose()
        raise


def _bring_to_head(place: Place, engine: Engine, create: bool) -> list[str]:
    with engine.connect() as connection:
        revision = _revision_of_database(place, connection)
    if revision == migrating.HEAD:
        return []
    if revision is None and not create:
        raise LogNotFound(place.shown)
    with engine.begin() as connection:
        connection.execute(text("SELECT pg_advisory_xact_lock(hashtext('fleetlog migration'))"))
        revision = _revision_of_database(place, connection)
        if revision == migrating.HEAD:
            return []
        _refuse_too_old(place, connection)
        if revision is None:
            _refuse_other_letters(place, connection)
        else:
            _refuse_newer(place, revision)
        migrating.migrate(connection, migrating.HEAD)
        _seal(connection)
    return [made_notice(place) if revision is None else _upgraded(revision)]


def _revision_of_database(place: Place, connection: Connection) -> str | None:
    """The revision of the log in a database's schema; None where there is no log. Raises NotALog."""
    query = text("SELECT tablename FROM pg_tables WHERE schemaname = current_schema()")
    tables = set(connection.scalars(query))
    if "alembic_version" not in tables:
        if tables & _TABLES_OF_A_LOG:
            raise NotALog(place.shown, "it has tables of other programs under the names of a log's")
        return None
    if not tables >= _TABLES_OF_A_LOG:
        raise NotALog(place.shown, "the tables of a log are not in it")
    return str(connection.scalar(text("SELECT version_num FROM alembic_version")))


def _refuse_too_old(place: Place, connection: Connection) -> None:
    version = connection.dialect.server_version_info or ()
    if version < (OLDEST_SERVER,):
        raise ServerTooOld(place.shown, ".".join(map(str, version)), OLDEST_SERVER)


def _refuse_other_letters(place: Place, connection: Connection) -> None:
    encoding = connection.exec_driver_sql("SHOW server_encoding").scalar_one()
    if encoding != "UTF8":
        raise DatabaseNotUtf8(place.shown, encoding)


# Both


def _refuse_newer(place: Place, revision: str) -> None:
    if revision not in migrating.known_revisions():
        raise LogIsNewer(place.shown, revision, migrating.HEAD)


def _upgraded(revision: str) -> str:
    return f"The log was upgraded from revision {revision} to {migrating.HEAD}"


def _seal(connection: Connection) -> None:
    from fleetlog.store.chain.check import seal_all

    seal_all(connection)


def _migrate_place(place: Place) -> None:
    engine = connect(place, foreign_keys=False)
    try:
        with engine.connect() as connection, begin_to_write(connection):
            damage = damage_found(connection)
            if damage:
                raise LogDamaged(place.shown, first_of(damage))
            migrating.migrate(connection, migrating.HEAD)
            _seal(connection)
    finally:
        engine.dispose()

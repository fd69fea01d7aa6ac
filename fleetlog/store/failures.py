"""Turns what a database reports into refusals: busy, full, read-only, damaged, out of reach.

What is none of these is a bug and stays as it is.
"""

from __future__ import annotations

import sqlite3

from sqlalchemy.exc import DBAPIError

from fleetlog.errors import FleetlogError
from fleetlog.errors.log import (
    LogBusy,
    LogDamaged,
    LogDiskFull,
    LogNotWritten,
    LogOutOfReach,
    LogReadOnly,
    LogUnreadable,
    LostRace,
    NoRightOnServer,
    NotASqliteFile,
    RowsClash,
    RowsRefused,
    ServerFailed,
)
from fleetlog.store.connecting import BUSY_SECONDS
from fleetlog.store.place import Place

_NOT_WRITTEN = {
    sqlite3.SQLITE_IOERR_WRITE,
    sqlite3.SQLITE_IOERR_FSYNC,
    sqlite3.SQLITE_IOERR_TRUNCATE,
    sqlite3.SQLITE_IOERR_SHMSIZE,
}

_SHUT_DOWN = ("57P01", "57P02", "57P03")
"""States of PostgreSQL in which it stops, or begins again."""

_CUT_OFF = ("25P03", "25P04")
"""States of PostgreSQL in which it has ended the connection, as a transaction took it too long."""


class refusing:
    """A block within which failures of the database that a person can do something about are refusals."""

    def __init__(self, place: Place) -> None:
        self._place = place

    def __enter__(self) -> None:
        pass

    def __exit__(self, _kind: object, error: BaseException | None, _traceback: object) -> None:
        if isinstance(error, (DBAPIError, sqlite3.Error)):
            refusal = _refusal(self._place, error.orig if isinstance(error, DBAPIError) else error)
            if refusal is not None:
                raise refusal from error


_ODD_OPTION = "invalid connection option"
"""So begins what psycopg says, as of a mistake in a program, of an address with an option that is none."""


def is_of_no_room(error: sqlite3.Error) -> bool:
    """Whether what was written was not taken: a full disk, a quota, a disk that fails."""
    code = getattr(error, "sqlite_errorcode", 0)
    return code in _NOT_WRITTEN or code & 0xFF == sqlite3.SQLITE_FULL


def is_cut_off(error: DBAPIError) -> bool:
    """Whether PostgreSQL let go of the connection: it is restarted, or whoever runs it ended the session."""
    if isinstance(error.orig, sqlite3.Error):
        return False
    state = getattr(error.orig, "sqlstate", None)
    if state is None:  # found out by the driver
        return type(error.orig).__name__ == "OperationalError"
    return state in (*_CUT_OFF, *_SHUT_DOWN) or state[:2] == "08"


def _refusal(place: Place, error: BaseException | None) -> FleetlogError | None:
    said = str(error).strip().splitlines()[0] if str(error).strip() else type(error).__name__
    if isinstance(error, sqlite3.Error):
        code = getattr(error, "sqlite_errorcode", None)
        if said.startswith("Could not decode to UTF-8"):  # said by Python, without a code
            return LogDamaged(place.shown, said)
        return _of_sqlite(place, said, code) if isinstance(code, int) else None
    return _of_postgresql(place, said, getattr(error, "sqlstate", None), type(error).__name__)


def _of_sqlite(place: Place, said: str, code: int) -> FleetlogError | None:
    shown = place.shown
    if code in _NOT_WRITTEN:
        return LogNotWritten(shown, said)
    match code & 0xFF:
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            return LogBusy(shown, BUSY_SECONDS)
        case sqlite3.SQLITE_FULL:
            return LogDiskFull(shown)
        case sqlite3.SQLITE_READONLY:
            return LogReadOnly(shown)
        case sqlite3.SQLITE_CANTOPEN | sqlite3.SQLITE_PERM | sqlite3.SQLITE_IOERR:
            return LogUnreadable(shown, said)
        case sqlite3.SQLITE_CORRUPT:
            return LogDamaged(shown, said)
        case sqlite3.SQLITE_NOTADB:
            return NotASqliteFile(shown)
        case sqlite3.SQLITE_CONSTRAINT:
            return RowsRefused(said)
    return None


def _of_postgresql(place: Place, said: str, state: str | None, kind: str) -> FleetlogError | None:
    shown = place.shown
    if state is None:
        unreached = kind in ("OperationalError", "ConnectionTimeout") or said.startswith(_ODD_OPTION)
        return LogOutOfReach(shown, said) if unreached else None
    if state in ("40001", "40P01"):
        return LostRace(shown)
    if state == "55P03":
        return LogBusy(shown, BUSY_SECONDS)
    if state == "23505":
        return RowsClash(said)
    if state == "53100":
        return LogDiskFull(shown)
    if state == "25006":
        return LogReadOnly(shown)
    if state == "42501":
        return NoRightOnServer(shown, said)
    if state[:2] in ("22", "23") or state == "P0001":
        return RowsRefused(said)
    if state[:2] in ("58", "XX"):
        return ServerFailed(shown, said)
    is_out_of_reach = state in _CUT_OFF or state[:2] in ("08", "28", "3D", "3F", "53", "57")
    return LogOutOfReach(shown, said) if is_out_of_reach else None

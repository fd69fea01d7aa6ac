"""Where a log is: a SQLite file by its path or URL, or a PostgreSQL database by its URL."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import URL, make_url
from sqlalchemy.exc import ArgumentError

from fleetlog.errors.log import LogAddressNotRead, LogInMemory, LogUrlNotUnderstood

_SHOWN_OF_QUERY = {"options", "service", "host", "port"}
"""What of an address behind its question mark says which log is meant; a password there may be misspelt."""

_DRIVERS = {"sqlite": "sqlite+pysqlite", "postgres": "postgresql+psycopg", "postgresql": "postgresql+psycopg"}

_NEARLY_AN_ADDRESS = re.compile(
    r"(postgres(ql)?|sqlite)(\+\w+)?:|[^/\\]+:[^/\\]*@|.*password=", re.IGNORECASE
)
"""What is no file, and may hold a password: an address with a slash too few, or without its begin."""


@dataclass(frozen=True)
class Place:
    """A log's URL; `path` where it is a file. `shown` is for a person, and never holds a password."""

    url: URL
    path: Path | None
    shown: str


def place_of(url_or_path: str) -> Place:
    """The place that a URL or a path names. Raises LogUrlNotUnderstood, LogAddressNotRead, LogInMemory."""
    if "://" not in url_or_path:
        if _NEARLY_AN_ADDRESS.match(url_or_path):
            raise LogAddressNotRead()
        return _file(url_or_path)
    try:
        url = make_url(url_or_path)
    except ArgumentError:
        raise LogUrlNotUnderstood(url_or_path.partition("://")[0]) from None
    except ValueError:  # a port that is no number
        raise LogAddressNotRead() from None
    driver = _DRIVERS.get(url.drivername, url.drivername)
    if driver == "sqlite+pysqlite":
        if url.host:  # a slash too few, or a server, which SQLite has none of
            raise LogUrlNotUnderstood(url.drivername)
        if not url.database or url.database == ":memory:":
            raise LogInMemory()
        return _file(url.database)
    if driver != "postgresql+psycopg":
        raise LogUrlNotUnderstood(url.drivername)
    return Place(url.set(drivername=driver), None, _shown(url))


def has_password(url_or_path: str) -> bool:
    """Whether what was given for a place has a password in it, understood or not."""
    if "password=" in url_or_path.casefold():
        return True
    try:
        return make_url(url_or_path).password is not None
    except (ArgumentError, ValueError):  # no address at all: said where it is opened
        return False


def _shown(url: URL) -> str:
    told = url.difference_update_query(url.query.keys() - _SHOWN_OF_QUERY)
    return told.render_as_string(hide_password=True)


def _file(path: str) -> Place:
    if path == ":memory:" or not path:
        raise LogInMemory()
    whole = file_named(Path(path).expanduser())
    return Place(URL.create("sqlite+pysqlite", database=str(whole)), whole, str(whole))


def file_named(path: Path) -> Path:
    """The file that a path names, be it by a link: what is kept beside a log is beside its file."""
    whole = path.absolute()
    return Path(os.path.realpath(whole)) if os.path.islink(whole) else whole

"""What a PostgreSQL server does of its own is said in one line: its rights, letters, limits and failures."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from uuid import uuid4

import psycopg
import pytest
from sqlalchemy import Connection, NullPool, Pool, create_engine, event, make_url, text
from sqlalchemy.dialects.postgresql.base import PGDialect
from sqlalchemy.exc import DBAPIError

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Owner
from fleetlog.errors import FleetlogError
from fleetlog.errors.log import (
    DatabaseNotUtf8,
    LogOutOfReach,
    NoRightOnServer,
    RecordedAndNotReadAgain,
    ServerFailed,
    ServerTooOld,
)
from fleetlog.store.failures import refusing
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.store.place import place_of
from tests.conftest import AT, SERVER, Schemas

pytestmark = pytest.mark.skipif(SERVER is None, reason="these are about servers")
NAME = "Łucja Østergård 船"


@pytest.fixture
def store() -> str:
    """These are about servers."""
    return "postgresql"


@pytest.fixture
def server() -> Iterator[Connection]:
    """A connection on which databases and roles are made."""
    engine = create_engine(place_of(SERVER or "").url, isolation_level="AUTOCOMMIT", poolclass=NullPool)
    with engine.connect() as connection:
        yield connection


def _with_options(url: str, **settings: str) -> str:
    whole = make_url(url)
    said = [str(whole.query.get("options", "")), *(f"-c{name}={value}" for name, value in settings.items())]
    return whole.update_query_dict({"options": " ".join(said)}).render_as_string(hide_password=False)


def test_whoever_may_not_read_a_log_is_not_told_that_there_is_none(
    schemas: Schemas, server: Connection
) -> None:
    url, role = schemas.new_database(), f"guest_{uuid4().hex[:8]}"
    open_log(url, at=AT).dispose()
    server.execute(text(f"CREATE ROLE {role}"))
    try:
        for create in (True, False):
            with pytest.raises(NoRightOnServer, match=r"permission denied.*ask whoever runs it"):
                open_log(_with_options(url, role=role), at=AT, create=create)
    finally:
        schemas.drop_database(url)
        server.execute(text(f"DROP ROLE {role}"))


def test_a_log_is_opened_and_read_by_one_connection(log_place: Callable[[], str]) -> None:
    place, connected = log_place(), []

    def note(*_: object) -> None:
        connected.append(place)

    event.listen(Pool, "connect", note)
    try:
        log = open_log(place, at=AT)
        with log.reading() as reader:
            assert reader.owners() == {}
        log.dispose()
    finally:
        event.remove(Pool, "connect", note)
    assert connected == [place]


@pytest.mark.parametrize("encoding", ["LATIN1", "SQL_ASCII"])
def test_a_database_that_cannot_hold_every_name_gets_no_log(server: Connection, encoding: str) -> None:
    name = f"fleet_{uuid4().hex[:12]}"
    server.execute(text(f"CREATE DATABASE {name} ENCODING '{encoding}' TEMPLATE template0 LOCALE 'C'"))
    try:
        url = make_url(SERVER or "").set(database=name).render_as_string(hide_password=False)
        with pytest.raises(DatabaseNotUtf8, match=f"kept in {encoding}"):
            open_log(url, at=AT)
    finally:
        server.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))


def test_every_name_can_be_written_whatever_the_terminal_writes(
    log: Log, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PGCLIENTENCODING", "LATIN1")
    log._engine.dispose()
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(owners=[Owner("O", NAME)]))
    with log.reading() as reader:
        assert reader.owners()["O"].name == NAME


def test_an_address_of_a_schema_that_is_not_there_is_said(schemas: Schemas) -> None:
    with pytest.raises(LogOutOfReach, match="no schema has been selected"):
        open_log(_with_options(SERVER or "", search_path="not_there"), at=AT)


@pytest.mark.parametrize(
    ("met", "refusal"),
    [
        (psycopg.errors.IdleInTransactionSessionTimeout, LogOutOfReach),
        (psycopg.errors.QueryCanceled, LogOutOfReach),
        (psycopg.errors.IoError, ServerFailed),
        (psycopg.errors.DataCorrupted, ServerFailed),
    ],
)
def test_a_failure_of_the_server_is_no_bug(
    log: Log, met: type[psycopg.Error], refusal: type[FleetlogError]
) -> None:
    with pytest.raises(refusal, match=r"\(as the server says\)"), refusing(log.place):
        raise DBAPIError("SELECT 1", None, met("as the server says"))


def test_a_server_that_fails_once_something_is_recorded_does_not_have_it_said_again(log: Log) -> None:
    cut = DBAPIError("SELECT 1", None, psycopg.errors.AdminShutdown("as the server says"))
    with pytest.raises(LogOutOfReach), log.reading():
        raise cut
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(owners=[Owner("O", NAME)]))
    with (
        pytest.raises(RecordedAndNotReadAgain, match=r"^this is recorded, .*as the server says"),
        log.reading(),
    ):
        raise cut


def test_a_server_that_is_too_old_gets_no_log_and_is_told(
    schemas: Schemas, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(PGDialect, "_get_server_version_info", lambda *_: (14, 11))
    with pytest.raises(ServerTooOld, match=r"runs PostgreSQL 14\.11, and a log needs 15 or newer"):
        open_log(schemas.new(), at=AT)

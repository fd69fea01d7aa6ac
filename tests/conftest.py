"""Logs for tests, on every database a log can live in.

SQLite always; PostgreSQL where FLEETLOG_TEST_POSTGRES holds the URL of a server whose user may create
databases (`.ci/postgres` starts one). Every log is made by the migrations; one made once serves many tests.
"""

from __future__ import annotations

import itertools
import os
import shutil
import sqlite3
import uuid
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from sqlalchemy import Engine, NullPool, create_engine, make_url

from fleetlog.store import connecting
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log

# How long an example takes says how busy the machine is, not whether the program is right.
settings.register_profile("any pace", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("any pace")

AT = datetime(2026, 4, 1, 12, 0, tzinfo=UTC)
SERVER = os.environ.get("FLEETLOG_TEST_POSTGRES")
if SERVER:  # the password as a person gives it: no address of a test holds it
    os.environ["PGPASSWORD"] = make_url(SERVER).password or ""
    SERVER = make_url(SERVER)._replace(password=None).render_as_string()
STORES = ["sqlite", "postgresql"] if SERVER else ["sqlite"]


def on_postgresql(test: Callable[..., None]) -> Callable[..., None]:
    """Runs a test on PostgreSQL alone, where there is a server."""
    given = pytest.mark.parametrize("store", ["postgresql"], indirect=True)(test)
    return pytest.mark.skipif(SERVER is None, reason="FLEETLOG_TEST_POSTGRES names no server")(given)


AS_SHIPPED = connecting.SYNCHRONOUS
connecting.SYNCHRONOUS = "OFF"  # a test's log survives no power cut; syncing took most of the time


@pytest.fixture
def synchronous_as_shipped(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lets files be synced as they are for users."""
    monkeypatch.setattr(connecting, "SYNCHRONOUS", AS_SHIPPED)


def empty_log(place: str, at: datetime = AT) -> Log:
    """A log with nothing in it, in its place, open."""
    log = open_log(place, at=at)
    log.put_in_place()
    return log


@pytest.fixture
def held_by_another(monkeypatch: pytest.MonkeyPatch) -> Callable[[Log], AbstractContextManager[None]]:
    """Has another program write to a log's file for as long as it takes."""

    @contextmanager
    def hold(log: Log) -> Iterator[None]:
        monkeypatch.setattr(connecting, "BUSY_SECONDS", 0.05)
        with closing(sqlite3.connect(str(log.place.path), isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            yield

    return hold


class Schemas:
    """A database of this run on the PostgreSQL server; each log has a schema of its own in it."""

    def __init__(self) -> None:
        server = make_url(SERVER or "").set(drivername="postgresql+psycopg")
        name = f"fleet_{uuid.uuid4().hex[:12]}"
        self._server = create_engine(server, isolation_level="AUTOCOMMIT", poolclass=NullPool)
        self._do(self._server, f'CREATE DATABASE "{name}"')
        self._url = server.set(database=name)
        self._admin = create_engine(self._url, isolation_level="AUTOCOMMIT", poolclass=NullPool)
        self._count = itertools.count(1)
        self._free: list[str] = []

    def new(self) -> str:
        """The URL of a schema with nothing in it."""
        schema = f"log_{next(self._count)}"
        self._do(self._admin, f"CREATE SCHEMA {schema}")
        url = self._url.set(query={"options": f"-csearch_path={schema}"})
        return url.render_as_string(hide_password=False)

    def drop(self, url: str) -> None:
        """Drops a schema and all that is in it."""
        self._do(self._admin, f"DROP SCHEMA {self._schema(url)} CASCADE")

    def borrow(self) -> str:
        """The URL of an empty log at head, to be given back with its tables as they are."""
        if self._free:
            return self._free.pop()
        url = self.new()
        open_log(url, at=AT).dispose()
        return url

    def give_back(self, url: str) -> None:
        """Takes the rows out of a borrowed log, so that the next test can have it: quicker than a new one."""
        schema = self._schema(url)
        with self._admin.connect() as connection:
            connection.exec_driver_sql("SET lock_timeout = '5s'")
            connection.exec_driver_sql("SET session_replication_role = replica")  # no triggers, no references
            tables = connection.exec_driver_sql(
                "SELECT tablename FROM pg_tables"
                f" WHERE schemaname = '{schema}' AND tablename <> 'alembic_version'"
            ).scalars()
            connection.exec_driver_sql("; ".join(f"DELETE FROM {schema}.{table}" for table in tables))
            connection.exec_driver_sql(
                "SELECT setval(format('%%I.%%I', schemaname, sequencename)::regclass, 1, false)"
                f" FROM pg_sequences WHERE schemaname = '{schema}'"
            )
        self._free.append(url)

    def new_database(self, like: str | None = None) -> str:
        """The URL of a database of its own, empty or as another one is that nobody is connected to."""
        name = f"fleet_{uuid.uuid4().hex[:12]}"
        template = f' TEMPLATE "{make_url(like).database}" STRATEGY FILE_COPY' if like else ""
        self._do(self._server, f'CREATE DATABASE "{name}"{template}')
        return self._url.set(drivername="postgresql", database=name).render_as_string(hide_password=False)

    def drop_database(self, url: str) -> None:
        """Drops a database made by `new_database`."""
        self._do(self._server, f'DROP DATABASE "{make_url(url).database}" WITH (FORCE)')

    def close(self) -> None:
        """Drops the database."""
        self._admin.dispose()
        self._do(self._server, f'DROP DATABASE "{self._url.database}" WITH (FORCE)')

    @staticmethod
    def _schema(url: str) -> str:
        return str(make_url(url).query["options"]).partition("=")[2]

    @staticmethod
    def _do(engine: Engine, statement: str) -> None:
        with engine.connect() as connection:
            connection.exec_driver_sql(statement)


@pytest.fixture(scope="session")
def schemas() -> Iterator[Schemas]:
    made = Schemas()
    yield made
    made.close()


@pytest.fixture(params=STORES)
def store(request: pytest.FixtureRequest) -> str:
    """The kind of database a test runs on; every test that uses it runs on each."""
    return str(request.param)


@pytest.fixture
def new_place(store: str, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Callable[[], str]]:
    """Makes places, as `--log` takes them, where no log is yet."""
    count, urls = itertools.count(), []

    def make() -> str:
        if store == "sqlite":
            return str(tmp_path / f"log-{next(count)}.sqlite")
        urls.append(request.getfixturevalue("schemas").new())
        return urls[-1]

    yield make
    for url in urls:
        request.getfixturevalue("schemas").drop(url)


@pytest.fixture(scope="session")
def whole_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty log at head, in a file, for copies."""
    path = tmp_path_factory.mktemp("whole") / "log.sqlite"
    empty_log(str(path)).dispose()
    return path


@pytest.fixture
def log_place(store: str, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Callable[[], str]]:
    """Makes places with an empty log at head, whose tables are to be left as they are."""
    count, urls = itertools.count(), []

    def make() -> str:
        if store == "sqlite":
            path = tmp_path / f"whole-{next(count)}.sqlite"
            shutil.copy(request.getfixturevalue("whole_file"), path)
            return str(path)
        urls.append(request.getfixturevalue("schemas").borrow())
        return urls[-1]

    yield make
    for url in urls:
        request.getfixturevalue("schemas").give_back(url)


@pytest.fixture
def new_log(log_place: Callable[[], str], store: str, tmp_path: Path) -> Iterator[Callable[[], Log]]:
    """Opens empty logs, as many as asked for; they are closed when the test ends."""
    papers = tmp_path / "papers" if store == "postgresql" else None
    opened: list[Log] = []

    def make() -> Log:
        opened.append(open_log(log_place(), at=AT, papers=papers))
        return opened[-1]

    yield make
    for log in opened:
        log.dispose()


@pytest.fixture
def log(new_log: Callable[[], Log]) -> Log:
    """An empty log, open."""
    return new_log()

"""A command line to try commands on, with the invented marina in a log of each test's own.

Every test runs on each kind of database (see `store` in tests/conftest.py). Logs that are filled already are
made once: a file is copied, a PostgreSQL database made after the one that `copy-log` filled.
"""

from __future__ import annotations

import io
import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from fleetlog.cli.main import main
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.store.papers import folder_beside
from fleetlog.usecases.copying import copy_log
from fleetlog.usecases.demo import DEMO_OCCASION, DEMO_TODAY, demo_folder, fill_demo
from fleetlog.usecases.due import DueQuestion, list_due
from fleetlog.usecases.imports.folder import import_folder
from tests.conftest import Schemas


@dataclass(frozen=True)
class Said:
    """What a command printed, and its exit status."""

    out: str
    err: str
    status: int


class Stream(io.TextIOWrapper):
    """A stream that is no terminal, kept in memory."""

    def __init__(self, text: str = "") -> None:
        super().__init__(io.BytesIO(text.encode()), encoding="utf-8", write_through=True)

    def text(self) -> str:
        self.flush()
        return self.buffer.getvalue().decode()  # type: ignore[attr-defined]


Fleetlog = Callable[..., Said]


FILLED = {"marina": "demo_log", "twins": "twins_log"}
"""The logs made once, by the fixture that runs commands on a copy of each."""


@pytest.fixture
def place(store: str, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[str]:
    """A place for a test's log, as `--log` takes it, with what the test's fixtures want in it."""
    filled = next((log for name, log in FILLED.items() if name in request.fixturenames), None)
    if store == "sqlite":
        if filled is not None:
            copied = request.getfixturevalue(filled)
            shutil.copy(copied, tmp_path / "log.db")
            if folder_beside(copied).is_dir():
                shutil.copytree(folder_beside(copied), tmp_path / "log-papers")
        yield str(tmp_path / "log.db")
        return
    databases: Databases = request.getfixturevalue("databases")
    url = databases.like(filled, request, tmp_path / "log-papers")
    yield url
    databases.drop(url)


class Databases:
    """PostgreSQL databases for one test each, made after one that was filled once."""

    def __init__(self, schemas: Schemas) -> None:
        self._schemas = schemas
        self._templates: dict[str, str] = {}

    def like(self, filled: str | None, request: pytest.FixtureRequest, papers: Path) -> str:
        """The URL of a new database, with what the log of that name holds, its papers in a folder."""
        if filled is None:
            return self._schemas.new_database()
        if filled not in self._templates:
            url = self._schemas.new_database()
            copy_log(str(request.getfixturevalue(filled)), url, DEMO_OCCASION, papers)
            self._templates[filled] = url
        beside = folder_beside(request.getfixturevalue(filled))
        if beside.is_dir():
            shutil.copytree(beside, papers, dirs_exist_ok=True)
        return self._schemas.new_database(self._templates[filled])

    def drop(self, url: str) -> None:
        """Drops a database."""
        self._schemas.drop_database(url)


@pytest.fixture(scope="session")
def databases(schemas: Schemas) -> Iterator[Databases]:
    made = Databases(schemas)
    yield made
    for url in made._templates.values():
        made.drop(url)


@pytest.fixture
def fleetlog(place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Fleetlog:
    """Runs `fleetlog` with the words given, in an empty folder, with a log of its own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FLEETLOG_LOG", place)
    monkeypatch.setenv("FLEETLOG_TODAY", DEMO_TODAY.isoformat())
    monkeypatch.setenv("FLEETLOG_BY", "Tess")
    monkeypatch.setenv("FLEETLOG_PAPERS", str(tmp_path / "log-papers"))
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))

    def run(*words: str, stdin: str = "") -> Said:
        out, err = Stream(), Stream()
        monkeypatch.setattr(sys, "argv", ["fleetlog", *words])
        monkeypatch.setattr(sys, "stdin", Stream(stdin))
        status = 0
        with redirect_stdout(out), redirect_stderr(err):
            try:
                main()
            except SystemExit as stop:
                status = int(stop.code or 0)
        assert not (tmp_path / "state").exists(), (tmp_path / "state/fleetlog/bugs.txt").read_text()
        return Said(out.text(), err.text(), status)

    return run


PLAIN_TWINS = {
    "owners.csv": "owner_id,name,phone,remind_by\nO-T1,Quill Marsh,555-0111,email\nO-T2,Arden Reed,,post\n",
    "boats.csv": "boat_id,owner_id,name,water,use\nB-T1,O-T1,Plain Twins,fresh,private\n"
    "B-T2,O-T2,Other Boat,fresh,private\n",
    "engines.csv": "serial,family,in_service_on,logged_from_new,boat_id,position\n"
    "TT-0017,V6 belt-cam,2021-05-22,yes,B-T1,port\n"
    "TT-0021,V6 belt-cam,2021-05-22,yes,B-T1,starboard\n"
    "TT-0125,V6 belt-cam,2021-05-22,yes,B-T2,\n",
    "readings.csv": "serial,on,meter\n"
    "TT-0017,2024-10-16,317.2\nTT-0017,2025-10-14,342.1\n"
    "TT-0021,2024-10-16,319.0\nTT-0021,2025-10-14,344.0\n"
    "TT-0125,2025-10-16,270.9\n",
    "entries.csv": "serial,on,meter,action,item,position,reason\n"
    "TT-0017,2023-05-02,240.0,fitted,timing belt,,scheduled\n"
    "TT-0021,2023-05-02,241.0,fitted,timing belt,,scheduled\n"
    "TT-0021,2024-10-16,319.0,fitted,water pump impeller,,worn\n",
}
"""Three engines of known hours, so that tests can count on figures."""


def take_in_twins(log: Log, folder: Path) -> None:
    """Import the plain twins and the schedule they follow."""
    (folder / "schedules").mkdir(parents=True)
    for name, text in PLAIN_TWINS.items():
        (folder / name).write_text(text, encoding="utf-8")
    shutil.copy(demo_folder() / "schedules/V6 belt-cam.toml", folder / "schedules")
    import_folder(log, replace(DEMO_OCCASION, by="Tess"), folder)


@pytest.fixture(scope="session")
def demo_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented marina's log, to be copied, with its fleet's use learnt."""
    path = tmp_path_factory.mktemp("demo") / "log.db"
    log = open_log(str(path), at=DEMO_OCCASION.at)
    fill_demo(log)
    list_due(log, DEMO_OCCASION, DueQuestion())
    log.dispose()
    return path


@pytest.fixture(scope="session")
def twins_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log of the plain twins alone, to be copied, with their use learnt."""
    folder = tmp_path_factory.mktemp("twins")
    log = open_log(str(folder / "log.db"), at=DEMO_OCCASION.at)
    take_in_twins(log, folder / "in")
    list_due(log, DEMO_OCCASION, DueQuestion())
    log.dispose()
    return folder / "log.db"


@pytest.fixture
def marina(fleetlog: Fleetlog) -> Fleetlog:
    """Runs `fleetlog` on a copy of the invented marina's log, on its day."""
    return fleetlog


@pytest.fixture
def twins(fleetlog: Fleetlog) -> Fleetlog:
    """Runs `fleetlog` on a copy of the log of the plain twins, on the invented marina's day."""
    return fleetlog

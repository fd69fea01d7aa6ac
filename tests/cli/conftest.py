"""A command line to try commands on, with the invented marina in a log of each test's own."""

from __future__ import annotations

import io
import shutil
import sys
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path

import pytest

from fleetlog.cli.main import main
from fleetlog.store.opening import open_log
from fleetlog.usecases.demo import DEMO_OCCASION, DEMO_TODAY, fill_demo


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


@pytest.fixture
def fleetlog(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Fleetlog:
    """Runs `fleetlog` with the words given, in an empty folder, with a log of its own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FLEETLOG_LOG", str(tmp_path / "log.db"))
    monkeypatch.setenv("FLEETLOG_TODAY", DEMO_TODAY.isoformat())
    monkeypatch.setenv("FLEETLOG_BY", "Tess")
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


@pytest.fixture(scope="session")
def demo_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented marina's log, to be copied."""
    path = tmp_path_factory.mktemp("demo") / "log.db"
    log = open_log(str(path), at=DEMO_OCCASION.at)
    fill_demo(log)
    log.dispose()
    return path


@pytest.fixture
def marina(fleetlog: Fleetlog, demo_log: Path, tmp_path: Path) -> Fleetlog:
    """Runs `fleetlog` on a copy of the invented marina's log, on its day."""
    shutil.copy(demo_log, tmp_path / "log.db")
    return fleetlog

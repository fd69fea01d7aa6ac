"""Where the output cannot go, a command says so in a line, or ends without one where nobody reads on."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

Shell = Callable[[str], "subprocess.CompletedProcess[str]"]

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="what a shell of Linux has")


@pytest.fixture(params=["", "1"], ids=["buffered", "unbuffered"])
def shell(demo_log: Path, tmp_path: Path, request: pytest.FixtureRequest) -> Shell:
    """Runs a line of bash in which $fleetlog is the program, on a copy of the invented marina's log."""
    shutil.copy(demo_log, tmp_path / "log.db")
    env = {
        **os.environ,
        "fleetlog": f"{sys.executable} -m fleetlog",
        "FLEETLOG_LOG": str(tmp_path / "log.db"),
        "FLEETLOG_TODAY": "2026-04-15",
        "XDG_STATE_HOME": str(tmp_path / "state"),
        "PYTHONUNBUFFERED": request.param,
    }

    def run(line: str) -> subprocess.CompletedProcess[str]:
        words = ["bash", "-o", "pipefail", "-c", line]
        done = subprocess.run(words, env=env, capture_output=True, text=True, check=False)
        assert not (tmp_path / "state").exists()
        return done

    return run


@pytest.mark.parametrize("words", ["due", "due --format csv", "--help"])
def test_a_full_disk_is_said_and_is_no_bug(shell: Shell, words: str) -> None:
    done = shell(f"$fleetlog {words} > /dev/full")
    assert done.returncode == 1
    assert done.stderr.startswith("fleetlog: the output could not be written (No space left on device);")
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize("words", ["due --all", "due --all --format csv"])
def test_a_closed_pipe_ends_a_command_without_a_word(shell: Shell, words: str) -> None:
    done = shell(f"$fleetlog {words} | true")
    assert (done.returncode, done.stderr) == (141, "")

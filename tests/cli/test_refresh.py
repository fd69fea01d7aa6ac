"""Kept lines from the command line: a list from them loads no arithmetic, and a refresh says what it did."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from fleetlog.usecases.demo import DEMO_TODAY
from tests.cli.conftest import Fleetlog

LOADED = """
import sys
from fleetlog.cli.main import main
try:
    main()
except SystemExit:
    pass
print(sorted({"numpy", "scipy"} & set(sys.modules)))
"""


def loaded_by(log: Path, *words: str) -> str:
    """Which of numpy and scipy a command has loaded when it is done, in a process of its own."""
    given = {"FLEETLOG_LOG": str(log), "FLEETLOG_TODAY": DEMO_TODAY.isoformat(), "FLEETLOG_BY": "Tess"}
    run = subprocess.run(
        [sys.executable, "-c", LOADED, *words],
        capture_output=True,
        check=True,
        encoding="utf-8",
        env=os.environ | given | {"PYTHONUTF8": "1"},
        cwd=Path(__file__).parents[2],
    )
    return run.stdout.splitlines()[-1]


def test_a_list_from_kept_lines_loads_neither_numpy_nor_scipy(twins: Fleetlog, tmp_path: Path) -> None:
    assert loaded_by(tmp_path / "log.db", "due", "--all", "--format", "json") == "[]"


def test_a_command_that_writes_leaves_nothing_out_of_date(twins: Fleetlog, tmp_path: Path) -> None:
    assert twins("hours", "TT-0017", "350.1", "--on", "2026-04-14").status == 0
    assert loaded_by(tmp_path / "log.db", "due") == "[]"


def test_refresh_says_how_many_engines_are_up_to_date(twins: Fleetlog) -> None:
    said = twins("refresh", "--processes", "1")
    assert (said.status, said.out) == (0, "3 engines are up to date.\n")
    assert twins("check").status == 0

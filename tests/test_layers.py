"""The direction of imports, and that the linter which holds it would notice."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    linter = Path(sys.executable).with_name("lint-imports")
    return subprocess.run(
        [str(linter), "--no-cache"], cwd=folder, capture_output=True, text=True, check=False, encoding="utf-8"
    )


@pytest.mark.parametrize(
    ("module", "line"),
    [
        (None, ""),
        ("domain/hours.py", "import fleetlog.store"),
        ("domain/hours.py", "import sqlalchemy"),
        ("forecast/__init__.py", "import fleetlog.life"),
        ("usecases/occasion.py", "import sqlite3"),
        ("utils.py", ""),
    ],
)
def test_imports_point_down_and_a_bad_one_is_noticed(tmp_path: Path, module: str | None, line: str):
    shutil.copytree(ROOT / "fleetlog", tmp_path / "fleetlog", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    if module is not None:
        with open(tmp_path / "fleetlog" / module, "a", encoding="utf-8") as file:
            file.write(f"\n{line}\n")
    ran = lint(tmp_path)
    assert (ran.returncode == 0) == (module is None), ran.stdout + ran.stderr

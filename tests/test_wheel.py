"""An installed wheel works from any folder: its migrations and the invented marina travel inside."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[1]


def run(*words: str, cwd: Path, **environment: str) -> str:
    ran = subprocess.run(
        [sys.executable, *words],
        cwd=cwd,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
        encoding="utf-8",
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    return ran.stdout


def test_a_wheel_gives_a_working_demo_and_a_clean_log(tmp_path: Path):
    run("-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path / "dist"), cwd=ROOT)
    (wheel,) = (tmp_path / "dist").glob("*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    assert any(name.startswith("fleetlog/migrations/versions/") for name in names)
    assert "fleetlog/demo_fleet/engines.csv" in names
    assert any(name.startswith("fleetlog/reports/templates/") for name in names)
    installed = tmp_path / "site"
    zipfile.ZipFile(wheel).extractall(installed)
    said = run(
        "-c",
        "import fleetlog, sys; assert fleetlog.__file__.startswith(sys.argv[1]); sys.argv[1:2] = []; "
        "from fleetlog.cli.main import main; main()",
        str(installed),
        "--log",
        "demo.db",
        "demo",
        cwd=tmp_path,
        PYTHONPATH=str(installed),
        PYTHONSAFEPATH="1",
    )
    assert "reports" in said
    assert (tmp_path / "reports/index.html").exists()
    checked = run("-m", "fleetlog", "--log", "demo.db", "check", cwd=tmp_path, PYTHONPATH=str(installed))
    assert "nothing wrong" in checked

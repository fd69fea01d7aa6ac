"""Kept lines from the command line: a list from them loads no arithmetic, and a refresh says what it did."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from uuid import uuid4

import pytest
from sqlalchemy import NullPool, create_engine, text

from fleetlog.cli import bugs
from fleetlog.store.place import place_of
from fleetlog.usecases import standing
from fleetlog.usecases.demo import DEMO_TODAY
from tests.cli.conftest import Fleetlog
from tests.conftest import on_postgresql

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


def test_the_reason_of_a_kept_line_loads_them_only_for_a_chance(twins: Fleetlog, tmp_path: Path) -> None:
    assert loaded_by(tmp_path / "log.db", "due") == "[]"
    assert loaded_by(tmp_path / "log.db", "why", "TT-0017", "timing-belt-replace") == "[]"


def test_what_is_written_is_recorded_though_its_lines_fail(
    twins: Fleetlog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(standing, "worked_out", fail)
    monkeypatch.setattr(bugs, "details_kept", lambda: "the details are in bugs.txt")
    said = twins("hours", "TT-0017", "350.1", "--on", "2026-04-14")
    assert said.status == 0
    assert "this is recorded" in said.err
    assert "bugs.txt" in said.err
    assert "350.1" in twins("reading", "list", "TT-0017").out


def test_a_command_that_writes_leaves_nothing_out_of_date(twins: Fleetlog, tmp_path: Path) -> None:
    assert twins("hours", "TT-0017", "350.1", "--on", "2026-04-14").status == 0
    assert loaded_by(tmp_path / "log.db", "due") == "[]"


def test_refresh_says_how_many_engines_are_up_to_date(twins: Fleetlog) -> None:
    said = twins("refresh", "--processes", "1")
    assert (said.status, said.out) == (0, "3 engines are up to date.\n")
    assert twins("check").status == 0


@on_postgresql
def test_who_may_record_and_not_keep_lines_records_and_meets_no_bug(
    twins: Fleetlog, place: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    role = f"hand_{uuid4().hex[:8]}"
    rights = (
        f"CREATE ROLE {role}",
        f"GRANT SELECT, INSERT, UPDATE ON ALL TABLES IN SCHEMA public TO {role}",
        f"GRANT USAGE ON ALL SEQUENCES IN SCHEMA public TO {role}",
    )
    owner = create_engine(place_of(place).url, isolation_level="AUTOCOMMIT", poolclass=NullPool)
    with owner.connect() as connection:
        for right in rights:
            connection.execute(text(right))
    try:
        monkeypatch.setenv("FLEETLOG_LOG", f"{place}?options=-crole%3D{role}")
        done = twins("fit", "TT-0017", "water pump impeller", "--on", "2026-04-15", "--hours", "344")
        assert (done.status, "bug" in done.err) == (0, False)
        assert "permission denied" in twins("refresh").err
        assert "TT-0017" in twins("due", "--all", "--engine", "TT-0017").out
    finally:
        with owner.connect() as connection:
            connection.execute(text(f"DROP OWNED BY {role}"))
            connection.execute(text(f"DROP ROLE {role}"))

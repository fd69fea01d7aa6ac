"""`fleetlog check`: the chains are in order or say what is off, and a printed head finds a tail cut off."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.conftest import Fleetlog


@pytest.fixture
def store() -> str:
    """These tests lay hands on the file; what is found on PostgreSQL is the store's tests' to see."""
    return "sqlite"


def head_in(text: str) -> str:
    found = re.search(r"Head of the log after \d+ writings?: ([0-9a-f]{64})$", text, re.MULTILINE)
    assert found, text
    return found[1]


def test_the_head_moves_on_with_each_writing_and_the_earlier_ones_stay_good(twins: Fleetlog) -> None:
    before = head_in(twins("check").out)
    assert twins("hours", "TT-0017", "350", "--on", "2026-04-01").status == 0
    after = twins("check", "--head", before)
    assert after.status == 0
    assert head_in(after.out) != before


def test_a_head_that_the_log_never_had_is_told_as_a_tail_cut_off(twins: Fleetlog, tmp_path: Path) -> None:
    kept = (tmp_path / "log.db").read_bytes()
    assert twins("hours", "TT-0017", "350", "--on", "2026-04-01").status == 0
    printed = head_in(twins("check").out)
    for name in ("log.db-wal", "log.db-shm"):
        (tmp_path / name).unlink(missing_ok=True)
    (tmp_path / "log.db").write_bytes(kept)
    said = twins("check", "--head", printed[:20])
    assert said.status == 1
    assert said.err.startswith(f"fleetlog: cut off: the head {printed[:20]} is none that this log ever had")


def test_a_row_edited_behind_the_logs_back_is_named_with_its_engine(twins: Fleetlog, tmp_path: Path) -> None:
    with closing(sqlite3.connect(tmp_path / "log.db")) as connection:
        connection.execute("DROP TRIGGER readings_never_changed")
        connection.execute("UPDATE readings SET meter_tenths = 3000 WHERE meter_tenths = 3172")
        connection.commit()
    said = twins("check")
    assert said.status == 1
    assert "fleetlog: changed: engine TT-0017, readings " in said.err
    assert "it is not as it was written (writing 1 of " in said.err


def _change(log: Path, change: str) -> None:
    """Writes into the file of a log behind the program's back."""
    with closing(sqlite3.connect(log)) as connection:
        triggers = connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for (name,) in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        assert connection.execute(f"UPDATE {change}").rowcount
        connection.commit()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("entries SET note = x'00ff'", "history TT-0017"),
        ("entries SET note = x'00ff'", "history TT-0017 --format json"),
        ("entries SET note = x'00ff'", "history TT-0017 --format csv"),
        ("owners SET name = x'ff'", "owner list"),
        ("owners SET name = x'ff'", "owner list --format csv"),
        ("owners SET name = x'ff'", "boat show B-T1 --format json"),
        ("entries SET note = x'00ff'", "report --out pages"),
        ("entries SET note = x'00ff'", "extract TT-0017 --out extract.html"),
        ("entries SET done_by = x'00ff'", "report --out pages"),
        ("owners SET name = x'ff'", "report --out pages"),
        ("owners SET address = x'ff'", "report --out pages"),
        ("boats SET name = x'ff'", "report --out pages"),
        ("engines SET model = x'ff'", "report --out pages"),
        ("visits SET complaint = x'ff'", "report --out pages"),
        ("visits SET complaint = x'ff'", "visit show v1"),
    ],
)
def test_a_look_up_that_trips_over_such_a_value_tells_the_damage(
    twins: Fleetlog, tmp_path: Path, change: str, words: str
) -> None:
    twins("visit", "open", "Plain Twins", "--id", "v1", "--complaint", "hard to start")
    twins("inspect", "TT-0017", "timing belt", "--visit", "v1")
    _change(tmp_path / "log.db", change)
    said = twins(*words.split())
    assert said.status == 1
    [told] = said.err.splitlines()
    assert told.startswith(f"fleetlog: the log at {tmp_path / 'log.db'} is damaged (table ")
    assert "bytes where text belongs" in told
    assert told.endswith("`fleetlog rescue` what can still be read")


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("readings SET meter_tenths = 'n/a' WHERE meter_tenths = 3172", "text where a whole number"),
        ("entries SET note = x'00ff'", "column note: bytes where text belongs"),
        ("entries SET done_on = done_on + 0.5", "a broken number where a whole number belongs"),
        ("owners SET name = x'ff'", "table owners, row 1, column name: bytes where text belongs"),
        ("engine_links SET head = x'00'", "column head: bytes where text belongs"),
        ("fact_seals SET digest = x'00'", "column digest: bytes where text belongs"),
        ("torques SET applied = 'about 49'", "torques "),
    ],
)
def test_a_value_of_a_kind_that_nobody_writes_is_damage_and_no_bug(
    twins: Fleetlog, tmp_path: Path, change: str, told: str
) -> None:
    assert twins("torque", "TT-0017", "nut", "--applied", "49", "--unit", "N·m").status == 0
    _change(tmp_path / "log.db", change)
    said = twins("check")
    assert said.status == 1
    assert "is damaged (" in said.err
    assert told in said.err
    assert "bug" not in said.err


def test_too_little_of_a_head_is_refused(twins: Fleetlog) -> None:
    said = twins("check", "--head", "3fa9")
    assert said.status == 1
    assert said.err == (
        "fleetlog: '3fa9' is too little of a head to go by; give at least 16 characters of it\n"
    )


def test_pages_carry_the_head_of_the_log(twins: Fleetlog, tmp_path: Path) -> None:
    assert twins("report", "--out", str(tmp_path / "pages")).status == 0
    head = head_in(twins("check").out)
    for page in ("index.html", "due.html", "engines/TT-0017.html"):
        assert f"<code>{head}</code>" in (tmp_path / "pages" / page).read_text(encoding="utf-8")

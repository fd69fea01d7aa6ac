"""`fleetlog extract`: one engine's history as a file, without its owner, and checked against the log."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.conftest import Fleetlog
from tests.reports.pages import faults


@pytest.fixture
def store() -> str:
    """These tests lay hands on the file; what is found on PostgreSQL is the store's tests' to see."""
    return "sqlite"


@pytest.fixture
def extract(twins: Fleetlog, tmp_path: Path) -> Path:
    path = tmp_path / "extract.html"
    assert twins("extract", "TT-0021", "--out", str(path)).status == 0
    return path


def test_an_extract_is_a_valid_page_that_names_no_owner_and_no_boat(extract: Path) -> None:
    text = extract.read_text(encoding="utf-8")
    assert faults(text) == []
    assert "Water pump impeller" in text
    for private in ("Quill Marsh", "555-0111", "Plain Twins"):
        assert private not in text


def test_the_owner_is_named_where_asked_for(twins: Fleetlog, tmp_path: Path) -> None:
    path = tmp_path / "owned.html"
    assert twins("extract", "TT-0021", "--out", str(path), "--with-owner").status == 0
    assert "Quill Marsh" in path.read_text(encoding="utf-8")


def test_an_extract_as_handed_out_is_known_again(twins: Fleetlog, extract: Path) -> None:
    said = twins("extract", "--verify", str(extract))
    assert said.status == 0
    assert "the history of engine TT-0021, letter for letter" in said.out
    assert "nothing was added since" in said.out
    assert twins("hours", "TT-0021", "350", "--on", "2026-04-01").status == 0
    later = twins("extract", "--verify", str(extract))
    assert later.status == 0
    assert "1 later writings added to it" in later.out
    assert twins("check").status == 0


def test_an_extract_with_one_letter_changed_is_refused(twins: Fleetlog, extract: Path) -> None:
    extract.write_bytes(extract.read_bytes().replace(b"impeller", b"Impeller", 1))
    said = twins("extract", "--verify", str(extract))
    assert said.status == 1
    assert said.err == (
        "fleetlog: this log never handed out this file: it was altered, or is another log's\n"
    )


def test_a_log_changed_since_is_found_by_the_extract(twins: Fleetlog, extract: Path, tmp_path: Path) -> None:
    with closing(sqlite3.connect(tmp_path / "log.db")) as connection:
        connection.execute("DROP TRIGGER entries_never_deleted")
        connection.execute("DELETE FROM entries WHERE reason = 'worn'")
        connection.commit()
    said = twins("extract", "--verify", str(extract))
    assert said.status == 1
    assert "deleted: engine TT-0021, entries: row" in said.err


def test_an_extract_is_never_written_over_a_file(twins: Fleetlog, extract: Path) -> None:
    kept = extract.read_bytes()
    said = twins("extract", "TT-0021", "--out", str(extract))
    assert said.status == 1
    assert "is there already" in said.err
    assert extract.read_bytes() == kept


@pytest.mark.parametrize("given", [[], ["TT-0021"]])
def test_an_extract_of_nothing_says_how_it_is_asked_for(twins: Fleetlog, given: list[str]) -> None:
    said = twins("extract", *given)
    assert said.status == 1
    assert "fleetlog extract SERIAL --out FILE, or --verify FILE" in said.err


def test_an_owner_who_is_not_known_cannot_be_named(twins: Fleetlog, tmp_path: Path) -> None:
    assert twins("engine", "add", "LONE-1", "--family", "V6 belt-cam").status == 0
    said = twins("extract", "LONE-1", "--out", str(tmp_path / "lone.html"), "--with-owner")
    assert said.status == 1
    assert "the owner of engine LONE-1 is not known" in said.err
    assert not (tmp_path / "lone.html").exists()

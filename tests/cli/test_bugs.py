"""Of a bug a person sees one line, wherever its details can be kept."""

from __future__ import annotations

import tempfile
from pathlib import Path

import platformdirs
import pytest

from fleetlog.cli.bugs import details_kept


def _of_a_bug() -> str:
    try:
        raise ZeroDivisionError("three\nlines of \udcff it")
    except ZeroDivisionError:
        return details_kept()


@pytest.fixture
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The user's state folder."""
    folder = tmp_path / "state"
    monkeypatch.setattr(platformdirs, "user_state_dir", lambda *_given, **_options: str(folder))
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return folder


def test_details_are_kept_one_after_the_other_for_their_owner_only(state: Path) -> None:
    assert _of_a_bug() == _of_a_bug() == f"the details are in {state / 'bugs.txt'}"
    assert (state / "bugs.txt").read_text().count("ZeroDivisionError: three\nlines of \\udcff it") == 2
    assert (state / "bugs.txt").stat().st_mode & 0o777 == 0o600


def test_where_the_state_folder_takes_nothing_they_are_among_temporary_files(state: Path) -> None:
    state.write_text("no folder")
    said = _of_a_bug()
    (kept,) = state.parent.glob("fleetlog-bug-*.txt")
    assert said == f"the details are in {kept}"
    assert "ZeroDivisionError" in kept.read_text()
    assert kept.stat().st_mode & 0o777 == 0o600


def test_where_nothing_takes_them_the_last_line_is_told(state: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    state.write_text("no folder")
    monkeypatch.setattr(tempfile, "tempdir", str(state / "none"))
    assert _of_a_bug() == "the details could be kept nowhere (ZeroDivisionError: three lines of \udcff it)"

"""A quota that is used up and a clock that was set back lose nothing and are said in one line."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Boat, Engine, Owner
from fleetlog.store import connecting
from fleetlog.store.copies import backups_in
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.usecases.checking import check_log
from fleetlog.usecases.correcting import void_entry
from fleetlog.usecases.demo import DEMO_OCCASION, DEMO_TODAY, demo_folder
from fleetlog.usecases.due import DueQuestion, list_due
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.recording import Work, record_work
from fleetlog.usecases.register import change_owner
from fleetlog.usecases.safekeeping import back_up, backup_reminder, clock_reminder
from tests.conftest import AT, empty_log

WITH_A_QUOTA = """
import resource, signal, sys
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[1]), resource.RLIM_INFINITY))
sys.argv = ["fleetlog", *sys.argv[2:]]
from fleetlog.cli.main import main
main()
"""
"""Runs a command that may not make a file larger than so many bytes."""


@pytest.mark.skipif(sys.platform == "win32", reason="limits of a process are set otherwise there")
@pytest.mark.parametrize("share", [0.1, 0.3, 0.6])
def test_a_quota_used_up_on_the_way_leaves_the_log_as_it_was(tmp_path: Path, share: float) -> None:
    whole = tmp_path / "whole.db"
    for place in (whole, tmp_path / "log.db"):
        empty_log(str(place)).dispose()
    words = ("--today", "2026-04-15", "import", str(demo_folder()))

    def run(quota: int, path: Path) -> subprocess.CompletedProcess[str]:
        program = [sys.executable, "-c", WITH_A_QUOTA, str(quota), "--log", str(path), *words]
        return subprocess.run(program, capture_output=True, text=True, cwd=tmp_path, check=False)

    assert run(2**31, whole).returncode == 0
    before, after = (tmp_path / "log.db").stat().st_size, whole.stat().st_size
    said = run(before + int(share * (after - before)), tmp_path / "log.db")
    assert said.returncode == 1
    assert said.stdout == ""
    assert len(said.stderr.splitlines()) == 1, said.stderr
    assert "quota" in said.stderr
    assert "nothing was recorded" in said.stderr
    log = open_log(str(tmp_path / "log.db"), at=AT)
    with log.reading() as reader:
        assert reader.batch() == Batch()
    assert check_log(log, DEMO_TODAY).problems == []
    log.dispose()
    assert run(2**31, tmp_path / "log.db").returncode == 0


@pytest.mark.skipif(sys.platform == "win32", reason="limits of a process are set otherwise there")
@pytest.mark.parametrize("words", [("backup", "--to", "copies"), ("restore", "log.db", "copies/new.db")])
def test_a_copy_for_which_there_is_no_room_names_its_place_and_leaves_nothing(
    whole_file: Path, tmp_path: Path, words: tuple[str, ...]
) -> None:
    (tmp_path / "log.db").write_bytes(whole_file.read_bytes())
    (tmp_path / "copies").mkdir()
    program = [sys.executable, "-c", WITH_A_QUOTA, "100000", "--log", "log.db", *words]
    said = subprocess.run(program, capture_output=True, text=True, cwd=tmp_path, check=False)
    assert said.returncode == 1
    assert len(said.stderr.splitlines()) == 1, said.stderr
    assert f"as {tmp_path / 'copies'} does not take it" in said.stderr
    assert list((tmp_path / "copies").iterdir()) == []
    assert (tmp_path / "log.db").read_bytes() == whole_file.read_bytes()


def test_with_the_clock_set_back_all_goes_on_and_nothing_is_lost(log: Log) -> None:
    now = Occasion("Kim", AT, AT.date())
    then = Occasion("Lou", AT - timedelta(days=400), AT.date() - timedelta(days=400))
    with log.writing("Kim", AT) as writer:
        engine = Engine("A", in_service_on=then.today - timedelta(days=500), boat_id="b")
        writer.add(Batch(owners=[Owner("o", "O")], boats=[Boat("b", "o", "B")], engines=[engine]))
    late = record_work(log, now, "A", _fitted(now), ask=lambda _: None).entry
    change_owner(log, now, "o", {"phone": "1"}, None)
    early = record_work(log, then, "A", _fitted(then), ask=lambda _: None).entry
    change_owner(log, then, "o", {"phone": "2"}, None)
    void_entry(log, then, early.entry_id, "set back", None)
    for occasion in (then, now):
        assert list_due(log, occasion, DueQuestion(with_later=True)) == []
        assert check_log(log, occasion.today).problems == []
    with log.reading() as reader:
        assert [e.entry_id for e in reader.batch().entries] == [late.entry_id, early.entry_id]
        assert reader.owners()["o"].phone == "2"


def _fitted(occasion: Occasion) -> Work:
    return Work("fitted", occasion.today, item="kill cord", is_new_kind=True)


@pytest.fixture
def file_log(whole_file: Path, tmp_path: Path) -> Log:
    """A log in a file."""
    (tmp_path / "log.db").write_bytes(whole_file.read_bytes())
    return open_log(str(tmp_path / "log.db"), at=AT)


def test_with_the_clock_set_back_a_new_backup_stays_and_older_ones_do_too(file_log: Log) -> None:
    take = _taking(file_log)
    ahead = [take(0), take(1)]
    behind = [take(-400), take(-399), take(-398)]
    assert file_log.place.path is not None
    left = [b.path for b in backups_in(behind[0].parent, file_log.place.path)]
    assert sorted(left) == sorted([*ahead, *behind[1:]])
    file_log.dispose()


def test_of_the_backups_of_one_second_the_last_ones_are_kept(file_log: Log) -> None:
    take = _taking(file_log)
    taken = [take(0) for _ in range(5)]
    assert [path.exists() for path in taken] == [False, False, False, True, True]
    file_log.dispose()


def _taking(log: Log) -> Callable[[int], Path]:
    def take(days: int) -> Path:
        at = DEMO_OCCASION.at + timedelta(days=days)
        return back_up(log, replace(DEMO_OCCASION, at=at), None, keep=2).backup.path

    return take


def test_a_backup_dated_ahead_of_the_clock_is_no_reason_to_make_none(file_log: Log) -> None:
    _taking(file_log)(0)
    at = DEMO_OCCASION.at
    assert backup_reminder(file_log, at) is None
    said = backup_reminder(file_log, at - timedelta(days=30))
    assert said is not None
    assert "dated ahead of the clock" in said
    file_log.dispose()


@pytest.mark.parametrize(("days", "said"), [(-3, True), (-1, True), (0, False), (1, False)])
def test_a_recording_by_a_clock_that_is_days_behind_is_kept_and_said(log: Log, days: int, said: bool) -> None:
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(owners=[Owner("a", "A")]))
    log.written_no = None
    at = AT + timedelta(days=days)
    assert clock_reminder(log, at) is None
    with log.writing("Kim", at) as writer:
        writer.add(Batch(owners=[Owner("b", "B")]))
    reminder = clock_reminder(log, at)
    assert (reminder is not None) == said
    if reminder:
        assert f"a clock that says {at.date()}" in reminder
        assert f"last written to on {AT.date()}" in reminder


def test_what_was_erased_is_said_to_be_left_where_the_log_cannot_be_written_anew(
    whole_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connecting, "BUSY_SECONDS", 0.05)
    shutil.copy(whole_file, tmp_path / "log.db")
    log = open_log(str(tmp_path / "log.db"), at=AT)
    with closing(sqlite3.connect(tmp_path / "log.db", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        log.sweep()
    (notice,) = log.notices
    assert notice.startswith("this is erased, but may be left in unused parts of")
    log.sweep()
    assert log.notices == [notice]
    log.dispose()

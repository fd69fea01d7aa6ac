"""Pages on disk: whole, private, replaced by the next run, and nobody else's files touched."""

from __future__ import annotations

import json
import os
import stat
from pathlib import Path

import pytest

from fleetlog.domain.fleet import FleetState
from fleetlog.errors.reports import (
    ReportFolderHoldsOthers,
    ReportFolderInUse,
    ReportFolderUnwritable,
    ReportListUnreadable,
)
from fleetlog.reports import writing
from fleetlog.reports.whole_files import write_whole
from fleetlog.reports.writing import LIST_NAME, staging, write_pages
from tests.reports.marina import CONTEXT, TODAY, render_pages, small_fleet, write_fleet


def files_below(folder: Path) -> set[str]:
    return {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}


def test_every_page_is_written_byte_for_byte_and_listed(tmp_path: Path) -> None:
    written = write_fleet(small_fleet(), tmp_path / "out")
    pages = render_pages(small_fleet(), CONTEXT)
    assert [p.relative_to(tmp_path / "out").as_posix() for p in written] == list(pages)
    for path, page in pages.items():
        assert (tmp_path / "out" / path).read_bytes() == page.encode("utf-8")
        assert b"\r" not in page.encode("utf-8")
    assert files_below(tmp_path / "out") == {*pages, LIST_NAME}
    assert json.loads((tmp_path / "out" / LIST_NAME).read_text("utf-8"))["pages"] == sorted(pages)


def test_a_second_run_removes_pages_that_are_no_more_and_leaves_other_files(tmp_path: Path) -> None:
    write_fleet(small_fleet(), tmp_path)
    (tmp_path / "owners" / "notes.html").write_text("mine", encoding="utf-8")
    write_fleet(FleetState(TODAY, []), tmp_path)
    assert files_below(tmp_path) == {"index.html", "due.html", "owners/notes.html", LIST_NAME}


def test_a_file_that_is_not_ours_is_never_replaced(tmp_path: Path) -> None:
    (tmp_path / "index.html").write_text("the marina's own site", encoding="utf-8")
    with pytest.raises(ReportFolderHoldsOthers, match=r"index\.html is there already"):
        write_fleet(small_fleet(), tmp_path)
    assert files_below(tmp_path) == {"index.html"}
    assert (tmp_path / "index.html").read_text("utf-8") == "the marina's own site"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{}",
        '{"pages": 3}',
        '{"pages": ["../../secret.html"]}',
        '{"pages": ["/etc/x.html"]}',
        '{"pages": ["owners/../../x.html"]}',
        '{"pages": ["C:\\\\x.html"]}',
        '{"pages": ["log.sqlite"]}',
        "\udcff",
    ],
)
def test_a_list_that_we_did_not_write_removes_nothing(tmp_path: Path, text: str) -> None:
    (tmp_path / LIST_NAME).write_bytes(text.encode("utf-8", "surrogateescape"))
    with pytest.raises(ReportListUnreadable, match="nothing was written"):
        write_fleet(small_fleet(), tmp_path)
    assert files_below(tmp_path) == {LIST_NAME}


def test_a_folder_that_cannot_be_made_is_one_clear_sentence(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file", encoding="utf-8")
    with pytest.raises(ReportFolderUnwritable, match="give another folder"):
        write_fleet(small_fleet(), tmp_path / "out")


def test_a_write_that_fails_halfway_leaves_the_earlier_page_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_pages({"index.html": "first"}, tmp_path)

    def fail(source: object, target: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", fail)
    with pytest.raises(ReportFolderUnwritable, match="No space left"):
        write_pages({"index.html": "second"}, tmp_path)
    assert (tmp_path / "index.html").read_text("utf-8") == "first"
    assert files_below(tmp_path) == {"index.html", LIST_NAME}


def test_no_page_is_replaced_before_all_are_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_pages({"index.html": "first", "due.html": "first"}, tmp_path)
    real, count = writing._private, iter(range(100))

    def full(path: str, flags: int) -> int:
        if next(count) == 1:
            raise OSError(28, "No space left on device")
        return real(path, flags)

    monkeypatch.setattr(writing, "_private", full)
    with pytest.raises(ReportFolderUnwritable, match="No space left"):
        write_pages({"index.html": "second", "due.html": "second"}, tmp_path)
    assert {p.read_text("utf-8") for p in tmp_path.glob("*.html")} == {"first"}
    assert files_below(tmp_path) == {"index.html", "due.html", LIST_NAME}


def test_what_a_run_set_down_that_was_ended_goes_away(tmp_path: Path) -> None:
    (tmp_path / writing.STAGING / "owners").mkdir(parents=True)
    (tmp_path / writing.STAGING / "index.html").write_text("half a p", encoding="utf-8")
    write_pages({"index.html": "whole"}, tmp_path)
    assert files_below(tmp_path) == {"index.html", LIST_NAME}
    assert not (tmp_path / writing.STAGING).exists()


def test_a_run_that_was_cut_off_is_known_to_the_next(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real, count = os.replace, iter(range(100))

    def cut_off(source: str, target: str) -> None:
        if next(count) == 2:
            raise KeyboardInterrupt
        real(source, target)

    with monkeypatch.context() as patched:
        patched.setattr(os, "replace", cut_off)
        with pytest.raises(KeyboardInterrupt):
            write_pages({"index.html": "1", "due.html": "2"}, tmp_path)
    write_pages({"index.html": "3"}, tmp_path)
    assert files_below(tmp_path) == {"index.html", LIST_NAME}


if os.name == "posix":  # elsewhere files have no modes

    def test_pages_are_for_their_maker_alone(tmp_path: Path) -> None:
        for path in write_fleet(small_fleet(), tmp_path):
            assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_pages_that_do_not_come_leave_no_folder_that_was_not_there(tmp_path: Path) -> None:
    for out in (tmp_path / "a/b", tmp_path / "kept"):
        if out.name == "kept":
            out.mkdir()
        with pytest.raises(FileNotFoundError), staging(out) as folder:
            (folder / "not there").read_bytes()
    assert [path.name for path in tmp_path.rglob("*")] == ["kept"]


def test_of_two_runs_at_once_the_second_is_refused_and_the_first_loses_nothing(tmp_path: Path) -> None:
    out = tmp_path / "out"
    with staging(out) as folder:
        (folder / "a.html").write_text("of the first")
        with pytest.raises(ReportFolderInUse, match="another run is writing its pages to"):
            write_pages({"b.html": "of the second"}, out)
        assert (folder / "a.html").read_text() == "of the first"
    assert not out.exists()
    write_pages({"b.html": "of the second"}, out)
    assert {path.name for path in out.iterdir()} == {"b.html", LIST_NAME}


def test_a_link_in_the_place_of_the_staging_folder_is_not_followed(tmp_path: Path) -> None:
    elsewhere, out = tmp_path / "elsewhere", tmp_path / "out"
    elsewhere.mkdir()
    out.mkdir()
    (elsewhere / "of mine.txt").write_text("kept")
    (out / ".pages").symlink_to(elsewhere)
    with pytest.raises(ReportFolderUnwritable, match="is a link"):
        write_pages({"a.html": "a"}, out)
    assert (elsewhere / "of mine.txt").read_text() == "kept"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes there")
def test_a_pipe_or_a_device_is_written_into_and_never_replaced(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reading = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        write_whole(pipe, b"all of it")
        assert os.read(reading, 100) == b"all of it"
    finally:
        os.close(reading)
    assert pipe.is_fifo()


def test_a_link_stays_one_and_the_file_that_it_leads_to_is_written(tmp_path: Path) -> None:
    there, link = tmp_path / "there.ics", tmp_path / "link.ics"
    there.write_bytes(b"older")
    link.symlink_to(there)
    write_whole(link, b"newer")
    assert link.is_symlink()
    assert there.read_bytes() == b"newer"
    with pytest.raises(IsADirectoryError):
        write_whole(tmp_path, b"")

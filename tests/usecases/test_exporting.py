"""An export holds all that the log holds: an empty log that takes it in is the same log."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import fields
from datetime import UTC, date, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Owner
from fleetlog.errors.folders import ExportFolderTaken
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.store.writer import Writer
from fleetlog.usecases.exporting import export_folder
from fleetlog.usecases.imports.folder import import_folder
from fleetlog.usecases.occasion import Occasion
from tests.exchange.batches import batches
from tests.exchange.paper_rows import CONTENTS
from tests.files import files_in

AT = datetime(2026, 4, 15, 9, tzinfo=UTC)
TODAY = date(2026, 4, 15)


def copy_of(empty: Path, path: Path) -> Log:
    """A log of its own, copied from an empty one."""
    shutil.copy(empty, path)
    return open_log(str(path), at=AT)


def put_files(log: Log, writer: Writer) -> None:
    """The files of the made-up papers that a log is to have."""
    for paper in writer.kept_papers():
        log.papers.put(paper.file_name, CONTENTS[paper.file_name])


@given(batches())
@settings(max_examples=15, deadline=None)
def test_an_export_taken_in_by_an_empty_log_gives_the_same_log_and_again_changes_nothing(
    whole_file: Path, batch: Batch
) -> None:
    with TemporaryDirectory() as name:
        folder = Path(name)
        first, second = (copy_of(whole_file, folder / f"{n}.db") for n in (1, 2))
        with first.writing("Bo", AT) as writer:
            writer.add(batch)
            put_files(first, writer)
        export_folder(first, folder / "out")
        report = import_folder(second, Occasion("Mia", AT, TODAY), folder / "out")
        assert report.new == batch.counts()
        with first.reading() as one, second.reading() as two:
            assert two.batch() == one.batch()
        again = import_folder(second, Occasion("Mia", AT, TODAY), folder / "out")
        assert (again.new, again.changed, again.unchanged) == ({}, {}, batch.counts())
        export_folder(second, folder / "out2")
        assert files_in(folder / "out2") == files_in(folder / "out")
        for log in (first, second):
            log.dispose()


@given(batches())
@settings(max_examples=6, deadline=None)
def test_the_order_of_rows_within_a_file_does_not_matter_to_what_they_refer_to(
    whole_file: Path, batch: Batch
) -> None:
    turned = Batch(**{f.name: getattr(batch, f.name)[::-1] for f in fields(Batch)})
    with TemporaryDirectory() as name:
        folder = Path(name)
        source, log = (copy_of(whole_file, folder / f"{n}.db") for n in (1, 2))
        with source.writing("Bo", AT) as writer:
            writer.add(turned)
            put_files(source, writer)
        export_folder(source, folder / "out")
        assert import_folder(log, Occasion("Mia", AT, TODAY), folder / "out").new == batch.counts()
        for opened in (source, log):
            opened.dispose()


def test_facts_that_were_once_said_otherwise_travel_too(new_log: Callable[[], Log], tmp_path: Path) -> None:
    first, second = new_log(), new_log()
    with first.writing("Bo", AT) as writer:
        writer.add(Batch(owners=[Owner("o1", "Anna", phone="+49 555")]))
    with first.writing("Bo", AT) as writer:
        writer.change("owners", Owner("o1", "Anna", phone=None), date(2026, 4, 1))
    export_folder(first, tmp_path / "out")
    import_folder(second, Occasion("Mia", AT, TODAY), tmp_path / "out")
    with first.reading() as one, second.reading() as two:
        assert one.batch().changes[0].was == "+49 555"
        assert two.batch() == one.batch()


def test_an_export_does_not_overwrite_what_is_no_export(log: Log, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("Dear Sir", encoding="utf-8")
    with pytest.raises(ExportFolderTaken, match=r"letter\.txt"):
        export_folder(log, tmp_path / "mine")
    assert export_folder(log, tmp_path / "out") == {}

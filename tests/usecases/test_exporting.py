"""An export holds all that the log holds: an empty log that takes it in is the same log."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given, settings

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Owner
from fleetlog.errors import ExportFolderTaken
from fleetlog.usecases.exporting import export_folder
from fleetlog.usecases.importing import import_folder
from tests.exchange.batches import batches
from tests.usecases.fresh_logs import AT, fresh_log

TODAY = date(2026, 4, 15)


def export_of(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*.*"))}


def rows_without_sequence(batch: Batch) -> dict[str, list[Any]]:
    return {
        f.name: [replace(r, sequence=0) if hasattr(r, "sequence") else r for r in getattr(batch, f.name)]
        for f in fields(Batch)
    }


@given(batches())
@settings(max_examples=15, deadline=None)
def test_an_export_taken_in_by_an_empty_log_gives_the_same_log_and_again_changes_nothing(
    batch: Batch,
) -> None:
    with TemporaryDirectory() as name:
        folder = Path(name)
        first, second = (fresh_log(folder / f"{n}.db") for n in (1, 2))
        with first.writing("Bo", AT) as writer:
            writer.add(batch)
        export_folder(first, folder / "out")
        report = import_folder(second, folder / "out", by="Mia", at=AT, today=TODAY)
        assert report.new == batch.counts()
        with first.reading() as one, second.reading() as two:
            assert two.batch() == one.batch()
        again = import_folder(second, folder / "out", by="Mia", at=AT, today=TODAY)
        assert (again.new, again.changed, again.unchanged) == ({}, {}, batch.counts())
        export_folder(second, folder / "out2")
        assert export_of(folder / "out2") == export_of(folder / "out")
        for log in (first, second):
            log.dispose()


@given(batches())
@settings(max_examples=6, deadline=None)
def test_the_order_of_rows_within_a_file_does_not_matter_to_what_they_refer_to(batch: Batch) -> None:
    turned = Batch(**{f.name: getattr(batch, f.name)[::-1] for f in fields(Batch)})
    with TemporaryDirectory() as name:
        folder = Path(name)
        source, log = (fresh_log(folder / f"{n}.db") for n in (1, 2))
        with source.writing("Bo", AT) as writer:
            writer.add(turned)
        export_folder(source, folder / "out")
        assert import_folder(log, folder / "out", by="Mia", at=AT, today=TODAY).new == batch.counts()
        for opened in (source, log):
            opened.dispose()


def test_facts_that_were_once_said_otherwise_travel_too(tmp_path: Path) -> None:
    first, second = (fresh_log(tmp_path / f"{n}.db") for n in (1, 2))
    with first.writing("Bo", AT) as writer:
        writer.add(Batch(owners=[Owner("o1", "Anna", phone="+49 555")]))
    with first.writing("Bo", AT) as writer:
        writer.change("owners", Owner("o1", "Anna", phone=None), date(2026, 4, 1))
    export_folder(first, tmp_path / "out")
    import_folder(second, tmp_path / "out", by="Mia", at=AT, today=TODAY)
    with first.reading() as one, second.reading() as two:
        assert one.batch().changes[0].was == "+49 555"
        assert rows_without_sequence(two.batch()) == rows_without_sequence(one.batch())
    first.dispose()
    second.dispose()


def test_an_export_does_not_overwrite_what_is_no_export(tmp_path: Path) -> None:
    log = fresh_log(tmp_path / "1.db")
    with pytest.raises(ExportFolderTaken, match=r"1\.db"):
        export_folder(log, tmp_path)
    assert export_folder(log, tmp_path / "out") == {}
    log.dispose()

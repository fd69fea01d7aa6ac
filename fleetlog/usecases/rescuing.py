"""Writes what can still be read of a damaged log to a CSV folder."""

from __future__ import annotations

import shutil
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from fleetlog.domain.papers import ERASED, Paper
from fleetlog.errors.safekeeping import NothingThere
from fleetlog.exchange.csv_writing import write_folder
from fleetlog.store.copies import papers_of_backup
from fleetlog.store.opening import open_log
from fleetlog.store.papers import PaperFolder
from fleetlog.store.salvage import Salvage, salvage
from fleetlog.usecases.chain_problems import chain_problems


@dataclass(frozen=True, slots=True)
class Rescued:
    """How many rows of each kind were written; in sentences what was lost or put in, and what was changed.

    `not_compared` says why the rows could not be compared with the chains, where they could not.
    """

    counts: dict[str, int]
    remarks: list[str]
    changed: list[str]
    not_compared: str | None


def rescue(source: Path, folder: Path, at: datetime) -> Rescued:
    """Reads a log's file, however damaged, and leaves it as it is; `at` is now, in UTC.

    Photos and papers that are whole are written too. Rows that differ from what the chains sealed are
    written as they are, and named. Raises NothingThere, NothingToRescue, and what
    `write_folder` raises.
    """
    if not source.is_file():
        raise NothingThere(str(source), "rescue")
    found = salvage(source.absolute())
    papers = PaperFolder(papers_of_backup(source.absolute()), str(source))
    whole = _leave_out_lost(found, papers)
    write_folder(found.batch, folder, ((name, papers.read(paper)) for name, paper in whole.items()))
    try:
        changed, not_compared = _changed(source.absolute(), at), None
    except Exception as error:  # whatever the damage brings about
        changed, not_compared = [], " ".join(str(error).split()) or type(error).__name__
    return Rescued(found.batch.counts(), found.remarks, changed, not_compared)


def _changed(source: Path, at: datetime) -> list[str]:
    """What the chains say of a log's rows, read from a copy that is thrown away."""
    with TemporaryDirectory(prefix="fleetlog-rescue-", ignore_cleanup_errors=True) as folder:
        copy = Path(folder) / source.name
        shutil.copyfile(source, copy)
        with suppress(FileNotFoundError):
            shutil.copyfile(f"{source}-wal", f"{copy}-wal")
        log = open_log(str(copy), at=at, create=False, shown=str(source))
        try:
            with log.reading() as reader:
                return chain_problems(reader.check_chains())
        finally:
            log.dispose()


def _leave_out_lost(found: Salvage, papers: PaperFolder) -> dict[str, Paper]:
    """Leaves out the rows of papers whose files are lost, unless they were erased; the papers to write."""
    batch = found.batch
    erased = {w.paper_id for w in batch.paper_withdrawals if w.outcome == ERASED}
    faults = papers.faults((p for p in batch.papers if p.paper_id not in erased), thoroughly=True)
    gone = {fault.paper.paper_id for fault in faults}
    found.remarks += [f"papers: the row was left out, as {fault.text}" for fault in faults]
    batch.papers = [p for p in batch.papers if p.paper_id not in gone]
    batch.paper_withdrawals = [w for w in batch.paper_withdrawals if w.paper_id not in gone]
    return {p.file_name: p for p in batch.papers if p.paper_id not in erased}

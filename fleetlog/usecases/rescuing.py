"""Writes what can still be read of a damaged log to a CSV folder."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fleetlog.domain.papers import ERASED, Paper
from fleetlog.errors.folders import ExportFolderTaken, ExportNotWritten
from fleetlog.errors.safekeeping import NothingThere
from fleetlog.exchange.csv.unfit import take_out_unfit
from fleetlog.exchange.csv.writing import write_folder, write_kinds
from fleetlog.reports.whole_files import write_whole
from fleetlog.store.chain.check import ChainReport
from fleetlog.store.copies import papers_of_backup
from fleetlog.store.papers import PaperFolder
from fleetlog.store.place import file_named
from fleetlog.store.salvage.reading import Salvage, salvage
from fleetlog.usecases.chain_problems import chain_problems
from fleetlog.usecases.clashing import take_out_clashing
from fleetlog.usecases.gaps import fill_gaps


@dataclass(frozen=True, slots=True)
class Rescued:
    """How many rows of each kind were written; in sentences what was lost or put in, what differs, and which
    rows were set `apart` in a folder of their own, as no import would take them.

    Of `engines` that were read and compared with what was sealed, `whole` have every row as it was written.
    `head` is the last one of the log's chain. `not_compared` says why nothing could be compared, where it
    could not.
    """

    counts: dict[str, int]
    remarks: list[str]
    differing: list[str]
    engines: int
    whole: int
    head: str
    not_compared: str | None
    apart: list[str]
    apart_in: Path


def rescue(source: Path, folder: Path) -> Rescued:
    """Reads a log's file, however damaged, and leaves it as it is.

    Photos and papers that are whole are written too. Rows that differ from what the chains sealed are
    written as they are, and named; those for which an import would refuse the whole folder are set apart in
    one beside it, which is not to be there. Raises NothingThere, LogUnreadable, NothingToRescue,
    NoRoomToRescue, and what `write_folder` raises.
    """
    if not source.is_file():
        raise NothingThere(str(source), "rescue", is_folder=source.is_dir())
    source = file_named(source)
    found = salvage(source)
    papers = PaperFolder(papers_of_backup(source), str(source))
    unfit, apart = take_out_unfit(found.batch)
    remarks, with_unfit = fill_gaps(found.batch, unfit)
    clashing, said, without = take_out_clashing(found.batch)
    for kind, rows in clashing.by_kind():
        getattr(unfit, kind).extend(rows)
    more, with_clashing = fill_gaps(found.batch, unfit)
    apart += [*with_unfit, *said, *with_clashing]
    found.remarks += [*remarks, *more, *without]
    apart_in = folder.with_name(f"{folder.name}-apart")
    if apart and apart_in.exists():
        raise ExportFolderTaken(str(apart_in), "what an earlier rescue set apart")
    whole = _leave_out_lost(found, papers)
    write_folder(found.batch, folder, ((name, papers.read(paper)) for name, paper in whole.items()))
    if apart:
        write_kinds(((kind, rows) for kind, rows in unfit.by_kind() if rows), apart_in, ())
    chains = found.chains or ChainReport([], [], [])
    return Rescued(
        found.batch.counts(),
        found.remarks,
        chain_problems(chains),
        len(chains.engines),
        len(chains.whole),
        chains.head,
        found.not_compared,
        apart,
        apart_in,
    )


def write_told(done: Rescued, folder: Path) -> Path:
    """Writes all that a rescue found amiss to a text beside its folder. Raises ExportNotWritten."""
    path = folder.with_name(f"{folder.name}-amiss.txt")
    told = [*(f"lost: {lost}" for lost in done.remarks), *done.differing]
    told += [f"set apart: {row}" for row in done.apart]
    try:
        write_whole(path, "".join(f"{line}\n" for line in told).encode())
    except OSError as error:
        raise ExportNotWritten(str(path), error.strerror or str(error)) from None
    return path


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

"""The files of photos and papers: checked, put back where they are lost, erased for good."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from fleetlog.domain.batch import Batch
from fleetlog.domain.papers import ERASED, Paper, PaperWithdrawal
from fleetlog.domain.records import Visit
from fleetlog.errors import as_word, counted
from fleetlog.errors.papers import PaperOfNoRow, PapersFolderUnknown
from fleetlog.exchange.paper_files import read_paper
from fleetlog.store.forgetting import Cell
from fleetlog.store.log import Log
from fleetlog.store.papers import MISSING
from fleetlog.store.reader import Reader
from fleetlog.store.writer import Writer
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.papers import found_paper


def restore_papers(log: Log, files: Sequence[Path]) -> list[Paper]:
    """Puts back the files of papers whose own are missing or altered; gives one paper a file.

    Raises PaperOfNoRow, PapersFolderUnwritable and what `read_paper` raises; files before are put back then.
    """
    with log.reading() as reader:
        kept = {paper.sha256: paper for paper in reader.kept_papers()}
    restored = []
    for path in files:
        held = read_paper(path)
        paper = kept.get(held.sha256)
        if paper is None:
            raise PaperOfNoRow(path, held.sha256)
        log.papers.put(paper.file_name, held.content)
        restored.append(paper)
    return restored


def erase_paper(log: Log, occasion: Occasion, paper_id: str, reason: str) -> str | None:
    """Erases a paper for good: its file, its name and its note. The row stays, and the chains hold.

    Gives the id of another paper that has the same content, whose file therefore stays. Erasing again
    takes away a file that was left. Raises NotKnown, PapersFolderUnwritable.
    """
    _erase_texts(log, occasion, paper_id, reason)
    log.sweep()
    return remove_files(log, occasion, [paper_id])


@again_if_lost
def _erase_texts(log: Log, occasion: Occasion, paper_id: str, reason: str) -> None:
    with log.writing(occasion.by, occasion.at) as writer:
        found_paper(writer, paper_id, occasion)
        writer.erase(note_erased(writer, occasion, [paper_id], reason))


def note_erased(writer: Writer, occasion: Occasion, paper_ids: Sequence[str], reason: str) -> list[Cell]:
    """Writes that papers are erased; gives their names and notes, to be erased with whatever else goes.

    Those erased already are passed over.
    """
    told = writer.existing("paper_withdrawals", [(paper_id, ERASED) for paper_id in paper_ids])
    new = [paper_id for paper_id in paper_ids if (paper_id, ERASED) not in told]
    at, by = occasion.said_at, occasion.by
    writer.add(Batch(paper_withdrawals=[PaperWithdrawal(p, ERASED, at, by, reason) for p in new]))
    return writer.cells_of_papers(new)


@again_if_lost
def remove_files(log: Log, occasion: Occasion, paper_ids: Sequence[str]) -> str | None:
    """Takes away the files of erased papers that no other paper needs; gives one that needs such a file."""
    needing = None
    with log.writing(occasion.by, occasion.at) as writer:
        needed = {paper.sha256: paper.paper_id for paper in writer.kept_papers()}
        for paper in writer.existing("papers", paper_ids).values():
            if paper.sha256 in needed:
                needing = needed[paper.sha256]
            else:
                log.papers.remove(paper)
    return needing


def paper_problems(log: Log, reader: Reader, *, shared: bool) -> tuple[list[str], list[str]]:
    """What is wrong with the files of the papers, and what only lies there.

    Missing or altered files of papers that stand, altered ones of withdrawn papers, and files of erased
    papers are wrong. A file of no paper is harmless, and is named; where nobody said where the folder is,
    that is told. In a folder that is `shared` with other logs only the papers that stand are looked at.
    """
    papers: list[Paper] = reader.rows("papers")
    kept = reader.kept_papers()
    if not log.papers.is_known:
        passed_over = counted(len(kept), "paper was", "papers were")
        said = f"{passed_over} not looked at: {PapersFolderUnknown(log.place.shown)}"
        return [], [said] if kept else []
    withdrawn = {w.paper_id for w in reader.rows("paper_withdrawals")}
    problems = []
    if kept:
        for fault in log.papers.faults(kept, thoroughly=True):
            if fault.kind != MISSING or fault.paper.paper_id not in withdrawn:
                problems.append(fault.text)
    by_name = {paper.file_name: paper for paper in papers}
    waiting = []
    for path in () if shared else log.papers.strangers(kept):
        erased = by_name.get(path.name)
        if erased is not None:
            problems.append(
                f"paper {erased.paper_id} was erased, and its file {path} is still there; take it away:"
                f" fleetlog paper erase {as_word(erased.paper_id)} --reason ..."
            )
        else:
            waiting.append(
                f"{path} belongs to no paper of the log: a recording that failed left it, or another log that"
                " lay here; where you know that none needs it, it may be deleted"
            )
    return problems, waiting


def papers_of_visits(reader: Reader, visits: Iterable[Visit]) -> list[Paper]:
    """The papers, not erased, on some visits."""
    ids = {visit.visit_id for visit in visits}
    return [paper for paper in reader.kept_papers() if paper.visit_id in ids]

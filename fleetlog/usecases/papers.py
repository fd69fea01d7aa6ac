"""Photos and papers on visits: added, listed, saved to a file and withdrawn.

What becomes of their files later (checked, put back, erased) is in `paper_keeping`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.papers import (
    ERASED,
    WITHDRAWN,
    Paper,
    PaperStanding,
    PaperWithdrawal,
    papers_on,
    plain_name,
    size_text,
)
from fleetlog.domain.records import Boat, Visit
from fleetlog.errors.files import FileUnreadable
from fleetlog.errors.naming import NotKnown
from fleetlog.errors.papers import PaperGone, PaperThereAlready
from fleetlog.exchange.new_file import write_new
from fleetlog.exchange.paper_files import read_paper
from fleetlog.exchange.paper_rows import paper_object
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.finding import find_boat, find_row, find_serial
from fleetlog.usecases.occasion import Occasion, new_id


@dataclass(frozen=True, slots=True)
class PaperFacts:
    """What is said of papers that are added together."""

    engine: str | None = None
    note: str | None = None
    taken_on: date | None = None
    by: str | None = None


@dataclass(frozen=True, slots=True)
class AddedPapers:
    """The papers that were added, and the engines in whose history they show so far."""

    papers: list[Paper]
    serials: list[str]


@again_if_lost
def add_papers(
    log: Log, occasion: Occasion, visit_id: str, files: Sequence[Path], facts: PaperFacts
) -> AddedPapers:
    """Adds files to a visit, all of them or none; a closed visit takes them too.

    Each file is on the disk before the rows are. Raises NotKnown, NotInTheFuture, PaperThereAlready,
    PapersFolderUnknown, PapersFolderUnwritable and what `read_paper` raises.
    """
    taken_on = facts.taken_on or occasion.today
    occasion.refuse_future("a photo or a paper", taken_on)
    drafts = [_draft(path, visit_id, taken_on, facts, occasion) for path in files]
    with log.writing(occasion.by, occasion.at) as writer:
        find_row(writer, "visit", "visits", visit_id)
        serial = None if facts.engine is None else find_serial(writer, facts.engine)
        there: dict[tuple[str, str | None], str | None] = {
            (one.paper.sha256, one.paper.serial): one.paper.paper_id
            for one in papers_on(*writer.papers_by("visit_id", visit_id), date.max)
            if one.taken_back is None
        }
        for path, draft in zip(files, drafts, strict=True):
            if (draft.sha256, serial) in there:
                raise PaperThereAlready(path, visit_id, there[draft.sha256, serial])
            there[draft.sha256, serial] = None
        papers = [replace(draft, paper_id=new_id("p"), serial=serial) for draft in drafts]
        for path, paper in zip(files, papers, strict=True):
            held = read_paper(path)  # once more: not all of them are in memory together
            if held.sha256 != paper.sha256:
                raise FileUnreadable(path, "it changed while it was being added")
            log.papers.put(paper.file_name, held.content)
        writer.add(Batch(papers=papers))
        serials = [serial] if serial is not None else writer.serials_of_visit(visit_id)
    return AddedPapers(papers, serials)


def _draft(path: Path, visit_id: str, taken_on: date, facts: PaperFacts, occasion: Occasion) -> Paper:
    """What is known of a file by itself, without an id and the engine."""
    held = read_paper(path)
    return Paper(
        "",
        visit_id,
        held.sha256,
        held.media_type,
        len(held.content),
        plain_name(path.name, held.media_type),
        taken_on,
        note=facts.note,
        by=facts.by or occasion.by,
    )


def list_papers(
    log: Log,
    occasion: Occasion,
    *,
    visit_id: str | None = None,
    engine: str | None = None,
    boat: str | None = None,
    with_withdrawn: bool = False,
) -> list[dict[str, Any]]:
    """One row a paper, the latest first; of one visit, engine or boat where that is named."""
    papers: Iterable[Paper]
    withdrawals: Iterable[PaperWithdrawal]
    with log.reading() as reader:
        if visit_id is not None:
            find_row(reader, "visit", "visits", visit_id)
        if engine is not None:
            ledger = reader.ledger(find_serial(reader, engine))
            papers, withdrawals = ledger.papers, ledger.paper_withdrawals
        elif visit_id is not None:
            papers, withdrawals = reader.papers_by("visit_id", visit_id)
        else:
            papers, withdrawals = reader.rows("papers"), reader.rows("paper_withdrawals")
        found = papers_on(papers, withdrawals, occasion.today)
        wanted = None if boat is None else find_boat(reader, boat).boat_id
        visits = reader.existing("visits", {one.paper.visit_id for one in found})
        boats = reader.boats()
    chosen = [
        one
        for one in found
        if (visit_id is None or one.paper.visit_id == visit_id)
        and (wanted is None or visits[one.paper.visit_id].boat_id == wanted)
        and (with_withdrawn or one.taken_back is None)
    ]
    chosen.sort(key=lambda one: one.paper.taken_on, reverse=True)
    return [_row(one, visits, boats) for one in chosen]


def _row(one: PaperStanding, visits: Mapping[str, Visit], boats: Mapping[str, Boat]) -> dict[str, Any]:
    boat = boats.get(visits[one.paper.visit_id].boat_id or "")
    size = size_text(one.paper.size_bytes)
    return {**paper_object(one), "boat": boat.name if boat else None, "size": size}


def save_paper(log: Log, occasion: Occasion, paper_id: str, out: Path | None) -> Path:
    """Writes a paper's content to a new file: `out`, or its own name in the folder `out` or in this one.

    Raises NotKnown, PaperGone for one that was erased, PaperFileFaulty, PaperUnreadable, FileThereAlready,
    FileUnreadable.
    """
    with log.reading() as reader:
        one = found_paper(reader, paper_id, occasion)
    if one.taken_back is not None and one.taken_back.outcome == ERASED:
        raise _gone(one.taken_back)
    content = log.papers.read(one.paper)
    target = out or Path()
    if target.is_dir():
        target = target / one.paper.name
    write_new(target, content)
    return target


def found_paper(reader: Reader, paper_id: str, occasion: Occasion) -> PaperStanding:
    """The paper of an id, as it stands today. Raises NotKnown."""
    for one in papers_on(*reader.papers_by("paper_id", paper_id), occasion.today):
        return one
    raise NotKnown("paper", paper_id, [], "fleetlog paper list shows their ids")


def _gone(back: PaperWithdrawal) -> PaperGone:
    return PaperGone(back.paper_id, back.outcome, back.at.date(), back.by)


@again_if_lost
def withdraw_paper(log: Log, occasion: Occasion, paper_id: str, reason: str) -> Paper:
    """Takes a paper back, such as one on the wrong visit: it no longer shows, its file stays.

    Raises NotKnown, PaperGone.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        one = found_paper(writer, paper_id, occasion)
        if one.taken_back is not None:
            raise _gone(one.taken_back)
        back = PaperWithdrawal(paper_id, WITHDRAWN, occasion.said_at, occasion.by, reason)
        writer.add(Batch(paper_withdrawals=[back]))
    return one.paper

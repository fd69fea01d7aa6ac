"""Photos and papers as pages show them: name, hash, and a link where the file lies among the pages."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fleetlog.domain.fleet import EngineState
from fleetlog.domain.papers import ERASED, PaperStanding, papers_on, size_text
from fleetlog.reports.words import capital, day_text

_KINDS = {"application/pdf": "PDF", "text/plain": "text"}


@dataclass(frozen=True, slots=True)
class PaperView:
    """A photo or a paper; `file` is its name among the pages, empty where it was taken back."""

    file: str
    name: str
    is_picture: bool
    told: str
    sha256: str
    taken_back: str


def papers_seen(state: EngineState) -> list[PaperStanding]:
    """The papers of an engine on the day of its state."""
    return papers_on(state.ledger.papers, state.ledger.paper_withdrawals, state.seen.today)


def paper_views(papers: Iterable[PaperStanding]) -> list[PaperView]:
    """How papers are shown, in their order."""
    return [_view(one) for one in papers]


def _view(one: PaperStanding) -> PaperView:
    paper, back = one.paper, one.taken_back
    kind = _KINDS.get(paper.media_type, "photo or drawing")
    told: Sequence[str] = [
        f"{kind}, {size_text(paper.size_bytes)}, {day_text(paper.taken_on)}"
        + (f", by {paper.by}" if paper.by else "")
    ]
    name = paper.name
    taken_back = ""
    if back is not None:
        taken_back = f"{capital(back.outcome)} by {back.by} on {day_text(back.at.date())}: {back.reason}"
    if back is not None and back.outcome == ERASED:
        name = "A paper"
    elif paper.note:
        told = [paper.note, *told]
    return PaperView(
        paper.file_name if back is None else "",
        name,
        paper.is_picture,
        "; ".join(told),
        paper.sha256,
        taken_back,
    )

"""Photos and papers as plain objects for lists and scripts, and as a history tells of them."""

from __future__ import annotations

from typing import Any

from fleetlog.domain.papers import ERASED, PaperStanding, PaperWithdrawal, size_text


def paper_object(one: PaperStanding) -> dict[str, Any]:
    """A paper with its hash, and how it was taken back. The name and note of an erased one are gone."""
    paper, back = one.paper, one.taken_back
    is_erased = back is not None and back.outcome == ERASED
    return {
        "paper_id": paper.paper_id,
        "visit_id": paper.visit_id,
        "serial": paper.serial,
        "taken_on": paper.taken_on,
        "name": None if is_erased else paper.name,
        "media_type": paper.media_type,
        "size_bytes": paper.size_bytes,
        "sha256": paper.sha256,
        "note": None if is_erased else paper.note,
        "by": paper.by,
        "taken_back": None if back is None else taken_back_text(back),
    }


def taken_back_text(back: PaperWithdrawal) -> str:
    """Who took a paper back, when and why."""
    return f"{back.outcome} on {back.at.date().isoformat()} by {back.by}: {back.reason}"


def paper_told(one: PaperStanding) -> tuple[str, list[str]]:
    """What a paper is called in a history, and what else is told of it there."""
    told = paper_object(one)
    how = [f"{told['media_type']}, {size_text(one.paper.size_bytes)}, sha256 {one.paper.sha256[:16]}"]
    how += [told["note"]] if told["note"] else []
    how += [told["taken_back"].replace("withdrawn", "WITHDRAWN", 1)] if told["taken_back"] else []
    how += [f"by {one.paper.by}"] if one.paper.by else []
    return told["name"] or "(erased)", how

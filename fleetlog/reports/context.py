"""What a set of pages is told beside the fleet: whose pages they are, and who made them with what."""

from __future__ import annotations

from dataclasses import dataclass

from fleetlog.domain.due import DEFAULT_WINDOW_DAYS


@dataclass(frozen=True, slots=True)
class ReportContext:
    """The marina as it signs its pages, and what the pages were made with.

    `reply_email` is where owners send their hours to, `reply_by` says other ways in the marina's own words
    (a telephone number, a counter). `within_days` is the window the due lines were worked out for, in days;
    `note` is a sentence put at the foot of every page, and `head` the log's head, where pages are to tell it:
    what was written until then can't be changed or cut off without a check against it showing. `papers`
    names the photos and papers whose files lie among the pages, in `papers/`.
    """

    marina: str
    version: str
    reply_email: str | None = None
    reply_by: str | None = None
    within_days: int = DEFAULT_WINDOW_DAYS
    note: str | None = None
    tells_head: bool = True
    head: str | None = None
    papers: frozenset[str] = frozenset()

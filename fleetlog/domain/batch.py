"""Rows of the log gathered by kind: what a folder brings in, a visit writes, an export takes out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fleetlog.domain.diary_records import (
        Booking,
        DiaryPlan,
        DiaryVisit,
        Mail,
        MailAttempt,
        PartMove,
        ShopText,
        Wish,
    )
    from fleetlog.domain.evidence import Answer, Calibration, CardText, Check, Measurement, Tool, Torque
    from fleetlog.domain.papers import Paper, PaperWithdrawal
    from fleetlog.domain.parts import Part
    from fleetlog.domain.promises import Advice, Term
    from fleetlog.domain.records import (
        Boat,
        Change,
        Correction,
        Deferral,
        Engine,
        Entry,
        Layup,
        LayupChange,
        Meter,
        Mount,
        Owner,
        Ownership,
        Reading,
        Visit,
        Void,
    )
    from fleetlog.domain.schedule import ScheduleText
    from fleetlog.domain.superseded import Supersession


FILLED_LATER = {
    "visits": "closed_on",
    "mounts": "to_on",
    "layups": "to_on",
    "tools": "retired_on",
    "terms": "withdrawn_on",
    "supersessions": "withdrawn_on",
    "wishes": "withdrawn_on",
}
"""The field of a kind that may be empty and be filled in once, later: all else of a row stays as it is."""


@dataclass(slots=True)
class Batch:
    """Rows by kind, in the order in which they refer to each other."""

    schedules: list[ScheduleText] = field(default_factory=list)
    owners: list[Owner] = field(default_factory=list)
    boats: list[Boat] = field(default_factory=list)
    engines: list[Engine] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)
    ownership: list[Ownership] = field(default_factory=list)
    layups: list[Layup] = field(default_factory=list)
    layup_changes: list[LayupChange] = field(default_factory=list)
    mounts: list[Mount] = field(default_factory=list)
    corrections: list[Correction] = field(default_factory=list)
    meters: list[Meter] = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)
    visits: list[Visit] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)
    voids: list[Void] = field(default_factory=list)
    deferrals: list[Deferral] = field(default_factory=list)
    cards: list[CardText] = field(default_factory=list)
    tools: list[Tool] = field(default_factory=list)
    calibrations: list[Calibration] = field(default_factory=list)
    torques: list[Torque] = field(default_factory=list)
    measurements: list[Measurement] = field(default_factory=list)
    checks: list[Check] = field(default_factory=list)
    answers: list[Answer] = field(default_factory=list)
    papers: list[Paper] = field(default_factory=list)
    paper_withdrawals: list[PaperWithdrawal] = field(default_factory=list)
    terms: list[Term] = field(default_factory=list)
    advice: list[Advice] = field(default_factory=list)
    supersessions: list[Supersession] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    shop: list[ShopText] = field(default_factory=list)
    wishes: list[Wish] = field(default_factory=list)
    bookings: list[Booking] = field(default_factory=list)
    plans: list[DiaryPlan] = field(default_factory=list)
    plan_visits: list[DiaryVisit] = field(default_factory=list)
    part_moves: list[PartMove] = field(default_factory=list)
    mails: list[Mail] = field(default_factory=list)
    mail_attempts: list[MailAttempt] = field(default_factory=list)

    def by_kind(self) -> Iterator[tuple[str, list[Any]]]:
        """The rows of each kind."""
        return ((f.name, getattr(self, f.name)) for f in fields(self))

    def counts(self) -> dict[str, int]:
        """How many rows of each kind there are, kinds without any left out."""
        return {kind: len(rows) for kind, rows in self.by_kind() if rows}

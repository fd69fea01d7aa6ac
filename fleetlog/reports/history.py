"""What was done to an engine, rebuild by rebuild and visit by visit, the newest first.

Names of owners are no part of it: the history stays with the engine when the boat is sold.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

from fleetlog.domain.evidence_text import Row, standing_out
from fleetlog.domain.fleet import EngineState
from fleetlog.domain.hours import hours_text
from fleetlog.domain.papers import PaperStanding
from fleetlog.domain.rebuild import is_carried_over, is_left, is_put_back_used, unanswered
from fleetlog.domain.records import Entry, Visit, Void
from fleetlog.domain.stints import entry_order
from fleetlog.domain.words import with_position
from fleetlog.reports.names import rebuild_page_path
from fleetlog.reports.paper_views import PaperView, paper_views, papers_seen
from fleetlog.reports.words import (
    at_least,
    capital,
    counted,
    day_text,
    days_told,
    hours_shown,
    listed,
    months_shown,
    part_text,
    span_text,
)


@dataclass(frozen=True, slots=True)
class VoidedView:
    """Who took an entry back, when and why, and what stands in its place."""

    by: str
    on: str
    reason: str
    replaced_by: str


@dataclass(frozen=True, slots=True)
class EntryView:
    """One entry as a row of a visit; `written_down` says by whom and when where the visit does not."""

    on: str
    hours: str
    what: str
    part: str
    details: Sequence[str]
    by: str
    checked_by: str
    written_down: str
    voided: VoidedView | None


@dataclass(frozen=True, slots=True)
class VisitView:
    """Entries made together, and what the boat came in for.

    Where all were made on one day at the same hours, the heading says so and the rows need not. Each
    rebuild among them has a page of its own in `rebuild_pages`.
    """

    anchor: str
    heading: str
    facts: Sequence[tuple[str, str]]
    is_rebuild: bool
    is_one_moment: bool
    rebuild_lists: Sequence[tuple[str, str]]
    entries: Sequence[EntryView]
    rebuild_pages: Sequence[str]
    papers: Sequence[PaperView]


@dataclass(frozen=True, slots=True)
class Chapter:
    """The visits since a rebuild, or since the engine was new or joined the log."""

    heading: str
    visits: Sequence[VisitView]


@dataclass(slots=True)
class _Group:
    visit: Visit | None
    entries: list[Entry] = field(default_factory=list)
    evidence: list[tuple[str, Row]] = field(default_factory=list)
    papers: list[PaperStanding] = field(default_factory=list)

    @property
    def days(self) -> list[date]:
        """The days of the work; of papers alone, theirs: a bill comes weeks later."""
        done = [e.on for e in self.entries] + [row.on for _, row in self.evidence]
        return done or [one.paper.taken_on for one in self.papers]

    @property
    def order(self) -> tuple[date, int]:
        return max(self.days), max((e.sequence for e in self.entries), default=0)


def chapters(state: EngineState, today: date) -> list[Chapter]:
    """The history of an engine as seen on a day, newest first; each rebuild ends the chapter above it."""
    voids = {v.entry_id: v for v in state.ledger.voids if v.voided_at.date() <= today}
    found: list[Chapter] = []
    visits: list[VisitView] = []
    for place, group in enumerate(_groups(state, today)):
        visits.append(_visit(state, group, voids, f"visit-{place + 1}"))
        rebuilds = [e for e in group.entries if e.action == "rebuilt" and e.entry_id not in voids]
        if rebuilds:
            scopes = listed(list(dict.fromkeys(e.scope or "engine" for e in rebuilds)))
            at = _hours(state, rebuilds[-1])
            found.append(
                Chapter(
                    f"Since the {scopes} rebuild of {day_text(rebuilds[-1].on)}" + (f", {at}" if at else ""),
                    visits,
                )
            )
            visits = []
    if visits or not found:
        found.append(Chapter(_beginning(state, bool(found)), visits))
    return found


def _beginning(state: EngineState, has_rebuilds: bool) -> str:
    engine = state.facts.engine
    until = "Before that, " if has_rebuilds else ""
    since = f" on {day_text(engine.in_service_on)}" if engine.in_service_on else ""
    if engine.logged_from_new:
        return capital(f"{until}since new{since}")
    return capital(f"{until}since it joined the log used" + (f"; in service{since}" if since else ""))


def _groups(state: EngineState, today: date) -> list[_Group]:
    groups: dict[tuple[str, str], _Group] = {}

    def group_of(visit_id: str | None, on: date) -> _Group:
        key = ("visit", visit_id) if visit_id is not None else ("day", on.isoformat())
        visit = state.ledger.visits.get(visit_id) if visit_id is not None else None
        return groups.setdefault(key, _Group(visit))

    for entry in state.ledger.entries:
        if entry.on <= today:
            group_of(entry.visit_id, entry.on).entries.append(entry)
    for about, row in state.ledger.evidence.rows():
        if row.on <= today:
            group_of(row.visit_id, row.on).evidence.append((about, row))
    for one in papers_seen(state):
        group_of(one.paper.visit_id, one.paper.taken_on).papers.append(one)
    return sorted(groups.values(), key=lambda g: g.order, reverse=True)


def _visit(state: EngineState, group: _Group, voids: dict[str, Void], anchor: str) -> VisitView:
    visit = group.visit
    entries = sorted(group.entries, key=entry_order)
    days = group.days
    if visit is not None:
        days += [
            day for day in (visit.opened_on, visit.closed_on) if day is not None and day <= state.seen.today
        ]
    standing = [e for e in entries if e.entry_id not in voids]
    is_rebuild = any(e.action == "rebuilt" for e in standing)
    written = _mostly_written_down(state, entries)
    rows = [_entry(state, e, voids.get(e.entry_id), written) for e in entries]
    moments = {(row.on, row.hours) for row in rows if row.voided is None}
    is_one_moment = len(moments) == 1 and all(row.on == rows[0].on for row in rows)
    heading = span_text(min(days), max(days))
    if is_one_moment and rows and standing:
        at = _hours(state, standing[0])
        heading += f", {at}" if at else ""
    if visit is not None and visit.why:
        heading += f": {visit.why}"
    return VisitView(
        anchor,
        heading,
        [
            *_visit_facts(visit),
            *_evidence_facts(state, group),
            *([("Written down", written)] if written else []),
        ],
        is_rebuild,
        is_one_moment,
        [*_rebuild_lists(standing), *_said_nothing_of(state, standing)] if is_rebuild else (),
        rows,
        [rebuild_page_path(state.serial, e.entry_id) for e in standing if e.action == "rebuilt"],
        paper_views(group.papers),
    )


def _mostly_written_down(state: EngineState, entries: Sequence[Entry]) -> str:
    """By whom, and when, most entries of a visit were written down; empty where that is not known."""
    told = Counter(text for e in entries if (text := _written_down(state, e)))
    return told.most_common(1)[0][0] if told else ""


def _written_down(state: EngineState, entry: Entry) -> str:
    by, at = state.written_down.get(entry.entry_id, (None, None))
    return "" if by is None or at is None else f"by {by} on {day_text(at.date())}"


def _evidence_facts(state: EngineState, group: _Group) -> Iterator[tuple[str, str]]:
    """How much evidence there is of a visit, and what stands out in it."""
    if not group.evidence:
        return
    kinds = Counter(type(row).__name__.lower() for _, row in group.evidence)
    yield "Evidence", listed([counted(count, kind) for kind, count in kinds.items()])
    flags = list(standing_out(group.evidence, state.ledger.evidence, state.seen.today))
    if flags:
        yield "Stands out", " ".join(f"{days_told(flag)}." for flag in flags)


def _visit_facts(visit: Visit | None) -> list[tuple[str, str]]:
    if visit is None:
        return []
    told = (
        ("Complaint", visit.complaint),
        ("Cause", visit.cause),
        ("Correction", visit.correction),
        ("Advised", visit.advised),
        ("Note", visit.note),
    )
    return [(name, text) for name, text in told if text]


def _rebuild_lists(entries: Sequence[Entry]) -> list[tuple[str, str]]:
    kinds: tuple[tuple[str, Callable[[Entry], bool]], ...] = (
        ("Rebuilt", lambda e: e.action == "rebuilt"),
        ("New or fitted", lambda e: e.action == "fitted"),
        ("Put back used, still owed", is_put_back_used),
        ("Carried over", is_carried_over),
        ("Looked at and left", is_left),
        ("Measured or looked at", lambda e: e.action == "inspected" and not is_left(e)),
    )
    lists = []
    for name, belongs in kinds:
        named = [_named(e) + (" (used)" if e.condition == "used" else "") for e in entries if belongs(e)]
        if named:
            lists.append((name, ", ".join(dict.fromkeys(named))))
    return lists


def _said_nothing_of(state: EngineState, entries: Sequence[Entry]) -> Iterator[tuple[str, str]]:
    """The work that counts as done with a rebuild though nothing says what was done."""
    silent = [
        with_position(rule.title, position)
        for rebuilt in entries
        if rebuilt.action == "rebuilt" and state.schedule is not None
        for rule, position in unanswered(state.schedule, rebuilt.scope or "", entries)
    ]
    if silent:
        yield "Counted as done with the rebuild; no entry says so", ", ".join(dict.fromkeys(silent))


def _named(entry: Entry) -> str:
    if entry.action == "rebuilt":
        return entry.scope or "engine"
    return with_position(entry.item or "engine", entry.position)


def _entry(state: EngineState, entry: Entry, void: Void | None, mostly: str) -> EntryView:
    what = f"{capital(_named(entry))} {entry.action}"
    if entry.condition == "used":
        what += " used"
    voided = None
    if void is not None:
        voided = VoidedView(void.by, day_text(void.voided_at.date()), void.reason, _replacement(state, void))
    return EntryView(
        day_text(entry.on),
        "" if void is not None else _hours(state, entry),
        what,
        part_text(entry.part_number, entry.lot),
        list(_details(entry)),
        entry.by or "",
        entry.checked_by or "",
        "" if (written := _written_down(state, entry)) == mostly else written,
        voided,
    )


def _hours(state: EngineState, entry: Entry) -> str:
    """Engine hours at an entry; `about` where they come from readings around it."""
    tenths = state.seen.hours.known_tenths_at(entry)
    if tenths is None:
        return ""
    own = entry.meter_tenths is not None and (entry.on, entry.meter_tenths) in state.seen.hours.by_figure
    return hours_shown(tenths) if own else f"about {hours_shown(tenths)}"


def _replacement(state: EngineState, void: Void) -> str:
    for entry in state.ledger.entries:
        if entry.entry_id == void.replaced_by:
            return f"{_named(entry)} {entry.action} on {day_text(entry.on)}"
    return ""


def _details(entry: Entry) -> Iterator[str]:
    prior = []
    if entry.prior_tenths is not None:
        prior.append(at_least(hours_shown(entry.prior_tenths), is_least=entry.prior_is_least))
    if entry.prior_months is not None:
        prior.append(months_shown(entry.prior_months))
    if prior:
        yield f"It had {' and '.join(prior)} already."
    if entry.from_serial:
        yield f"It came from engine {entry.from_serial}."
    if entry.reason:
        word = "The old one came off" if entry.action == "fitted" else "It came off"
        yield f"{word}: {entry.reason}."
    if entry.measured:
        yield f"Measured {entry.measured}{' ' + entry.unit if entry.unit else ''}."
    again = []
    if entry.again_tenths is not None:
        again.append(f"{hours_text(entry.again_tenths)} h")
    if entry.again_months is not None:
        again.append(months_shown(entry.again_months))
    if again:
        yield f"To be looked at again within {' or '.join(again)}."
    if entry.note:
        yield entry.note

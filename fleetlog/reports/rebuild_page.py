"""The page of one rebuild: found, new, put back and still owed, measured, drawn up and checked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from fleetlog.domain.evidence import Check, Measurement, Torque, band_text
from fleetlog.domain.evidence_text import Row, flags_of, standing_out, what_text
from fleetlog.domain.fleet import EngineState
from fleetlog.domain.ledger import Evidence
from fleetlog.domain.rebuild import is_carried_over, is_left, is_put_back_used, unanswered
from fleetlog.domain.records import Entry, Visit
from fleetlog.domain.satisfaction import put_back, same_visit, still_owed
from fleetlog.domain.units import converted, rounded, torque_shown
from fleetlog.domain.words import with_position
from fleetlog.reports.names import engine_page_path
from fleetlog.reports.paper_views import PaperView, paper_views, papers_seen
from fleetlog.reports.words import (
    at_least,
    capital,
    day_text,
    days_told,
    engine_kind,
    hours_shown,
    months_shown,
    sentence,
    span_text,
)


@dataclass(frozen=True, slots=True)
class ListedItem:
    """An item of the rebuild, what is told of it, and by whom."""

    name: str
    told: str
    by: str
    owed: str = ""


@dataclass(frozen=True, slots=True)
class TorqueView:
    """A torque: its place in the order, what was wanted, what was read, with what, and what stands out."""

    order: str
    joint: str
    applied: str
    wanted: str
    how: str
    by: str
    seen_by: str
    flags: Sequence[str]
    answers: Sequence[str]


@dataclass(frozen=True, slots=True)
class MeasurementView:
    """A figure before and after the work."""

    name: str
    found: str
    left: str
    limits: str
    flags: Sequence[str]
    answers: Sequence[str]


@dataclass(frozen=True, slots=True)
class CheckView:
    """A check, how it came out, and who saw it."""

    title: str
    result: str
    remark: str
    by: str
    seen_by: str
    is_off: bool
    answers: Sequence[str]


@dataclass(frozen=True, slots=True)
class CheckList:
    """The checks of one work card, or those made without one."""

    heading: str
    checks: Sequence[CheckView]


@dataclass(frozen=True, slots=True)
class RebuildView:
    """One rebuild of an engine."""

    title: str
    serial: str
    engine_page: str
    kind: str
    facts: Sequence[tuple[str, str]]
    stands_out: Sequence[str]
    items: Sequence[tuple[str, str, Sequence[ListedItem]]]
    counted_as_renewed: Sequence[str]
    measurements: Sequence[MeasurementView]
    torques: Sequence[TorqueView]
    checks: Sequence[CheckList]
    papers: Sequence[PaperView]


def rebuilds_of(state: EngineState) -> list[Entry]:
    """The rebuilds of an engine that stand on its day, the latest first."""
    return sorted(state.seen.rebuilds, key=lambda e: (e.on, e.sequence), reverse=True)


def rebuild_page(state: EngineState, rebuilt: Entry, today: date) -> RebuildView:
    """What the page of a rebuild says, as known on a day."""
    entries = [e for e in state.seen.entries if e is not rebuilt and same_visit(e, rebuilt)]
    evidence = state.ledger.evidence
    rows = [(about, row) for about, row in evidence.rows() if row.on <= today and same_visit(row, rebuilt)]
    rows = [(about, row) for about, row in rows if not evidence.is_withdrawn(about, today)]
    visit = state.ledger.visits.get(rebuilt.visit_id or "")
    engine = state.facts.engine
    scope = rebuilt.scope or "engine"
    silent = unanswered(state.schedule, scope, entries) if state.schedule else []
    return RebuildView(
        f"{capital(scope)} rebuild of engine {engine.serial}",
        engine.serial,
        engine_page_path(engine.serial),
        engine_kind(engine),
        list(_facts(state, rebuilt, entries, visit)),
        [days_told(flag) for flag in standing_out(rows, evidence, today)],
        list(_items(state, entries)),
        [with_position(rule.title, position) for rule, position in silent],
        list(_measurements(rows, evidence, today)),
        [_torque(about, row, evidence, today) for about, row in _in_order(rows)],
        list(_checks(rows, evidence, today)),
        paper_views(one for one in papers_seen(state) if one.paper.visit_id == rebuilt.visit_id),
    )


def _facts(
    state: EngineState, rebuilt: Entry, entries: Sequence[Entry], visit: Visit | None
) -> Iterator[tuple[str, str]]:
    days = [rebuilt.on, *(e.on for e in entries)]
    if visit is not None and visit.opened_on is not None:
        days.append(visit.opened_on)
    yield "When", span_text(min(days), max(days))
    tenths = state.seen.hours.known_tenths_at(rebuilt)
    if tenths is not None:
        yield "Engine hours", hours_shown(tenths)
    if visit is not None:
        yield (
            "Visit",
            visit.visit_id + (f", closed {day_text(visit.closed_on)}" if visit.closed_on else ", still open"),
        )
        for name in ("why", "complaint", "cause", "correction", "advised", "note"):
            text = getattr(visit, name)
            if text:
                yield "Why it came" if name == "why" else capital(name), text
    if rebuilt.note:
        yield "Details", rebuilt.note
    if rebuilt.by:
        yield "Done by", rebuilt.by
    if rebuilt.checked_by:
        yield "Checked by", rebuilt.checked_by
    by, at = state.written_down.get(rebuilt.entry_id, (None, None))
    if by is not None and at is not None:
        yield "Written down", f"by {by} on {day_text(at.date())}"


def _items(state: EngineState, entries: Sequence[Entry]) -> Iterator[tuple[str, str, list[ListedItem]]]:
    """The lists of the page: an anchor, a heading, the items."""
    looked = [e for e in entries if e.action == "inspected" and not is_left(e)]
    left = [e for e in entries if is_left(e) and (e.action == "inspected" or not _also_looked_at(e, entries))]
    for anchor, heading, chosen in (
        ("found", "Looked at, and what was found", looked),
        ("new", "New", [e for e in entries if e.action == "fitted"]),
        ("owed", "Put back used", [e for e in entries if _went_back_used(state, e)]),
        ("carried", "Carried over", [e for e in entries if is_carried_over(e)]),
        ("left", "Looked at and left as it is", left),
        ("other", "Also done", [e for e in entries if _is_other(e) and not _is_off_for_access(state, e)]),
    ):
        if chosen:
            yield anchor, heading, [_item(state, e) for e in chosen]


def _is_other(entry: Entry) -> bool:
    return entry.action in ("adjusted", "serviced", "removed")


def _is_off_for_access(state: EngineState, entry: Entry) -> bool:
    """Whether an item came off to get at others, and nothing says what went back: it counts as put back."""
    return entry.action == "removed" and put_back(state.seen, entry, entry.position)


def _went_back_used(state: EngineState, entry: Entry) -> bool:
    return is_put_back_used(entry) or _is_off_for_access(state, entry)


def _also_looked_at(entry: Entry, entries: Sequence[Entry]) -> bool:
    return any(
        e.action == "inspected" and is_left(e) and (e.item, e.position) == (entry.item, entry.position)
        for e in entries
    )


def _item(state: EngineState, entry: Entry) -> ListedItem:
    name = with_position(capital(entry.item or ""), entry.position)
    told = [text for text in (entry.part_number, f"lot {entry.lot}" if entry.lot else None) if text]
    if _is_off_for_access(state, entry):
        told.append("came off for access, and nothing says what went back")
    elif _is_other(entry):
        told.append(f"{entry.action}{f', {entry.reason}' if entry.reason else ''}")
    elif entry.reason:
        told.append(f"the old one came off: {entry.reason}")
    if entry.condition == "used":
        age = []
        if entry.prior_tenths is not None:
            age.append(at_least(hours_shown(entry.prior_tenths), is_least=entry.prior_is_least))
        age += [months_shown(entry.prior_months)] if entry.prior_months is not None else []
        told.append(f"used, with {' and '.join(age)} on it" if age else "used, its age not known")
    if entry.measured:
        told.append(f"measured {entry.measured}{f' {entry.unit}' if entry.unit else ''}")
    if entry.note:
        told.append(entry.note)
    by = entry.by or ""
    if entry.checked_by:
        by += f", checked by {entry.checked_by}" if by else f"checked by {entry.checked_by}"
    owed = _owed(state, entry) if _went_back_used(state, entry) else ""
    return ListedItem(name, sentence("; ".join(told)) if told else "", by, owed)


def _owed(state: EngineState, entry: Entry) -> str:
    """Whether a new one is still owed where the old one went back on, or since when it is there."""
    if state.schedule is None:
        return ""
    later = [
        e
        for e in state.seen.of_item(entry.item or "")
        if e.action == "fitted" and e.on > entry.on and e.position in (None, entry.position)
    ]
    if later:
        return f"Renewed on {day_text(min(e.on for e in later))}."
    for rule in state.schedule.rules_for(entry.item or ""):
        if rule.renew_when_disturbed and still_owed(state.seen, rule, entry.position):
            return f"Still owed: a new one at the next access{f' ({rule.access})' if rule.access else ''}."
    return "Its line stands where it stood before the rebuild."


def _answers(evidence: Evidence, about: str, today: date) -> list[str]:
    return [
        f"{capital(a.outcome)} on {day_text(a.on)} by {a.by}: {a.what}"
        for a in evidence.answers_to(about, today)
    ]


def _in_order(rows: Sequence[tuple[str, Row]]) -> list[tuple[str, Torque]]:
    """The torques as they were drawn up: by day, by the joint's place in the order, by pass."""
    torques = [(about, row) for about, row in rows if isinstance(row, Torque)]
    last = max((t.sequence_no or 0 for _, t in torques), default=0) + 1
    return sorted(
        torques, key=lambda t: (t[1].on, t[1].sequence_no or last, t[1].pass_no or 0, t[1].sequence)
    )


def _torque(about: str, torque: Torque, evidence: Evidence, today: date) -> TorqueView:
    order = "" if torque.sequence_no is None else str(torque.sequence_no)
    band = band_text(torque.low, torque.high)
    wanted = "" if torque.target is None else torque_shown(torque.target, torque.unit)
    if band:
        low_high = [
            f"{rounded(converted(limit, torque.unit, 'N·m'), 1):f}"
            for limit in (torque.low, torque.high)
            if limit is not None
        ]
        in_nm = "" if torque.unit == "N·m" else f" ({' to '.join(low_high)} N·m)"
        wanted = f"{wanted}, band {band}{in_nm}" if wanted else f"band {band}{in_nm}"
    tool = evidence.tools.get(torque.tool_id or "")
    how = [torque.threads or "", tool.tool.name if tool else "", torque.note or ""]
    return TorqueView(
        order,
        what_text(torque),
        torque.shown,
        wanted,
        "; ".join(text for text in how if text),
        torque.by or "",
        torque.checked_by or "",
        [days_told(flag) for flag in flags_of(torque, evidence)],
        _answers(evidence, about, today),
    )


def _measurements(
    rows: Sequence[tuple[str, Row]], evidence: Evidence, today: date
) -> Iterator[MeasurementView]:
    """One row a quantity of an item at a position, with what was found and what was left."""
    gathered: dict[tuple[str, str | None, str], list[tuple[str, Measurement]]] = {}
    for about, row in rows:
        if isinstance(row, Measurement):
            gathered.setdefault((row.item, row.position, row.quantity), []).append((about, row))
    for group in gathered.values():
        shown = {
            stage: [
                m.shown + (", outside its limits" if m.is_outside else "")
                for _, m in group
                if m.stage == stage
            ]
            for stage in ("found", "left", None)
        }
        last = group[-1][1]
        yield MeasurementView(
            capital(what_text(last)),
            ", ".join(shown["found"]),
            ", ".join((*shown["left"], *shown[None])),
            band_text(last.low, last.high),
            [days_told(flag) for _, m in group for flag in flags_of(m, evidence)],
            [answer for about, _ in group for answer in _answers(evidence, about, today)],
        )


def _checks(rows: Sequence[tuple[str, Row]], evidence: Evidence, today: date) -> Iterator[CheckList]:
    by_card: dict[str, list[CheckView]] = {}
    for about, row in rows:
        if not isinstance(row, Check):
            continue
        revision = f", revision {row.card_revision}" if row.card_revision else ""
        heading = f"Work card {row.card}{revision}" if row.card else "Checks without a card"
        view = CheckView(
            row.title,
            row.shown,
            row.reason or "",
            row.by or "",
            row.checked_by or "",
            row.is_off,
            _answers(evidence, about, today),
        )
        by_card.setdefault(heading, []).append(view)
    for heading, checks in by_card.items():
        yield CheckList(heading, checks)

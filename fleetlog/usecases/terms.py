"""Terms of warranty and useful life: recorded, listed with their end, withdrawn."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.due import DEFAULT_WINDOW_DAYS
from fleetlog.domain.fleet import EngineState
from fleetlog.domain.hour_record import AcceptedReading, HourRecord, hour_record
from fleetlog.domain.hours import hours_number
from fleetlog.domain.promises import TERM_KINDS, Term
from fleetlog.domain.satisfaction import seen_on
from fleetlog.domain.terms import TermStanding
from fleetlog.errors.naming import BadChoice
from fleetlog.errors.parts import TermWithoutEnd
from fleetlog.errors.recording import NoHourMeter
from fleetlog.store.log import Log
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.correcting import find_entry
from fleetlog.usecases.finding import find_item, find_position, find_row, find_serial, schedule_of
from fleetlog.usecases.fleet import fleet_state
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.recording import refuse_row


@dataclass(frozen=True, slots=True)
class TermSaid:
    """What a person says of a term. Hours are whole tenths, `starts_tenths` engine hours."""

    kind: str
    starts_on: date | None = None
    months: int | None = None
    tenths: int | None = None
    starts_tenths: int | None = None
    title: str | None = None
    item: str | None = None
    position: str | None = None
    entry_id: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True)
class AddedTerm:
    """A term as recorded, and whether a reading tells the engine hours at its start; else the one that
    stands for them, the first."""

    term: Term
    is_start_known: bool
    taken_from: AcceptedReading | None = None


@again_if_lost
def add_term(log: Log, occasion: Occasion, engine: str, said: TermSaid) -> AddedTerm:
    """Record a term of an engine, of an item, or of the repair that an entry tells of.

    With an entry it starts on that day, on that item, unless it is said otherwise. Raises TermWithoutEnd.
    """
    if said.kind not in TERM_KINDS:
        raise BadChoice("kind of term", said.kind, TERM_KINDS)
    if not said.months and not said.tenths:
        raise TermWithoutEnd
    with log.writing(occasion.by, occasion.at) as writer:
        serial = find_serial(writer, engine)
        ledger = writer.ledger(serial)
        if said.months is None and not ledger.engine.hour_meter:
            raise NoHourMeter(serial)
        schedule = schedule_of(ledger, writer.schedules())
        item, position, starts_on = said.item, said.position, said.starts_on
        if said.entry_id is not None:
            entry = find_entry(writer, said.entry_id)
            if entry.serial != serial:
                raise BadChoice("entry", entry.entry_id, (f"an entry of engine {serial}",))
            item, position = item or entry.item, position or entry.position
            starts_on = starts_on or entry.on
        if item is not None:
            item = find_item(seen_on(ledger, date.max), schedule, item, is_new_kind=True)
            position = None if position is None else find_position(schedule, item, position)
        term = Term(
            new_id("w"),
            serial,
            said.kind,
            starts_on or occasion.today,
            said.months,
            said.tenths,
            said.starts_tenths,
            said.title,
            item,
            position,
            said.entry_id,
            None,
            said.note,
            occasion.by,
        )
        refuse_row(term)
        writer.add(Batch(terms=[term]))
        return _added(term, hour_record(ledger, date.max))


def _added(term: Term, hours: HourRecord) -> AddedTerm:
    if term.tenths is None or term.starts_tenths is not None or not hours.metered:
        return AddedTerm(term, is_start_known=True)
    first = hours.first
    is_known = first is not None and (first.on <= term.starts_on or first.tenths == 0)
    return AddedTerm(term, is_known, None if is_known else first)


@again_if_lost
def withdraw_term(log: Log, occasion: Occasion, term_id: str, reason: str) -> Term:
    """Say that a term holds no longer from today on: entered wrongly, or ended early."""
    with log.writing(occasion.by, occasion.at) as writer:
        term: Term = find_row(writer, "term", "terms", term_id)
        writer.end("terms", term_id, occasion.today, reason)
        return term


def list_terms(log: Log, occasion: Occasion, engine: str | None, *, with_over: bool) -> list[dict[str, Any]]:
    """One row a term, of an engine or of all, the next to end first; over ones too if asked for."""
    with log.reading() as reader:
        serials = None
        if engine is not None:
            serials = [find_serial(reader, engine)]
        else:
            serials = [ledger.engine.serial for ledger in reader.ledgers() if ledger.terms]
        if not serials:
            return []
        state = fleet_state(reader, occasion.today, DEFAULT_WINDOW_DAYS, serials)
    rows = [
        _row(one, standing)
        for one in state.engines
        for standing in one.terms
        if with_over or not standing.is_over
    ]
    return sorted(rows, key=lambda r: (r["state"] != "runs", r["likely_on"] or date.max, r["serial"]))


def _row(state: EngineState, standing: TermStanding) -> dict[str, Any]:
    term, facts = standing.term, state.facts
    return {
        "term_id": term.term_id,
        "serial": term.serial,
        "boat": facts.boat.name if facts.boat else None,
        "owner": facts.owner.name if facts.owner else None,
        "kind": term.kind,
        "title": term.title,
        "item": term.item,
        "position": term.position,
        "starts_on": term.starts_on,
        "months": term.months,
        "hours": hours_number(term.tenths),
        "ends_on": standing.ends_on,
        "ends_at_hours": hours_number(standing.ends_tenths),
        "likely_on": standing.likely_on,
        "governs": standing.governs,
        "state": "over" if standing.is_over else "runs",
        "entry_id": term.entry_id,
        "note": term.note,
        "by": term.by,
    }

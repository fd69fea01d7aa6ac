"""Takes back what was entered wrongly, and moves limits out: nothing is edited, each says who and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from fleetlog.domain.batch import Batch
from fleetlog.domain.beyond import apart
from fleetlog.domain.interval import Standing, standings
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Deferral, Entry, Void
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.words import name_key, same_name
from fleetlog.errors.naming import Ambiguous, BadChoice, NotKnown, ReasonNeeded
from fleetlog.errors.recording import AlreadyVoided, DeferralWithoutEnd, NothingToVoid
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.finding import (
    ALL_POSITIONS,
    find_line,
    find_row,
    find_serial,
    needed_schedule,
    refuse_empty,
    schedule_of,
)
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.recording import refuse_problems, refuse_row


@again_if_lost
def void_entry(
    log: Log, occasion: Occasion, entry_id: str, reason: str, replaced_by: str | None
) -> tuple[Entry, list[Standing]]:
    """Void an entry, with a reason and, where there is one, the entry that replaces it.

    With it come the lines that a rebuild renews and of which no entry says what was done, now that this one
    is gone. Refused where it is voided already, or where the rest of the ledger cannot stand without it.
    """
    ReasonNeeded.unless(reason, f"voiding entry {entry_id}")
    with log.writing(occasion.by, occasion.at) as writer:
        entry = find_entry(writer, entry_id)
        ledger = writer.ledger(entry.serial)
        for earlier in ledger.voids:
            if earlier.entry_id == entry.entry_id:
                raise AlreadyVoided(entry.entry_id, earlier.voided_at.date(), earlier.by)
        if replaced_by is not None:
            replaced_by = find_entry(writer, replaced_by).entry_id
        void = Void(entry.entry_id, occasion.said_at, occasion.by, reason, replaced_by)
        refuse_row(void)
        without = replace(ledger, voids=(*ledger.voids, void))
        schedule = schedule_of(ledger, writer.schedules())
        refuse_problems(ledger, without, schedule)
        writer.add(Batch(voids=[void]))
        return entry, [] if schedule is None else _renewed_unsaid(ledger, without, schedule, occasion.today)


def _renewed_unsaid(
    before: EngineLedger, after: EngineLedger, schedule: Schedule, today: date
) -> list[Standing]:
    """The lines that count as renewed by a rebuild though no entry says so, and did not before."""

    def unsaid(ledger: EngineLedger) -> dict[tuple[str, str | None], Standing]:
        found = standings(apart(ledger)[0], schedule, today)[1]
        return {(s.rule.key, s.position): s for s in found if not s.rebuild_says_so}

    known = unsaid(before)
    return [standing for line, standing in unsaid(after).items() if line not in known]


@dataclass(frozen=True, slots=True)
class WithdrawnVisit:
    """The entries of a visit that were voided together, and how much of it stands: evidence, papers."""

    visit_id: str
    entries: Sequence[Entry]
    evidence: int
    papers: int


@again_if_lost
def void_visit(log: Log, occasion: Occasion, visit_id: str, reason: str) -> WithdrawnVisit:
    """Void all entries of a visit that stand, of every engine, with one reason: all of them or none.

    What was measured and checked in it, its papers and its booking stay as they are, as they do where entries
    are voided one by one. Refused where an engine's ledger cannot stand without them, and where none is left.
    """
    ReasonNeeded.unless(reason, f"voiding visit {visit_id}")
    with log.writing(occasion.by, occasion.at) as writer:
        find_row(writer, "visit", "visits", visit_id)
        schedules = writer.schedules()
        entries: list[Entry] = []
        evidence, papers = 0, set()
        for ledger in writer.ledgers(writer.serials_of_visit(visit_id)):
            own = [e for e in ledger.entries_on(date.max) if e.visit_id == visit_id]
            voids = [Void(e.entry_id, occasion.said_at, occasion.by, reason) for e in own]
            without = replace(ledger, voids=(*ledger.voids, *voids))
            refuse_problems(ledger, without, schedule_of(ledger, schedules))
            writer.add(Batch(voids=voids))
            entries += own
            evidence += sum(not ledger.evidence.is_withdrawn(i) for i, _ in ledger.evidence.rows(visit_id))
            taken_back = {withdrawal.paper_id for withdrawal in ledger.paper_withdrawals}
            papers |= {p.paper_id for p in ledger.papers if p.visit_id == visit_id} - taken_back
        if not entries:
            raise NothingToVoid(visit_id)
        return WithdrawnVisit(visit_id, entries, evidence, len(papers))


def find_entry(reader: Reader, entry_id: str) -> Entry:
    """The entry of that id."""
    found = reader.existing("entries", [entry_id])
    if not found:
        raise NotKnown("entry", entry_id, [], "fleetlog history shows the ids of entries")
    entry = found[entry_id]
    assert isinstance(entry, Entry)
    return entry


@again_if_lost
def defer_line(
    log: Log,
    occasion: Occasion,
    engine: str,
    rule: str,
    *,
    position: str | None,
    until_on: date | None,
    until_tenths: int | None,
    reason: str,
) -> Deferral:
    """Move the limits of a line out, to a day, to engine hours, or to both; the next interval is not moved.

    The engine maker's limit is not changed by it: the list goes on showing that the line is deferred, by
    whom and why.
    """
    if until_on is None and until_tenths is None:
        raise DeferralWithoutEnd(rule)
    ReasonNeeded.unless(reason, "a deferral")
    with log.writing(occasion.by, occasion.at) as writer:
        serial = find_serial(writer, engine)
        wanted, named = find_line(needed_schedule(writer.ledger(serial), writer.schedules()), rule)
        position = named if position is None else position
        if position is not None:
            position = None if same_name(position, ALL_POSITIONS) else _place(wanted.positions, position)
        deferral = Deferral(
            new_id("d"),
            serial,
            wanted.key,
            occasion.by,
            occasion.said_at,
            reason,
            position,
            until_on,
            until_tenths,
        )
        writer.add(Batch(deferrals=[deferral]))
        return deferral


def _place(positions: tuple[str, ...], typed: str) -> str:
    """The position of that name, in any case, else the one that has it in its name."""
    refuse_empty("position", typed)
    exact = [p for p in positions if same_name(p, typed)]
    matching = exact or [p for p in positions if name_key(typed) in name_key(p)]
    if len(matching) == 1:
        return matching[0]
    if matching:
        raise Ambiguous("position", typed, matching)
    raise BadChoice("position", typed, positions or ("(the rule has none)",))

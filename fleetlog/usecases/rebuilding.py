"""Records a rebuild as one visit: what was renewed, reused, carried over and left, and the evidence of it."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, timedelta

from fleetlog.domain.batch import Batch
from fleetlog.domain.evidence_text import open_points
from fleetlog.domain.hour_record import HeldReading, hour_record, newly_held
from fleetlog.domain.ledger import EngineLedger, Evidence
from fleetlog.domain.rebuild import (
    CARRIED_OVER,
    LEFT,
    FoundItem,
    OutlinedItem,
    RebuildForm,
    RebuildItem,
    outline,
    unanswered,
)
from fleetlog.domain.records import Entry, Visit
from fleetlog.domain.satisfaction import seen_on, still_owed
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.words import REBUILD_SCOPES, with_position
from fleetlog.errors.evidence import RebuildStaysOpen, RebuildUnanswered, ScopeResetsNothing
from fleetlog.errors.files import FormOfAnotherEngine
from fleetlog.errors.naming import BadChoice
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.store.writer import Writer
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.evidence import (
    Signed,
    WrittenEvidence,
    add_noted,
    end_visit,
    written,
)
from fleetlog.usecases.finding import find_serial, needed_schedule
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.recording import Work, entry_from, grown_by
from fleetlog.usecases.visit_of_work import add_visit, visit_left_out


@dataclass(frozen=True, slots=True)
class RebuildOutline:
    """An engine to be rebuilt: the items of which something has to be said, and the others on it now."""

    serial: str
    scope: str
    asked: list[OutlinedItem]
    others: list[OutlinedItem]


@dataclass(frozen=True, slots=True)
class RebuildRecorded:
    """The visit of a rebuild as it was written, with its rows, and what it leaves to be said; `held` are the
    figures that are held because of it."""

    visit: Visit
    is_closed: bool
    batch: Batch
    evidence: WrittenEvidence
    held: list[HeldReading]


def outline_rebuild(log: Log, occasion: Occasion, engine: str, scope: str) -> RebuildOutline:
    """What a rebuild of a scope will have to say of an engine's items.

    Raises NoSchedule, and ScopeResetsNothing where no rule of its schedule knows the scope.
    """
    with log.reading() as reader:
        ledger = reader.ledger(find_serial(reader, engine))
        schedule = needed_schedule(ledger, reader.schedules())
    asked, others = outline(seen_on(ledger, occasion.today), schedule, scope)
    if not asked:
        known = [s for s in REBUILD_SCOPES if any(s in rule.reset_by for rule in schedule.rules)]
        raise ScopeResetsNothing(schedule.name, scope, known)
    return RebuildOutline(ledger.engine.serial, scope, asked, others)


@again_if_lost
def record_rebuild(
    log: Log, occasion: Occasion, engine: str, scope: str | None, form: RebuildForm, *, dry_run: bool
) -> RebuildRecorded:
    """Write a whole rebuild, or refuse it whole; a dry run writes nothing, and tells what would be written.

    Raises FormOfAnotherEngine, RebuildUnanswered where it says nothing of a line that it resets,
    VisitIsClosed, RebuildStaysOpen or VisitStaysOpen where it is to be closed with something off by the form
    or from before, EntryRefused, NotKnown.
    """
    recorded: list[RebuildRecorded] = []
    with suppress(_OnlyTried), log.writing(occasion.by, occasion.at) as writer:
        recorded.append(_write(writer, occasion, find_serial(writer, engine), scope, form))
        if dry_run:
            raise _OnlyTried
    return recorded[0]


class _OnlyTried(Exception):
    """Leaves a transaction without a trace, when all of it was right."""


def _write(
    writer: Writer, occasion: Occasion, serial: str, scope: str | None, form: RebuildForm
) -> RebuildRecorded:
    if find_serial(writer, form.serial) != serial:
        raise FormOfAnotherEngine(form.serial, serial)
    if scope is not None and scope != form.scope:
        raise BadChoice("scope of the form", form.scope, [scope])
    for day in filter(None, (form.on, form.opened_on, form.closed_on)):
        occasion.refuse_future("a rebuild", day)
    ledger = writer.ledger(serial)
    schedule = needed_schedule(ledger, writer.schedules())
    batch = Batch()
    facts = {name: text for name, text in form.visit_facts.items() if text}
    visit_id = form.visit_id or new_id("v")
    named = Visit(visit_id, None, form.opened_on or form.on, **facts)  # type: ignore[arg-type]
    outside = visit_left_out(writer, form.visit_id, form.on, ledger.boat_id_on)
    visit = add_visit(writer, batch, named, form.on, ledger.boat_id_on)
    batch.entries = _Entries(writer, occasion, ledger, schedule, form, visit).rows()
    silent = unanswered(schedule, form.scope, batch.entries)
    if silent:
        raise RebuildUnanswered(
            form.scope, [with_position(rule.title, position) for rule, position in silent]
        )
    grown = grown_by(ledger, schedule, batch.entries)
    signed = Signed(serial, form.on, form.by or occasion.by, visit_id, form.checked_by)
    add_noted(writer, batch, form.evidence, signed)
    _refuse_to_close(form, batch)
    writer.add(batch)
    if form.closed_on is not None:
        end_visit(writer, visit, form.closed_on)
    held = newly_held(ledger, hour_record(grown, date.max))
    evidence = written(writer, serial, visit_id, batch, outside)
    return RebuildRecorded(visit, form.closed_on is not None, batch, evidence, held)


def _refuse_to_close(form: RebuildForm, batch: Batch) -> None:
    """Raises RebuildStaysOpen where the form closes the visit over what is off by its own evidence."""
    torques, measurements, checks = tuple(batch.torques), tuple(batch.measurements), tuple(batch.checks)
    evidence = Evidence(torques, measurements, checks, tuple(batch.answers))
    off = [point.text for point in open_points(evidence)]
    if off and form.closed_on is not None:
        raise RebuildStaysOpen(form.closed_on, off)


class _Entries:
    """The entries that a form comes to."""

    def __init__(
        self,
        reader: Reader,
        occasion: Occasion,
        ledger: EngineLedger,
        schedule: Schedule,
        form: RebuildForm,
        visit: Visit,
    ) -> None:
        self.reader, self.occasion, self.schedule, self.form = reader, occasion, schedule, form
        self.ledger, self.visit = ledger, visit
        self.before = seen_on(ledger, (visit.opened_on or form.on) - timedelta(days=1))

    def rows(self) -> list[Entry]:
        """What was found, then the items, then the rebuild itself."""
        form = self.form
        rows = [self._found(found) for found in form.found]
        for item in form.items:
            rows.extend(self._item(item))
        rebuilt = Work("rebuilt", form.on, scope=form.scope, note=form.note)
        rows.append(self._entry(rebuilt, form.by, form.checked_by))
        return rows

    def _found(self, found: FoundItem) -> Entry:
        on = found.on or self.visit.opened_on or self.form.on
        work = Work(
            "inspected",
            on,
            found.item,
            found.position or "all",
            measured=found.measured,
            unit=found.unit,
            note=found.note or None,
            is_new_kind=True,
        )
        return self._entry(work, found.by, None)

    def _item(self, item: RebuildItem) -> list[Entry]:
        work = Work(
            "inspected",
            item.on or self.form.on,
            item.item,
            item.position or "all",
            note=item.note,
            is_new_kind=True,
        )
        if item.answer == "renewed":
            work = replace(
                work,
                action="fitted",
                part_number=item.part_number,
                lot=item.lot,
                is_used=item.is_used,
                prior_tenths=item.prior_tenths,
                prior_months=item.prior_months,
                from_serial=item.from_serial,
                reason=item.why_off,
            )
        elif item.answer == "reused":
            work = replace(work, action="reused")
        elif item.answer == "carried over":
            work = replace(work, action="reused", note=_after(CARRIED_OVER, item.note))
        elif item.answer == "left":
            work = replace(work, note=_after(LEFT, item.note))
        else:
            work = replace(work, action=item.answer)
        entries = [self._entry(work, item.by, item.checked_by)]
        if item.answer == "left" and self._stands(entries[0]):
            put_back = replace(work, action="reused", note=LEFT)
            entries.append(self._entry(put_back, item.by, item.checked_by))
        return entries

    def _stands(self, looked_at: Entry) -> bool:
        """Whether the line of an item that was left needs a word to stand where it stood before the rebuild.

        So it is for rules that replace; for one renewed when disturbed only where it was owed before.
        """
        for rule in self.schedule.rules_for(looked_at.item or ""):
            if rule.action != "replace" or self.form.scope not in rule.reset_by:
                continue
            if not rule.renew_when_disturbed or still_owed(self.before, rule, looked_at.position):
                return True
        return False

    def _entry(self, work: Work, by: str | None, checked_by: str | None) -> Entry:
        """An entry of the form; one of its day has what the meter showed, which may run on by evening."""
        signed = replace(
            work,
            visit_id=self.visit.visit_id,
            done_by=by or self.form.by,
            checked_by=checked_by or self.form.checked_by,
            hours_tenths=self.form.hours_tenths if work.on == self.form.on else None,
            are_engine_hours=self.form.are_engine_hours,
        )
        return entry_from(self.reader, self.occasion, self.ledger, self.schedule, signed)


def _after(words: str, note: str | None) -> str:
    return f"{words}: {note}" if note else words

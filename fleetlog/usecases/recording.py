"""Records what was done to an engine: one entry, checked against the rules of the ledger, written whole."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.condition import not_judged
from fleetlog.domain.habit import times_above_habit
from fleetlog.domain.hour_record import (
    AcceptedReading,
    Fall,
    HeldReading,
    before_its_start,
    hour_record,
    newly_held,
)
from fleetlog.domain.hours import hours_text
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.ledger_rules import ledger_problems, taken_off_twice
from fleetlog.domain.problems import LedgerProblem
from fleetlog.domain.records import Entry, Visit
from fleetlog.domain.row_rules import rule_for
from fleetlog.domain.satisfaction import not_counted, seen_on
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.words import REBUILD_SCOPES, REMOVAL_REASONS, name_key, said_text
from fleetlog.errors.naming import BadChoice
from fleetlog.errors.recording import (
    AboveWhatFollows,
    BelowTheMeter,
    EntryRefused,
    NoHourMeter,
    NotConfirmed,
    RowRefused,
)
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.store.writer import Writer
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.asking import Ask, asked_between
from fleetlog.usecases.finding import find_item, find_position, find_serial, schedule_of
from fleetlog.usecases.item_age import with_age_looked_up
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.visit_of_work import add_visit, visit_left_out


@dataclass(frozen=True, slots=True)
class Work:
    """What a person says was done. `hours_tenths` is what the meter showed, or engine hours if so said."""

    action: str
    on: date
    item: str | None = None
    position: str | None = None
    scope: str | None = None
    hours_tenths: int | None = None
    are_engine_hours: bool = False
    part_number: str | None = None
    lot: str | None = None
    is_used: bool = False
    prior_tenths: int | None = None
    prior_months: int | None = None
    from_serial: str | None = None
    reason: str | None = None
    again_tenths: int | None = None
    again_months: int | None = None
    measured: str | None = None
    unit: str | None = None
    visit_id: str | None = None
    note: str | None = None
    done_by: str | None = None
    checked_by: str | None = None
    is_new_kind: bool = False


@dataclass(frozen=True, slots=True)
class JudgedFigure:
    """What an engine's hour meter showed on a day, as it was recorded, and what is odd about it.

    `held` says what it conflicts with, `above_habit` how many times the hours a day that the engine usually
    runs it means. `others_held` are figures that were accepted and are held now because of it. `starts_on` is
    the day on which a new engine starts at 0 h, where the figure is said of an earlier one.
    """

    serial: str
    on: date
    meter_tenths: int
    held: HeldReading | None
    above_habit: float | None
    others_held: tuple[HeldReading, ...]
    starts_on: date | None


@dataclass(frozen=True, slots=True)
class Recorded:
    """An entry as it was written, and its figure, if it has one of its own.

    `outside` is the open visit of the boat on the day, where the entry is in none. `said_before` is an entry
    of the day that says the same. `not_judged` says that the schedule's limit cannot be compared with what
    was measured, `not_counted` why the work counts for no line. `first` is the first reading of the engine,
    where the work is from before it and gives no hours: nothing tells them.
    """

    entry: Entry
    figure: JudgedFigure | None
    outside: Visit | None
    said_before: Entry | None
    not_judged: str | None
    not_counted: str | None
    first: AcceptedReading | None


@asked_between
@again_if_lost
def record_work(log: Log, occasion: Occasion, engine: str, work: Work, *, ask: Ask) -> Recorded:
    """Write one entry, or refuse it whole with what is wrong.

    A figure far above the engine's habit is asked about, and accepted where nobody can answer.
    Raises PositionNeeded where the schedule has the item at several places and none is said.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        ledger = writer.ledger(find_serial(writer, engine))
        schedule = schedule_of(ledger, writer.schedules())
        entry = entry_from(writer, occasion, ledger, schedule, work)
        return write_entry(writer, ledger, schedule, entry, ask)


def write_entry(
    writer: Writer, ledger: EngineLedger, schedule: Schedule | None, entry: Entry, ask: Ask | None
) -> Recorded:
    """Add an entry to the ledger of its engine, after the ledger's rules were asked.

    Without `ask` its figure is not judged: another entry has the same, and was judged by it.
    """
    grown = grown_by(ledger, schedule, [entry])
    tenths = entry.meter_tenths
    figure = None
    if tenths is not None and ask is not None:
        figure = judged_figure(ledger, grown, entry.on, tenths, ask)
    batch = Batch(entries=[entry])
    outside = visit_left_out(writer, entry.visit_id, entry.on, ledger.boat_id_on)
    if entry.visit_id is not None:
        named = Visit(entry.visit_id, None, entry.on)
        add_visit(writer, batch, named, entry.on, ledger.boat_id_on, late=True)
    writer.add(batch)
    odd = not_judged(schedule, entry) if entry.measured is not None else None
    uncounted = not_counted(schedule, entry) if schedule is not None else None
    first = None if tenths is not None else hour_record(grown, date.max).first_after_unread([entry])
    return Recorded(entry, figure, outside, _said_before(ledger, entry), odd, uncounted, first)


def _said_before(ledger: EngineLedger, entry: Entry) -> Entry | None:
    """An entry that stands and says that the same was done to the same item on the same day.

    Where another figure was measured it was looked at twice.
    """
    said = _what_was_done(entry)
    for other in ledger.entries_on(date.max):
        is_same = None in (other.measured, entry.measured) or other.measured == entry.measured
        if is_same and _what_was_done(other) == said:
            return other
    return None


def _what_was_done(entry: Entry) -> tuple[date, str, str, str | None, str | None]:
    return entry.on, entry.action, name_key(entry.item or ""), entry.position, entry.scope


def judged_figure(
    before: EngineLedger, after: EngineLedger, on: date, meter_tenths: int, ask: Ask, whose: str = ""
) -> JudgedFigure:
    """What is odd about a figure of a day that a ledger has `after` and did not have `before`.

    One that is many times the engine's habit is asked about, with the words for `whose` it is. Raises
    NotConfirmed where the answer is no.
    """
    record = hour_record(after, date.max)
    held = record.held_figure(on, meter_tenths)
    times = None if held is not None else times_above_habit(before, on, meter_tenths)
    if times is not None:
        what = f"{whose} {hours_text(meter_tenths)} h on {on.isoformat()}".lstrip()
        if ask(f"{what} means {times:.0f} times the hours a day it usually runs. Is that right?") is False:
            raise NotConfirmed(what)
    return JudgedFigure(
        before.engine.serial,
        on,
        meter_tenths,
        held,
        times,
        tuple(one for one in newly_held(before, record) if one is not held),
        before_its_start(before.engine, on, meter_tenths),
    )


def grown_by(ledger: EngineLedger, schedule: Schedule | None, entries: Iterable[Entry]) -> EngineLedger:
    """The ledger with more entries.

    Raises EntryRefused for work that breaks a rule and for what is taken off a second time, and
    AboveWhatFollows as `refuse_above_what_follows` does.
    """
    grown = ledger.with_entries(entries)
    refuse_problems(ledger, grown, schedule)
    refuse_above_what_follows(ledger, grown)
    _refuse_new(taken_off_twice(ledger), taken_off_twice(grown))
    return grown


def refuse_row(row: Any) -> None:
    """Raise RowRefused for the first rule that a row breaks by itself."""
    rule = rule_for(type(row))
    for field, expected in () if rule is None else rule(row):
        raise RowRefused(field, getattr(row, field), expected)


def refuse_problems(before: EngineLedger, after: EngineLedger, schedule: Schedule | None) -> None:
    """Raise EntryRefused for the first rule that the grown ledger breaks and the old one kept."""
    _refuse_new(ledger_problems(before, schedule), ledger_problems(after, schedule))


def _refuse_new(before: Iterable[LedgerProblem], after: Iterable[LedgerProblem]) -> None:
    known = set(before)
    for problem in after:
        if problem not in known:
            raise EntryRefused(problem.field, problem.value, problem.expected)


def refuse_above_what_follows(before: EngineLedger, after: EngineLedger) -> None:
    """Raise AboveWhatFollows for a figure after which engine hours go back, by a later change of meter."""
    for fall in new_falls(before, after):
        raise AboveWhatFollows(
            after.engine.serial,
            hours_text(fall.below.tenths),
            fall.below.on,
            hours_text(fall.tenths),
            fall.on,
            by_meter=fall.meter_tenths is None,
        )


def new_falls(before: EngineLedger, after: EngineLedger) -> list[Fall]:
    """Where engine hours go back in the grown ledger, as they did not before.

    They do so only by a change of meter or a confirmed figure.
    """
    if not after.meters and not any(reading.status == "confirmed" for reading in after.readings):
        return []
    known = hour_record(before, date.max).falls
    return [fall for fall in hour_record(after, date.max).falls if fall not in known]


def entry_from(
    reader: Reader, occasion: Occasion, ledger: EngineLedger, schedule: Schedule | None, work: Work
) -> Entry:
    """The entry that says what was done, in the spelling of the schedule; refused where it cannot be."""
    occasion.refuse_future("work", work.on)
    item: str | None = None
    position: str | None = None
    if work.item is not None:
        item = find_item(seen_on(ledger, date.max), schedule, work.item, is_new_kind=work.is_new_kind)
        position = find_position(schedule, item, work.position)
    elif work.action == "rebuilt" and work.scope not in REBUILD_SCOPES:
        raise BadChoice("scope", work.scope or "", REBUILD_SCOPES)
    if work.reason is not None and work.reason not in REMOVAL_REASONS:
        raise BadChoice("reason", work.reason, REMOVAL_REASONS)
    entry = Entry(
        entry_id=new_id("e"),
        serial=ledger.engine.serial,
        on=work.on,
        action=work.action,
        visit_id=work.visit_id,
        meter_tenths=meter_figure(ledger, work.on, work.hours_tenths, are_engine_hours=work.are_engine_hours),
        scope=work.scope,
        item=item,
        position=position,
        part_number=said_text(work.part_number),
        lot=said_text(work.lot),
        condition=_condition(work),
        prior_tenths=work.prior_tenths,
        prior_months=work.prior_months,
        from_serial=None if work.from_serial is None else find_serial(reader, work.from_serial),
        reason=work.reason,
        again_tenths=work.again_tenths,
        again_months=work.again_months,
        measured=said_text(work.measured),
        unit=said_text(work.unit),
        note=said_text(work.note),
        by=work.done_by or occasion.by,
        checked_by=work.checked_by,
    )
    return with_age_looked_up(reader, entry, occasion.today)


def _condition(work: Work) -> str | None:
    if work.action != "fitted":
        return None
    age = (work.prior_tenths, work.prior_months)
    return "used" if work.is_used or work.from_serial is not None or age != (None, None) else "new"


def meter_figure(
    ledger: EngineLedger, on: date, hours_tenths: int | None, *, are_engine_hours: bool
) -> int | None:
    """What the meter showed: the hours as given, or found through the meters from engine hours."""
    if hours_tenths is None:
        return None
    if not ledger.engine.hour_meter:
        raise NoHourMeter(ledger.engine.serial)
    if not are_engine_hours:
        return hours_tenths
    hours = hour_record(ledger, date.max)
    shown = hours.meter_tenths(on, hours_tenths)
    if shown < 0:
        least = hours_text(hours.engine_tenths(on, 0))
        raise BelowTheMeter(ledger.engine.serial, on, hours_text(hours_tenths), least)
    return shown

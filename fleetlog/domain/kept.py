"""What is kept of an engine's due lines so that a list need not work them out, and for which days it holds.

What is kept are limits and dates, the output of the interval engine; states follow from them and the day.
A kept engine serves every day of its span: on each of them a fresh computation comes to the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from operator import attrgetter
from typing import NamedTuple

from fleetlog.domain.conditions import mount_days
from fleetlog.domain.due import DueLine, EngineLimits, always_on_lists, is_put_off, place_in_list, state_on
from fleetlog.domain.hours import Tenths, rounded_tenths
from fleetlog.domain.interval import JOINED, UNKNOWN, Standing
from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.records import fact_from_text
from fleetlog.domain.schedule import Rule, Schedule
from fleetlog.domain.usage import DateWindow
from fleetlog.domain.values import value_class


@value_class(frozen=True, slots=True)
class KeptLine:
    """One line as it is kept. Hours are whole tenths as they are shown.

    `always` is the state of a line that stands on every list (no record, next access, or overdue by a
    reading); `shows_on` is the first day on which a list without any look ahead has it, None for never. What
    came off on `off_on`, with nothing put on since, is told whatever the line's state, and so is what was put
    off.
    """

    rule: str
    position: str | None
    last_done_on: date | None
    last_done_tenths: int | None
    due_on: date | None
    due_tenths: int | None
    governs: str | None
    early_on: date | None
    likely_on: date | None
    late_on: date | None
    deferred_on: date | None
    deferred_tenths: int | None
    always: str | None
    off_on: date | None
    shows_on: date | None


@value_class(frozen=True, slots=True)
class KeptEngine:
    """An engine's lines in the order of its schedule, and what they have in common.

    They hold from `first_on` to `last_on`, with the parameters of the forecast named by `fit`. `held` counts
    the readings that are held; the first line of an engine that has some always shows, so that a list tells.
    """

    serial: str
    first_on: date
    last_on: date
    fit: str
    boat_id: str | None
    owner_id: str | None
    read_on: date | None
    read_tenths: int | None
    basis: str
    held: int
    lines: tuple[KeptLine, ...]


class ListedLine(NamedTuple):
    """A line of a due list on a day, as a person or a script reads it. Hours are whole tenths.

    `boat` and `owner` are names; `off_on` is the day on which the item came off, where nothing put on since
    is on record; `why` is the reason in plain sentences where it was asked for.
    """

    serial: str
    boat: str | None
    boat_id: str | None
    owner: str | None
    owner_id: str | None
    rule: Rule
    position: str | None
    state: str
    last_done_on: date | None
    last_done_tenths: int | None
    due_on: date | None
    due_tenths: int | None
    governs: str | None
    early_on: date | None
    likely_on: date | None
    late_on: date | None
    engine_tenths: int | None
    engine_read_on: date | None
    deferred_on: date | None
    deferred_tenths: int | None
    off_on: date | None
    why: str = ""

    @property
    def is_put_off(self) -> bool:
        """Whether it comes later as it was put off."""
        return is_put_off(
            self.state, (self.due_on, self.due_tenths), (self.deferred_on, self.deferred_tenths)
        )

    @property
    def order(self) -> tuple[int, date, str, int, int]:
        """Its place in a list."""
        return place_in_list(self.state, self.likely_on, self.serial, self.rule, self.position)


def kept_line(line: DueLine) -> KeptLine:
    """What is kept of a line."""
    window, deferral = line.window, line.deferral
    always = always_on_lists(line.standing, line.facts.last_reading)
    off_on = _off_on(line)
    return KeptLine(
        line.rule.key,
        line.position,
        line.last_done_on,
        _shown(line.last_done_tenths),
        line.due_on,
        _shown(line.due_tenths),
        line.governs,
        window.early_on if window else None,
        line.likely_on,
        window.late_on if window else None,
        deferral.until_on if deferral else None,
        deferral.until_tenths if deferral else None,
        always,
        off_on,
        date.min if always or off_on or deferral else line.likely_on,
    )


def due_line_of(limits: EngineLimits, standing: Standing, kept: KeptLine, within_days: int) -> DueLine:
    """A line whose limits come from the ledger and whose dates are kept, for saying why it stands there."""
    window = None
    if kept.early_on is not None and kept.likely_on is not None and kept.late_on is not None:
        window = DateWindow(kept.early_on, kept.likely_on, kept.late_on)
    today = limits.seen.today
    until_on = today + timedelta(days=within_days)
    state = state_on(today, until_on, kept.always, kept.due_on, kept.likely_on)
    return DueLine(limits.facts, standing, state, kept.governs, window)


def listed_line(line: DueLine, why: str) -> ListedLine:
    """A line as a list shows it."""
    facts, window, deferral = line.facts, line.window, line.deferral
    return ListedLine(
        line.serial,
        facts.boat.name if facts.boat else None,
        facts.boat.boat_id if facts.boat else None,
        facts.owner.name if facts.owner else None,
        facts.owner_id,
        line.rule,
        line.position,
        line.state,
        line.last_done_on,
        _shown(line.last_done_tenths),
        line.due_on,
        _shown(line.due_tenths),
        line.governs,
        window.early_on if window else None,
        window.likely_on if window else None,
        window.late_on if window else None,
        facts.last_reading.tenths if facts.last_reading else None,
        facts.last_reading.on if facts.last_reading else None,
        deferral.until_on if deferral else None,
        deferral.until_tenths if deferral else None,
        _off_on(line),
        why,
    )


def listed_in_order(lines: Iterable[ListedLine]) -> list[ListedLine]:
    """Lines in the order of a list: state, likely date, serial, rule, position."""
    return sorted(lines, key=attrgetter("order"))


def _off_on(line: DueLine) -> date | None:
    off = line.standing.off
    return None if off is None else off.on


def _shown(tenths: Tenths | None) -> int | None:
    return None if tenths is None else rounded_tenths(tenths)


# For which days it holds


def days_alike(facts: Iterable[date], standings: Iterable[Standing], today: date) -> tuple[date, date]:
    """The first and the last day on which an engine's ledger tells the same as on `today`.

    Between two of its dated facts (`fact_days`) limits change only where a start that was never confirmed
    runs out, and where a season's mark passes for work that was never done. What an item's condition
    brings nearer is in `days_of_wear`.
    """
    first, last = date.min, date.max
    for day in facts:
        if day <= today:
            first = max(first, day)
        else:
            last = min(last, day - timedelta(days=1))
    for standing in standings:
        limit = standing.interval_on
        if limit is None:
            continue
        if standing.counts_from == JOINED:
            last = min(last, limit)
        elif standing.counts_from == UNKNOWN and limit < today:
            first = max(first, limit + timedelta(days=1))
        elif standing.rule.season is not None and standing.last is None:
            first, last = max(first, limit - timedelta(days=364)), min(last, limit)
    return first, last


def days_of_wear(lines: Iterable[DueLine], today: date) -> tuple[date, date]:
    """The first and the last day on which lines that an item's condition brings nearer stay as they are.

    What a trend gives for days that are past is moved up to today (`condition.nearer`): while all of a line's
    dates lie ahead nothing is moved, and once one does not, each day has its own.
    """
    first, last = date.min, date.max
    for line in lines:
        wear = line.standing.wear
        if wear is None or not wear.is_dated or line.window is None:
            continue
        if line.window.early_on <= today:
            return today, today
        last = min(last, line.window.early_on - timedelta(days=1))
    return first, last


def fact_days(ledger: EngineLedger, schedule: Schedule | None) -> set[date]:
    """Every day on which something begins to be seen that bears on the lines of an engine."""
    return set(_fact_days(ledger, schedule))


def _fact_days(ledger: EngineLedger, schedule: Schedule | None) -> Iterator[date]:
    engine = ledger.engine
    if engine.in_service_on is not None:
        yield engine.in_service_on
    yield from (entry.on for entry in ledger.entries)
    yield from (reading.on for reading in ledger.readings)
    yield from (meter.fitted_on for meter in ledger.meters)
    yield from (void.voided_at.date() for void in ledger.voids)
    for former in ledger.replaced:  # of what it ran before, nothing else begins to be seen later
        yield from (void.voided_at.date() for void in former.voids)
        yield from (change.until_on for change in former.changes)
    yield from (deferral.at.date() for deferral in ledger.deferrals)
    for change in ledger.changes:
        yield change.until_on
        was = fact_from_text(change.field, change.was)
        if isinstance(was, date):
            yield was
    yield from mount_days(ledger)
    for boat in ledger.boats_ever():
        yield from _boat_days(boat)
    if schedule is not None and any(rule.condition is not None for rule in schedule.rules):
        yield from (measurement.on for measurement in ledger.evidence.measurements)
        yield from (answer.on for answer in ledger.evidence.answers if answer.measurement_id is not None)
    if schedule is not None:
        yield from (rule.issued_on for rule in schedule.rules if rule.issued_on is not None)


def _boat_days(ledger: BoatLedger) -> Iterator[date]:
    yield from (change.until_on for change in ledger.changes)
    yield from (owned.from_on for owned in ledger.ownership)
    for layup in ledger.layups:
        yield layup.from_on
        if layup.to_on is not None:
            yield layup.to_on

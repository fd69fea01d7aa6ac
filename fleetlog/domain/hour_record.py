"""Engine hours through every change of meter: which readings count, which are held, and hours on any day.

Readings are judged over the whole ledger at each replay, by date and within a day from the lowest up: one
is held where it is below the last accepted one, or above it by more than 24 hours for each day from that
one's date to its own, both counted. A confirmed one is accepted whatever it shows; a withdrawn one is not
seen. Nothing about a reading is stored but what the meter showed and what a person ruled.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from fleetlog.domain.hours import Tenths
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Engine, Entry, Meter, Reading
from fleetlog.domain.values import value_class

_MOST_TENTHS_A_DAY = 240
"""No engine runs more than 24 hours a day."""


def most_run(since: date, until: date) -> int:
    """The tenths that an engine can have run at most from one day to another, both included."""
    return _MOST_TENTHS_A_DAY * ((until - since).days + 1)


@value_class(frozen=True, slots=True)
class AcceptedReading:
    """Engine hours that count, in tenths, and the day they were read."""

    on: date
    tenths: int


@value_class(frozen=True, slots=True)
class HeldReading:
    """A figure that counts for nothing until a person rules on it, and the accepted one it conflicts with.

    `against_meter_tenths` is what the meter showed then, None for a change of meter or the first day.
    """

    on: date
    meter_tenths: int
    tenths: int
    against: AcceptedReading
    against_meter_tenths: int | None = None

    @property
    def is_below(self) -> bool:
        """Below the last accepted reading; else it is above by more than 24 hours a day."""
        return self.tenths < self.against.tenths


@value_class(frozen=True, slots=True)
class Fall:
    """Engine hours that go back to `tenths`, by a change of meter or a confirmed figure below `below`.

    The figures are what the meter showed: None for a change of meter or the first day.
    """

    on: date
    tenths: int
    meter_tenths: int | None
    below: AcceptedReading
    below_meter_tenths: int | None


@dataclass(slots=True)
class HourRecord:
    """The accepted readings of one engine, one a day in order, those held, and where engine hours go back.

    A change of meter below one before it is no fall, as it puts that right, nor is the start of a new engine
    after its trial runs. `by_figure` has the engine hours of each accepted figure, by date and what the meter
    showed.
    """

    metered: bool
    meters: tuple[Meter, ...] = ()
    days: list[date] = field(default_factory=list)
    tenths: list[int] = field(default_factory=list)
    held: list[HeldReading] = field(default_factory=list)
    falls: list[Fall] = field(default_factory=list)
    by_figure: dict[tuple[date, int], int] = field(default_factory=dict)

    @property
    def first(self) -> AcceptedReading | None:
        """The first accepted reading, the 0 h of a new engine included."""
        return AcceptedReading(self.days[0], self.tenths[0]) if self.days else None

    @property
    def last(self) -> AcceptedReading | None:
        """The last accepted reading."""
        return AcceptedReading(self.days[-1], self.tenths[-1]) if self.days else None

    def tenths_on(self, day: date) -> Tenths | None:
        """Engine hours on a day, interpolated by days between accepted readings; None without any.

        Before the first reading they are the first one's, after the last the last one's.
        """
        if not self.days:
            return None
        after = bisect_right(self.days, day)
        if after == 0:
            return self.tenths[0]
        before = after - 1
        if after == len(self.days) or self.days[before] == day:
            return self.tenths[before]
        low, high = self.tenths[before], self.tenths[after]
        elapsed, span = (day - self.days[before]).days, (self.days[after] - self.days[before]).days
        exact = low + Fraction((high - low) * elapsed, span)
        return exact.numerator if exact.denominator == 1 else exact

    def tenths_at(self, entry: Entry) -> Tenths | None:
        """Engine hours at an entry: its own figure where that is accepted, else those of its day."""
        if entry.meter_tenths is not None:
            own = self.by_figure.get((entry.on, entry.meter_tenths))
            if own is not None:
                return own
        return self.tenths_on(entry.on)

    def reading_taken_for(self, entry: Entry) -> AcceptedReading | None:
        """The reading whose figure `tenths_on` gives an entry of a day outside the record; else None.

        The first one for an entry before it, the last one for an entry after it. Before a new engine's 0 h
        nothing is unknown.
        """
        if self.is_before_first(entry):
            return self.first
        return self.last if self.days and entry.on > self.days[-1] else None

    def is_before_first(self, entry: Entry) -> bool:
        """Whether an entry is from before the first reading, which has run hours that nobody read."""
        return bool(self.days) and entry.on < self.days[0] and self.tenths[0] > 0

    def first_after_unread(self, entries: Iterable[Entry]) -> AcceptedReading | None:
        """The first reading, where some of these entries are from before it and say no hours."""
        unread = any(entry.meter_tenths is None and self.is_before_first(entry) for entry in entries)
        return self.first if unread else None

    def known_tenths_at(self, entry: Entry) -> Tenths | None:
        """Engine hours at an entry for telling them: none from before the first reading."""
        return None if self.is_before_first(entry) else self.tenths_at(entry)

    def held_figure(self, on: date, meter_tenths: int) -> HeldReading | None:
        """The figure of a day as it is held, or None where it is accepted or there is none."""
        return next((h for h in self.held if h.on == on and h.meter_tenths == meter_tenths), None)

    def reached_on(self, tenths: Tenths) -> date | None:
        """The day on which engine hours came to a figure for good; None where they have not yet."""
        if not self.days or self.tenths[-1] < tenths:
            return None
        below = len(self.days) - 1
        while below >= 0 and self.tenths[below] >= tenths:
            below -= 1
        if below < 0:
            return self.days[0]
        low, high = self.tenths[below], self.tenths[below + 1]
        span = (self.days[below + 1] - self.days[below]).days
        elapsed = -((-(tenths - low) * span) // (high - low))
        return date.fromordinal(self.days[below].toordinal() + int(elapsed))

    def engine_tenths(self, on: date, meter_tenths: int) -> int:
        """Engine hours that a meter's figure of a day stands for; a meter's first day belongs to it."""
        return meter_tenths + meter_offset(self.meters, on)

    def meter_tenths(self, on: date, engine_tenths: int) -> int:
        """What the meter shows on a day at given engine hours."""
        return engine_tenths - meter_offset(self.meters, on)


def meter_offset(meters: Sequence[Meter], on: date) -> int:
    """Engine hours less the meter's figure, in tenths; the original meter reads engine hours."""
    current = None
    for meter in meters:
        if meter.fitted_on <= on:
            current = meter
    return current.engine_tenths - current.meter_reads_tenths if current else 0


def hour_record(ledger: EngineLedger, today: date) -> HourRecord:
    """Replay the readings seen on a day. An engine without an hour meter has no readings at all."""
    engine = ledger.engine_on(today)
    if not engine.hour_meter:
        return HourRecord(metered=False)
    meters = tuple(
        sorted((m for m in ledger.meters if m.fitted_on <= today), key=lambda m: (m.fitted_on, m.sequence))
    )
    record = HourRecord(metered=True, meters=meters)
    points = _figures(ledger, meters, today)
    if engine.logged_from_new and engine.in_service_on is not None and engine.in_service_on <= today:
        points.append(_Figure(engine.in_service_on, 0, None, True, is_start=True))
    points.extend(_Figure(m.fitted_on, m.engine_tenths, None, True) for m in meters)
    points.sort(key=lambda p: (p.on, p.tenths, not p.certain))
    last: _Figure | None = None
    for point in points:
        if last is not None and not point.certain and not _can_follow(point, last):
            record.held.append(_held(point, last))
            continue
        if last is not None and _goes_back(point, last):
            record.falls.append(_fall(point, last))
        last = point
        if point.meter_tenths is not None:
            record.by_figure[point.on, point.meter_tenths] = point.tenths
        if record.days and record.days[-1] == point.on:
            record.tenths[-1] = point.tenths
        else:
            record.days.append(point.on)
            record.tenths.append(point.tenths)
    return record


def is_past(on: date | None, tenths: Tenths | None, today: date, hours: HourRecord) -> bool:
    """Whether a limit has passed: today is after its day, or the last accepted reading above its hours."""
    last = hours.last
    return (on is not None and today > on) or (
        tenths is not None and last is not None and last.tenths > tenths
    )


def before_its_start(engine: Engine, on: date, tenths: int) -> date | None:
    """The day on which a new engine starts at 0 h, where it is to have run hours on an earlier one."""
    start = engine.in_service_on if engine.logged_from_new else None
    return start if start is not None and on < start and tenths > 0 else None


def newly_held(before: EngineLedger, after: HourRecord) -> list[HeldReading]:
    """The figures that are held once a ledger has grown, and were not before."""
    if not after.held:
        return []
    known = hour_record(before, date.max)
    return [held for held in after.held if known.held_figure(held.on, held.meter_tenths) is None]


def figures_without_meter(ledger: EngineLedger) -> int:
    """How many figures stand on record of an engine that is said to have no hour meter: none counts."""
    if ledger.engine.hour_meter:
        return 0
    return len(_figures(ledger, (), date.max))


@dataclass(slots=True)
class _Figure:
    on: date
    tenths: int
    meter_tenths: int | None
    certain: bool
    is_start: bool = False


def _held(figure: _Figure, last: _Figure) -> HeldReading:
    return HeldReading(
        figure.on,
        figure.tenths if figure.meter_tenths is None else figure.meter_tenths,
        figure.tenths,
        AcceptedReading(last.on, last.tenths),
        last.meter_tenths,
    )


def _can_follow(point: _Figure, last: _Figure) -> bool:
    return 0 <= point.tenths - last.tenths <= most_run(last.on, point.on)


def _goes_back(figure: _Figure, last: _Figure) -> bool:
    are_meters = figure.meter_tenths is None and last.meter_tenths is None
    return figure.tenths < last.tenths and not figure.is_start and not are_meters


def _fall(figure: _Figure, last: _Figure) -> Fall:
    below = AcceptedReading(last.on, last.tenths)
    return Fall(figure.on, figure.tenths, figure.meter_tenths, below, last.meter_tenths)


def _figures(ledger: EngineLedger, meters: Sequence[Meter], today: date) -> list[_Figure]:
    """The figures that people read off, one for each date and value of the entries, one for each other row.

    A reading row with the date and figure of an entry speaks for that figure: one that was withdrawn wins.
    Voiding an entry withdraws its figure, unless an entry that stands carries it.
    """
    rows: dict[tuple[date, int], list[Reading]] = {}
    for reading in ledger.readings:
        if reading.on <= today:
            rows.setdefault((reading.on, reading.meter_tenths), []).append(reading)
    written: dict[tuple[date, int], list[Entry]] = {}
    for entry in ledger.entries:
        if entry.meter_tenths is not None and entry.on <= today:
            written.setdefault((entry.on, entry.meter_tenths), []).append(entry)
    voided = ledger.voided_on(today) if written else frozenset()
    figures = []
    for (on, meter_tenths), entries in written.items():
        speaking = rows.pop((on, meter_tenths), [])
        standing = [e for e in entries if e.entry_id not in voided]
        statuses = {r.status for r in speaking}
        if not standing or "withdrawn" in statuses:
            continue
        tenths = meter_tenths + meter_offset(meters, on)
        figures.append(_Figure(on, tenths, meter_tenths, "confirmed" in statuses))
    for (on, meter_tenths), speaking in rows.items():
        statuses = {r.status for r in speaking}
        if statuses != {"withdrawn"}:
            tenths = meter_tenths + meter_offset(meters, on)
            figures.append(_Figure(on, tenths, meter_tenths, "confirmed" in statuses))
    return figures

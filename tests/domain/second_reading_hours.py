"""The readings of an hour meter in a second, literal reading: which are accepted, and the hours of any day.

It shares no code with the package's own replay. Hours are exact fractions of an hour.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Engine, Entry

Hours = Fraction


@dataclass(frozen=True)
class Reading:
    """Engine hours on a date; `figure` is what the meter showed, None where no figure was read."""

    on: date
    hours: Hours
    figure: Hours | None
    sure: bool


def hours_of(tenths: int | Fraction) -> Hours:
    return Fraction(tenths) / 10


class HoursOfDay:
    """What is seen of one engine's ledger on a day, and the hours it tells."""

    def __init__(self, ledger: EngineLedger, today: date) -> None:
        self.ledger, self.today = ledger, today
        self.engine: Engine = ledger.engine_on(today)
        # A void is seen from the date of `voided_at`; of entries, only those dated by today.
        voided = [v.entry_id for v in ledger.voids if v.voided_at.date() <= today]
        self.entries = [e for e in ledger.entries if e.on <= today and e.entry_id not in voided]
        self.accepted: list[Reading] = []
        self.held: list[tuple[date, Hours]] = []
        self.judge_readings()

    def engine_hours_of_figure(self, on: date, figure: Hours) -> Hours:
        # A figure of the day on which a meter was fitted belongs to the new meter; the original meter
        # reads engine hours.
        current = None
        for meter in self.ledger.meters:
            if meter.fitted_on <= on and (current is None or meter.fitted_on >= current.fitted_on):
                current = meter
        if current is None:
            return figure
        return hours_of(current.engine_tenths) + figure - hours_of(current.meter_reads_tenths)

    def judge_readings(self) -> None:
        # Without an hour meter there are no readings at all, the in-service 0 h included.
        if not self.engine.hour_meter:
            return
        all_readings: list[Reading] = []
        # The 0 h of an engine logged from new and each meter change are never held.
        if self.engine.logged_from_new and self.engine.in_service_on is not None:
            all_readings.append(Reading(self.engine.in_service_on, Fraction(0), None, True))
        for meter in self.ledger.meters:
            all_readings.append(Reading(meter.fitted_on, hours_of(meter.engine_tenths), None, True))
        # A figure on an entry is a reading too. A row with an entry's date and figure speaks for that figure,
        # is withdrawn with it when the entry is voided, and of two such rows a withdrawn one wins.
        stated = {(e.on, hours_of(e.meter_tenths)) for e in self.ledger.entries if e.meter_tenths is not None}
        standing = {(e.on, hours_of(e.meter_tenths)) for e in self.entries if e.meter_tenths is not None}
        for on, shown in standing:
            rulings = [
                r.status for r in self.ledger.readings if (r.on, hours_of(r.meter_tenths)) == (on, shown)
            ]
            if "withdrawn" not in rulings:
                hours = self.engine_hours_of_figure(on, shown)
                all_readings.append(Reading(on, hours, shown, "confirmed" in rulings))
        for row in self.ledger.readings:
            shown = hours_of(row.meter_tenths)
            if (row.on, shown) not in stated and row.status != "withdrawn":
                hours = self.engine_hours_of_figure(row.on, shown)
                all_readings.append(Reading(row.on, hours, shown, row.status == "confirmed"))
        # Only what is dated by today is seen; judged by date, within a day from the lowest up.
        seen = [r for r in all_readings if r.on <= self.today]
        seen.sort(key=lambda r: (r.on, r.hours, not r.sure))
        for reading in seen:
            if self.accepted and not reading.sure:
                last = self.accepted[-1]
                days = (reading.on - last.on).days + 1  # both counted
                if reading.hours < last.hours or reading.hours - last.hours > 24 * days:
                    assert reading.figure is not None
                    self.held.append((reading.on, reading.figure))
                    continue
            self.accepted.append(reading)

    def hours_on(self, day: date) -> Hours | None:
        # Between the accepted readings on either side, by days; before the first the first one's, after
        # the last the last one's; of one day the last one accepted is the day's.
        if not self.accepted:
            return None
        of_day: dict[date, Hours] = {}
        for reading in self.accepted:
            of_day[reading.on] = reading.hours
        if day in of_day:
            return of_day[day]
        before = [d for d in of_day if d < day]
        after = [d for d in of_day if d > day]
        if not before:
            return of_day[min(after)]
        if not after:
            return of_day[max(before)]
        start, end = max(before), min(after)
        share = Fraction((day - start).days, (end - start).days)
        return of_day[start] + share * (of_day[end] - of_day[start])

    def hours_at(self, entry: Entry) -> Hours | None:
        # From its own figure, where that is accepted; a held or withdrawn figure leaves it interpolated.
        if not self.engine.hour_meter:
            return None
        if entry.meter_tenths is not None:
            figure = hours_of(entry.meter_tenths)
            for reading in self.accepted:
                if reading.on == entry.on and reading.figure == figure:
                    return reading.hours
        return self.hours_on(entry.on)

    def last_reading(self) -> Reading | None:
        return self.accepted[-1] if self.accepted else None

"""The load of the coming months against the shop's capacity, so that the spring peak is seen in winter."""

from __future__ import annotations

import calendar
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from fleetlog.diary.risk import chance_reached
from fleetlog.diary.shop import BookedVisit, Risk, Shop
from fleetlog.diary.work import OwedWork
from fleetlog.domain.words import NEXT_ACCESS, NO_RECORD, OVERDUE


@dataclass(frozen=True, slots=True)
class MonthLoad:
    """One month: hours expected to come due, booked and to be had, in tenths of an hour.

    `capacity_tenths` is the smaller of the technicians' and the places' time. `load_share` is expected and
    booked over capacity, None where there is no capacity.
    """

    month_on: date
    expected_tenths: int
    booked_tenths: int
    technician_tenths: int
    place_tenths: int

    @property
    def capacity_tenths(self) -> int:
        """What can be done in the month, whichever runs short first."""
        return min(self.technician_tenths, self.place_tenths)

    @property
    def load_share(self) -> float | None:
        """Expected and booked hours over capacity."""
        return (
            (self.expected_tenths + self.booked_tenths) / self.capacity_tenths
            if self.capacity_tenths
            else None
        )


def monthly_load(
    work: Iterable[OwedWork], booked: Sequence[BookedVisit], shop: Shop, today: date, months: int
) -> tuple[MonthLoad, ...]:
    """The months from that of `today` (the rest of it) on.

    A job's labour falls into the months by the chance that its limit is reached in each, what is owed
    already into the first as far as it has room, the rest into the second: at the end of a month all of it
    would be too much for the days that are left. A line that waits for its access counts nowhere. Shared
    access is not taken off and each job counts once, so that the figures are for the work as the due list has
    it today.
    """
    starts = [today]
    while len(starts) < months:
        last = starts[-1]
        starts.append(date(last.year + last.month // 12, last.month % 12 + 1, 1))
    ends = [date(s.year, s.month, calendar.monthrange(s.year, s.month)[1]) for s in starts]
    edges = np.array([end.toordinal() for end in ends], dtype=float)
    expected = np.zeros(len(starts))
    owed = 0.0
    for line in work:
        if line.state == NEXT_ACCESS:
            continue
        if line.state in (NO_RECORD, OVERDUE):
            owed += line.labour_tenths
            continue
        risk = Risk(0, line.due_on, line.early_on, line.likely_on, line.late_on)
        reached = float(chance_reached(risk, np.array([float(today.toordinal())]))[0])
        owed += line.labour_tenths * reached
        expected += line.labour_tenths * np.diff(chance_reached(risk, edges), prepend=reached)
    found = []
    for number, (start_on, end_on) in enumerate(zip(starts, ends, strict=True)):
        days = [start_on + timedelta(days=ahead) for ahead in range((end_on - start_on).days + 1)]
        technicians = sum(
            span.tenths for day in days for t in shop.technicians if (span := shop.technician_time(t, day))
        )
        places = sum(span.tenths for day in days for p in shop.places if (span := shop.place_time(p, day)))
        taken = sum(visit.tenths for visit in booked if start_on <= visit.on <= end_on)
        if owed and number < 2:
            room = max(min(technicians, places) - taken - float(expected[number]), 0.0)
            now = min(owed, room) if number == 0 and months > 1 else owed
            expected[number] += now
            owed -= now
        found.append(
            MonthLoad(start_on.replace(day=1), round(float(expected[number])), taken, technicians, places)
        )
    return tuple(found)

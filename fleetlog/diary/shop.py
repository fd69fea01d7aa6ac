"""What the shop can do on a day: technicians, places to work, lifts, closures, and visits booked."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from fleetlog.diary.work import DateSpan

BAY = "bay"
AFLOAT = "afloat"


@dataclass(frozen=True, slots=True)
class ClockSpan:
    """Working time of a day, in tenths of an hour since midnight: 80 to 160 is eight to sixteen o'clock."""

    from_tenths: int
    to_tenths: int

    @property
    def tenths(self) -> int:
        """Its length in tenths of an hour."""
        return max(0, self.to_tenths - self.from_tenths)

    def common_tenths(self, other: ClockSpan) -> int:
        """How long both go on together; 0 or less where they do not."""
        return min(self.to_tenths, other.to_tenths) - max(self.from_tenths, other.from_tenths)


Week = tuple[ClockSpan | None, ...]
"""Working time by weekday, Monday first; None where there is none."""

EIGHT_HOURS = ClockSpan(80, 160)
FIVE_DAYS: Week = (EIGHT_HOURS,) * 5 + (None, None)


@dataclass(frozen=True, slots=True)
class Technician:
    """A person who does the work, what they are able to do, and when."""

    name: str
    skills: frozenset[str] = frozenset()
    week: Week = FIVE_DAYS
    away: tuple[DateSpan, ...] = ()


@dataclass(frozen=True, slots=True)
class Place:
    """A bay, or a berth where a boat is worked on afloat; one boat at a time."""

    name: str
    kind: str = BAY
    week: Week = FIVE_DAYS
    closed: tuple[DateSpan, ...] = ()


@dataclass(frozen=True, slots=True)
class Closure:
    """Days on which the whole shop is closed, and why."""

    span: DateSpan
    why: str = "closed"


@dataclass(frozen=True, slots=True)
class Shop:
    """The shop; `lifts_per_day` is how many boats can be lifted in a day, None where that is no limit."""

    technicians: tuple[Technician, ...]
    places: tuple[Place, ...]
    lifts_per_day: int | None = None
    closures: tuple[Closure, ...] = ()

    def closure_on(self, day: date) -> Closure | None:
        """The closure that holds on a day, if any."""
        return next((closure for closure in self.closures if closure.span.holds(day)), None)

    def technician_time(self, technician: Technician, day: date) -> ClockSpan | None:
        """When a technician works on a day, or None."""
        return self._time(technician.week, technician.away, day)

    def place_time(self, place: Place, day: date) -> ClockSpan | None:
        """When a place can be worked in on a day, or None."""
        return self._time(place.week, place.closed, day)

    def _time(self, week: Week, off: tuple[DateSpan, ...], day: date) -> ClockSpan | None:
        span = week[day.weekday()]
        if span is None or span.tenths == 0 or self.closure_on(day) or any(o.holds(day) for o in off):
            return None
        return span


@dataclass(frozen=True, slots=True)
class BookedVisit:
    """A visit that is agreed: it stays where it is. Its time counts from midnight, in tenths of an hour."""

    visit_id: str
    boat_id: str
    on: date
    place: str
    technician: str
    from_tenths: int
    tenths: int
    lifts: int = 0


@dataclass(frozen=True, slots=True)
class Wishes:
    """What an owner asks for: the first three are kept, the others are weighed.

    `weekdays` are preferred ones, Monday 0. `best` are the spans that suit the boat best, as by its lay-up.
    """

    not_before_on: date | None = None
    not_after_on: date | None = None
    not_in: tuple[DateSpan, ...] = ()
    weekdays: frozenset[int] = frozenset()
    best: tuple[DateSpan, ...] = ()


@dataclass(frozen=True, slots=True)
class Risk:
    """One line's stake in the day of a visit.

    `weight` is the points that a day overdue costs, by consequence. With neither `due_on` nor forecast
    dates nothing is at stake by waiting. `value_tenths` is the labour whose interval is cut short by an
    early day, `interval_days` the length of that interval.
    """

    weight: int
    due_on: date | None = None
    early_on: date | None = None
    likely_on: date | None = None
    late_on: date | None = None
    interval_days: int | None = None
    value_tenths: int = 0


@dataclass(frozen=True, slots=True)
class VisitRequest:
    """A visit to be put on a day: one stretch of `tenths` (of an hour) by one technician in one place.

    `place_kinds` are those that will do. `parts_on` is the day its parts are there. `previous_on` is its
    day in the last plan.
    """

    visit_id: str
    boat_id: str
    owner_id: str
    tenths: int
    risks: tuple[Risk, ...] = ()
    skills: frozenset[str] = frozenset()
    place_kinds: frozenset[str] = frozenset({BAY})
    lifts: int = 0
    wishes: Wishes = field(default_factory=Wishes)
    parts_on: date | None = None
    previous_on: date | None = None

"""The seam between the interval engine and whatever forecasts use.

The interval engine asks when an engine reaches given hours; a forecast answers with three dates.
It knows nothing of how the answer is found; the forecasts live in `fleetlog.forecast`.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Protocol

from fleetlog.domain.hours import Tenths
from fleetlog.domain.months import add_months
from fleetlog.domain.values import value_class

SIGHT_YEARS = 8
"""So many years ahead a forecast looks: as far as lay-ups are assumed."""

NOT_IN_SIGHT = date.max
"""The day of what is not reached in that time: after every other day, and told as none."""


def in_sight(day: date | None) -> date | None:
    """A forecast's day as it is told; None where it is not in sight."""
    return None if day == NOT_IN_SIGHT else day


@value_class(frozen=True, slots=True)
class DateWindow:
    """The days by which hours are reached with a chance of 10, 50 and 90 %, each may be `NOT_IN_SIGHT`."""

    early_on: date
    likely_on: date
    late_on: date

    @classmethod
    def of_day(cls, day: date) -> DateWindow:
        """The window of what comes on just one day."""
        return cls(day, day, day)

    def within_sight(self, today: date) -> DateWindow:
        """The same for reckoning with days: what is not in sight is taken to come when sight ends."""
        end = add_months(today, 12 * SIGHT_YEARS)
        early, likely, late = (
            end if day == NOT_IN_SIGHT else day for day in (self.early_on, self.likely_on, self.late_on)
        )
        return DateWindow(early, likely, late)


def first_window(windows: Sequence[DateWindow]) -> DateWindow:
    """The window of what comes first: of each of its three days the earliest in any of these windows."""
    return DateWindow(
        min(w.early_on for w in windows), min(w.likely_on for w in windows), min(w.late_on for w in windows)
    )


@value_class(frozen=True, slots=True)
class HoursTarget:
    """Hours to be reached, in tenths of an hour.

    Without `since`, `tenths` are engine hours, above the last accepted reading. With `since`, they are
    hours run after that day, for an engine whose meter tells nothing.
    """

    tenths: Tenths
    since: date | None = None


MONTHS_AHEAD = 12
"""So far ahead it is told, and drawn, what an engine is expected to run."""


@value_class(frozen=True, slots=True)
class YearAhead:
    """What an engine is expected to run in the year ahead, as known on one day; empty where nothing tells.

    `today_tenths` are its hours by the end of that day, exceeded with a chance of 90, 50 and 10 %: an
    estimate, no reading. `months` are the expected hours of calendar months, each named by its first day; of
    the present one those after that day. `curve` are engine hours in tenths, rising from the last reading,
    each with the days by which it is reached. `stored` are its lay-ups, recorded and assumed, in order: the
    day stored, and the first day afloat again.
    """

    today_tenths: tuple[int, int, int] | None = None
    months: Sequence[tuple[date, float]] = ()
    curve: Sequence[tuple[Tenths, DateWindow]] = ()
    stored: Sequence[tuple[date, date]] = ()


class UsageForecast(Protocol):
    """What one engine is expected to run, as known on one day."""

    def windows(self, targets: Sequence[HoursTarget]) -> Sequence[DateWindow]:
        """The window of each target, in the order given; none begins before the last reading (or `since`)."""

    def basis(self) -> str:
        """In plain words, what the forecast rests on."""


def meeting_window(
    due_on: date | None, by_hours: Sequence[DateWindow]
) -> tuple[DateWindow | None, str | None]:
    """The window in which the first of all limits is reached, and which limit that is; on a tie, the date."""
    if not by_hours:
        return (None, None) if due_on is None else (DateWindow.of_day(due_on), "date")
    early = min(w.early_on for w in by_hours)
    likely = min(w.likely_on for w in by_hours)
    late = min(w.late_on for w in by_hours)
    if due_on is None:
        return DateWindow(early, likely, late), "hours"
    governs = "hours" if likely < due_on else "date"
    return DateWindow(min(early, due_on), min(likely, due_on), min(late, due_on)), governs

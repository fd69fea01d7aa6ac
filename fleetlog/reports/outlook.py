"""What a forecast says beyond due dates: the hours by now, the curve ahead, and hours in months to come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol, runtime_checkable

from fleetlog.domain.fleet import EngineState
from fleetlog.domain.months import add_months
from fleetlog.domain.usage import HoursTarget

MONTHS_AHEAD = 12
LEVELS = 30
"""Hours that the forecast is asked for to draw the curve ahead, closer to each other at its beginning."""
FURTHEST_YEARS = 5
"""The curve ahead is asked for up to what is expected in this many years: more than the high side in one."""

Points = Sequence[tuple[date, float]]


class _Estimate(Protocol):
    @property
    def low_tenths(self) -> int: ...
    @property
    def middle_tenths(self) -> int: ...
    @property
    def high_tenths(self) -> int: ...


class _Month(Protocol):
    @property
    def month_on(self) -> date: ...
    @property
    def hours(self) -> float: ...


@runtime_checkable
class TellsHours(Protocol):
    """A forecast that also tells estimated hours by day and expected hours by month."""

    def hours_on(self, day: date) -> _Estimate | None:
        """Estimated engine hours on a day; None where no meter was ever read."""

    def monthly_hours(self, months: int) -> Sequence[_Month]:
        """Expected hours of each of the next months."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """Estimates of one engine, hours as engine hours.

    `today` is (low, middle, high) where the last reading is older than today. `low`, `middle` and `high` are
    curves from the last reading to a year from today, with chances of 90, 50 and 10 % that the hours are
    above. `months` are (first day, expected hours).
    """

    today: tuple[float, float, float] | None = None
    low: Points = ()
    middle: Points = ()
    high: Points = ()
    months: Points = ()


def hours_today(state: EngineState, today: date) -> tuple[float, float, float] | None:
    """Estimated engine hours of today (low, middle, high); None where they were read today or never."""
    forecast, last = state.forecast, state.facts.last_reading
    if state.facts.boat is None or last is None or last.on >= today or not isinstance(forecast, TellsHours):
        return None
    estimate = forecast.hours_on(today)
    if estimate is None:
        return None
    return estimate.low_tenths / 10, estimate.middle_tenths / 10, estimate.high_tenths / 10


def outlook_of(state: EngineState, today: date) -> Outlook:
    """The outlook of an engine in use; an empty one where it is on no boat or its forecast tells no hours."""
    forecast, last = state.forecast, state.facts.last_reading
    if state.facts.boat is None or not isinstance(forecast, TellsHours):
        return Outlook()
    months = [(month.month_on, month.hours) for month in forecast.monthly_hours(MONTHS_AHEAD)]
    if last is None:
        return Outlook(months=months)
    furthest = max(FURTHEST_YEARS * sum(hours for _, hours in months), 5.0)
    levels = sorted({max(1, round(10 * furthest * (n / LEVELS) ** 2)) for n in range(1, LEVELS + 1)})
    windows = forecast.windows([HoursTarget(last.tenths + level) for level in levels])
    hours = [(last.tenths + level) / 10 for level in levels]
    start, end = (last.on, last.tenths / 10), add_months(today, MONTHS_AHEAD)
    return Outlook(
        hours_today(state, today),
        _until(end, start, [w.late_on for w in windows], hours),
        _until(end, start, [w.likely_on for w in windows], hours),
        _until(end, start, [w.early_on for w in windows], hours),
        months,
    )


def _until(end: date, start: tuple[date, float], days: Sequence[date], hours: Sequence[float]) -> Points:
    """A curve through the days on which hours are reached, cut off at `end`."""
    points = [start]
    for day, level in zip(days, hours, strict=True):
        before, below = points[-1]
        if day >= end:
            share = (end - before).days / max((day - before).days, 1)
            return [*points, (end, below + (level - below) * share)]
        points.append((day, level))
    return points

"""What is expected beyond due dates, as pages draw it: hours by now, the curve ahead, hours by month."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fleetlog.domain.fleet import EngineState
from fleetlog.domain.months import add_months
from fleetlog.domain.usage import MONTHS_AHEAD

Points = Sequence[tuple[date, float]]


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
    last, estimate = state.facts.last_reading, state.ahead.today_tenths
    if state.facts.boat is None or last is None or last.on >= today or estimate is None:
        return None
    low, middle, high = estimate
    return low / 10, middle / 10, high / 10


def outlook_of(state: EngineState, today: date) -> Outlook:
    """The outlook of an engine in use; an empty one where it is on no boat."""
    last, ahead = state.facts.last_reading, state.ahead
    if state.facts.boat is None:
        return Outlook()
    if last is None or not ahead.curve:
        return Outlook(months=ahead.months)
    hours = [float(tenths) / 10 for tenths, _ in ahead.curve]
    windows = [window for _, window in ahead.curve]
    start, end = (last.on, last.tenths / 10), add_months(today, MONTHS_AHEAD)
    return Outlook(
        hours_today(state, today),
        _until(end, start, [w.late_on for w in windows], hours),
        _until(end, start, [w.likely_on for w in windows], hours),
        _until(end, start, [w.early_on for w in windows], hours),
        ahead.months,
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

"""What is expected beyond due dates, as pages draw it: hours by now, the curve ahead, hours by month."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from fleetlog.domain.fleet import EngineState
from fleetlog.domain.months import add_months
from fleetlog.domain.out_of_service import WITHOUT_LINES
from fleetlog.domain.usage import MONTHS_AHEAD

Points = Sequence[tuple[date, float]]


@dataclass(frozen=True, slots=True)
class Outlook:
    """Estimates of one engine, hours as engine hours.

    `today` is (low, middle, high) where the last reading is older than today. `low`, `middle` and `high` are
    curves from the last reading to a year from today, with chances of 90, 50 and 10 % that the hours are
    above; they are level while the boat is stored. `months` are (first day, expected hours).
    """

    today: tuple[float, float, float] | None = None
    low: Points = ()
    middle: Points = ()
    high: Points = ()
    months: Points = ()


def hours_today(state: EngineState, today: date) -> tuple[float, float, float] | None:
    """Estimated engine hours of today (low, middle, high); None where they were read today or never.

    Nor is anything estimated of an engine on no boat, or one that was sold or scrapped.
    """
    last, estimate = state.facts.last_reading, state.ahead.today_tenths
    if not _is_in_use(state) or last is None or last.on >= today or estimate is None:
        return None
    low, middle, high = estimate
    return low / 10, middle / 10, high / 10


def _is_in_use(state: EngineState) -> bool:
    return state.facts.boat is not None and state.facts.engine.state not in WITHOUT_LINES


def outlook_of(state: EngineState, today: date) -> Outlook:
    """The outlook of an engine in use; an empty one of any other."""
    last, ahead = state.facts.last_reading, state.ahead
    if not _is_in_use(state):
        return Outlook()
    if last is None or not ahead.curve:
        return Outlook(months=ahead.months)
    hours = [float(tenths) / 10 for tenths, _ in ahead.curve]
    windows = [window for _, window in ahead.curve]
    start, end = (last.on, last.tenths / 10), add_months(today, MONTHS_AHEAD)
    low, middle, high = (
        _until(end, [start, *zip(days, hours, strict=True)], ahead.stored)
        for days in (
            [w.late_on for w in windows],
            [w.likely_on for w in windows],
            [w.early_on for w in windows],
        )
    )
    return Outlook(hours_today(state, today), low, middle, high, ahead.months)


def _until(end: date, reached: Points, stored: Sequence[tuple[date, date]]) -> Points:
    """A curve through the days on which hours are reached, level while the boat is stored, up to `end`."""
    points = [reached[0]]
    for before, after in pairwise(reached):
        for day, hours in (*_bends(before, after, stored), after):
            if day >= end:
                (last, below), days = points[-1], (day - points[-1][0]).days
                return [*points, (end, below + (hours - below) * (end - last).days / max(days, 1))]
            points.append((day, hours))
    return points


def _bends(
    before: tuple[date, float], after: tuple[date, float], stored: Sequence[tuple[date, date]]
) -> Iterator[tuple[date, float]]:
    """Where a curve stops and goes on between two points, as no hours are run while the boat is stored."""
    (first, low), (last, high) = before, after
    lays = [(max(a, first), min(b, last)) for a, b in stored if a < last and b > first]
    afloat = (last - first).days - sum((b - a).days for a, b in lays)
    if afloat <= 0:
        return
    ashore = 0
    for begin, end in lays:
        hours = low + (high - low) * ((begin - first).days - ashore) / afloat
        ashore += (end - begin).days
        yield from ((day, hours) for day in (begin, end) if first < day < last)

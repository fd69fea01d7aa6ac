"""Scales and ticks of the charts: where a day or a figure falls, and which round ones are named."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from fleetlog.domain.months import add_months
from fleetlog.reports.words import MONTHS


@dataclass(frozen=True, slots=True)
class Scale:
    """A straight scale from values to picture units, rounded to a tenth of a unit."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Where a value falls in the picture."""
        span = self.high - self.low or 1
        return round(self.start + (value - self.low) / span * (self.end - self.start), 1)


def path_through(points: Iterable[tuple[float, float]]) -> str:
    """The points of an SVG path, one after another."""
    return " ".join(f"{a:g} {b:g}" for a, b in points)


def round_steps(high: float, most: int = 5) -> list[float]:
    """Round figures from 0 to the first one at or above `high`, at most `most` steps."""
    size = 1.0
    while True:
        for step in (size, 2 * size, 5 * size):
            if step * most >= high:
                count = max(1, -int(-high // step))
                return [step * n for n in range(count + 1)]
        size *= 10


def day_ticks(start: date, end: date, most: int = 6) -> list[tuple[date, str]]:
    """First days of months or years between two dates, with their names, at most `most`."""
    months = (end.year - start.year) * 12 + end.month - start.month + 1
    step = next(step for step in (1, 2, 3, 6, 12, 24, 60, 120, 240, 600, 1200) if months / step <= most)
    first = date(start.year, 1, 1)
    ticks = []
    for n in range(0, months + 12, step):
        tick = add_months(first, n)
        if start <= tick <= end:
            name = str(tick.year) if step >= 12 else f"{MONTHS[tick.month - 1][:3]} {tick.year % 100:02d}"
            ticks.append((tick, name))
    return ticks

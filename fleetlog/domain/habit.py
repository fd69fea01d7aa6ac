"""Whether a figure of hours is far above what an engine usually runs: asked about, never refused."""

from __future__ import annotations

from datetime import date

from fleetlog.domain.hour_record import HourRecord

FAR_ABOVE = 5
"""A figure that means more than this many times an engine's own rate is asked about."""

HABIT_DAYS, HABIT_TENTHS = 30, 100
"""A rate of its own takes readings so many days apart; so small an increment is never far above it."""


def times_above_habit(record: HourRecord, on: date, engine_tenths: int) -> float | None:
    """How many times the engine's own rate a figure means, where that is more than five; else None.

    The record is the one before the figure, as seen on its day.
    """
    last = record.last
    if last is None or (record.days[-1] - record.days[0]).days < HABIT_DAYS:
        return None
    increment = engine_tenths - last.tenths
    habit = (record.tenths[-1] - record.tenths[0]) / (record.days[-1] - record.days[0]).days
    if habit <= 0 or increment < HABIT_TENTHS:
        return None
    times = increment / max((on - last.on).days, 1) / habit
    return times if times > FAR_ABOVE else None

"""Whether a figure of hours is far above what an engine usually runs: asked about, never refused."""

from __future__ import annotations

from datetime import date

from fleetlog.domain.hour_record import hour_record
from fleetlog.domain.ledger import EngineLedger

FAR_ABOVE = 5
"""A figure that means more than this many times an engine's own rate is asked about."""

HABIT_DAYS, HABIT_TENTHS = 30, 100
"""A rate of its own takes readings so many days apart; so small an increment is never far above it."""


def times_above_habit(ledger: EngineLedger, on: date, meter_tenths: int) -> float | None:
    """How many times its own rate a figure of the engine's meter means, where more than five; else None.

    The ledger is the one before the figure.
    """
    record = hour_record(ledger, on)
    last = record.last
    if last is None or (record.days[-1] - record.days[0]).days < HABIT_DAYS:
        return None
    increment = record.engine_tenths(on, meter_tenths) - last.tenths
    habit = (record.tenths[-1] - record.tenths[0]) / (record.days[-1] - record.days[0]).days
    if habit <= 0 or increment < HABIT_TENTHS:
        return None
    times = increment / max((on - last.on).days, 1) / habit
    return times if times > FAR_ABOVE else None

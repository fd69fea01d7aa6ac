"""The days on which a boat's lay-ups begin and end, for work that is bound to them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from fleetlog.domain.months import add_months
from fleetlog.domain.records import Layup
from fleetlog.domain.words import BEFORE_LAY_UP


def season_marks(layups: Sequence[Layup], season: str) -> list[date]:
    """The recorded starts (before lay-up) or ends (before launch), in order, plans included."""
    days = {lay.from_on if season == BEFORE_LAY_UP else lay.to_on for lay in layups}
    return sorted(day for day in days if day is not None)


def first_mark_from(marks: Sequence[date], day: date) -> date:
    """The first mark on or after a day; past the recorded ones, the anniversary of the latest."""
    for mark in marks:
        if mark >= day:
            return mark
    latest = marks[-1]
    years = max(day.year - latest.year, 1)
    anniversary = add_months(latest, 12 * years)
    return anniversary if anniversary >= day else add_months(latest, 12 * (years + 1))


def mark_after_work(marks: Sequence[date], done_on: date) -> date:
    """When work done on a day is due again: on the mark after the one it was done for.

    It was done for the mark nearest in time, a little late included; of two as near, for the earlier.
    """
    following = first_mark_from(marks, done_on)
    before = [m for m in _marks_until(marks, following) if m < following]
    nearest = following
    if before and done_on - before[-1] <= following - done_on:
        nearest = before[-1]
    return first_mark_from(marks, date.fromordinal(nearest.toordinal() + 1))


def _marks_until(marks: Sequence[date], day: date) -> list[date]:
    """The recorded marks and the anniversaries of the latest, up to a day."""
    latest = marks[-1]
    years = range(1, day.year - latest.year + 1)
    return [m for m in (*marks, *(add_months(latest, 12 * y) for y in years)) if m <= day]

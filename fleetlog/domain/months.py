"""Steps of whole months on plain dates, always counted from the anchor."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from functools import lru_cache


@lru_cache(maxsize=1 << 16)
def add_months(day: date, months: int) -> date:
    """The date `months` later (earlier where negative): the same day, or the last one of a shorter month.

    Counted in one step from the anchor: 31 January + 2 months is 31 March. Raises OverflowError where the
    result leaves the calendar. The calendar is pendulum's, imported when it is first needed.
    """
    import pendulum

    try:
        moved = pendulum.Date(day.year, day.month, day.day).add(months=months)
    except (ValueError, OverflowError) as error:
        raise OverflowError(f"{day} and {months} months leaves the calendar") from error
    return date(moved.year, moved.month, moved.day)


def whole_months_between(start: date, end: date) -> int:
    """How many whole months fit between two dates, counted from `start`; below 0 where `end` is before."""
    months = (end.year - start.year) * 12 + end.month - start.month
    same_day = min(start.day, monthrange(end.year, end.month)[1])
    return months - 1 if end.day < same_day else months


DAYS_OF_A_MONTH = Fraction(1461, 48)
"""The mean length of a month, by which days left over from several spans make another month."""


def fine_months(days: int) -> float:
    """So many days in months of the mean length."""
    return days * DAYS_OF_A_MONTH.denominator / DAYS_OF_A_MONTH.numerator


def months_over(spans: Sequence[tuple[date, date]]) -> int:
    """Whole months of several spans together: those of each, and what the days left over of all add up to."""
    if len(spans) == 1:  # a history does without the calendar
        return whole_months_between(*spans[0])
    months = days = 0
    for start, end in spans:
        whole = whole_months_between(start, end)
        months += whole
        days += (end - add_months(start, whole)).days
    return months + int(days / DAYS_OF_A_MONTH)

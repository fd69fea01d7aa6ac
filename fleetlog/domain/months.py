"""Steps of whole months on plain dates, always counted from the anchor."""

from __future__ import annotations

from calendar import monthrange
from datetime import date


def add_months(day: date, months: int) -> date:
    """The date `months` later (earlier where negative): the same day, or the last one of a shorter month.

    Counted in one step from the anchor: 31 January + 2 months is 31 March. Raises OverflowError where the
    result leaves the calendar.
    """
    year, month_before = divmod(day.year * 12 + day.month - 1 + months, 12)
    if not 1 <= year <= 9999:
        raise OverflowError(f"{day} and {months} months leaves the calendar")
    month = month_before + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def whole_months_between(start: date, end: date) -> int:
    """How many whole months fit between two dates, counted from `start`; negative where `end` is before."""
    months = (end.year - start.year) * 12 + end.month - start.month
    if months > 0 and add_months(start, months) > end:
        months -= 1
    elif months < 0 and add_months(start, months) < end:
        months += 1
    return months

"""What is left of a line's interval, as words and as bars, for every page that shows due lines."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from fleetlog.domain.due import DueLine
from fleetlog.domain.hours import Tenths, hours_text
from fleetlog.domain.months import fine_months, whole_months_between
from fleetlog.domain.schedule import Limits
from fleetlog.domain.usage import NOT_IN_SIGHT, SIGHT_YEARS
from fleetlog.domain.words import DUE, LATER, NEEDS_A_READING, with_position
from fleetlog.reports.charts.bars import Used, age_bar
from fleetlog.reports.words import NBSP, at_least, day_text, hours_shown, months_shown, shortened, span_text

WIDEST_USEFUL_DAYS = 120
"""A window by hours that is wider than this many days asks for a reading, and gives no dates."""


def is_too_wide(line: DueLine) -> bool:
    """Whether the dates of a line rest on so little that a reading is worth more than they are."""
    window = line.window
    return (
        line.state in (DUE, NEEDS_A_READING, LATER)
        and line.governs == "hours"
        and window is not None
        and (window.late_on - window.early_on).days > WIDEST_USEFUL_DAYS
    )


def work_name(line: DueLine, most: int = 90) -> str:
    """The title of the work, with its position where it has one."""
    return with_position(shortened(line.rule.title, most), line.position)


def round_hours(tenths: Tenths) -> str:
    """`1000 h`, `12.5 h`: an interval without needless decimals."""
    return hours_text(tenths).removesuffix(".0") + f"{NBSP}h"


def interval_text(limits: Limits) -> str:
    """`1000 h or 60 months`; nothing where there is no limit."""
    parts = []
    if limits.tenths is not None:
        parts.append(round_hours(limits.tenths))
    if limits.months is not None:
        parts.append(months_shown(limits.months))
    return " or ".join(parts)


def due_text(line: DueLine) -> str:
    """`1400.0 h or 3 May 2026`: the limits as they stand, in engine hours; nothing where there is none."""
    parts = []
    if line.due_tenths is not None:
        parts.append(hours_shown(line.due_tenths))
    if line.due_on is not None:
        parts.append(day_text(line.due_on))
    return " or ".join(parts)


def likely_text(line: DueLine) -> str:
    """The likely date with its window, or what stands in its place."""
    window = line.window
    if window is None:
        return ""
    if window.early_on == NOT_IN_SIGHT:
        return f"hardly within {SIGHT_YEARS} years"
    if is_too_wide(line):
        if line.state == LATER:
            return f"hardly before {day_text(window.early_on)}"
        return "a reading first: the window is too wide"
    if window.early_on == window.late_on:
        return day_text(window.likely_on)
    return f"{day_text(window.likely_on)} ({span_text(window.early_on, window.late_on)})"


def interval_used(line: DueLine, today: date) -> list[Used]:
    """How much of the interval is used, in hours and in months, for each limit that is known.

    Deferral and findings aside.
    """
    return list(_used(line, today))


def _used(line: DueLine, today: date) -> Iterator[Used]:
    standing = line.standing
    last, interval = line.facts.last_reading, standing.interval
    if interval.tenths is not None and standing.base_tenths is not None and last is not None:
        used = max(last.tenths - standing.base_tenths, 0)
        bar = age_bar(float(used), float(interval.tenths))
        shown = at_least(hours_text(used), is_least=standing.is_used_at_least)
        yield Used(bar, f"{shown} of {round_hours(interval.tenths)}")
    if interval.months is not None and standing.base_on is not None:
        months = max(whole_months_between(standing.base_on, today), 0)
        fine = fine_months(max((today - standing.base_on).days, 0))
        reached = standing.interval_on is not None and today > standing.interval_on
        share = max(fine, interval.months + 0.1) if reached else min(fine, float(interval.months))
        yield Used(age_bar(share, interval.months), f"{months} of {months_shown(interval.months)}")

"""How far what is recorded may reach: a folder, a form and a command all take the same, and no more.

Beyond them a step of an interval could leave the calendar, or a folder that was written could not be read.
"""

from __future__ import annotations

from datetime import date

YEARS = range(1900, 2200)
"""The years of all days that are recorded or asked about."""

MOST_HOURS, MOST_MONTHS = 1_000_000, 1_200
"""No interval and no age is longer: a century, or more hours than a century has."""

MOST_COUNT = 999_999
"""No count is larger."""

MOST_FIGURE = 999_999_999
"""No measured figure, torque or amount of money is larger."""

MOST_PLAN_DAYS = 731
"""No plan reaches further: two years."""

MOST_DAYS = 3_660
"""No span of days that a shop is set up with is longer: ten years."""

MOST_IN_AN_ID = 200
"""Characters of an id, a serial or a part number."""


def day_from_text(text: str) -> date:
    """The day that `YYYY-MM-DD` names. Raises ValueError for anything else, a day beyond the years too."""
    day = date.fromisoformat(text)
    if day.year not in YEARS:
        raise ValueError(text)
    return day


def can_be_id(text: str) -> bool:
    """Whether a text can be an id: one line, without control characters and without blanks around it."""
    return 0 < len(text) <= MOST_IN_AN_ID and text.isprintable() and text == text.strip()

"""When each boat of the demo marina is laid up, launched, read and serviced."""

from __future__ import annotations

import random
from datetime import date, timedelta

from tests.demo.marina import TODAY, BoatPlan

SILENT = ("Byssus", "Blauwe Bank", "Quillhaven Inshore 2")
SILENT_SINCE = date(2025, 12, 20)
"""Boats that sent no figures since: hours have probably run out, and no reading shows it."""


def layups_of(plan: BoatPlan, joined_on: date, chance: random.Random) -> list[tuple[date, date]]:
    """Every winter's lay-up, from the first one after it joined, the present one's planned end included."""
    if not plan.laid_up:
        return []
    if plan.use == "private":
        usual_start, usual_end = chance.randint(275, 300), chance.randint(76, 112)  # days of the year
        if plan.habit == "late":
            usual_end = max(usual_end, 116)
    elif plan.use == "hire":
        usual_start, usual_end = 309, 82
    else:
        usual_start, usual_end = 322, 70
    found = []
    for year in range(2021, TODAY.year):
        start = date(year, 1, 1) + timedelta(days=usual_start + chance.randint(-6, 6))
        end = date(year + 1, 1, 1) + timedelta(days=usual_end + chance.randint(-5, 5))
        if start > joined_on + timedelta(days=20):
            found.append((start, end))
    return found


def is_afloat(layups: list[tuple[date, date]], day: date) -> bool:
    """Whether no lay-up covers a day."""
    return not any(start <= day < end for start, end in layups)


def is_read_on(plan: BoatPlan, number: int, day: date) -> tuple[str, str | None] | None:
    """Where a reading of that day comes from, and by whom; None on most days."""
    if plan.name in SILENT and day >= SILENT_SINCE:
        return None
    if plan.use == "hire":
        return ("hire desk", "Tidewren desk") if day.day in (1, 15) and 3 < day.month < 12 else None
    if plan.use == "charter":
        return ("skipper's log", None) if day.day == 3 + number % 5 else None
    if plan.use == "rescue":
        return ("coxswain, e-mail", None) if day.day == 28 and day.month % 2 == 0 else None
    if plan.use == "commercial":
        return ("dock round", "Femke Aldous") if (day.toordinal() + 17 * number) % 76 == 0 else None
    if (day.month, day.day) in ((6, 11 + number % 15), (8, 2 + number % 20)):
        return ("owner, e-mail" if number % 3 else "owner, phone", None)
    return None

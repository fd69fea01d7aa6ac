"""How much of a reminder fits one printed page, A4 or Letter: lines of print, counted from the texts.

The counts are those of the stylesheet for print, with a wide typeface, so that a narrower one leaves room.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from fleetlog.reports.owner_lines import OwnerLine

PAGE_LINES = 57.0
"""Lines of print on a page, the smaller of A4 and Letter."""
ENGINES_A_PAGE = 2
WIDTH = 98
"""Characters that a line of print holds at least."""
WORK_WIDTH, WHY_WIDTH, WHEN_WIDTH = 24, 48, 27


def text_lines(text: str, width: int = WIDTH) -> int:
    """About how many lines of print a text takes; none where it is empty."""
    return ceil(len(text) / width)


def row_lines(line: OwnerLine) -> float:
    """About how many lines of print a row of a reminder takes, its rule included."""
    work = text_lines(line.state + "   " + line.work, WORK_WIDTH)
    why = text_lines(line.why + " " + line.waits, WHY_WIDTH) + (1.2 if line.used else 0)
    return 0.6 + max(work, why, text_lines(line.by_when, WHEN_WIDTH))


def rows_that_fit(rows: Sequence[Sequence[OwnerLine]], other_lines: float) -> list[int]:
    """How many rows of each engine fit beside `other_lines` of print, at least one of each.

    There is a page for every two engines. Engines take turns, so that the most pressing rows of each come
    before the second ones of any.
    """
    shown = [min(1, len(drawn)) for drawn in rows]
    engines = sum(shown)
    room = PAGE_LINES * max(1, ceil(engines / ENGINES_A_PAGE)) - other_lines
    room -= sum(row_lines(drawn[0]) for drawn in rows if drawn)
    waiting = [place for place, drawn in enumerate(rows) if len(drawn) > 1]
    while waiting:
        place = min(waiting, key=lambda p: (shown[p], p))
        cost = row_lines(rows[place][shown[place]])
        if cost > room:
            waiting.remove(place)
            continue
        room -= cost
        shown[place] += 1
        if shown[place] == len(rows[place]):
            waiting.remove(place)
    return shown

"""How much of a reminder fits one printed page, A4 or Letter: lines of print, counted from the texts.

The counts are those of the stylesheet for print, with a wide typeface, so that a narrower one leaves room.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from fleetlog.reports.owner_lines import OwnerLine

PAGE_LINES = 58.0
"""Lines of print on a page, the smaller of A4 and Letter."""
ENGINES_A_PAGE = 2
WIDTH = 98
"""Characters that a line of print holds at least."""
WORK_WIDTH, WHY_WIDTH, WHEN_WIDTH = 24, 48, 27
BAR_WIDTH = 14
"""Characters that a bar takes the place of."""


def text_lines(text: str, width: int = WIDTH) -> int:
    """About how many lines of print a text takes; none where it is empty."""
    return ceil(len(text) / width)


def row_lines(line: OwnerLine) -> float:
    """About how many lines of print a row of a reminder takes, its rule included."""
    work = text_lines(line.state + "   " + line.work, WORK_WIDTH)
    drawn = sum(BAR_WIDTH + len(used.text) for used in line.used)
    why = text_lines(line.why + " " + line.waits, WHY_WIDTH) + 1.1 * ceil(drawn / WHY_WIDTH)
    return 0.6 + max(work, why, text_lines(line.by_when, WHEN_WIDTH))


def room_beside(rows: Sequence[Sequence[OwnerLine]], other_lines: float) -> float:
    """Lines of print left beside `other_lines` and the first row of each engine; below 0, they do not fit.

    There is a page for every two engines.
    """
    pages = max(1, ceil(sum(1 for drawn in rows if drawn) / ENGINES_A_PAGE))
    return PAGE_LINES * pages - other_lines - sum(row_lines(drawn[0]) for drawn in rows if drawn)


def rows_that_fit(rows: Sequence[Sequence[OwnerLine]], other_lines: float) -> list[int]:
    """How many rows of each engine fit beside `other_lines` of print, at least one of each.

    Engines take turns, so that the most pressing rows of each come before the second ones of any.
    """
    shown = [min(1, len(drawn)) for drawn in rows]
    room = room_beside(rows, other_lines)
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

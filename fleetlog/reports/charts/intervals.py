"""The maker's intervals as upright lines in the pictures of a part's life."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from markupsafe import escape

ROWS = 3
ROW_HIGH = 15
ABOVE = ROWS * ROW_HIGH + 6
"""What the labels need above the picture: neighbours stand in rows of their own."""


@dataclass(frozen=True, slots=True)
class DrawnInterval:
    """An interval and what stands above its line."""

    age: float
    label: str


def drawn_intervals(
    intervals: Sequence[DrawnInterval],
    place: Callable[[float], float],
    right: float,
    top: float,
    bottom: float,
) -> Iterator[str]:
    """Each interval as a line with its label above it."""
    for number, interval in enumerate(sorted(intervals, key=lambda i: i.age)):
        at, row = place(interval.age), top - 4 - ROW_HIGH * (number % ROWS)
        half = 4 * len(interval.label)
        anchor = "end" if at + half > right else "middle"
        yield f'<path class="today" d="M{at:g} {row + 2:g}V{bottom:g}"/>'
        yield f'<text x="{at:g}" y="{row:g}" text-anchor="{anchor}">{escape(interval.label)}</text>'

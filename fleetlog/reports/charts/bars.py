"""The bar that shows an age against its interval: filled as far as used, striped beyond the limit.

A bar never stands alone: the figures that it draws are in the text beside it, and it is hidden from
readers who hear the page.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from markupsafe import Markup

FURTHEST = 125
"""The bar ends at this many hundredths of the interval; an arrow says that more was run."""


@dataclass(frozen=True, slots=True)
class Used:
    """How much of an interval is used: the picture, and the figures as text."""

    bar: Markup
    text: str


def age_bar(used: float, limit: float) -> Markup:
    """An age against its limit, in any one unit, as an inline picture."""
    percent = 0 if limit <= 0 else max(0, round(100 * used / limit))
    # a limit that is not quite reached is never drawn as passed, nor one that is passed as not
    if percent == 100 and used != limit:
        percent = 99 if used < limit else 101
    return _drawn(min(percent, FURTHEST + 1))


@cache
def _drawn(percent: int) -> Markup:
    within = min(percent, 100)
    parts = ['<path class="track" d="M1 3h100v10H1z"/>']
    if within:
        parts.append(f'<path class="used" d="M1 3h{within}v10H1z"/>')
    if percent > 100:
        end = 1 + min(percent, FURTHEST)
        stripes = "".join(f"M{x} 13 {min(x + 5, end)} 3" for x in range(102, end, 4))
        parts.append(f'<path class="over" d="M101 3H{end}v10H101z"/><path class="stripes" d="{stripes}"/>')
        if percent > FURTHEST:
            parts.append('<path class="used" d="M127 3l5 5-5 5z"/>')
    parts.append('<path class="limit" d="M101 0v16"/>')
    drawn = "".join(parts)
    return Markup(f'<svg class="bar" viewBox="0 0 132 16" aria-hidden="true" focusable="false">{drawn}</svg>')

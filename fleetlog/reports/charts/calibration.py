"""How often stated chances came true, against how often they should: the calibration plot of a backtest."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from markupsafe import Markup

from fleetlog.reports.charts.axes import Scale
from fleetlog.reports.words import percent_text

WIDE, HIGH = 400, 350
LEFT, RIGHT, TOP, BOTTOM = 56, 374, 34, 302
TENTHS = range(0, 11, 2)
BAND = (0.1, 0.9)


def calibration_chart(stated: Sequence[float], came_true: Sequence[float], name: str) -> Markup:
    """The curve of shares that came true over stated ones, both 0 to 1; `name` begins the ids of the picture.

    The dashed diagonal is a forecast whose chances come true as stated; the shaded band is its window.
    """
    x, y = Scale(0, 1, LEFT, RIGHT), Scale(0, 1, BOTTOM, TOP)
    low, high = (x.at(share) for share in BAND)
    drawn = [f'<path class="band" d="M{low:g} {TOP}H{high:g}V{BOTTOM}H{low:g}z"/>']
    for tenth in TENTHS:
        across, up = x.at(tenth / 10), y.at(tenth / 10)
        drawn.append(f'<path class="grid" d="M{LEFT} {up:g}H{RIGHT}M{across:g} {BOTTOM}v5"/>')
        drawn.append(f'<text x="{LEFT - 6}" y="{up + 5:g}" text-anchor="end">{tenth * 10} %</text>')
        drawn.append(f'<text x="{across:g}" y="{BOTTOM + 20}" text-anchor="middle">{tenth * 10} %</text>')
    drawn.append(f'<text x="{(LEFT + RIGHT) / 2:g}" y="{HIGH - 8}" text-anchor="middle">chance stated</text>')
    drawn.append(f'<text x="4" y="{TOP - 16}">came true</text>')
    drawn.append(f'<path class="forecast" d="M{LEFT} {BOTTOM}L{RIGHT} {TOP}"/>')
    points = [(x.at(a), y.at(b)) for a, b in zip(stated, came_true, strict=True)]
    drawn.append('<path class="line" d="M' + " ".join(f"{a:g} {b:g}" for a, b in points) + '"/>')
    drawn.extend(f'<circle class="dot" cx="{a:g}" cy="{b:g}" r="2.6"/>' for a, b in points)
    said = ", ".join(
        f"{percent_text(_at(stated, came_true, share))} for {percent_text(share)}"
        for share in (0.1, 0.25, 0.5, 0.75, 0.9)
    )
    return Markup(
        '<svg class="chart" viewBox="0 0 %d %d" role="img" aria-labelledby="%s-t %s-d">'
        '<title id="%s-t">How often chances came true</title><desc id="%s-d">Came true: %s.</desc>%s</svg>'
    ) % (WIDE, HIGH, name, name, name, name, said, Markup("".join(drawn)))


def _at(stated: Sequence[float], came_true: Sequence[float], share: float) -> float:
    """What came true of a stated share, on the straight line between the points beside it."""
    points = list(zip(stated, came_true, strict=True))
    for (low, below), (high, above) in pairwise(points):
        if low <= share <= high:
            return below + (above - below) * (share - low) / ((high - low) or 1)
    return points[-1][1]

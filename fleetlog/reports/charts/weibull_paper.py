"""The Weibull plot: failures on probability paper, the fitted line with its band, the maker's interval.

Age runs across by its logarithm, the share failed up by that of its cumulative hazard, so that a Weibull
distribution is a straight line.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from fleetlog.life.curve import PAPER_SHARES, LifeCurve, paper_height
from fleetlog.reports.charts.axes import Scale, path_through
from fleetlog.reports.charts.intervals import ABOVE, DrawnInterval, drawn_intervals

WIDE, HIGH = 400, 310
LEFT, RIGHT, TOP, BOTTOM = 50, 392, ABOVE, 280
MOST_POINTS = 150
"""Of more failures only so many are drawn, evenly by rank."""

_LINES = ("line", "forecast", "limit-line")
_MARKS = ("circle", "cross", "square")
MOST_GROUPS = len(_LINES)
"""Groups told apart by the stroke of their line and the shape of their points, never by colour."""


@dataclass(frozen=True, slots=True)
class PaperLine:
    """One fit on the paper, with its name where there are several."""

    curve: LifeCurve
    name: str = ""


def weibull_paper(
    lines: Sequence[PaperLine], intervals: Sequence[DrawnInterval], name: str, said: str
) -> Markup:
    """The picture of one fit with its band, or of up to MOST_GROUPS fits without bands.

    `name` begins its ids, which have to be the page's only ones; `said` describes it for whoever can't see.
    """
    x, y = _scales([line.curve for line in lines], intervals)
    drawn = [*_grid(x, y), *drawn_intervals(intervals, lambda age: x.at(math.log(age)), RIGHT, TOP, BOTTOM)]
    if len(lines) == 1:
        drawn.append(_band(lines[0].curve, x, y))
    for number, line in enumerate(lines[:MOST_GROUPS]):
        drawn.extend(_fit(line, x, y, number))
    return Markup(
        '<svg class="chart" viewBox="0 0 %d %d" role="img" aria-labelledby="%s-t %s-d">'
        '<title id="%s-t">Weibull plot: share failed by age</title><desc id="%s-d">%s</desc>%s</svg>'
    ) % (WIDE, HIGH, name, name, name, name, said, Markup("".join(drawn)))


def _height(share: float) -> float:
    return float(paper_height(share))


def _scales(curves: Iterable[LifeCurve], intervals: Iterable[DrawnInterval]) -> tuple[Scale, Scale]:
    ages, shares = [i.age for i in intervals], []
    for curve in curves:
        ages += [*curve.line_age[[0, -1]].tolist(), *curve.point_age.tolist()]
        shares += [*curve.line_failed_share[[0, -1]].tolist(), *curve.point_failed_share.tolist()]
    low, high = math.log(min(ages)), math.log(max(ages))
    margin = max((high - low) * 0.03, 0.01)
    return (
        Scale(low - margin, high + margin, LEFT, RIGHT),
        Scale(_height(min(shares)), _height(max(shares)), BOTTOM, TOP),
    )


def _grid(x: Scale, y: Scale) -> Iterator[str]:
    lowest = HIGH + 99.0
    for share in PAPER_SHARES:
        if y.low <= _height(share) <= y.high:
            at = y.at(_height(share))
            yield f'<path class="grid" d="M{LEFT} {at:g}H{RIGHT}"/>'
            if lowest - at > 13:
                yield f'<text x="{LEFT - 6}" y="{at + 5:g}" text-anchor="end">{100 * share:g} %</text>'
                lowest = at
    ended = -99.0
    for age in _round_ages(math.exp(x.low), math.exp(x.high)):
        at, label = x.at(math.log(age)), f"{age:g}"
        yield f'<path class="grid" d="M{at:g} {TOP}V{BOTTOM}"/>'
        half = 4.2 * len(label)
        if at - half > ended and at + half < WIDE:
            yield f'<text x="{at:g}" y="{BOTTOM + 18}" text-anchor="middle">{label}</text>'
            ended = at + half + 6


def _round_ages(low: float, high: float) -> list[float]:
    """1, 2 and 5 times the powers of ten between two ages, or every tenth where there are few."""
    powers = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    coarse = [m * 10.0**p for p in powers for m in (1, 2, 5)]
    fine = [m * 10.0**p / 2 for p in powers for m in range(2, 20)]
    within = [age for age in coarse if low <= age <= high]
    return within if len(within) > 2 else [age for age in fine if low <= age <= high]


def _band(curve: LifeCurve, x: Scale, y: Scale) -> str:
    left, right = math.exp(x.low), math.exp(x.high)
    heights = [y.at(min(max(_height(float(s)), y.low), y.high)) for s in curve.band_failed_share]
    lows = [x.at(math.log(min(max(float(a), left), right))) for a in curve.band_low_age]
    highs = [x.at(math.log(min(max(float(a), left), right))) for a in curve.band_high_age]
    around = [*zip(lows, heights, strict=True), *list(zip(highs, heights, strict=True))[::-1]]
    return f'<path class="band" d="M{path_through(around)}z"/>'


def _fit(line: PaperLine, x: Scale, y: Scale, number: int) -> Iterator[str]:
    curve = line.curve
    ends = [
        (x.at(math.log(float(curve.line_age[i]))), y.at(_height(float(curve.line_failed_share[i]))))
        for i in (0, -1)
    ]
    yield f'<path class="{_LINES[number]}" d="M{path_through(ends)}"/>'
    every = max(1, -(-curve.point_age.size // MOST_POINTS))
    for age, share in zip(curve.point_age[::every], curve.point_failed_share[::every], strict=True):
        yield _mark(x.at(math.log(float(age))), y.at(_height(float(share))), _MARKS[number])
    if line.name:
        at = TOP - 12
        start = LEFT + number * (RIGHT - LEFT) / MOST_GROUPS
        yield f'<path class="{_LINES[number]}" d="M{start:g} {at}h22"/>'
        yield _mark(start + 11, at, _MARKS[number])
        yield f'<text x="{start + 27:g}" y="{at + 5}">{escape(line.name[:14])}</text>'


def _mark(a: float, b: float, shape: str) -> str:
    if shape == "circle":
        return f'<circle class="dot" cx="{a:g}" cy="{b:g}" r="3"/>'
    if shape == "cross":
        return f'<path class="cross" d="M{a - 3.5:g} {b - 3.5:g}l7 7m0-7l-7 7"/>'
    return f'<path class="column" d="M{a - 3:g} {b - 3:g}h6v6h-6z"/>'

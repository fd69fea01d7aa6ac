"""How failures become more or less frequent with age, with the number under watch below."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from markupsafe import Markup

from fleetlog.life.curve import LifeCurve
from fleetlog.reports.charts.axes import Scale, round_steps
from fleetlog.reports.charts.intervals import ABOVE, DrawnInterval, drawn_intervals

WIDE, HIGH = 400, 310
LEFT, RIGHT, TOP, BOTTOM = 58, 388, ABOVE, 258

PER = {"hours": 1000, "months": 100}
"""Failures are told per so many hours or months of running."""


def hazard_chart(curve: LifeCurve, intervals: Sequence[DrawnInterval], name: str, said: str) -> Markup:
    """The picture of the hazard; `name` begins its ids, `said` describes it for whoever can't see it."""
    per = PER[curve.unit]
    hazards = [float(h) * per for h in curve.hazard]
    within = [i for i in intervals if i.age <= float(curve.hazard_age[-1])]
    steps = round_steps(max(hazards)) if max(hazards) >= 1 else [0.0, max(hazards)]
    x = Scale(0, float(curve.hazard_age[-1]), LEFT, RIGHT)
    y = Scale(0, steps[-1], BOTTOM, TOP)
    drawn = [*_grid(curve, x, y, steps), *drawn_intervals(within, x.at, RIGHT, TOP, BOTTOM)]
    points = " ".join(
        f"{x.at(float(age)):g} {y.at(hazard):g}"
        for age, hazard in zip(curve.hazard_age, hazards, strict=True)
    )
    drawn.append(f'<path class="line" d="M{points}"/>')
    return Markup(
        '<svg class="chart" viewBox="0 0 %d %d" role="img" aria-labelledby="%s-t %s-d">'
        '<title id="%s-t">Failures by age</title><desc id="%s-d">%s</desc>%s</svg>'
    ) % (WIDE, HIGH, name, name, name, name, said, Markup("".join(drawn)))


def _grid(curve: LifeCurve, x: Scale, y: Scale, steps: Sequence[float]) -> Iterator[str]:
    for step in steps:
        at = y.at(step)
        yield f'<path class="grid" d="M{LEFT} {at:g}H{RIGHT}"/>'
        yield f'<text x="{LEFT - 6}" y="{at + 5:g}" text-anchor="end">{step:.3g}</text>'
    yield f'<text x="0" y="{BOTTOM + 38}">seen</text>'
    ended = -99.0
    for age, seen in zip(curve.risk_age, curve.at_risk, strict=True):
        at, labels = x.at(float(age)), (f"{float(age):g}", f"{float(seen):.0f}")
        yield f'<path class="grid" d="M{at:g} {BOTTOM}v5"/>'
        half = 4.2 * max(len(label) for label in labels)
        if at - half > ended and at + half < WIDE:
            yield f'<text x="{at:g}" y="{BOTTOM + 20}" text-anchor="middle">{labels[0]}</text>'
            yield f'<text x="{at:g}" y="{BOTTOM + 38}" text-anchor="middle">{labels[1]}</text>'
            ended = at + half + 6

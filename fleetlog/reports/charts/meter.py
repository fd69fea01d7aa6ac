"""The curve of an engine's hours: readings that count, those held, the limit ahead and the forecast."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup, escape

from fleetlog.reports.charts.axes import Scale, day_ticks, path_through, round_steps
from fleetlog.reports.outlook import Outlook, Points
from fleetlog.reports.words import day_text

WIDE, HIGH = 400, 270
LEFT, RIGHT, TOP, BOTTOM = 58, 392, 14, 236


@dataclass(frozen=True, slots=True)
class MeterCurve:
    """What the picture of an engine's hours holds; hours are engine hours.

    A held reading beyond the picture is drawn at its edge; the description has its figure.
    """

    today: date
    outlook: Outlook
    accepted: Points
    held: Points = ()
    limit_hours: float | None = None
    limit_name: str | None = None


def meter_chart(curve: MeterCurve, name: str) -> Markup:
    """The picture of an engine's hours; `name` begins its ids, which have to be the page's only ones."""
    ahead = curve.outlook
    days = [d for d, _ in (*curve.accepted, *curve.held, *ahead.low, *ahead.high)] + [curve.today]
    steps = round_steps(_top(curve))
    x = Scale(min(days).toordinal(), max(days).toordinal(), LEFT, RIGHT)
    y = Scale(0, steps[-1], BOTTOM, TOP)
    drawn = [*_grid(curve, x, y, steps, min(days), max(days)), *_ahead(ahead, x, y)]
    points = [(x.at(d.toordinal()), y.at(h)) for d, h in curve.accepted]
    if len(points) > 1:
        drawn.append(f'<path class="line" d="M{path_through(points)}"/>')
    size = 3.6 if len(points) <= 40 else 2
    drawn.extend(f'<circle class="dot" cx="{a}" cy="{b}" r="{size}"/>' for a, b in points)
    for day, hours in curve.held:
        a, b = x.at(day.toordinal()), y.at(min(max(hours, 0), steps[-1]))
        drawn.append(f'<path class="cross" d="M{a - 5:g} {b - 5:g}l10 10m0-10l-10 10"/>')
    title, desc = "Engine hours by date", _described(curve)
    return Markup(
        '<svg class="chart" viewBox="0 0 %d %d" role="img" aria-labelledby="%s-t %s-d">'
        '<title id="%s-t">%s</title><desc id="%s-d">%s</desc>%s</svg>'
    ) % (WIDE, HIGH, name, name, name, title, name, desc, Markup("".join(drawn)))


def _grid(
    curve: MeterCurve, x: Scale, y: Scale, steps: Sequence[float], first: date, last: date
) -> list[str]:
    drawn = []
    for step in steps:
        at = y.at(step)
        drawn.append(f'<path class="grid" d="M{LEFT} {at:g}H{RIGHT}"/>')
        drawn.append(f'<text x="{LEFT - 6}" y="{at + 5:g}" text-anchor="end">{step:g} h</text>')
    ended = -99.0
    for day, label in day_ticks(first, last):
        at = x.at(day.toordinal())
        drawn.append(f'<path class="grid" d="M{at:g} {BOTTOM}v5"/>')
        half = 4.2 * len(label)
        if at - half > ended and half < at < WIDE - half:
            drawn.append(f'<text x="{at:g}" y="{BOTTOM + 20}" text-anchor="middle">{label}</text>')
            ended = at + half + 4
    now = x.at(curve.today.toordinal())
    anchor = "end" if now > (LEFT + RIGHT) / 2 else "start"
    shift = -4 if anchor == "end" else 4
    drawn.append(f'<path class="today" d="M{now:g} {TOP - 8}V{BOTTOM}"/>')
    drawn.append(f'<text x="{now + shift:g}" y="{TOP}" text-anchor="{anchor}">today</text>')
    if curve.limit_hours is not None and curve.limit_hours <= steps[-1]:
        at = y.at(curve.limit_hours)
        drawn.append(f'<path class="limit-line" d="M{LEFT} {at:g}H{RIGHT}"/>')
        if curve.limit_name:
            drawn.append(
                f'<text class="over-lines" x="{LEFT + 4}" y="{at - 5:g}">{escape(curve.limit_name)}</text>'
            )
    return drawn


def _top(curve: MeterCurve) -> float:
    """The highest hours drawn: a high side far above the middle is cut off."""
    top = max([hours for _, hours in curve.accepted], default=1.0)
    ahead = curve.outlook
    if ahead.middle and ahead.high:
        expected = ahead.middle[-1][1]
        top = max(top, min(ahead.high[-1][1], expected + 2 * (expected - ahead.middle[0][1]) + 10))
    return max(top, 1.0) * 1.02


def _ahead(outlook: Outlook, x: Scale, y: Scale) -> list[str]:
    if not outlook.middle:
        return []
    low, middle, high = (
        [(x.at(day.toordinal()), y.at(min(hours, y.high))) for day, hours in side]
        for side in (outlook.low, outlook.middle, outlook.high)
    )
    return [
        f'<path class="band" d="M{path_through(low)} {path_through(high[::-1])}z"/>',
        f'<path class="forecast" d="M{path_through(middle)}"/>',
    ]


def _described(curve: MeterCurve) -> str:
    said = []
    if curve.accepted:
        (first, low), (last, high) = curve.accepted[0], curve.accepted[-1]
        said.append(f"From {low:.1f} h on {day_text(first)} to {high:.1f} h on {day_text(last)}.")
    else:
        said.append("No reading counts yet.")
    if curve.held:
        said.append("Held: " + ", ".join(f"{h:.1f} h on {day_text(d)}" for d, h in curve.held) + ".")
    ahead = curve.outlook
    if ahead.middle:
        end, hours = ahead.middle[-1]
        said.append(
            f"Expected by {day_text(end)}: about {hours:.0f} h, eight times in ten between "
            f"{ahead.low[-1][1]:.0f} and {ahead.high[-1][1]:.0f} h."
        )
    if curve.limit_hours is not None and curve.limit_name:
        said.append(f"Next limit in hours: {curve.limit_name} at {curve.limit_hours:.1f} h.")
    return " ".join(said)

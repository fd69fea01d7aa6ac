"""The curve of an engine's hours: readings that count, those held, the limit ahead and the forecast."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup, escape

from fleetlog.reports.axes import Scale, day_ticks, round_steps
from fleetlog.reports.words import day_text

WIDE, HIGH = 400, 270
LEFT, RIGHT, TOP, BOTTOM = 50, 392, 14, 236


@dataclass(frozen=True, slots=True)
class HoursAhead:
    """Expected engine hours on a day to come: low, middle and high, eight times in ten between the outer."""

    on: date
    low_hours: float
    middle_hours: float
    high_hours: float


@dataclass(frozen=True, slots=True)
class MeterCurve:
    """What the picture of an engine's hours holds; hours are engine hours."""

    today: date
    accepted: Sequence[tuple[date, float]]
    held: Sequence[tuple[date, float]] = ()
    ahead: Sequence[HoursAhead] = ()
    limit_hours: float | None = None
    limit_name: str | None = None


def meter_chart(curve: MeterCurve, name: str) -> Markup:
    """The picture of an engine's hours; `name` begins its ids, which have to be the page's only ones."""
    days = [d for d, _ in (*curve.accepted, *curve.held)] + [a.on for a in curve.ahead] + [curve.today]
    tops = [h for _, h in (*curve.accepted, *curve.held)] + [a.high_hours for a in curve.ahead]
    steps = round_steps(max([*tops, 1.0]) * 1.02)
    x = Scale(min(days).toordinal(), max(days).toordinal(), LEFT, RIGHT)
    y = Scale(0, steps[-1], BOTTOM, TOP)
    drawn = [*_grid(curve, x, y, steps, min(days), max(days)), *_ahead(curve, x, y)]
    points = [(x.at(d.toordinal()), y.at(h)) for d, h in curve.accepted]
    if len(points) > 1:
        drawn.append(f'<path class="line" d="M{_path(points)}"/>')
    size = 3.6 if len(points) <= 40 else 2
    drawn.extend(f'<circle class="dot" cx="{a}" cy="{b}" r="{size}"/>' for a, b in points)
    for day, hours in curve.held:
        a, b = x.at(day.toordinal()), y.at(hours)
        drawn.append(f'<path class="cross" d="M{a - 5:g} {b - 5:g}l10 10m0-10l-10 10"/>')
    title, desc = "Engine hours by date", _described(curve)
    return Markup(
        '<svg class="chart" viewBox="0 0 %d %d" role="img" aria-labelledby="%s-t %s-d">'
        '<title id="%s-t">%s</title><desc id="%s-d">%s</desc>%s</svg>'
    ) % (WIDE, HIGH, name, name, name, title, name, desc, Markup("".join(drawn)))


def _path(points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{a:g} {b:g}" for a, b in points)


def _grid(
    curve: MeterCurve, x: Scale, y: Scale, steps: Sequence[float], first: date, last: date
) -> list[str]:
    drawn = []
    for step in steps:
        at = y.at(step)
        drawn.append(f'<path class="grid" d="M{LEFT} {at:g}H{RIGHT}"/>')
        drawn.append(f'<text x="{LEFT - 6}" y="{at + 5:g}" text-anchor="end">{step:g}</text>')
    drawn.append(f'<text x="4" y="{TOP + 22}">h</text>')
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
            drawn.append(f'<text x="{LEFT + 4}" y="{at - 5:g}">{escape(curve.limit_name)}</text>')
    return drawn


def _ahead(curve: MeterCurve, x: Scale, y: Scale) -> list[str]:
    if len(curve.ahead) < 2:
        return []
    days = [x.at(a.on.toordinal()) for a in curve.ahead]
    low = [(d, y.at(a.low_hours)) for d, a in zip(days, curve.ahead, strict=True)]
    middle = [(d, y.at(a.middle_hours)) for d, a in zip(days, curve.ahead, strict=True)]
    high = [(d, y.at(a.high_hours)) for d, a in zip(days, curve.ahead, strict=True)]
    return [
        f'<path class="band" d="M{_path(low)} {_path(high[::-1])}z"/>',
        f'<path class="forecast" d="M{_path(middle)}"/>',
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
    if curve.ahead:
        end = curve.ahead[-1]
        said.append(
            f"Expected by {day_text(end.on)}: about {end.middle_hours:.0f} h, eight times in ten between "
            f"{end.low_hours:.0f} and {end.high_hours:.0f} h."
        )
    if curve.limit_hours is not None and curve.limit_name:
        said.append(f"Next limit in hours: {curve.limit_name} at {curve.limit_hours:.1f} h.")
    return " ".join(said)

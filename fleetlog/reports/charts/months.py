"""The hours an engine is expected to run in each month to come, as columns with their figures."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from markupsafe import Markup

from fleetlog.reports.charts.axes import Scale
from fleetlog.reports.words import MONTHS

WIDE, HIGH = 400, 170
TOP, BOTTOM = 24, 142


def month_chart(months: Sequence[tuple[date, float]], name: str) -> Markup:
    """Columns of expected hours, one for each (first day of a month, hours)."""
    if not months:
        return Markup("")
    y = Scale(0, max([h for _, h in months] + [1.0]), BOTTOM, TOP)
    wide = (WIDE - 8) / len(months)
    drawn = [f'<path class="grid" d="M4 {BOTTOM}H{WIDE - 4}"/>']
    for place, (month_on, hours) in enumerate(months):
        left, middle, top = 4 + place * wide, 4 + (place + 0.5) * wide, y.at(hours)
        if top < BOTTOM:
            drawn.append(
                f'<path class="column" d="M{left + 4:.1f} {BOTTOM}V{top:g}h{wide - 8:.1f}V{BOTTOM}z"/>'
            )
        drawn.append(f'<text x="{middle:.1f}" y="{top - 6:g}" text-anchor="middle">{hours:.0f}</text>')
        drawn.append(
            f'<text x="{middle:.1f}" y="{BOTTOM + 20}" text-anchor="middle">{MONTHS[month_on.month - 1][:3]}'
            "</text>"
        )
    said = ", ".join(f"{MONTHS[m.month - 1]} {m.year} {h:.0f} h" for m, h in months)
    return Markup(
        '<svg class="chart" viewBox="0 0 %d %d" role="img" aria-labelledby="%s-t %s-d">'
        '<title id="%s-t">Expected hours by month</title><desc id="%s-d">%s</desc>%s</svg>'
    ) % (WIDE, HIGH, name, name, name, name, said, Markup("".join(drawn)))

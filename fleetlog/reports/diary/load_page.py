"""The load of the coming months against capacity, as columns and as figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from fleetlog.diary.load import MonthLoad
from fleetlog.reports.charts.axes import Scale
from fleetlog.reports.diary.data import DiaryData
from fleetlog.reports.words import MONTHS, NBSP, percent_text

WIDE, HIGH, TOP, BOTTOM = 400, 230, 26, 192


@dataclass(frozen=True, slots=True)
class LoadRow:
    """One month in figures, whole hours."""

    month: str
    expected: str
    booked: str
    capacity: str
    bottleneck: str
    load: str
    note: str


@dataclass(frozen=True, slots=True)
class LoadPage:
    """The chart and its figures."""

    chart: Markup
    rows: Sequence[LoadRow]
    peak: str


def load_page(data: DiaryData) -> LoadPage:
    """The page of the load of the coming months."""
    rows = [_row(load) for load in data.load]
    over = [load for load in data.load if load.expected_tenths + load.booked_tenths > load.capacity_tenths]
    names = ", ".join(_month(load) for load in over)
    peak = (
        f"More work than the shop can do: {names}. Pull work forward, or add hours."
        if over
        else "Every month’s work fits."
    )
    return LoadPage(load_chart(data.load), rows, peak)


def _month(load: MonthLoad) -> str:
    return f"{MONTHS[load.month_on.month - 1]}{NBSP}{load.month_on.year}"


def _hours(tenths: int) -> str:
    return f"{tenths / 10:.0f}{NBSP}h"


def _row(load: MonthLoad) -> LoadRow:
    share = load.load_share
    bottleneck = "technicians" if load.technician_tenths <= load.place_tenths else "bays"
    note = "no capacity" if share is None else "too much" if share > 1 else "tight" if share > 0.9 else "fits"
    return LoadRow(
        _month(load),
        _hours(load.expected_tenths),
        _hours(load.booked_tenths),
        _hours(load.capacity_tenths),
        bottleneck,
        "–" if share is None else percent_text(share),
        note,
    )


def load_chart(months: Sequence[MonthLoad]) -> Markup:
    """Columns of hours, booked below expected, with a line across each at what the shop can do."""
    if not months:
        return Markup("")
    highest = max(max(m.expected_tenths + m.booked_tenths, m.capacity_tenths) for m in months)
    y = Scale(0, max(highest, 10), BOTTOM, TOP)
    wide = (WIDE - 8) / len(months)
    drawn = [f'<path class="grid" d="M4 {BOTTOM}H{WIDE - 4}"/>']
    for place, load in enumerate(months):
        left, middle = 4 + place * wide, 4 + (place + 0.5) * wide
        booked, whole = y.at(load.booked_tenths), y.at(load.booked_tenths + load.expected_tenths)
        limit = y.at(load.capacity_tenths)
        if load.expected_tenths:
            drawn.append(_column("column", left, wide, booked, whole))
        if load.booked_tenths:
            drawn.append(_column("dot", left, wide, BOTTOM, booked))
        drawn.append(f'<path class="limit-line" d="M{left + 2:.1f} {limit:g}h{wide - 4:.1f}"/>')
        share = load.load_share
        said = "none" if share is None else f"{100 * share:.0f} %"
        drawn.append(
            f'<text x="{middle:.1f}" y="{min(whole, limit) - 8:g}" text-anchor="middle">{said}</text>'
            f'<text x="{middle:.1f}" y="{BOTTOM + 22}" text-anchor="middle">'
            f"{MONTHS[load.month_on.month - 1][:3]}</text>"
        )
    told = "; ".join(
        f"{_month(m)}: {_hours(m.expected_tenths)} expected, {_hours(m.booked_tenths)} booked,"
        f" {_hours(m.capacity_tenths)} to be had"
        for m in months
    )
    return Markup(
        '<svg class="chart" viewBox="0 0 %d %d" role="img" aria-labelledby="load-t load-d">'
        '<title id="load-t">Load of the coming months</title><desc id="load-d">%s</desc>%s</svg>'
    ) % (WIDE, HIGH, told, Markup("".join(drawn)))


def _column(name: str, left: float, wide: float, low: float, high: float) -> str:
    return f'<path class="{name}" d="M{left + 5:.1f} {low:g}V{high:g}h{wide - 10:.1f}V{low:g}z"/>'

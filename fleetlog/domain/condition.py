"""Condition: the trend of one item's own measurements to its limit, a third way for a line to be due.

The trend is the median of the slopes between every two measurements since the item was fitted (Theil, 1950;
Sen, 1968), so that one bad figure among them does not turn it. It is followed no further beyond the last
measurement than the measurements themselves reach back: more they do not support.

- The figures are `measured` of entries and rows of the evidence, in the rule's `unit` or one that can be
  turned into it, on its item and position, since the latest *fitted* or rebuild that resets the rule; where
  a visit or a day has rows, these count alone. What a visit found is the old item's, where it fitted
  another; else what it left counts. The limit is `at_least`, `at_most` or `spread`: percent between
  positions, for rules without positions; of several figures of one day the worst counts.
- At least three measurements, over engine hours through the forecast, over days where the engine has no
  meter. Early and late are the 90 and the 10 % quantiles of the slopes, or the forecast's own where those
  are wider.
- It fills the line's early, likely and late dates and its *why* and never moves them out: each is the
  nearer of both. `due_on`, `due_hours` and `governs` stay the maker's limits, since scripts know these
  three words.
- The latest figure at or past the limit, or a limit reached by now, is *due today*: not overdue, since a
  look tells. A deferral does not move it. One bad figure as the latest one makes the line due, on the safe
  side, until the item is measured again.
- Lines without a record and lines of *next access* are left alone.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from statistics import median

from fleetlog.domain.evidence import Measurement
from fleetlog.domain.hours import Tenths, hours_text
from fleetlog.domain.records import Entry
from fleetlog.domain.satisfaction import Seen
from fleetlog.domain.schedule import Condition, Rule, Schedule
from fleetlog.domain.units import figure_text, in_unit
from fleetlog.domain.usage import DateWindow, HoursTarget, first_window
from fleetlog.domain.values import value_class
from fleetlog.domain.words import name_key, same_name, same_place
from fleetlog.errors import one_of

LEAST_MEASUREMENTS = 3
"""From fewer no trend is drawn."""

_PLAIN = re.compile(r"[+-]?(\d{1,9}\.?\d{0,9}|\.\d{1,9})", re.ASCII)
"""A figure of an entry, which may say anything, as it is judged: no larger and no finer than is measured."""

EARLY_SHARE, LATE_SHARE = 0.9, 0.1
"""The shares of all slopes that are at most as steep as the early and the late one."""


@value_class(frozen=True, slots=True)
class Measured:
    """A measurement on a day; `along` is how far the item had come: engine hours in tenths, or days."""

    on: date
    along: float
    value: Decimal


@value_class(frozen=True, slots=True)
class Wear:
    """What the measurements of an item say of its limit.

    Where it `is_past`, the latest figure is at or beyond the limit: it is due now. Otherwise `targets` are
    the engine hours (early, likely, late) at which the limit is reached, or `days` the days. `said` puts it
    into words.
    """

    said: str
    is_past: bool = False
    targets: tuple[HoursTarget, ...] = ()
    days: DateWindow | None = None

    @property
    def is_dated(self) -> bool:
        """Whether it says by when the limit is reached."""
        return self.is_past or bool(self.targets) or self.days is not None


@value_class(frozen=True, slots=True)
class Trend:
    """Where a limit is reached by the early, the likely and the late slope; None beyond what is supported."""

    early: float
    likely: float
    late: float


def wear_of(seen: Seen, rule: Rule, position: str | None) -> Wear | None:
    """What measurements say of one line; None where its rule has no condition or nothing was measured."""
    condition = rule.condition
    if condition is None:
        return None
    points, by_hours = measured_since_fitted(seen, rule, condition, position)
    if not points:
        return None
    last = points[-1]
    limit, falls = condition.limit, condition.at_least is not None
    shown = f"{figure_text(round(last.value, 4))} {condition.shown_unit} on {last.on.isoformat()}"
    bound = f"its limit of {figure_text(limit)} {condition.shown_unit}"
    if (last.value <= limit) if falls else (last.value >= limit):
        return Wear(f"Measured {shown}, which is at or past {bound}: it is due now.", is_past=True)
    if len(points) < LEAST_MEASUREMENTS:
        return Wear(f"Measured {shown}; fewer than {LEAST_MEASUREMENTS} measurements make no trend.")
    trend = trend_to(points, float(limit), falls=falls)
    reach = "as far again as they reach back, no further"
    if trend is None:
        return Wear(
            f"Measured {shown}; {len(points)} measurements since it was fitted, followed {reach}, do not come"
            f" to {bound}."
        )
    drawn = f"By the trend of {len(points)} measurements since it was fitted"
    said = f"{drawn}, the last {shown}, {bound} is reached"
    how = f"the measurements are followed {reach}"
    if by_hours:
        places = (trend.early, trend.likely, trend.late)
        early, likely, late = (hours_text(round(place)) for place in places)
        targets = tuple(HoursTarget(round(place)) for place in places)
        return Wear(f"{said} at {likely} h, between {early} and {late} h; {how}.", targets=targets)
    days = DateWindow(*(date.fromordinal(int(place)) for place in (trend.early, trend.likely, trend.late)))
    return Wear(
        f"{said} on {days.likely_on.isoformat()}, between {days.early_on.isoformat()} and"
        f" {days.late_on.isoformat()}; {how}.",
        days=days,
    )


@value_class(frozen=True, slots=True)
class _Figure:
    """One figure of an item, from an entry or from the evidence, with its engine hours in tenths."""

    on: date
    value: Decimal
    tenths: Tenths | None


def measured_since_fitted(
    seen: Seen, rule: Rule, condition: Condition, position: str | None
) -> tuple[list[Measured], bool]:
    """The measurements of the item that is there now, by day, and whether they go by engine hours.

    Of several on one day the worst counts. With `spread` a day's value is the difference between its
    highest and lowest position, in percent of the highest.
    """
    by_day: dict[date, list[_Figure]] = {}
    for figure in _figures(seen, rule, condition, position):
        by_day.setdefault(figure.on, []).append(figure)
    points = []
    for on in sorted(by_day):
        rows = by_day[on]
        values = [row.value for row in rows]
        if condition.spread is not None:
            highest = max(values)
            if len(values) < 2 or highest <= 0:
                continue
            value = (highest - min(values)) * 100 / highest
        else:
            value = min(values) if condition.at_least is not None else max(values)
        tenths = rows[0].tenths
        along = float(on.toordinal()) if tenths is None else float(tenths)
        points.append(Measured(on, along, value))
    return points, bool(seen.hours.days)


def _figures(seen: Seen, rule: Rule, condition: Condition, position: str | None) -> list[_Figure]:
    """Every figure of the item since it was fitted or renewed with a rebuild, each measurement once.

    Where a visit, or a day, has figures in the evidence, those count and not what its entries say: they tell
    each position, and what was found from what was left. Of both, what was left counts.
    """
    entries = [e for e in seen.of_item(rule.item) if same_place(e.position, position)]
    begun = max(
        [e for e in entries if e.action == "fitted"] + [e for e in seen.rebuilds if e.scope in rule.reset_by],
        key=lambda e: (e.on, e.sequence),
        default=None,
    )
    measured = [
        (m, value)
        for m in seen.measurements
        if same_name(m.item, rule.item)
        and same_place(m.position, position)
        and (value := in_unit(m.value, m.unit, condition.unit)) is not None
    ]
    visits, days = {m.visit_id for m, _ in measured} - {None}, {m.on for m, _ in measured}
    left = {(m.on, name_key(m.position or "")) for m, _ in measured if m.stage == "left"}
    figures = [
        _Figure(m.on, value, seen.hours.tenths_on(m.on))
        for m, value in measured
        if not (m.stage == "found" and (m.on, name_key(m.position or "")) in left) and _is_since(begun, m)
    ]
    for entry in entries:
        value = None if entry.visit_id in visits or entry.on in days else _figure(entry, condition)
        is_own = begun is None or entry.on > begun.on
        if value is not None and (is_own or (entry.action == "fitted" and begun and entry.on == begun.on)):
            figures.append(_Figure(entry.on, value, seen.hours.tenths_at(entry)))
    return figures


def _is_since(begun: Entry | None, measured: Measurement) -> bool:
    """Whether a figure of the evidence is the present item's: what its visit found was the old one's."""
    if begun is None:
        return True
    if measured.stage == "found" and (
        measured.on <= begun.on or (begun.visit_id is not None and measured.visit_id == begun.visit_id)
    ):
        return False
    return measured.on >= begun.on


def _figure(entry: Entry, condition: Condition) -> Decimal | None:
    said = (entry.measured or "").strip()
    return in_unit(Decimal(said), entry.unit, condition.unit) if _PLAIN.fullmatch(said) else None


def not_judged(schedule: Schedule | None, measured: Entry | Measurement) -> str | None:
    """That a figure counts for nothing by the schedule, which has a limit for its item in another unit."""
    rules = schedule.rules_for(measured.item or "") if schedule is not None else ()
    conditions = [rule.condition for rule in rules if rule.condition is not None]
    figures = (
        _figure(measured, one)
        if isinstance(measured, Entry)
        else in_unit(measured.value, measured.unit, one.unit)
        for one in conditions
    )
    if not conditions or any(figure is not None for figure in figures):
        return None
    figure = measured.measured if isinstance(measured, Entry) else figure_text(measured.value)
    shown = f"{figure} {measured.unit}" if measured.unit else figure
    units = one_of(sorted({one.unit for one in conditions}))
    return f"{shown} counts for nothing by the schedule, which judges {measured.item} by figures in {units}"


def trend_to(points: Sequence[Measured], limit: float, *, falls: bool) -> Trend | None:
    """Where the trend of measurements reaches a limit; None where it does not within what they support.

    The line goes through the medians of what is left when a slope is taken out; the early and the late
    slope are the 90 and the 10 % ones of all slopes between two measurements.
    """
    sign = -1.0 if falls else 1.0
    places = [(p.along, sign * float(p.value)) for p in points]
    slopes = sorted(
        (b[1] - a[1]) / (b[0] - a[0])
        for place, a in enumerate(places)
        for b in places[place + 1 :]
        if b[0] > a[0]
    )
    if not slopes:
        return None
    first, last = places[0][0], places[-1][0]
    supported = last + (last - first)
    middle = median(slopes)
    level = median(value - middle * along for along, value in places) + middle * last

    def reached(slope: float) -> float:
        ahead = (sign * limit - level) / slope if slope > 0 else float("inf")
        return min(max(last, last + ahead), supported)

    if middle <= 0 or last + (sign * limit - level) / middle > supported:
        return None
    return Trend(
        reached(_share_of(slopes, EARLY_SHARE)),
        reached(middle),
        reached(_share_of(slopes, LATE_SHARE)),
    )


def _share_of(ordered: Sequence[float], share: float) -> float:
    """A quantile, by linear interpolation between the values."""
    place = share * (len(ordered) - 1)
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (ordered[above] - ordered[below]) * (place - below)


def nearer(
    window: DateWindow | None, wear: Wear, by_hours: Sequence[DateWindow], today: date
) -> DateWindow | None:
    """A line's window with its condition in it: each of its days is the nearer one, never a later one.

    `by_hours` are the windows of the wear's targets. What is past already, or due to have been by now, is
    due today: no reading is asked for, since a look at the item tells.
    """
    if wear.is_past:
        own = DateWindow.of_day(today)
    elif by_hours:
        early, likely, late = by_hours
        own = DateWindow(
            min(early.likely_on, likely.early_on), likely.likely_on, max(late.likely_on, likely.late_on)
        )
    elif wear.days is not None:
        own = wear.days
    else:
        return window
    own = DateWindow(*(max(day, today) for day in (own.early_on, own.likely_on, own.late_on)))
    return own if window is None else first_window((window, own))

"""The forecasts of many engines at once, in the terms of the interval engine: for lists of a whole fleet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import chain

import numpy as np

from fleetlog.domain.hours import Tenths
from fleetlog.domain.usage import MONTHS_AHEAD, NOT_IN_SIGHT, DateWindow, HoursTarget, YearAhead
from fleetlog.forecast.basis import bases_in_words
from fleetlog.forecast.evidence import EngineUsage, FleetUsage
from fleetlog.forecast.fleet import HORIZON_DAYS, FleetForecast
from fleetlog.forecast.parameters import FleetParameters

LEVELS = 30
"""Hours that a curve ahead is made of, closer to each other at its beginning."""
FURTHEST_YEARS = 5
"""A curve goes up to what is expected in this many years: more than the high side in one."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """The windows of an engine's targets in the order given, and what they rest on in plain words."""

    windows: Sequence[DateWindow]
    basis: str


def outlooks(
    parameters: FleetParameters,
    engines: Sequence[EngineUsage],
    targets: Sequence[Sequence[HoursTarget]],
    today: date,
) -> list[Outlook]:
    """For each engine what `EngineForecast` says of its targets, worked out for all of them together."""
    if not engines:
        return []
    forecast = FleetForecast(parameters, FleetUsage.of(engines), today)
    windows = iter(windows_of(forecast, engines, targets, today))
    return [
        Outlook([next(windows) for _ in wanted], basis)
        for wanted, basis in zip(targets, bases_in_words(forecast, engines), strict=True)
    ]


def years_ahead(parameters: FleetParameters, engines: Sequence[EngineUsage], today: date) -> list[YearAhead]:
    """What each engine is expected to run in a year from today, worked out for all of them together."""
    if not engines:
        return []
    forecast = FleetForecast(parameters, FleetUsage.of(engines), today)
    months = _monthly_hours(forecast, today, MONTHS_AHEAD)
    last = [_last_reading(usage, today) for usage in engines]
    levels = [
        [] if read is None else _levels(read[1], sum(hours for _, hours in ahead))
        for read, ahead in zip(last, months, strict=True)
    ]
    targets = [[HoursTarget(tenths) for tenths in wanted] for wanted in levels]
    windows = iter(windows_of(forecast, engines, targets, today))
    by_today = forecast.hours_by(
        np.arange(len(engines)), np.full(len(engines), today.toordinal()), (0.9, 0.5, 0.1)
    )
    return [
        YearAhead(
            None if read is None else _estimate(read[1], *hours),
            ahead,
            [(tenths, next(windows)) for tenths in wanted],
            _stored(forecast, number),
        )
        for number, (read, *hours, ahead, wanted) in enumerate(
            zip(last, *by_today, months, levels, strict=True)
        )
    ]


def _stored(forecast: FleetForecast, engine: int) -> list[tuple[date, date]]:
    last = date.max.toordinal()
    lays = forecast.clock.layups.of_engine(engine)
    return [(date.fromordinal(begin), date.fromordinal(min(end, last))) for begin, end in lays]


def _estimate(shown_tenths: Tenths, *hours: float) -> tuple[int, int, int]:
    """Engine hours in tenths where so many more were run since the last reading: low, middle, high."""
    low, middle, high = (round(float(shown_tenths) + 10 * float(more)) for more in hours)
    return low, middle, high


def _monthly_hours(forecast: FleetForecast, today: date, months: int) -> list[list[tuple[date, float]]]:
    """For each engine the expected hours of the next calendar months, the rest of the present one first."""
    firsts, ends = [], [today.toordinal()]
    before = today
    for _ in range(months):
        firsts.append((before + timedelta(days=1)).replace(day=1))
        before = (firsts[-1] + timedelta(days=31)).replace(day=1) - timedelta(days=1)
        ends.append(before.toordinal())
    count = len(forecast.fleet)
    engine = np.repeat(np.arange(count), months)
    days = np.array(ends, dtype=np.int64)
    hours = forecast.expected_hours(engine, np.tile(days[:-1], count), np.tile(days[1:], count))
    return [list(zip(firsts, row, strict=True)) for row in hours.reshape(count, months).tolist()]


def _levels(shown_tenths: Tenths, year_hours: float) -> list[Tenths]:
    furthest = max(FURTHEST_YEARS * year_hours, 5.0)
    more = {max(1, round(10 * furthest * (n / LEVELS) ** 2)) for n in range(1, LEVELS + 1)}
    return [shown_tenths + tenths for tenths in sorted(more)]


def _last_reading(usage: EngineUsage, today: date) -> tuple[date, Tenths] | None:
    known = [r for r in usage.readings if r[0] <= today] if usage.metered else []
    return known[-1] if known else None


def windows_of(
    forecast: FleetForecast,
    engines: Sequence[EngineUsage],
    targets: Sequence[Sequence[HoursTarget]],
    today: date,
) -> list[DateWindow]:
    """The windows of the targets of each engine of a forecast, one engine's after the other's."""
    start, shown = [], []
    for usage in engines:
        last = _last_reading(usage, today)
        start.append(last[0] if last else today)
        shown.append(last[1] if last else 0)
    every = list(chain.from_iterable(targets))
    if not every:
        return []
    engine = [i for i, wanted in enumerate(targets) for _ in wanted]
    since = [(t.since or start[i]).toordinal() for i, t in zip(engine, every, strict=True)]
    hours = [
        max(float(t.tenths - (0 if t.since else shown[i])) / 10, 0.0)
        for i, t in zip(engine, every, strict=True)
    ]
    days = forecast.windows(np.array(engine), np.array(hours), np.array(since))
    seen = (np.where(d < forecast.today + HORIZON_DAYS, d, NOT_IN_SIGHT.toordinal()).tolist() for d in days)
    return [DateWindow(*map(date.fromordinal, window)) for window in zip(*seen, strict=True)]

"""Sets forecasts against use that is known day by day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np
from scipy.special import gammaincc

from fleetlog.forecast import FleetForecast, fit_fleet
from fleetlog.forecast.backtest import cases_of
from fleetlog.forecast.scoring import Cases
from tests.forecast.simulator import SERVICE_HOURS, Simulated

TRIP_DISPERSION = 1.75
"""Variance of hours over their mean, in usual trips: of trips of uneven length, in uneven weather."""


def service_hours(simulated: Simulated) -> np.ndarray:
    """The interval of each simulated engine's service, hours."""
    return np.array([SERVICE_HOURS[use] for use in simulated.usage.uses])[simulated.usage.use_code]


def next_services(simulated: Simulated, stand_on: Sequence[date], engines: np.ndarray | None = None) -> Cases:
    """Forecasts, as of past days, of the next service by hours of all engines or some, with the true day."""
    parts = []
    for day in stand_on:
        forecast = _forecast(simulated, day)
        engine = np.flatnonzero(forecast.last_day > day.toordinal() - 400)
        engine = engine if engines is None else np.intersect1d(engine, engines)
        every = service_hours(simulated)[engine]
        target = (np.floor(forecast.last_hours[engine] / every) + 1) * every
        parts.append(_with_truth(simulated, forecast, engine, target))
    return Cases.together(parts)


def began_on(simulated: Simulated, day: int) -> Simulated:
    """The same marina with a log that begins on a day: nothing was read before."""
    usage = simulated.usage
    seen = usage.reading_day >= day
    counts = np.bincount(usage.reading_engine[seen], minlength=len(usage))
    return replace(
        simulated,
        usage=replace(
            usage,
            reading_offsets=np.concatenate([[0], np.cumsum(counts)]),
            reading_day=usage.reading_day[seen],
            reading_hours=usage.reading_hours[seen],
        ),
    )


def replaced_on(simulated: Simulated, day: int, engines: np.ndarray, *, is_told: bool) -> Simulated:
    """The same marina with these engines replaced by new ones on a day, at whose end their meters show 0.

    They run on as the old ones would have; `is_told` says whether the old ones' readings are known of them.
    """
    usage, at = simulated.usage, day - simulated.first_day
    is_new = np.zeros(len(usage), dtype=bool)
    is_new[engines] = True
    hours = simulated.hours - np.where(is_new, simulated.hours[:, at], 0.0)[:, None]
    days, shown, counts = [], [], []
    for engine, first, end in zip(
        range(len(usage)), usage.reading_offsets[:-1], usage.reading_offsets[1:], strict=True
    ):
        read, meter = usage.reading_day[first:end], usage.reading_hours[first:end]
        if is_new[engine]:
            since = read > day
            own = np.round(hours[engine, read[since] - simulated.first_day], 1)
            before = meter[~since] - (meter[~since][-1:] - 0.1)  # hours fall where the new one begins
            former = ~since & is_told
            read = np.concatenate([read[former], [day], read[since]])
            meter = np.concatenate([before[: former.sum()], [0.0], own])
        days.append(read)
        shown.append(meter)
        counts.append(len(read))
    return replace(
        simulated,
        hours=hours,
        usage=replace(
            usage,
            reading_offsets=np.concatenate([[0], np.cumsum(counts)]),
            reading_day=np.concatenate(days),
            reading_hours=np.concatenate(shown),
            came_day=np.where(is_new & is_told, day, 0),
        ),
    )


def read_twice_before(simulated: Simulated, day: int) -> np.ndarray:
    """The engines that had been read twice and lately before a day."""
    usage = simulated.usage
    before = usage.reading_day <= day
    counts = np.bincount(usage.reading_engine[before], minlength=len(usage))
    lately = np.bincount(usage.reading_engine[before & (usage.reading_day > day - 200)], minlength=len(usage))
    return np.flatnonzero((counts > 1) & (lately > 0))


def hours_ahead(
    simulated: Simulated, day: date, hours: Sequence[float], read_within_days: int, run_within_days: int
) -> list[Cases]:
    """Forecasts of so many hours after the last reading, for units that were read and had run lately."""
    forecast = _forecast(simulated, day)
    at = np.maximum(forecast.last_day - simulated.first_day, 0)
    units = np.arange(len(simulated.usage))
    lately = simulated.hours[units, at] - simulated.hours[units, np.maximum(at - run_within_days, 0)]
    recent = forecast.last_day > day.toordinal() - read_within_days
    engine = np.flatnonzero(recent & (lately > 0) & (forecast.reading_days > 1))
    return [_with_truth(simulated, forecast, engine, forecast.last_hours[engine] + more) for more in hours]


def _forecast(simulated: Simulated, day: date) -> FleetForecast:
    known = simulated.usage.as_known_on(day.toordinal())
    return FleetForecast(fit_fleet(known, day), known, day)


def _with_truth(
    simulated: Simulated, forecast: FleetForecast, engine: np.ndarray, target: np.ndarray
) -> Cases:
    reached = simulated.reached_day(engine, target)
    end = simulated.first_day + (~np.isnan(simulated.hours[engine])).sum(axis=1)
    seen = reached < end
    day = np.where(seen, reached, end)[:, None]
    return cases_of(forecast, engine, target, seen, day - 1, day)


def holds_or_reaches_the_end(cases: Cases) -> float:
    """The share of windows that hold the true day, or reach the end of the data where it lies beyond."""
    day = cases.by[:, 0]
    inside = (cases.early <= day) & (day <= cases.late)
    return float(np.where(cases.is_reached, inside, cases.late >= day).mean())


def oracle_windows(simulated: Simulated, cases: Cases) -> np.ndarray:
    """The days from the last reading to the next service that one would state who knew all but chance.

    Every owner's rate, season, lay-ups and changes to come are known to it: hours are then a gamma process
    over the expected hours. Nothing can be much better, so a bar beyond it cannot be met.
    """
    assert simulated.expected is not None
    assert simulated.trip_hours is not None
    found = np.empty((3, len(cases)))
    every = service_hours(simulated)[cases.engine]
    shown = np.round(simulated.hours[cases.engine, cases.since - simulated.first_day], 1)
    needed = (np.floor(shown / every) + 1) * every - shown
    for row, (engine, since, need) in enumerate(zip(cases.engine, cases.since, needed, strict=True)):
        ahead = np.cumsum(simulated.expected[engine, since - simulated.first_day + 1 :], dtype=np.float64)
        burst = TRIP_DISPERSION * simulated.trip_hours[engine]
        reached = gammaincc(np.maximum(ahead, 1e-9) / burst, need / burst)
        found[:, row] = np.searchsorted(reached, (0.1, 0.5, 0.9)) + 1
    return found

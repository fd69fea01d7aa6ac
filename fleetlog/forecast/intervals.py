"""What successive readings say: hours run, over how much of the seasonal clock, and how unevenly."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from fleetlog.forecast.evidence import Days, FleetUsage
from fleetlog.forecast.season import StoredClock

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

IDLE_CLOCK_DAYS = 200
"""A stretch without an hour may be idleness from so many days of the seasonal clock on."""

IDLE_HOURS = 20.0
"""It is idleness if the engine would have run so many hours in it at the rate of its other readings."""

OUT_OF_SEASON = 0.3
"""A stretch of days is out of season for a kind that runs less than so much of its mean a day in it."""

NEW_DAYS = 30
"""What an engine ran since it was new tells a rate if it was that old at its first reading."""

NEW_BURSTS = 10.0
"""It tells no more than so many bursts do: of those years owners, meters and lay-ups are not known. Set by
simulated fleets, not by a source."""

NO_HOURS = 0.05
"""Fewer hours than a meter tells are none."""

LEAST_CLOCK_DAYS = 0.02
"""The least clock of an interval: in a lay-up it stands still, and hours may be run all the same."""


def over_kinds(weights: Floats, values: Floats) -> Floats:
    """The sum of weighted values (rows x kinds) of each row: its own, whatever other rows there are."""
    found: Floats = np.einsum("ij,ij->i", weights, values)
    return found


@dataclass(frozen=True, eq=False)
class Intervals:
    """The hours run between successive readings, and the seasonal clocks over them.

    Those `since_new` lie before an engine's first reading and are placed on its day.
    """

    engine: Days
    middle_day: Days
    hours: Floats
    clock_days: Floats
    since_new: Flags
    idle_engines: Days


def intervals_of(
    fleet: FleetUsage, clock: StoredClock, trailing_idle: bool = True, since_new: bool = False
) -> Intervals:
    """Intervals of the fleet that can tell a rate: some exposure, no fall of the hours, no idle years.

    Long stretches without an hour that the engine's own habit rules out say that it was out of use, not how
    fast it runs; the one up to the last reading is kept where `trailing_idle`. `idle_engines` are in one now.
    Nothing is told by engines that have not run as yet and were not read in season.
    With `since_new` what each engine ran before its first reading is among them, where its age is known.
    """
    reading_engine = fleet.reading_engine
    shown = clock.at(reading_engine, fleet.reading_day)
    hours = fleet.reading_hours[1:] - fleet.reading_hours[:-1]
    exposure = shown[1:] - shown[:-1]
    middle = (fleet.reading_day[1:] + fleet.reading_day[:-1]) // 2
    days = fleet.days_apart
    usable = fleet.goes_on & (hours >= 0) & (_in_any_kind(np.maximum, exposure) >= 0.25) & (days > 0)
    out_of_season = _in_any_kind(np.minimum, exposure) < OUT_OF_SEASON * days
    usable &= ~(_not_run_as_yet(fleet, reading_engine[1:]) & out_of_season)
    engine, hours, exposure, middle = (
        values.compress(usable, axis=0) for values in (reading_engine[1:], hours, exposure, middle)
    )
    idle = _idle(engine, hours, exposure.mean(axis=1))
    last = np.concatenate([engine[1:] != engine[:-1], [True]]) if len(engine) else idle
    idle_engines = engine[last & idle]
    if trailing_idle:
        idle &= ~_up_to_last(engine, idle)
    kept = ~idle
    found = Intervals(
        engine=engine[kept],
        middle_day=middle[kept],
        hours=hours[kept],
        clock_days=np.maximum(exposure.compress(kept, axis=0), LEAST_CLOCK_DAYS),
        since_new=np.zeros(int(kept.sum()), dtype=bool),
        idle_engines=idle_engines,
    )
    return _with_since_new(found, fleet, clock) if since_new else found


def _in_any_kind(extreme: np.ufunc, values: Floats) -> Floats:
    """The greatest or the least of each row (rows x kinds); numpy is slow to look along rows so short."""
    found: Floats = reduce(extreme, values.T)
    return found


def _not_run_as_yet(fleet: FleetUsage, engine: Days) -> Flags:
    """Whether each engine showed no hour from its first to its last reading, less than a year apart.

    While a season is out it may be stored or hardly run at all: nobody can tell which.
    """
    first, last = fleet.reading_offsets[:-1][engine], fleet.reading_offsets[1:][engine] - 1
    ran = fleet.reading_hours[last] - fleet.reading_hours[first]
    found: Flags = (ran < NO_HOURS) & (fleet.reading_day[last] - fleet.reading_day[first] < 365)
    return found


def _with_since_new(intervals: Intervals, fleet: FleetUsage, clock: StoredClock) -> Intervals:
    """The intervals and, before those of each engine, the one from when it was new to its first reading."""
    engine = tells_since_new(fleet).nonzero()[0]
    if not len(engine):
        return intervals
    first = fleet.reading_offsets[engine]
    day, hours = fleet.reading_day[first], fleet.reading_hours[first]
    exposure = clock.at(engine, day) - clock.at(engine, fleet.new_day[engine])
    order = np.argsort(np.concatenate([engine, intervals.engine]), kind="stable")
    return replace(
        intervals,
        engine=np.concatenate([engine, intervals.engine])[order],
        middle_day=np.concatenate([day, intervals.middle_day])[order],
        hours=np.concatenate([hours, intervals.hours])[order],
        clock_days=np.concatenate([np.maximum(exposure, LEAST_CLOCK_DAYS), intervals.clock_days])[order],
        since_new=np.concatenate([np.ones(len(engine), dtype=bool), intervals.since_new])[order],
    )


def tells_since_new(fleet: FleetUsage) -> Flags:
    """Which engines' first reading tells what they ran since they were new, on a day that is known.

    Where an engine replaced another, the first reading is of the other.
    """
    found = np.zeros(len(fleet), dtype=bool)
    read = fleet.readings.nonzero()[0]
    first = fleet.reading_offsets[read]
    days, hours = fleet.reading_day[first] - fleet.new_day[read], fleet.reading_hours[first]
    found[read] = (fleet.new_day[read] > 0) & (days >= NEW_DAYS) & (hours > 0) & (hours <= 24 * days)
    found &= fleet.came_day == 0
    return found


def first_day_of(fleet: FleetUsage, default: int) -> int:
    """The first day of which anything is known of the engines' use; `default` where nothing is."""
    read = int(fleet.reading_day.min(initial=default))
    return int(fleet.new_day.min(initial=read, where=fleet.new_day > 0))


def worth(intervals: Intervals, bursts: Floats) -> Floats:
    """For how much of itself each interval counts: all, but what an engine ran since new for a few bursts."""
    few = np.minimum(1.0, NEW_BURSTS / np.maximum(bursts, NEW_BURSTS))
    return np.where(intervals.since_new, few, 1.0)


def _up_to_last(engine: Days, idle: Flags) -> Flags:
    """Which idle intervals belong to a run that lasts up to the engine's last interval."""
    if not len(engine):
        return idle
    opens = np.concatenate([[True], (engine[1:] != engine[:-1]) | (idle[1:] != idle[:-1])])
    run = opens.cumsum() - 1
    last = np.concatenate([engine[1:] != engine[:-1], [True]])
    open_ended = np.zeros(run[-1] + 1, dtype=bool)
    open_ended[run[last]] = True
    found: Flags = idle & open_ended[run]
    return found


def _idle(engine: Days, hours: Floats, clock_days: Floats) -> Flags:
    """Intervals in long runs without an hour that would have held `IDLE_HOURS` at the engine's usual rate."""
    still = hours < NO_HOURS
    if not bool(still.any()):
        return still
    opens = np.concatenate([[True], (engine[1:] != engine[:-1]) | (still[1:] != still[:-1])])
    run = opens.cumsum() - 1
    run_days = np.bincount(run, clock_days)
    engines = int(engine[-1]) + 1
    active = ~still | (run_days[run] < IDLE_CLOCK_DAYS)
    days = np.bincount(engine[active], clock_days[active], engines)
    ran = np.bincount(engine[active], hours[active], engines)
    usual = ran / np.maximum(days, 1.0)
    found: Flags = ~active & (run_days[run] * usual[engine] > IDLE_HOURS)
    return found


def last_readings(fleet: FleetUsage) -> tuple[Days, Floats]:
    """Day and hours of each engine's last reading; day 0 where there is none."""
    last = np.maximum(fleet.reading_offsets[1:] - 1, 0)
    if not len(fleet.reading_day):
        return np.zeros(len(fleet), dtype=np.int64), np.zeros(len(fleet))
    has = fleet.readings > 0
    last = np.minimum(last, len(fleet.reading_day) - 1)
    return np.where(has, fleet.reading_day[last], 0), np.where(has, fleet.reading_hours[last], 0.0)


def pair_dispersion(intervals: Intervals, weights: Floats, engines: int) -> tuple[Floats, Floats]:
    """Sum and number of the dispersions in hours told by each engine's neighbouring intervals.

    With clocks A and hours h, (h1 A2 - h2 A1)^2 / (A1 A2 (h1 + h2)) has the dispersion as its mean where
    both intervals have one rate and the variance of the hours is dispersion times mean. What an engine ran
    since new is not one of them: nobody knows how evenly.
    """
    exposure = over_kinds(intervals.clock_days, weights[intervals.engine])
    same = (intervals.engine[1:] == intervals.engine[:-1]) & ~intervals.since_new[:-1]
    both = same & (intervals.hours[1:] + intervals.hours[:-1] > 0)
    first, second = intervals.hours[:-1][both], intervals.hours[1:][both]
    before, after = exposure[:-1][both], exposure[1:][both]
    told = (first * after - second * before) ** 2 / (before * after * (first + second))
    engine = intervals.engine[1:][both]
    total = np.bincount(engine, told, engines).astype(np.float64)
    return total, np.bincount(engine, minlength=engines).astype(np.float64)

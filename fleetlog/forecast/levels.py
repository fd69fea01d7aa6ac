"""The level of an engine's own rate over the years, and how far single years depart from it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fleetlog.forecast.evidence import Days, FleetUsage
from fleetlog.forecast.intervals import Intervals, intervals_of, last_readings, over_kinds
from fleetlog.forecast.parameters import FleetParameters
from fleetlog.forecast.rates import BLOCK_DAYS, seen
from fleetlog.forecast.season import Layups, SeasonClock
from fleetlog.forecast.seasons_fit import Seasons

Floats = NDArray[np.float64]

USUAL_YEAR_VARIANCE, USUAL_DRIFT = 0.1, 0.05
"""Variances of the logarithm of a year's rate about the engine's level, and of that level's change in a
year, where the fleet is too small to tell: set by simulated fleets, not by a source."""

PAIRS_KNOWN = 30
"""Pairs of years that the usual variances count for against those of the fleet."""

CHANGE_SHARE, CHANGE_VARIANCE = 0.15, 1.0
"""How often what an engine runs now is a new habit, against once for a year's chance, and how far habits go
(variance of the logarithm of the rate): set by simulated fleets, not by a source."""

OLD_DAYS = 1500.0
CHANGED_WEIGHT = 0.1
"""Readings count less for the level by e in so many days, and before owner, boat or use changed."""


def own_levels(
    fleet: FleetUsage,
    intervals: Intervals,
    bursts: Floats,
    clock_bursts: Floats,
    chance: Floats,
    alike_variance: Floats,
    last_day: Days,
    year_variance: float,
) -> tuple[Floats, Floats]:
    """Mean and variance of each engine's level, relative to the centre of its use.

    What its own years show is set against what alike engines do (`alike_variance`, about the centre).
    """
    engine = intervals.engine
    weight = np.exp(-np.maximum(last_day[engine] - intervals.middle_day, 0) / OLD_DAYS)
    weight = np.where(intervals.middle_day < fleet.changed_day[engine], CHANGED_WEIGHT * weight, weight)
    kinds = chance[engine]
    ran = np.bincount(engine, weight * bursts, len(fleet))
    clock = np.bincount(engine, weight * over_kinds(clock_bursts, kinds), len(fleet))
    years = np.bincount(engine, weight * over_kinds(intervals.clock_days, kinds), len(fleet)) / 365
    # Years differ by chance: what they told counts as if fewer bursts had told it.
    worth = 1 / (1 + ran * year_variance / np.maximum(years, 0.05))
    mean, variance, _ = seen(worth * ran, worth * clock, np.zeros(1), alike_variance)
    return mean, variance


def after_changes(
    levels: tuple[Floats, Floats], now_mean: Floats, now_mean_square: Floats, year_variance: float
) -> tuple[Floats, Floats]:
    """Mean and variance of the levels, moved to what engines run now where that is far off a year's chance.

    A departure is either that of a year or a new habit, which stays; how likely each is follows from how
    far it goes.
    """
    level_mean, level_variance = levels
    now_variance = now_mean_square - now_mean**2
    off = now_mean - level_mean
    by_year = now_variance + level_variance + year_variance
    by_habit = by_year + CHANGE_VARIANCE
    odds = CHANGE_SHARE * np.exp(0.5 * off * off * (1 / by_year - 1 / by_habit)) * np.sqrt(by_year / by_habit)
    stays = odds / (1 + odds)
    mean = level_mean + stays * off
    variance = (1 - stays) * level_variance + stays * now_variance + stays * (1 - stays) * off * off
    return mean, variance


def forgetting_per_day(parameters: FleetParameters) -> float:
    """The share of a departure from the level that is lost per day of the clock."""
    per_block = parameters.step_spread**2 / (2 * parameters.year_variance)
    return min(max(per_block / BLOCK_DAYS, 1 / 1000), 1 / 120)


def year_moments(fleet: FleetUsage, seasons: Seasons, today: int) -> tuple[float, float]:
    """The variance of single years about an engine's level, and that of the level's change in a year.

    Of an engine's years the logarithms of the rate are compared: half the mean square of their differences,
    less what bursts alone make, is the former for years next to each other, and grows by half the latter for
    each year between them.
    """
    first = int(fleet.reading_day.min(initial=today)) - 1
    clock = Layups.of(fleet, today).stored(SeasonClock.of(seasons.profiles, first, today + 1))
    intervals = intervals_of(fleet, clock, trailing_idle=False)
    last, _ = last_readings(fleet)
    engine = intervals.engine
    days = over_kinds(intervals.clock_days, seasons.kind_chance[engine])
    bursts = intervals.hours / seasons.dispersions[fleet.use_code[engine]]
    back = (last[engine] - intervals.middle_day) // 365
    most = int(back.max(initial=0)) + 1
    cell = engine * most + back
    ran = np.bincount(cell, bursts, len(fleet) * most).reshape(len(fleet), most)
    clock_days = np.bincount(cell, days, len(fleet) * most).reshape(len(fleet), most)
    told = (clock_days > 180) & (ran >= 3)
    logs = np.log(np.maximum(ran, 0.5) / np.maximum(clock_days, 1))
    noise = 1 / np.maximum(ran, 1)
    halves = []
    for lag in (1, 2):
        both = told[:, lag:] & told[:, :-lag]
        square = ((logs[:, lag:] - logs[:, :-lag]) ** 2 - noise[:, lag:] - noise[:, :-lag])[both] / 2
        usual = USUAL_YEAR_VARIANCE + USUAL_DRIFT * lag / 2
        halves.append((np.minimum(square, 2.0).sum() + PAIRS_KNOWN * usual) / (len(square) + PAIRS_KNOWN))
    drift = max(2 * (halves[1] - halves[0]), USUAL_DRIFT / 5)
    return max(halves[0] - drift / 2, 0.005), drift

"""Learns the fleet's kinds of season from hours run between irregular readings.

Only how an engine's hours of one year are spread over that year counts here, not how many they are: within
each engine and year the hours are a multinomial sample over the clocks of their intervals, and the profiles
are found by expectation and maximisation, hours being shared out over the stretches of the year.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fleetlog.forecast.evidence import Days, FleetUsage
from fleetlog.forecast.intervals import Intervals, intervals_of, last_readings, pair_dispersion
from fleetlog.forecast.season import STRETCHES, Layups, SeasonClock, published_profile

Floats = NDArray[np.float64]

KINDS = 5
FLOOR = 0.01
ROUND_DAYS = 450
"""A season can be learnt from readings over at least so many days."""

NEIGHBOUR_BURSTS = 5.0
BASE_BURSTS = 1.0
KIND_BURSTS = 4.0
"""Bursts a stretch that its neighbours, the start and the fleet's own season count for against readings."""


@dataclass(frozen=True, eq=False)
class Seasons:
    """Profiles (kinds x stretches), shares of the kinds by use, and dispersion by use, hours."""

    profiles: Floats
    shares: Floats
    dispersions: Floats
    kind_chance: Floats


@dataclass(frozen=True, eq=False)
class _Spread:
    """Days of each interval in each stretch of the year; engine-years begin at `starts`."""

    intervals: Intervals
    days: Floats
    starts: Days
    year_engine: Days
    year_days: Floats

    @classmethod
    def of(cls, fleet: FleetUsage, today: int) -> _Spread:
        first = int(fleet.reading_day.min(initial=today)) - 1
        clock = Layups.of(fleet, today).stored(SeasonClock.of(np.eye(STRETCHES), first, today + 1))
        intervals = intervals_of(fleet, clock, trailing_idle=False)
        last, _ = last_readings(fleet)
        back = (last[intervals.engine] - intervals.middle_day) // 365
        key = intervals.engine * 1000 - back
        _, starts = np.unique(key, return_index=True)
        days = np.where(intervals.clock_days <= 0.0201, 0.0, intervals.clock_days) + 1e-6
        year_days = np.add.reduceat(days, starts, axis=0) if len(starts) else np.zeros((0, STRETCHES))
        return cls(intervals, days, starts, intervals.engine[starts], year_days)

    def log_likelihood(self, profiles: Floats, bursts: Floats) -> Floats:
        """Per engine-year and kind, up to a constant, how well each profile spreads the year's hours."""
        told = self._by_year(bursts[:, None] * np.log(self.days @ profiles.T))
        found: Floats = told - self._by_year(bursts[:, None]) * np.log(self.year_days @ profiles.T)
        return found

    def _by_year(self, values: Floats) -> Floats:
        """The sums of values (intervals x kinds) over each engine-year."""
        if not len(self.starts):
            return np.zeros((0, values.shape[1]))
        found: Floats = np.add.reduceat(values, self.starts, axis=0)
        return found

    def improved(self, profiles: Floats, weights: Floats, anchors: Floats, anchor_bursts: float) -> Floats:
        """One step of expectation and maximisation for profiles (kinds x stretches) by their weights."""
        total = self._by_year(weights)
        shared = profiles * ((weights / (self.days @ profiles.T)).T @ self.days)
        exposed = (total / (self.year_days @ profiles.T)).T @ self.year_days
        near = (np.roll(profiles, 1, axis=1) + np.roll(profiles, -1, axis=1)) / 2
        weight = NEIGHBOUR_BURSTS + anchor_bursts
        new = (shared + NEIGHBOUR_BURSTS * near + anchor_bursts * anchors) / (exposed + weight)
        new = np.maximum(new / new.mean(axis=1, keepdims=True), FLOOR)
        found: Floats = new / new.mean(axis=1, keepdims=True)
        return found


def _starting_profile(spread: _Spread, bursts: Floats, southern: bool, shifts: Sequence[int]) -> Floats:
    """The published season, weaker, stronger, shifted or level, whichever suits the readings best."""
    published = np.maximum(published_profile(southern), FLOOR)
    candidates, penalties = [], []
    for strength in (0.0, 0.6, 1.0, 1.5):
        for shift in shifts if strength else (0,):
            profile = np.roll(published, shift) ** strength
            candidates.append(profile / profile.mean())
            penalties.append(abs(strength - 1) + min(shift, STRETCHES - shift) / 6)
    told = spread.log_likelihood(np.array(candidates), bursts).sum(axis=0)
    best: Floats = candidates[int(np.argmax(told - np.array(penalties)))]
    return best


def _kinds_around(base: Floats) -> Floats:
    """Different kinds of season to start from: as it is, sharper, weaker, earlier and later."""
    kinds = [base, base**2, base**0.4, np.roll(base, -3), np.roll(base, 3)][:KINDS]
    return np.array([np.maximum(kind / kind.mean(), FLOOR) for kind in kinds])


def _one_kind(profile: Floats, dispersions: Floats, engines: int, uses: int) -> Seasons:
    even, chance = np.full((uses, KINDS), 1 / KINDS), np.full((engines, KINDS), 1 / KINDS)
    return Seasons(np.tile(profile, (KINDS, 1)), even, dispersions, chance)


def fit_seasons(
    fleet: FleetUsage, today: int, uses: int, southern: bool = False, rounds: int = 40
) -> Seasons:
    """The kinds of season of a fleet; with next to no readings, the published one."""
    spread = _Spread.of(fleet, today)
    intervals, use = spread.intervals, fleet.use_code

    def dispersion_of(clock_days: Floats) -> Floats:
        plain = replace(intervals, clock_days=clock_days[:, None])
        told, pairs = pair_dispersion(plain, np.ones((len(fleet), 1)), len(fleet))
        return usual_dispersions(told, pairs, use, uses)

    dispersions = dispersion_of(spread.days.sum(axis=1))
    bursts = intervals.hours / dispersions[use[intervals.engine]]
    # Before a year has come round, a season cannot be learnt: only whether there is the published one.
    covered = np.ptp(fleet.reading_day) if len(fleet.reading_day) else 0
    young = covered < ROUND_DAYS
    shifts = (0, STRETCHES // 2) if young else range(0, STRETCHES, 3)
    base = _starting_profile(spread, bursts, southern, shifts)
    if young:
        return _one_kind(base, dispersion_of(spread.days @ base), len(fleet), uses)
    anchor = base
    for _ in range(rounds):
        base = spread.improved(base[None], bursts[:, None], anchor[None], BASE_BURSTS)[0]
    profiles = _kinds_around(base)
    shares = np.full((uses, KINDS), 1 / KINDS)
    chance = np.full((len(fleet), KINDS), 1 / KINDS)
    anchors = profiles.copy()
    for turn in range(rounds):
        if turn % 10 == 0:
            clocks = (spread.days @ profiles.T * chance[intervals.engine]).sum(axis=1)
            dispersions = dispersion_of(clocks)
            bursts = intervals.hours / dispersions[use[intervals.engine]]
        told = np.zeros((len(fleet), KINDS))
        np.add.at(told, spread.year_engine, spread.log_likelihood(profiles, bursts))
        told += np.log(shares[use])
        chance = np.exp(told - told.max(axis=1, keepdims=True))
        chance /= chance.sum(axis=1, keepdims=True)
        count = np.zeros((uses, KINDS))
        np.add.at(count, use, chance)
        pooled = count.sum(axis=0) + 1
        count += 5 * pooled / pooled.sum()
        shares = count / count.sum(axis=1, keepdims=True)
        weights = bursts[:, None] * chance[intervals.engine]
        profiles = spread.improved(profiles, weights, (anchors + base) / 2, KIND_BURSTS)
    return Seasons(profiles=profiles, shares=shares, dispersions=dispersions, kind_chance=chance)


def usual_dispersions(told: Floats, pairs: Floats, use: Days, uses: int) -> Floats:
    """The dispersion of each use, hours: the mean over engines, each counting little more than its median.

    An engine far above the median of its use is cut off at six times it, so that wild readings stay its own.
    """
    has = pairs >= 2
    own = told[has] / pairs[has]
    pooled = float(np.median(own)) if len(own) else 6.0
    found = np.empty(uses)
    for number in range(uses):
        mine = own[use[has] == number]
        weight = pairs[has][use[has] == number]
        middle = float(np.median(mine)) if len(mine) >= 5 else pooled
        cut = np.minimum(mine, 6 * middle)
        found[number] = (float((cut * weight).sum()) + 10 * middle) / (float(weight.sum()) + 10)
    return np.maximum(found, 0.05)

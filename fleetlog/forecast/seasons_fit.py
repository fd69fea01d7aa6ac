"""Learns the fleet's kinds of season from hours run between irregular readings.

Only how an engine's hours of one year are spread over that year counts here, not how many they are: within
each engine and year the hours are a multinomial sample over the clocks of their intervals, and the profiles
are found by expectation and maximisation, hours being shared out over the stretches of the year.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fleetlog.forecast.evidence import Days, FleetUsage
from fleetlog.forecast.intervals import (
    LEAST_CLOCK_DAYS,
    Intervals,
    intervals_of,
    last_readings,
    over_kinds,
    pair_dispersion,
)
from fleetlog.forecast.season import STRETCHES, Layups, SeasonClock, published_profile

Floats = NDArray[np.float64]

KINDS = 5
FLOOR = 0.01
"""No stretch of a kind of season has less than so much of the mean: some engine runs in any."""

ROUND_DAYS = 450
"""A season can be learnt from readings over at least so many days."""

STRENGTHS = (0.0, 0.6, 1.0, 1.5, 2.5)
"""Until then the published season, raised to these powers, are the kinds: from none to a short one."""

SHIFT_PENALTY = 1 / 6
"""How much likelier, as a logarithm, readings must be with the season for each stretch that it is shifted."""

NEIGHBOUR_BURSTS = 5.0
BASE_BURSTS = 1.0
KIND_BURSTS = 4.0
"""Bursts a stretch that its neighbours, the start and the fleet's own season count for against readings."""


@dataclass(frozen=True, eq=False)
class Seasons:
    """Profiles (kinds x stretches), shares of the kinds by use, and dispersion by use, hours.

    They `are_read` where readings cover a year; else the profiles are published ones.
    """

    are_read: bool
    profiles: Floats
    shares: Floats
    dispersions: Floats
    kind_chance: Floats


class _Both(NamedTuple):
    """Something of each interval and of each engine-year: a row, or a row a kind."""

    intervals: Floats
    years: Floats


@dataclass(frozen=True, eq=False)
class _Spread:
    """Days of intervals in each stretch of the year, of all `intervals` in `every_day`.

    Those without an hour tell how long their engine-year was and nothing else, so that `days`, with `engine`
    and `hours`, are of the others alone; engine-years in which an engine ran begin at `starts` of these.
    """

    intervals: Intervals
    every_day: Floats
    engine: Days
    hours: Floats
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
        days = np.where(intervals.clock_days <= LEAST_CLOCK_DAYS, 0.0, intervals.clock_days) + 1e-6
        ran = np.flatnonzero(intervals.hours > 0)
        every_year, begun = np.unique(key, return_index=True)
        years, starts = np.unique(key[ran], return_index=True)
        year_days = np.zeros((0, STRETCHES))
        if len(starts):
            year_days = np.add.reduceat(days, begun, axis=0)[np.searchsorted(every_year, years)]
        engine = intervals.engine[ran]
        return cls(
            intervals, days, engine, intervals.hours[ran], days[ran], starts, engine[starts], year_days
        )

    def clocks(self, profiles: Floats) -> _Both:
        """The clocks of profiles (kinds x stretches)."""
        return _Both(profiles @ self.days.T, profiles @ self.year_days.T)

    def with_years(self, values: Floats) -> _Both:
        """Values of intervals (along the last axis), with their sums over each engine-year."""
        if not len(self.starts):
            return _Both(values, values)
        return _Both(values, np.add.reduceat(values, self.starts, axis=-1))

    def log_likelihood(self, clocks: _Both, bursts: _Both) -> Floats:
        """Per kind and engine-year, up to a constant, how well each profile spreads the year's bursts."""
        told = self.with_years(bursts.intervals * np.log(clocks.intervals)).years
        found: Floats = told - bursts.years * np.log(clocks.years)
        return found

    def improved(
        self,
        profiles: Floats,
        clocks: _Both,
        bursts: _Both,
        anchors: Floats,
        anchor_bursts: float,
    ) -> Floats:
        """One step of expectation and maximisation for profiles by their clocks and the bursts of each."""
        shared = profiles * ((bursts.intervals / clocks.intervals) @ self.days)
        exposed = (bursts.years / clocks.years) @ self.year_days
        near = (np.roll(profiles, 1, axis=1) + np.roll(profiles, -1, axis=1)) / 2
        weight = NEIGHBOUR_BURSTS + anchor_bursts
        new = (shared + NEIGHBOUR_BURSTS * near + anchor_bursts * anchors) / (exposed + weight)
        new = np.maximum(new / new.mean(axis=1, keepdims=True), FLOOR)
        found: Floats = new / new.mean(axis=1, keepdims=True)
        return found


def _published_kinds() -> Floats:
    """The published season, from level to sharper than it is (kinds x stretches)."""
    published = np.maximum(published_profile(), FLOOR)
    kinds = np.array([published**strength for strength in STRENGTHS])
    found: Floats = kinds / kinds.mean(axis=1, keepdims=True)
    return found


def _starting_kinds(spread: _Spread, bursts: _Both, winters: float) -> Floats:
    """The published kinds, in the half of the world that suits lay-ups and readings best.

    Readings over a part of a year tell little of it, so each lay-up counts against them.
    """
    half = STRETCHES // 2
    here = np.roll(_published_kinds(), _home(winters), axis=1)
    there = np.roll(here, half, axis=1)
    told = [
        np.logaddexp.reduce(spread.log_likelihood(spread.clocks(kinds), bursts), axis=0).sum()
        for kinds in (here, there)
    ]
    return there if told[1] - told[0] > half * SHIFT_PENALTY + abs(winters) else here


def _home(winters: float) -> int:
    """The stretches by which lay-ups say that seasons are shifted: half a year in the south."""
    return STRETCHES // 2 if winters < 0 else 0


def _starting_profile(spread: _Spread, bursts: _Both, winters: float) -> Floats:
    """The published season, weaker, stronger, shifted or level, whichever suits the readings best."""
    candidates, penalties = [], []
    for strength, profile in zip(STRENGTHS, _published_kinds(), strict=True):
        for shift in range(0, STRETCHES, 3) if strength else (0,):
            candidates.append(np.roll(profile, _home(winters) + shift))
            penalties.append(abs(strength - 1) + SHIFT_PENALTY * min(shift, STRETCHES - shift))
    clocks = spread.clocks(np.array(candidates))
    told = np.log(clocks.intervals) @ bursts.intervals - np.log(clocks.years) @ bursts.years
    best: Floats = candidates[int(np.argmax(told - np.array(penalties)))]
    return best


def _kinds_around(base: Floats) -> Floats:
    """Different kinds of season to start from: as it is, sharper, weaker, earlier and later."""
    kinds = [base, base**2, base**0.4, np.roll(base, -3), np.roll(base, 3)][:KINDS]
    return np.array([np.maximum(kind / kind.mean(), FLOOR) for kind in kinds])


def fit_seasons(fleet: FleetUsage, today: int, uses: int, winters: float = 0.0, rounds: int = 40) -> Seasons:
    """The kinds of season of a fleet; until a year has come round, only how the published ones share in it.

    `winters` is how many recorded lay-ups say that winter is in January, negative where in July.
    """
    spread = _Spread.of(fleet, today)
    intervals, use = spread.intervals, fleet.use_code

    def dispersion_of(clock_days: Floats) -> Floats:
        plain = replace(intervals, clock_days=clock_days[:, None])
        told, pairs = pair_dispersion(plain, np.ones((len(fleet), 1)), len(fleet))
        return usual_dispersions(told, pairs, use, uses)

    def bursts_of(dispersions: Floats) -> _Both:
        return spread.with_years(spread.hours / dispersions[use[spread.engine]])

    dispersions = dispersion_of(spread.every_day.sum(axis=1))
    bursts = bursts_of(dispersions)
    covered = np.ptp(fleet.reading_day) if len(fleet.reading_day) else 0
    is_round = bool(covered >= ROUND_DAYS)
    if is_round:
        anchor = base = _starting_profile(spread, bursts, winters)[None]
        for _ in range(rounds):
            base = spread.improved(base, spread.clocks(base), bursts, anchor, BASE_BURSTS)
        profiles = _kinds_around(base[0])
        anchors = (profiles + base) / 2
    else:
        profiles = _starting_kinds(spread, bursts, winters)
    shares = np.full((uses, KINDS), 1 / KINDS)
    chance = np.full((KINDS, len(fleet)), 1 / KINDS)
    of_use = np.equal.outer(use, np.arange(uses)).astype(np.float64)
    engines, years = np.unique(spread.year_engine, return_index=True)
    for turn in range(rounds):
        clocks = spread.clocks(profiles)
        if turn % 10 == 0:
            every_clock = profiles @ spread.every_day.T
            dispersions = dispersion_of(over_kinds(every_clock.T, chance.T.take(intervals.engine, axis=0)))
            bursts = bursts_of(dispersions)
        told = np.log(shares).T.take(use, axis=1)
        if len(engines):
            told[:, engines] += np.add.reduceat(spread.log_likelihood(clocks, bursts), years, axis=1)
        chance = np.exp(told - told.max(axis=0))
        chance /= chance.sum(axis=0)
        count = (chance @ of_use).T
        pooled = count.sum(axis=0) + 1
        count += 5 * pooled / pooled.sum()
        shares = count / count.sum(axis=1, keepdims=True)
        if is_round:
            shared_out = _Both(
                bursts.intervals * chance.take(spread.engine, axis=1),
                bursts.years * chance.take(spread.year_engine, axis=1),
            )
            profiles = spread.improved(profiles, clocks, shared_out, anchors, KIND_BURSTS)
    return Seasons(is_round, profiles, shares, dispersions, np.ascontiguousarray(chance.T))


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

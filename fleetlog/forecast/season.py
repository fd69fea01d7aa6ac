"""The seasonal clock: how much of a year's use falls on each day, for a few kinds of season.

A profile is the use per day in each of 36 stretches of the year, with mean 1. The clock of a profile runs
fast in its season, slowly out of it, and stands still while the boat is laid up.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fleetlog.domain.season import KEPT_UP_DAYS, SHORT_STAY_DAYS, STORED_DAYS
from fleetlog.forecast.evidence import NEVER, Days, FleetUsage

Floats = NDArray[np.float64]

STRETCHES = 36
YEAR_DAYS = 365.2425
DAYS_PER_STRETCH = YEAR_DAYS / STRETCHES
ASSUMED_YEARS = 8
"""A boat with recorded lay-ups is assumed to be laid up on the same dates for so many years more."""

PUBLISHED_MONTHS = (0.0128, 0.0128, *(0.0653,) * 3, *(0.19,) * 3, *(0.0653,) * 3, 0.0128)
"""Shares of a year's recreational boating by month, US national: input of US EPA NONROAD2008a (printed)."""


def published_profile() -> Floats:
    """The published season as a profile; that of the south is half a year later."""
    months = np.repeat(np.array(PUBLISHED_MONTHS), STRETCHES // 12)
    profile: Floats = months / months.mean()
    return profile


def stored_in_january(fleet: FleetUsage) -> float:
    """How many lay-ups more lie around January than around July, where the southern winter is.

    Only those with both dates that last as long as a season count, by how near they lie to either.
    """
    begun, days = fleet.layup_from, fleet.layup_to - fleet.layup_from
    told = (days >= SHORT_STAY_DAYS) & (days <= YEAR_DAYS)
    middle = 2 * np.pi * (begun[told] + days[told] / 2) / YEAR_DAYS
    return float(np.cos(middle).sum())


@dataclass(frozen=True, eq=False)
class SeasonClock:
    """Cumulative use of each profile at the end of each day from `first_day` on, in days of mean use.

    `year` is that of one year at the ends of its stretches (kinds x 37), `before` what was run before.
    """

    first_day: int
    table: Floats
    year: Floats
    before: Floats

    @classmethod
    def of(cls, profiles: Floats, first_day: int, last_day: int) -> SeasonClock:
        """The clock of profiles (kinds x stretches) over a range of days, both ends included."""
        cumulative = np.concatenate(
            [np.zeros((len(profiles), 1)), np.cumsum(profiles * DAYS_PER_STRETCH, axis=1)], axis=1
        )
        edges = np.arange(STRETCHES + 1) * DAYS_PER_STRETCH
        turns, phase = np.divmod(np.arange(first_day, last_day + 1), YEAR_DAYS)
        table = np.empty((len(turns), len(profiles)))
        for kind, running in enumerate(cumulative):
            table[:, kind] = turns * running[-1] + np.interp(phase, edges, running)
        return cls(first_day=first_day, table=table - table[0], year=cumulative, before=table[0])

    def at(self, days: Days) -> Floats:
        """The clocks (days x kinds) at the end of the given days, held at the ends of the range."""
        return self.table.take(days - self.first_day, axis=0, mode="clip")


@dataclass(frozen=True, eq=False)
class Layups:
    """Lay-ups of many engines, sorted and apart from each other, ready to be looked up by engine and day.

    Each engine has one of no days before all others, so that there is a last one on any day. `key` holds an
    engine with the day stored, `afloat` the first day afloat again. `assumed_from` and `assumed_to` are those
    of each engine's first one that is assumed to lie ahead, 0 where none is; `expected_to` is the day its
    recorded one without an end is expected to end, 0 where there is none or it is out of use.
    """

    key: Days
    afloat: Days
    assumed_from: Days
    assumed_to: Days
    expected_to: Days

    @classmethod
    def of(cls, fleet: FleetUsage, today: int) -> Layups:
        """The recorded lay-ups, with those assumed after `today` where none is recorded."""
        ends = _expected_ends(fleet.layup_engine, fleet.layup_from, fleet.layup_to, today)
        recorded = fleet.layup_engine, fleet.layup_from, ends
        assumed = _assumed(*recorded, today)
        engine, begin, end = (np.concatenate(both) for both in zip(recorded, assumed, strict=True))
        keep = end > begin
        every, none = np.arange(len(fleet)), np.zeros(len(fleet), dtype=np.int64)
        engine = np.concatenate([every, engine[keep]])
        key = engine * _SPAN + np.concatenate([none, begin[keep]])
        order = key.argsort(kind="stable")
        key, end_key = key[order], (engine * _SPAN + np.concatenate([none, end[keep]]))[order]
        covered = np.maximum.accumulate(end_key)
        starts = np.concatenate([[True], key[1:] > covered[:-1]])[: len(key)].nonzero()[0]
        assumed_from, assumed_to, expected_to = np.zeros((3, len(fleet)), dtype=np.int64)
        for found, days in zip((assumed_from, assumed_to), assumed[1:], strict=True):
            found[assumed[0][::-1]] = days[::-1]  # an engine's first one stays
        expected = ends != fleet.layup_to
        expected_to[fleet.layup_engine[expected]] = ends[expected]
        afloat = np.maximum.reduceat(end_key, starts) % _SPAN
        return cls(key[starts], afloat, assumed_from, assumed_to, expected_to)

    @cached_property
    def engine(self) -> Days:
        """The index of the engine of each lay-up."""
        return self.key // _SPAN

    def of_engine(self, engine: int) -> list[tuple[int, int]]:
        """The lay-ups of one engine: the day stored, and the first day afloat again."""
        first, after = np.searchsorted(self.key, [engine * _SPAN + 1, (engine + 1) * _SPAN])
        begun = self.key[first:after] % _SPAN
        return list(zip(begun.tolist(), self.afloat[first:after].tolist(), strict=True))

    def stored(self, clock: SeasonClock) -> StoredClock:
        """The clock of each engine, which stands still during its lay-ups."""
        begin = self.key % _SPAN
        lost = clock.at(self.afloat - 1) - clock.at(begin - 1)
        before = lost.cumsum(axis=0) - lost
        first = (begin == 0).nonzero()[0][self.engine]
        return StoredClock(self, clock, clock.at(begin - 1) - (before - before[first]))


@dataclass(frozen=True, eq=False)
class StoredClock:
    """The seasonal clock of each engine with its lay-ups taken out: `begun` is its clock as each began."""

    layups: Layups
    clock: SeasonClock
    begun: Floats

    def at(self, engine: Days, day: Days) -> Floats:
        """The clocks (rows x kinds) of these engines at the end of these days."""
        last = self.layups.key.searchsorted(engine * _SPAN + day, side="right") - 1
        ashore = np.minimum(day, self.layups.afloat[last] - 1)
        return self.begun[last] + (self.clock.at(day) - self.clock.at(ashore))


_SPAN = 8_000_000
"""Above any day, so that engine and day make one number that sorts by engine, then by day."""


def _expected_ends(engine: Days, begin: Days, end: Days, today: int) -> Days:
    """The ends of lay-ups, of those without one as `fleetlog.domain.season.expected_launch` says."""
    without = (end >= NEVER) & (today - begin <= KEPT_UP_DAYS)
    if not bool(without.any()):
        return end
    order = np.lexsort((begin, engine))
    sorted_engine = engine[order]
    before, has_one = _last_whole(sorted_engine, begin[order], end[order])
    last_end = np.empty_like(end)
    last_end[order] = np.where(has_one, end[order][before], 0)
    years = np.ceil((begin + SHORT_STAY_DAYS - last_end) / YEAR_DAYS)
    same_day = last_end + np.round(years * YEAR_DAYS).astype(np.int64)
    launched = np.where(last_end > 0, same_day, begin + STORED_DAYS)
    return np.where(without, np.maximum(launched, today + 1), end)


def _last_whole(engine: Days, begin: Days, end: Days) -> tuple[Days, NDArray[np.bool_]]:
    """Of lay-ups in order the engine's last one up to each that has both dates, and whether there is one."""
    whole = (end < NEVER) & (end - begin > SHORT_STAY_DAYS)
    last = np.maximum.accumulate(np.where(whole, np.arange(len(engine)), -1))
    return last, (last >= 0) & (engine[last] == engine)


def _assumed(engine: Days, begin: Days, end: Days, today: int) -> tuple[Days, Days, Days]:
    """The anniversaries of each engine's latest lay-up that began, where none is recorded ahead, in order."""
    if not len(engine):
        return engine, begin, end
    order = np.lexsort((begin, engine))
    engine, begin, end = engine[order], begin[order], end[order]
    latest = np.concatenate([engine[1:] != engine[:-1], [True]]).nonzero()[0]
    whole, has_one = _last_whole(engine, begin, end)
    pattern = whole[latest]
    usable = has_one[latest] & (end[latest] < NEVER) & (end[pattern] > today - KEPT_UP_DAYS)
    latest, pattern = latest[usable], pattern[usable]
    turns = np.arange(1, ASSUMED_YEARS + 1)
    shift = (turns * YEAR_DAYS).round().astype(np.int64)
    new_begin = begin[pattern][:, None] + shift
    new_end = end[pattern][:, None] + shift
    # Only what lies after today and is not already recorded within half a year.
    new_begin = np.maximum(new_begin, today + 1)
    recorded_ahead = new_begin - begin[latest][:, None] <= 183
    ahead = (new_end > today + 1) & ~recorded_ahead
    return engine[latest][ahead.nonzero()[0]], new_begin[ahead], new_end[ahead]

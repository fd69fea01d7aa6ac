"""The seasonal clock: how much of a year's use falls on each day, for a few kinds of season.

A profile is the use per day in each of 36 stretches of the year, with mean 1. The clock of a profile runs
fast in its season, slowly out of it, and stands still while the boat is laid up.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleetlog.forecast.evidence import Days, FleetUsage

Floats = NDArray[np.float64]

STRETCHES = 36
YEAR_DAYS = 365.2425
DAYS_PER_STRETCH = YEAR_DAYS / STRETCHES
ASSUMED_YEARS = 8
"""A boat with recorded lay-ups is assumed to be laid up on the same dates for so many years more."""

KEPT_UP_DAYS = 450
"""A habit of laying up is assumed to go on if the latest lay-up ended no longer ago than this."""

LAYUP_DAYS = 20
"""A shorter stay ashore says nothing about the season."""

PUBLISHED_MONTHS = (0.0128, 0.0128, *(0.0653,) * 3, *(0.19,) * 3, *(0.0653,) * 3, 0.0128)
"""Shares of a year's recreational boating by month, US national: input of US EPA NONROAD2008a (printed)."""


def published_profile(southern: bool = False) -> Floats:
    """The published season as a profile; a southern one is half a year later."""
    months = np.repeat(np.array(PUBLISHED_MONTHS), STRETCHES // 12)
    if southern:
        months = np.roll(months, STRETCHES // 2)
    profile: Floats = months / months.mean()
    return profile


def stored_in_july(fleet: FleetUsage) -> bool:
    """Whether recorded lay-ups lie around July rather than around January, as in the southern hemisphere."""
    begun, days = fleet.layup_from, fleet.layup_to - fleet.layup_from
    told = (days >= LAYUP_DAYS) & (days <= YEAR_DAYS)
    middle = 2 * np.pi * (begun[told] + days[told] / 2) / YEAR_DAYS
    return bool(np.cos(middle).sum() < 0)


@dataclass(frozen=True, eq=False)
class SeasonClock:
    """Cumulative use of each profile at the end of each day from `first_day` on, in days of mean use."""

    first_day: int
    table: Floats

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
        return cls(first_day=first_day, table=table - table[0])

    def at(self, days: Days) -> Floats:
        """The clocks (days x kinds) at the end of the given days, held at the ends of the range."""
        return self.table.take(days - self.first_day, axis=0, mode="clip")


@dataclass(frozen=True, eq=False)
class Layups:
    """Lay-ups of many engines, sorted and apart from each other, ready to be looked up by engine and day.

    Each engine has one of no days before all others, so that there is a last one on any day. `key` holds an
    engine with the day stored, `afloat` the first day afloat again. `assumed_from` and `assumed_to` are those
    of each engine's first one that is assumed to lie ahead, 0 where none is.
    """

    key: Days
    afloat: Days
    assumed_from: Days
    assumed_to: Days

    @classmethod
    def of(cls, fleet: FleetUsage, today: int) -> Layups:
        """The recorded lay-ups, with those assumed after `today` where none is recorded."""
        recorded = fleet.layup_engine, fleet.layup_from, fleet.layup_to
        assumed = _assumed(*recorded, today)
        engine, begin, end = (np.concatenate(both) for both in zip(recorded, assumed, strict=True))
        keep = end > begin
        every, none = np.arange(len(fleet)), np.zeros(len(fleet), dtype=np.int64)
        engine = np.concatenate([every, engine[keep]])
        key = engine * _SPAN + np.concatenate([none, begin[keep]])
        order = np.argsort(key, kind="stable")
        key, end_key = key[order], (engine * _SPAN + np.concatenate([none, end[keep]]))[order]
        covered = np.maximum.accumulate(end_key)
        starts = np.flatnonzero(np.concatenate([[True], key[1:] > covered[:-1]])[: len(key)])
        assumed_from, assumed_to = np.zeros((2, len(fleet)), dtype=np.int64)
        for found, days in zip((assumed_from, assumed_to), assumed[1:], strict=True):
            found[assumed[0][::-1]] = days[::-1]  # an engine's first one stays
        return cls(key[starts], np.maximum.reduceat(end_key, starts) % _SPAN, assumed_from, assumed_to)

    def stored(self, clock: SeasonClock) -> StoredClock:
        """The clock of each engine, which stands still during its lay-ups."""
        begin = self.key % _SPAN
        lost = clock.at(self.afloat - 1) - clock.at(begin - 1)
        before = np.cumsum(lost, axis=0) - lost
        first = np.flatnonzero(begin == 0)[self.key // _SPAN]
        return StoredClock(self, clock, clock.at(begin - 1) - (before - before[first]))


@dataclass(frozen=True, eq=False)
class StoredClock:
    """The seasonal clock of each engine with its lay-ups taken out: `begun` is its clock as each began."""

    layups: Layups
    clock: SeasonClock
    begun: Floats

    def at(self, engine: Days, day: Days) -> Floats:
        """The clocks (rows x kinds) of these engines at the end of these days."""
        last = np.searchsorted(self.layups.key, engine * _SPAN + day, side="right") - 1
        ashore = np.minimum(day, self.layups.afloat[last] - 1)
        return self.begun[last] + (self.clock.at(day) - self.clock.at(ashore))


_SPAN = 8_000_000


def _assumed(engine: Days, begin: Days, end: Days, today: int) -> tuple[Days, Days, Days]:
    """The anniversaries of each engine's latest lay-up that began, where none is recorded ahead, in order."""
    if not len(engine):
        return engine, begin, end
    order = np.lexsort((begin, engine))
    engine, begin, end = engine[order], begin[order], end[order]
    latest = np.flatnonzero(np.concatenate([engine[1:] != engine[:-1], [True]]))
    # A lay-up cut off at today, or without an end, says when it began but not how long it lasts.
    complete = (end <= today) & (end - begin > 20)
    previous = np.where(complete, np.arange(len(engine)), -1)
    previous = np.maximum.accumulate(previous)
    pattern = previous[latest]
    usable = (pattern >= 0) & (engine[np.maximum(pattern, 0)] == engine[latest]) & (end[latest] < 3_700_000)
    usable &= end[pattern] > today - KEPT_UP_DAYS
    latest, pattern = latest[usable], pattern[usable]
    turns = np.arange(1, ASSUMED_YEARS + 1)
    shift = np.round(turns * YEAR_DAYS).astype(np.int64)
    new_begin = begin[pattern][:, None] + shift
    new_end = end[pattern][:, None] + shift
    new_engine = np.broadcast_to(engine[latest][:, None], new_begin.shape)
    # Only what lies after today and is not already recorded within half a year.
    new_begin = np.maximum(new_begin, today + 1)
    recorded_ahead = (new_begin - begin[latest][:, None] <= 183) & (end[latest][:, None] != today + 1)
    ahead = (new_end > today + 1) & ~recorded_ahead
    return new_engine[ahead], new_begin[ahead], new_end[ahead]

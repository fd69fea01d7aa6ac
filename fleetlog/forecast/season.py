"""The seasonal clock: how much of a year's use falls on each day, for a few kinds of season.

A profile is the use per day in each of 36 stretches of the year, with mean 1. The clock of a profile runs
fast in its season, slowly out of it, and stands still while the boat is laid up.
"""

from __future__ import annotations

from collections.abc import Sequence
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
        return self.table[np.clip(days - self.first_day, 0, len(self.table) - 1)]


@dataclass(frozen=True, eq=False)
class Layups:
    """Lay-ups of many engines, sorted and apart from each other, ready to be looked up."""

    key: Days
    end_key: Days
    first: Days

    @classmethod
    def of(cls, fleet: FleetUsage, today: int) -> Layups:
        """The recorded lay-ups, with those assumed after `today` where none is recorded."""
        engine = fleet.layup_engine
        begin, end = fleet.layup_from, fleet.layup_to
        engine, begin, end = _with_assumed(engine, begin, end, today)
        keep = end > begin
        order = np.lexsort((begin[keep], engine[keep]))
        engine, begin, end = engine[keep][order], begin[keep][order], end[keep][order]
        key, end_key = engine * _SPAN + begin, engine * _SPAN + end
        if len(key):
            covered = np.maximum.accumulate(end_key)
            starts = np.flatnonzero(np.concatenate([[True], key[1:] > covered[:-1]]))
            key, end_key = key[starts], np.maximum.reduceat(end_key, starts)
            engine = key // _SPAN
        first = np.searchsorted(engine, np.arange(len(fleet) + 1))
        return cls(key=key, end_key=end_key, first=first)

    def stored(self, clock: SeasonClock) -> StoredClock:
        """What each clock would have counted during the lay-ups."""
        if not len(self.key):
            return StoredClock(self, clock, np.zeros((1, clock.table.shape[1])))
        lost = clock.at(self.end_key % _SPAN - 1) - clock.at(self.key % _SPAN - 1)
        return StoredClock(
            self, clock, np.concatenate([np.zeros((1, lost.shape[1])), np.cumsum(lost, axis=0)])
        )


@dataclass(frozen=True, eq=False)
class StoredClock:
    """The seasonal clock of each engine with its lay-ups taken out."""

    layups: Layups
    clock: SeasonClock
    lost: Floats

    def at(self, engine: Days, day: Days) -> Floats:
        """The clocks (rows x kinds) of these engines at the end of these days."""
        shown = self.clock.at(day)
        if len(self.lost) == 1:
            return shown
        row = np.searchsorted(self.layups.key, engine * _SPAN + day, side="right")
        first = self.layups.first[engine]
        begun = row > first
        if not bool(begun.any()):
            return shown
        shown = shown.copy()
        row, engine, day = row[begun], engine[begun], day[begun]
        last = row - 1
        under_way = np.minimum(day, self.layups.end_key[last] - engine * _SPAN - 1)
        current = self.clock.at(under_way) - self.clock.at(self.layups.key[last] - engine * _SPAN - 1)
        shown[begun] -= self.lost[last] - self.lost[first[begun]] + current
        return shown


_SPAN = 8_000_000


def assumed_layup(layups: Sequence[tuple[int, int]], today: int) -> tuple[int, int] | None:
    """The first lay-up (day stored, day afloat) assumed to lie ahead where none is recorded, if any is."""
    begin, end = (np.array([layup[side] for layup in layups], dtype=np.int64) for side in (0, 1))
    _, begin, end = _with_assumed(np.zeros(len(begin), dtype=np.int64), begin, end, today)
    added = [(int(b), int(e)) for b, e in zip(begin[len(layups) :], end[len(layups) :], strict=True)]
    return min(added, default=None)


def _with_assumed(engine: Days, begin: Days, end: Days, today: int) -> tuple[Days, Days, Days]:
    """Adds the anniversaries of each engine's latest lay-up that began, where none is recorded ahead."""
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
    return (
        np.concatenate([engine, new_engine[ahead]]),
        np.concatenate([begin, new_begin[ahead]]),
        np.concatenate([end, new_end[ahead]]),
    )

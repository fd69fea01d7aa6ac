"""Finds the first day on which engines have reached hours with given chances, by few looks at a chance.

The probit of the chance goes nearly straight with the logarithm of the clock, so that one look says about
where the next is to be. Whatever is guessed, looks keep each day between two bounds until these meet: a bad
guess costs a look and changes nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from fleetlog.forecast.evidence import Days
from fleetlog.forecast.hitting import LEAST_HOURS, RateBeliefs, even_odds_hours, reached_chance
from fleetlog.forecast.intervals import over_kinds
from fleetlog.forecast.season import DAYS_PER_STRETCH, STRETCHES, YEAR_DAYS, StoredClock

Floats = NDArray[np.float64]

GUESSED_LOOKS = 6
"""After so many looks every other one is halfway between the bounds."""

APART = 1e6
"""More than any clock shows."""

FARTHEST = 20.0
"""The logarithm of more days than dates are asked for."""


@dataclass(frozen=True, eq=False)
class DatedClock:
    """The clocks of a fleet's engines, averaged over kinds of season, for asking them the other way round.

    Lay-ups and stretches of the year stand in one row each, those of an engine so far above those of the one
    before (`APART`) that all can be searched at once. `begun` is what a clock shows where a lay-up begins,
    `afloat` how much more the season alone shows after it. In each stretch of the year a season is a straight
    line: `ends` is what it shows in the year by its end, `first` and `pace` give its days; `yearly` is what
    it runs in a year.
    """

    clock: StoredClock
    begun: Floats
    afloat: Floats
    yearly: Floats
    ends: Floats
    first: Floats
    pace: Floats

    @classmethod
    def of(cls, clock: StoredClock, chance: Floats) -> DatedClock:
        """The clocks of engines with the chances of their kinds (engines x kinds)."""
        season, layups = clock.clock, clock.layups
        kinds = chance[layups.engine]
        begun = over_kinds(kinds, clock.begun)
        ashore = over_kinds(kinds, season.at(layups.afloat - 1) + season.before)
        year = chance @ season.year
        edges = year + APART * np.arange(len(chance))[:, None]
        pace = DAYS_PER_STRETCH / np.maximum(edges[:, 1:] - edges[:, :-1], 1e-9)
        first = DAYS_PER_STRETCH * np.arange(STRETCHES) - pace * edges[:, :-1]
        return cls(
            clock,
            begun + APART * layups.engine,
            ashore - begun,
            year[:, -1],
            edges[:, 1:].ravel(),
            first.ravel(),
            pace.ravel(),
        )

    def day(self, engine: Days, shown: Floats) -> Days:
        """The first day on which the clock of each engine shows so much, but for rounding."""
        above = APART * engine
        season = shown + self.afloat[self.begun.searchsorted(shown + above) - 1]
        yearly = self.yearly[engine]
        years = np.floor(season / yearly)
        in_year = season - years * yearly + above
        stretch = np.minimum(self.ends.searchsorted(in_year, side="right"), len(self.ends) - 1)
        days = years * YEAR_DAYS + self.first[stretch] + self.pace[stretch] * in_year
        found: Days = np.ceil(days).astype(np.int64)
        return found


def first_days(
    beliefs: RateBeliefs,
    dated: DatedClock,
    engine: Days,
    hours: Floats,
    score: Floats,
    since: Days,
    last_day: int,
) -> Days:
    """The first days after `since` by whose end each engine has run `hours` with a chance of probit `score`.

    `beliefs` are those of the fleet, which `engine` points into. Days later than `last_day` are that day.
    """
    found = np.maximum(since + 1, last_day)
    row = (found - since > 1).nonzero()[0]
    engine, hours, score, low, high = engine[row], hours[row], score[row], since[row], found[row]
    clock, known, goal = dated.clock, beliefs.rows(engine), ndtr(score)
    even = even_odds_hours(np.maximum(hours, LEAST_HOURS)[:, None], known.dispersion[:, None])
    start = clock.at(engine, low)
    begun = over_kinds(known.chance, start)
    spread = over_kinds(known.chance, known.variance) + known.year_variance + known.dispersion / even[:, 0]
    slope = np.sqrt(spread)
    guess = np.log(even[:, 0]) - over_kinds(known.chance, known.mean) + slope * score
    before, score_before = np.full((2, len(row)), np.nan)
    looks = 0
    while len(row):
        looks += 1
        if looks > GUESSED_LOOKS and looks % 2:
            day = (low + high) // 2
        else:
            day = dated.day(engine, begun + np.exp(np.minimum(guess, FARTHEST)))
            day = np.maximum(np.minimum(day, high - 1), low + 1)
        ran = clock.at(engine, day) - start
        chance = reached_chance(known, ran, hours, even)
        enough = chance >= goal
        low, high = np.where(enough, low, day), np.where(enough, day, high)
        found[row] = high
        open_still = high - low > 1
        if not bool(open_still.any()):
            break
        now = np.log(np.maximum(over_kinds(known.chance, ran), 1e-6))
        score_now = ndtri(np.maximum(np.minimum(chance, 1 - 1e-12), 1e-12))
        further, more = now - before, score_now - score_before
        np.divide(further, more, out=slope, where=further * more > 0.1 * further * further)
        guess = now + slope * (score - score_now)
        before, score_before = now, score_now
        if not bool(open_still.all()):
            left = open_still.nonzero()[0]
            known = known.rows(left)
            row, engine, hours, even, start, begun = _rows(left, row, engine, hours, even, start, begun)
            goal, score, low, high = _rows(left, goal, score, low, high)
            slope, guess, before, score_before = _rows(left, slope, guess, before, score_before)
    return found


def _rows(chosen: Days, *values: NDArray[Any]) -> Iterator[NDArray[Any]]:
    return (of_all[chosen] for of_all in values)

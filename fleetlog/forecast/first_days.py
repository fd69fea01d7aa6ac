"""Finds the first day on which engines have reached hours with given chances, by few looks at a chance.

The probit of the chance goes nearly straight with the logarithm of the clock, so that one look says about
where the next is to be. Whatever is guessed, looks keep each day between two bounds until these meet: a bad
guess costs a look and changes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

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

FARTHEST, MOST_YEARS = 20.0, 100
"""The logarithm of more days, and more years, than dates are asked for."""

_DAYS_LAID_OUT = np.round(DAYS_PER_STRETCH * np.arange(STRETCHES + 1)).astype(np.int64)
"""A clock is looked at as often as seasons change: more often cost more, less often further looks."""


@dataclass(frozen=True, eq=False)
class _DatedClock:
    """About what each engine's clock shows after its first day, averaged over kinds of season: for asking it
    the other way round.

    A year is laid out, and those after it are taken to be like it. The clocks stand in one row, each so far
    above the one before that all can be searched at once; `begin` is where one begins, `yearly` what it runs
    in the year.
    """

    first_day: Days
    apart: float
    along: Floats
    begin: Floats
    yearly: Floats

    @classmethod
    def of(cls, clock: StoredClock, engine: Days, chance: Floats, first_day: Days) -> _DatedClock:
        """The clocks of these engines from a day of each, with the chances of their kinds."""
        days = first_day[:, None] + _DAYS_LAID_OUT
        kinds = clock.at(np.repeat(engine, STRETCHES + 1), days.ravel())
        shown = np.einsum("ek,edk->ed", chance, kinds.reshape(*days.shape, -1))
        apart = 2 * float(shown.max()) + 1
        along = (shown + apart * np.arange(len(engine))[:, None]).ravel()
        return cls(first_day, apart, along, shown[:, 0], np.maximum(shown[:, -1] - shown[:, 0], 1e-9))

    def day(self, row: Days, shown: Floats) -> Days:
        """About the day on which the clock of each row shows so much."""
        yearly = self.yearly[row]
        years = np.floor(np.maximum(np.minimum((shown - self.begin[row]) / yearly, MOST_YEARS), 0))
        wanted = shown - years * yearly + self.apart * row
        first = (STRETCHES + 1) * row
        after = np.maximum(np.minimum(np.searchsorted(self.along, wanted) - first, STRETCHES), 1) + first
        low, high = self.along[after - 1], self.along[after]
        part = np.maximum(np.minimum((wanted - low) / np.maximum(high - low, 1e-9), 1), 0)
        days = YEAR_DAYS * (years + (after - first - 1 + part) / STRETCHES)
        found: Days = self.first_day[row] + np.ceil(days).astype(np.int64)
        return found


def first_days(
    beliefs: RateBeliefs,
    clock: StoredClock,
    engine: Days,
    hours: Floats,
    score: Floats,
    since: Days,
    last_day: int,
) -> Days:
    """The first days after `since` by whose end each engine has run `hours` with a chance of probit `score`.

    `beliefs` are those of the fleet, which `engine` points into. Days later than `last_day` are that day.
    """
    low, high = since.copy(), np.full(len(engine), last_day, dtype=np.int64)
    left = np.flatnonzero(high - low > 1)
    if not len(left):
        return np.maximum(high, since + 1)
    engines, place = np.unique(engine, return_inverse=True)
    first_day = np.full(len(engines), last_day)
    np.minimum.at(first_day, place, since)
    dated = _DatedClock.of(clock, engines, beliefs.chance[engines], first_day)
    asked, goal = beliefs.rows(engine), ndtr(score)
    even = even_odds_hours(np.maximum(hours, LEAST_HOURS)[:, None], asked.dispersion[:, None])
    start = clock.at(engine, since)
    begun = over_kinds(asked.chance, start)
    spread = over_kinds(asked.chance, asked.variance) + asked.year_variance + asked.dispersion / even[:, 0]
    slope = np.sqrt(spread)
    guess = np.log(even[:, 0]) - over_kinds(asked.chance, asked.mean) + slope * score
    before, score_before = np.full((2, len(engine)), np.nan)
    looks = 0
    while True:
        looks += 1
        low_day, high_day, known = low[left], high[left], asked.rows(left)
        if looks > GUESSED_LOOKS and looks % 2:
            day = (low_day + high_day) // 2
        else:
            shown = begun[left] + np.exp(np.minimum(guess[left], FARTHEST))
            day = np.maximum(np.minimum(dated.day(place[left], shown), high_day - 1), low_day + 1)
        ran = clock.at(engine[left], day) - start[left]
        chance = reached_chance(known, ran, hours[left], even[left])
        enough = chance >= goal[left]
        low_day, high_day = np.where(enough, low_day, day), np.where(enough, day, high_day)
        low[left], high[left] = low_day, high_day
        open_still = high_day - low_day > 1
        if not bool(open_still.any()):
            return np.maximum(high, since + 1)
        now = np.log(np.maximum(over_kinds(known.chance, ran), 1e-6))
        score_now = ndtri(np.maximum(np.minimum(chance, 1 - 1e-12), 1e-12))
        further, more = now - before[left], score_now - score_before[left]
        straight = further * more > 0.1 * further * further
        slope[left] = np.divide(further, more, out=slope[left], where=straight)
        guess[left] = now + slope[left] * (score[left] - score_now)
        before[left], score_before[left] = now, score_now
        left = left[open_still]

"""The forecast of a whole fleet at once: dates by which hours are reached, and hours by dates."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from fleetlog.domain.usage import SIGHT_YEARS
from fleetlog.forecast.evidence import Days, FleetUsage
from fleetlog.forecast.first_days import DatedClock, first_days
from fleetlog.forecast.hitting import RateBeliefs, reached_chance
from fleetlog.forecast.intervals import (
    Intervals,
    first_day_of,
    intervals_of,
    last_readings,
    over_kinds,
    pair_dispersion,
    worth,
)
from fleetlog.forecast.levels import after_changes, forgetting_per_day, own_levels
from fleetlog.forecast.parameters import FleetParameters, Table
from fleetlog.forecast.rates import Blocks, Moves
from fleetlog.forecast.season import YEAR_DAYS, Layups, SeasonClock, StoredClock

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

HORIZON_DAYS = round(SIGHT_YEARS * YEAR_DAYS)
"""Dates lie at most so far ahead of the day they are asked on; that day stands for all later ones."""

SHARES = (0.1, 0.5, 0.9)

FEW_READINGS = 8.0
"""How much has been read counts for the width of windows by e in so many days of reading."""

AHEAD = (0.03, 1.5)
"""Between these shares of a year's hours the width of windows may depend on how far ahead the hours are."""

SILENT_DAYS, MOST_SILENT_DAYS = 90, 400
"""How long an engine was not read counts for its window by the logarithm of so many days of its seasonal
clock, and of the second figure at most. Set by simulated fleets, not by a source."""

COMMON_FEATURES = 4
"""Of the features of a width those beside the use: always one, how much was read, how far ahead, how long
not read."""

CHUNK = 4096
"""So many engines at once have their arrays near the processor."""

CLOCK_STEP = 3653
"""Clocks of ten years' steps are made once and kept: many forecasts, of other days, run by the same."""


@lru_cache(maxsize=16)
def _clock(profiles: Table, first_step: int, today_step: int) -> SeasonClock:
    last = today_step * CLOCK_STEP + HORIZON_DAYS + 1
    return SeasonClock.of(np.array(profiles), first_step * CLOCK_STEP, last)


def moves_of(parameters: FleetParameters) -> Moves:
    """How rates move in a fleet of these parameters."""
    return Moves(parameters.step_spread, parameters.restart_share, parameters.changed_restart_share)


@dataclass(frozen=True, eq=False)
class _Read:
    """What readings of some engines say before it is known how rates move, in bursts of the engines' own."""

    intervals: Intervals
    bursts: Floats
    clock_bursts: Floats
    dispersion: Floats
    shares: Floats
    idle: Flags
    blocks: Blocks


class FleetForecast:
    """What the engines of a fleet are expected to run, as known at the end of one day."""

    def __init__(self, parameters: FleetParameters, fleet: FleetUsage, today: date) -> None:
        self.parameters, self.today = parameters, today.toordinal()
        self.fleet = fleet.read_until(self.today)
        first = first_day_of(self.fleet, self.today) - 366
        clock = _clock(parameters.profiles, first // CLOCK_STEP, -(-self.today // CLOCK_STEP))
        self.clock: StoredClock = Layups.of(self.fleet, self.today).stored(clock)
        self.last_day, self.last_hours = last_readings(self.fleet)
        self.since = np.where(self.last_day > 0, self.last_day, self.today)
        fresh = np.ones(len(self.fleet.reading_day), dtype=bool)
        fresh[1:] = ~self.fleet.goes_on | (self.fleet.days_apart > 0)
        self.reading_days = np.bincount(self.fleet.reading_engine[fresh], minlength=len(self.fleet))
        use_rows = [parameters.use_index(name) for name in self.fleet.uses]
        self.use = np.array(use_rows, dtype=np.int64)[self.fleet.use_code]
        self.season = clock
        parts = [self._believed(*chunk) for chunk in self._chunks()]
        self.beliefs = RateBeliefs.together([beliefs for beliefs, _ in parts])
        self.idle = np.concatenate([idle for _, idle in parts])

    @cached_property
    def dated(self) -> DatedClock:
        """The clocks of the engines, for asking them the other way round."""
        return DatedClock.of(self.clock, self.beliefs.chance)

    def log_evidence(self, tried: Sequence[Moves]) -> Floats:
        """How likely the readings are for each way in which rates may move, as a logarithm.

        Up to what depends on the readings alone; those of engines out of use are left out.
        """
        found = np.zeros(len(tried))
        for chunk in self._chunks():
            read = self._read(*chunk)
            told = [read.blocks.filtered(read.shares, moves).log_evidence for moves in tried]
            found += [of_engines[~read.idle].sum() for of_engines in told]
        return found

    def _chunks(self) -> Iterator[tuple[slice, FleetUsage, StoredClock]]:
        """The engines some at a time: their rows here, their use and their clocks."""
        if len(self.fleet) <= CHUNK:
            yield slice(None), self.fleet, self.clock
            return
        for first in range(0, len(self.fleet), CHUNK):
            rows = slice(first, first + CHUNK)
            fleet = self.fleet.chosen(np.arange(len(self.fleet))[rows])
            yield rows, fleet, Layups.of(fleet, self.today).stored(self.season)

    def _read(self, rows: slice, fleet: FleetUsage, clock: StoredClock) -> _Read:
        p, use, last_day = self.parameters, self.use[rows], self.last_day[rows]
        intervals = intervals_of(fleet, clock, since_new=True)
        idle = np.zeros(len(fleet), dtype=bool)
        idle[intervals.idle_engines] = True
        shares = p.tables.kind_shares[use]
        told, pairs = pair_dispersion(intervals, shares, len(fleet))
        usual = p.tables.dispersions[use]
        dispersion = (told + p.dispersion_weight * usual) / (pairs + p.dispersion_weight)
        dispersion = np.minimum(np.maximum(dispersion, usual / 30), usual * 30)
        centre, alike_variance = p.tables.log_centres[use], p.tables.log_variances[use]
        bursts = intervals.hours / dispersion[intervals.engine]
        clock_bursts = intervals.clock_days * (np.exp(centre) / dispersion[:, None])[intervals.engine]
        counted = worth(intervals, bursts)
        bursts, clock_bursts = counted * bursts, counted[:, None] * clock_bursts
        blocks = Blocks.of(
            intervals.engine,
            intervals.middle_day,
            bursts,
            clock_bursts,
            alike_variance,
            last_day,
            np.where(fleet.changed_day <= self.today, fleet.changed_day, 0),
        )
        return _Read(intervals, bursts, clock_bursts, dispersion, shares, idle, blocks)

    def _believed(self, rows: slice, fleet: FleetUsage, clock: StoredClock) -> tuple[RateBeliefs, Flags]:
        """Of a chunk of engines what is believed, and who is out of use."""
        p, use, last_day = self.parameters, self.use[rows], self.last_day[rows]
        centre, alike_variance = p.tables.log_centres[use], p.tables.log_variances[use]
        read = self._read(rows, fleet, clock)
        now = read.blocks.filtered(read.shares, moves_of(p))
        level_mean, level_variance = after_changes(
            own_levels(
                fleet,
                read.intervals,
                read.bursts,
                read.clock_bursts,
                now.chance,
                alike_variance,
                last_day,
                p.year_variance,
            ),
            over_kinds(now.chance, now.mean),
            over_kinds(now.chance, now.variance + now.mean**2),
            p.year_variance,
        )
        beliefs = RateBeliefs(
            chance=now.chance,
            mean=now.mean + centre,
            variance=now.variance,
            level_mean=level_mean[:, None] + centre,
            level_variance=level_variance,
            year_variance=np.full(len(fleet), p.year_variance),
            drift=np.full(len(fleet), p.drift / 365),
            forgetting=np.full(len(fleet), forgetting_per_day(p)),
            dispersion=read.dispersion,
        )
        return beliefs, read.idle

    def reached(self, engine: Days, hours: Floats, since: Days, day: Days) -> Floats:
        """The chance that each engine runs `hours` after day `since` by the end of `day`, calibrated."""
        start = self.clock.at(engine, since)
        raw = reached_chance(self.beliefs.rows(engine), self.clock.at(engine, day) - start, hours)
        shift, stretch = self._calibration(engine, hours)
        score = (ndtri(np.clip(raw, 1e-12, 1 - 1e-12)) - shift) / stretch
        score[score > 0] *= np.exp(-self.parameters.late_stretch)
        chance: Floats = ndtr(score)
        return chance

    def expected_hours(self, engine: Days, since: Days, day: Days) -> Floats:
        """The expected hours of each engine from the end of one day to the end of another."""
        twice, days = np.concatenate([engine, engine]), np.concatenate([day, since])
        beliefs = self.beliefs.rows(twice)
        clock = np.maximum(self.clock.at(twice, days) - self._start[twice], 0.0)
        mean, variance = beliefs.averaged(clock)
        ran = over_kinds(beliefs.chance * clock, np.exp(mean + variance / 2))
        # a clock that stood still differs by its rounding
        hours: Floats = np.maximum(ran[: len(engine)] - ran[len(engine) :], 0.0)
        return hours

    def hours_by(self, engine: Days, day: Days, shares: Sequence[float] = SHARES) -> tuple[Floats, ...]:
        """Hours run since the last reading by the end of a day, which are exceeded with these chances."""
        since = self.since[engine]
        expected = self.expected_hours(engine, since, day)
        goal = ndtr(self._raw_scores(engine, expected, shares)).ravel()
        rows, until = np.tile(engine, len(shares)), np.tile(day, len(shares))
        beliefs = self.beliefs.rows(rows)
        clock = self.clock.at(rows, until) - self._start[rows]
        low, high = np.zeros(len(rows)), np.maximum(24.0 * (until - self.since[rows]), 0.0)
        for _ in range(40):
            middle = (low + high) / 2
            more = reached_chance(beliefs, clock, middle) >= goal
            low, high = np.where(more, middle, low), np.where(more, high, middle)
        return tuple(low.reshape(len(shares), -1))

    def alike_annual_hours(self) -> Floats:
        """Of each engine the hours a year of engines of the same use on average, lay-ups aside."""
        p = self.parameters.tables
        by_use = over_kinds(p.kind_shares, np.exp(p.log_centres))
        alike: Floats = (by_use * np.exp(p.log_variances / 2) * YEAR_DAYS)[self.use]
        return alike

    def _raw_scores(self, engine: Days, hours: Floats, shares: Sequence[float]) -> Floats:
        """The probits before calibration (shares x rows) that stand for these chances of `hours` after it."""
        shift, stretch = self._calibration(engine, hours)
        score = ndtri(np.array(shares))
        score[score > 0] *= np.exp(self.parameters.late_stretch)
        raw: Floats = shift + stretch * score[:, None]
        return raw

    def _calibration(self, engine: Days, hours: Floats) -> tuple[Floats, Floats]:
        features, p = self.features(engine, hours), self.parameters.tables
        return features @ p.shift, np.exp(features @ p.stretch)

    def features(self, engine: Days, hours: Floats) -> Floats:
        """What the calibration may depend on: how much was read, how far ahead, how long not, the use."""
        ahead = np.minimum(np.maximum(hours / self._yearly_hours[engine], AHEAD[0]), AHEAD[1])
        found = self._lasting_features[engine]
        found[:, 2] = np.log(ahead)
        return found

    @cached_property
    def _lasting_features(self) -> Floats:
        """The features of each engine, without how far ahead."""
        every = np.arange(len(self.fleet))
        ran = self.clock.at(every, np.full(len(every), self.today)) - self._start
        unread = np.minimum(np.maximum(over_kinds(self.beliefs.chance, ran), 0), MOST_SILENT_DAYS)
        own_use = np.eye(len(self.parameters.log_centres))[self.use]
        few = np.exp(-self.reading_days / FEW_READINGS)
        ahead = np.zeros(len(every))
        return np.column_stack([np.ones(len(every)), few, ahead, np.log1p(unread / SILENT_DAYS), own_use])

    @cached_property
    def _start(self) -> Floats:
        """The clock of each engine on the day of its last reading; today where nothing was ever read."""
        return self.clock.at(np.arange(len(self.fleet)), self.since)

    @cached_property
    def _yearly_hours(self) -> Floats:
        hours: Floats = YEAR_DAYS * np.exp(over_kinds(self.beliefs.chance, self.beliefs.mean))
        return hours

    def yearly_hours(self, engine: Days) -> Floats:
        """What engines run in a year of what they run now."""
        return self._yearly_hours[engine]

    def windows(
        self, engine: Days, hours: Floats, since: Days | None = None, shares: Sequence[float] = SHARES
    ) -> tuple[Days, ...]:
        """The first days (ordinals) by which each engine has run `hours` since a day with the given chances.

        `since` is the day of the last reading where not given, and today where nothing was ever read.
        Days lie at most `HORIZON_DAYS` after today.
        """
        if since is None:
            since = self.since[engine]
        times, last_day = len(shares), self.today + HORIZON_DAYS
        found = np.empty((times, len(engine)), dtype=np.int64)
        for first in range(0, len(engine), CHUNK):  # all shares at once: for one engine it is calls that cost
            part = slice(first, first + CHUNK)
            score = self._raw_scores(engine[part], hours[part], shares).ravel()
            rows, begun, goal = (np.concatenate([of[part]] * times) for of in (engine, since, hours))
            days = first_days(self.beliefs, self.dated, rows, goal, score, begun, last_day)
            found[:, part] = days.reshape(times, -1)
        return tuple(np.maximum.accumulate(found))

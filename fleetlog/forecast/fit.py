"""Fits the fleet's parameters from everybody's readings."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from functools import partial
from itertools import chain
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from fleetlog.forecast.calibration import calibrated, past_forecasts
from fleetlog.forecast.evidence import Days, FleetUsage
from fleetlog.forecast.fleet import COMMON_FEATURES, FleetForecast, moves_of
from fleetlog.forecast.intervals import first_day_of, intervals_of, last_readings, over_kinds, worth
from fleetlog.forecast.levels import year_moments
from fleetlog.forecast.parameters import FLEET_ENGINES, FleetParameters
from fleetlog.forecast.rates import Moves, seen
from fleetlog.forecast.season import YEAR_DAYS, Layups, SeasonClock, stored_in_january
from fleetlog.forecast.seasons_fit import KINDS, Seasons, fit_seasons

Floats = NDArray[np.float64]

PRIOR_HOURS_PER_YEAR = 34.8
"""Outboards, hours a year: inputs of the US EPA model NONROAD2008a as shipped with MOVES5 (printed)."""

PRIOR_LOG_VARIANCE, MOST_LOG_VARIANCE = 1.0, 1.3
"""Owners of one use differ up to a hundredfold: 19 of 20 within ten times either way (common practice)."""

RECENT_DAYS, TOLD_CLOCK_DAYS = 730, 45
"""A use's rates are those of its engines' last two years, if read over so many days of the clock."""

DISPERSION_WEIGHT = 6.0
"""Pairs of intervals that the usual dispersion of a use counts for against those of one engine."""

FIT_ENGINES = 1600
LOOKED_AT = 2 * FIT_ENGINES
"""Of so many engines a fit looks at each: it learns from a half and is judged by the other."""

SETTLED = 1e-10
"""Centres and variances that a round moves by less than this are found."""

MOVES = ("step_spread", "restart_share", "changed_restart_share")
"""How rates move: the parameters that are chosen among the values below by what some engines show."""

EVIDENCE_ENGINES = 500
STEP_SPREADS = (0.04, 0.08, 0.13, 0.2, 0.3, 0.45)
RESTART_SHARES = (0.002, 0.01, 0.03, 0.08)
CHANGED_SHARES = (0.05, 0.2, 0.4, 0.7, 0.95)
USUAL_STEP_SPREAD, USUAL_RESTART_SHARE, USUAL_CHANGED_SHARE = 0.13, 0.01, 0.4
"""How much rates move where the fleet is too small to tell: set by simulated fleets, not by a source."""


def looked_at(uses: Sequence[str | None]) -> list[int]:
    """Which engines a fit needs to know, by place, where these are the uses of all of them."""
    known, codes = np.unique([use or "" for use in uses], return_inverse=True)
    rounded_off = len(known)
    return [int(place) for place in _evenly(codes, LOOKED_AT + rounded_off)]


def fit_fleet(fleet: FleetUsage, today: date) -> FleetParameters:
    """The parameters of a fleet from the readings up to `today`.

    With few readings the published season and annual hours stand; recorded lay-ups say in which half of the
    world that season lies, until readings tell. Of a large fleet an even sample is fitted.
    """
    seen = fleet.read_until(today.toordinal())
    winters = stored_in_january(seen)
    sample, judge = _two_samples(seen)
    rough = partial(_uncalibrated, seen, today=today, winters=winters)
    if judge is not None:
        parameters = _most_evident(rough(sample), sample, today)
        return calibrated(parameters, past_forecasts(parameters, judge, today), seen)
    # A small fleet is judged by halves: windows of each are judged by what the other half taught.
    halves = [sample.chosen(np.flatnonzero((np.arange(len(sample)) // 8) % 2 == half)) for half in (0, 1)]
    with ThreadPoolExecutor(2) as pool:  # while numpy computes, both run at once
        whole = pool.submit(lambda: _most_evident(rough(sample), sample, today))
        learnt = pool.map(rough, reversed(halves))
        parameters = whole.result()
        moves = {name: getattr(parameters, name) for name in MOVES}
        taught = [replace(one, **cast(Any, moves)) for one in learnt]
        told = pool.map(partial(past_forecasts, today=today), taught, halves)
        return calibrated(parameters, list(chain.from_iterable(told)), seen)


def _uncalibrated(fleet: FleetUsage, sample: FleetUsage, today: date, winters: float) -> FleetParameters:
    """Seasons and rates of a sample, with the usual moves, windows as they come."""
    # The row of every table without a name is for engines of a use that was never seen, too.
    uses = (*fleet.uses, "") if "" not in fleet.uses else fleet.uses
    seasons = fit_seasons(sample, today.toordinal(), len(uses), winters)
    told, centres, variances = _rates(sample, seasons, today.toordinal(), len(uses))
    year_variance, drift = year_moments(sample, seasons, today.toordinal())
    return FleetParameters(
        fitted_on=today,
        engines=len(fleet),
        readings=len(fleet.reading_day),
        uses=uses,
        season_is_read=seasons.are_read,
        profiles=_table(seasons.profiles),
        kind_shares=_table(seasons.shares),
        told_engines=tuple(told.tolist()),
        log_centres=_table(centres),
        log_variances=_row(variances),
        dispersions=_row(seasons.dispersions),
        dispersion_weight=DISPERSION_WEIGHT,
        step_spread=USUAL_STEP_SPREAD,
        restart_share=USUAL_RESTART_SHARE,
        changed_restart_share=USUAL_CHANGED_SHARE,
        year_variance=year_variance,
        drift=drift,
        shift=(0.0,) * (COMMON_FEATURES + len(uses)),
        stretch=(0.0,) * (COMMON_FEATURES + len(uses)),
        late_stretch=0.0,
    )


def _two_samples(fleet: FleetUsage) -> tuple[FleetUsage, FleetUsage | None]:
    """A sample to learn from and, of a large fleet, another one of other engines to be judged by."""
    if len(fleet) < LOOKED_AT:
        return _even_sample(fleet, FIT_ENGINES), None
    block = (np.arange(len(fleet)) // 8) % 2 == 0
    learn, judge = (fleet.chosen(np.flatnonzero(rows)) for rows in (block, ~block))
    return _even_sample(learn, FIT_ENGINES), _even_sample(judge, FIT_ENGINES)


def _even_sample(fleet: FleetUsage, most: int) -> FleetUsage:
    return fleet if len(fleet) <= most else fleet.chosen(_evenly(fleet.use_code, most))


def _evenly(use_code: Days, most: int) -> Days:
    """Of many engines about so many, evenly over each use; of one that is rare more than its share."""
    if len(use_code) <= most:
        return np.arange(len(use_code))
    chosen: list[Days] = []
    for number in range(int(use_code.max()) + 1):
        members = np.flatnonzero(use_code == number)
        room = max(most * len(members) // len(use_code), min(len(members), most // 8))
        even = np.linspace(0, max(len(members) - 1, 0), room).astype(np.int64)
        chosen.append(members[even])
    return np.sort(np.concatenate(chosen))


def _rates(fleet: FleetUsage, seasons: Seasons, today: int, uses: int) -> tuple[Days, Floats, Floats]:
    """By use how many engines told a rate, its logarithm's centre (uses x kinds) and variance.

    They are of the last two years of each engine.

    The centre of a kind of season is what engines would run if all had it: the hours read are the same, and
    of a log without a summer they tell little of kinds that run in summer alone.
    """
    first = first_day_of(fleet, today) - 1
    clock = Layups.of(fleet, today).stored(SeasonClock.of(seasons.profiles, first, today + 1))
    intervals = intervals_of(fleet, clock, trailing_idle=False, since_new=True)
    last, _ = last_readings(fleet)
    recent = intervals.middle_day >= last[intervals.engine] - RECENT_DAYS
    engine = intervals.engine[recent]
    burst = seasons.dispersions[fleet.use_code]
    hours = intervals.hours
    counted = worth(intervals, hours / burst[intervals.engine])[recent]
    ran = np.bincount(engine, counted * hours[recent], len(fleet))
    days = over_kinds(intervals.clock_days[recent], seasons.kind_chance[engine])
    told = np.bincount(engine, counted * days, len(fleet)) > TOLD_CLOCK_DAYS
    usual = float(np.log(PRIOR_HOURS_PER_YEAR / YEAR_DAYS)) - PRIOR_LOG_VARIANCE / 2
    exposed = np.array(
        [np.bincount(engine, counted * of_kind, len(fleet)) for of_kind in intervals.clock_days[recent].T]
    )
    # Two years of one engine are less certain than their bursts say, for years differ.
    bursts, clocks = ran / burst / 2, exposed / burst / 2
    usual_of_kinds = np.full((KINDS, 1), usual), np.full((KINDS, 1), PRIOR_LOG_VARIANCE)
    pooled = _log_normal(bursts[told], clocks[:, told], *usual_of_kinds, 1.0)
    centres, variances = np.empty((2, uses, KINDS))
    for number in range(uses):
        mine = told & (fleet.use_code == number)
        found = _log_normal(bursts[mine], clocks[:, mine], *pooled, FLEET_ENGINES)
        centres[number], variances[number] = found[0][:, 0], found[1][:, 0]
    engines = np.bincount(fleet.use_code[told], minlength=uses)
    return engines, centres, over_kinds(seasons.shares, variances)


def _log_normal(
    bursts: Floats, clocks: Floats, mean: Floats, variance: Floats, engines: float
) -> tuple[Floats, Floats]:
    """Mean and variance (kinds x 1) of the log rates of some engines, by expectation and maximisation.

    `clocks` has a row a kind; `mean` and `variance` stand for so many engines more.
    """
    usual, usual_variance = mean, variance
    total = len(bursts) + engines
    for _ in range(30):
        before = mean, variance
        one_mean, one_variance, _ = seen(bursts, clocks, mean, variance)
        mean = (one_mean.sum(axis=1, keepdims=True) + engines * usual) / total
        spread = ((one_mean - mean) ** 2 + one_variance).sum(axis=1, keepdims=True)
        variance = (spread + engines * (usual_variance + (usual - mean) ** 2)) / total
        variance = np.minimum(variance, MOST_LOG_VARIANCE)
        if max(np.abs(mean - before[0]).max(), np.abs(variance - before[1]).max()) < SETTLED:
            break
    return mean, np.maximum(variance, 0.01)


def _most_evident(parameters: FleetParameters, fleet: FleetUsage, today: date) -> FleetParameters:
    """How much rates move, chosen by the evidence of a part of the fleet, one parameter after the other."""
    part = _even_sample(fleet, EVIDENCE_ENGINES)
    forecast = FleetForecast(parameters, part, today)

    def unusual(moves: Moves) -> float:
        found: float = (
            (np.log(moves.step_spread / USUAL_STEP_SPREAD) / 0.7) ** 2
            + (np.log(moves.restart_share / USUAL_RESTART_SHARE) / 1.2) ** 2
            + ((moves.changed_restart_share - USUAL_CHANGED_SHARE) / 0.3) ** 2
        )
        return found

    choices: list[tuple[str, tuple[float, ...]]] = [
        ("step_spread", STEP_SPREADS),
        ("restart_share", RESTART_SHARES),
    ]
    if bool((part.changed_day > 0).any()):
        choices.append(("changed_restart_share", CHANGED_SHARES))
    for name, values in choices:
        tried = [replace(parameters, **cast(Any, {name: value})) for value in values]
        moves = [moves_of(one) for one in tried]
        evidence = forecast.log_evidence(moves) - np.array([unusual(one) for one in moves]) / 2
        parameters = tried[int(np.argmax(evidence))]
    return parameters


def _row(values: Floats) -> tuple[float, ...]:
    return tuple(float(f"{value:.8g}") for value in values)


def _table(values: Floats) -> tuple[tuple[float, ...], ...]:
    return tuple(_row(row) for row in values)

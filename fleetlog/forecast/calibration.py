"""Sets the width of windows by what later readings of the same fleet showed.

Forecasts are made as of past days and compared with the readings that followed. Those show between which
days the hours were reached, and in which parts of that time each as likely; so the chances given for the days
bound a standard normal score, and its shift and stretch are found by maximum likelihood of interval-censored
normals.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from fleetlog.forecast.crossings import PARTS, chances_on, crossings, days_reached
from fleetlog.forecast.evidence import FleetUsage
from fleetlog.forecast.fleet import AHEAD, COMMON_FEATURES, FleetForecast
from fleetlog.forecast.parameters import FleetParameters
from fleetlog.forecast.season import YEAR_DAYS

Floats = NDArray[np.float64]

USUAL_STRETCH, USUAL_STRETCH_OF_FEW, USUAL_STRETCH_AHEAD, USUAL_LATE_STRETCH = 0.15, -0.2, -0.05, 0.05
"""How much the logarithm of the width is too small as it comes; how much less of an engine that was hardly
read, for what is not known of it is in its window already, and the further ahead the hours are; and how much
more on the late side. Set by simulated fleets, not by a source."""

STRETCH_OF_YEAR_UNREAD = 0.6
"""How much more the logarithm of the width is too small while a log is less than a year old, for the part of
the year that it lacks: season and level of all engines are then hardly known. Set by simulated fleets."""

UNUSUAL = 0.3
"""How far shift and stretch of fleets depart from the usual (standard deviation): so small a fleet that it
tells little keeps the usual ones. Set by simulated fleets as well."""

WILD = 0.015
"""The share of cases that follow no pattern, four times as far off as others: without it a few wild engines
would set the width. Set by simulated fleets, told the true days: windows held 80 % of what came."""

HALF_TOLD_DAYS = 100
"""What two readings show of where between them hours were reached counts for half where they are so far
apart, and for less where further: rates change meanwhile. Set by simulated fleets."""

STANDS = (0.4, 0.5, 0.6, 0.7, 0.8, 0.9)
"""Shares of the fleet's readings by whose day past forecasts are made while the log is young."""

DAYS_BACK = (365, 730, 150, 270, 455, 575)
"""How long before today past forecasts are made: twice in the present season, and all round the year."""

STRETCH_BACK, STRETCHES = 730, 8
"""Where a fleet is small and its log long, past forecasts are made so many days further back as well, and
again, so often at most: another two years of an engine tell as much as another engine."""

ENGINES_ENOUGH = 500
"""How many engines, each counted once a stretch, need no further ones."""


@dataclass(frozen=True, eq=False)
class Told:
    """What followed past forecasts: the chances given for the days between which it came.

    A row is the time between two readings, a part of it, or all the time after the last one; `weight` is for
    how much of a case it counts.
    """

    features: Floats
    below: Floats
    above: Floats
    weight: Floats

    @classmethod
    def together(cls, parts: Sequence[Told]) -> Told:
        """The rows of all parts, one after the other."""
        return cls(*(np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(cls)))


def past_forecasts(parameters: FleetParameters, fleet: FleetUsage, today: date) -> list[Told]:
    """What followed forecasts of past days, made of a fleet with these parameters; a part for each day."""
    found_on = []
    for number, day in enumerate(_past_days(fleet, today.toordinal())):
        forecast = FleetForecast(parameters, fleet.as_known_on(day), date.fromordinal(day))
        engine = np.flatnonzero((forecast.last_day > 0) & (forecast.last_day > day - 500) & ~forecast.idle)
        if not len(engine):
            continue
        # Spread evenly over how far ahead calibration looks, by the golden ratio.
        part = (0.618034 * (engine + 1) + 0.25 * number) % 1.0
        least, most = AHEAD
        hours = np.maximum(forecast.yearly_hours(engine) * least * (most / least) ** part, 1.0)
        found = crossings(fleet, engine, forecast.last_hours[engine] + hours)
        since = forecast.last_day[engine]
        seen = (found.low_day >= since) & (found.high_day != found.low_day)
        engine, hours = engine[seen], hours[seen]
        after, by = days_reached(forecast, fleet, engine, found.chosen(seen))
        below, above = (chances_on(forecast, engine, hours, days) for days in (after, by))
        features, by_now = forecast.features(engine, hours), found.high_day[seen] > 0
        days_apart = (found.high_day - found.low_day)[seen]
        in_parts = np.where(by_now, 1 / (1 + days_apart / HALF_TOLD_DAYS), 0.0)
        found_on.append(
            Told(
                np.concatenate([features, np.repeat(features[by_now], PARTS, axis=0)]),
                np.concatenate([below[:, 0], below[by_now].ravel()]),
                np.concatenate([np.where(by_now, above[:, -1], 1.0), above[by_now].ravel()]),
                np.concatenate([1 - in_parts, np.repeat(in_parts[by_now] / PARTS, PARTS)]),
            )
        )
    return found_on


def calibrated(parameters: FleetParameters, parts: Sequence[Told], fleet: FleetUsage) -> FleetParameters:
    """The parameters, with shift and stretch of windows such as suit what followed past forecasts of a fleet.

    Of a young log they are wider by what a year's part that was never read may hold.
    """
    count = len(parameters.shift)
    usual = np.zeros(2 * count + 1)
    usual[count : count + COMMON_FEATURES] = USUAL_STRETCH, USUAL_STRETCH_OF_FEW, USUAL_STRETCH_AHEAD, 0.0
    usual[-1] = USUAL_LATE_STRETCH
    if len(fleet.reading_day):
        usual[count] += STRETCH_OF_YEAR_UNREAD * max(0.0, 1 - np.ptp(fleet.reading_day) / YEAR_DAYS)
    coefficients = _fitted(Told.together(parts), usual) if parts else usual
    shift, stretch, late = coefficients[:count], coefficients[count:-1], coefficients[-1]
    return replace(
        parameters,
        shift=tuple(map(float, shift)),
        stretch=tuple(map(float, stretch)),
        late_stretch=float(late),
    )


def _past_days(fleet: FleetUsage, today: int) -> list[int]:
    """The days on which past forecasts of a fleet are made; none where nothing was ever read."""
    days = np.sort(fleet.reading_day)
    if not len(days):
        return []
    enough = int(days[int(0.3 * (len(days) - 1))])
    engines = int(np.count_nonzero(np.diff(fleet.reading_offsets)))
    stretches = min(STRETCHES, 1 + ENGINES_ENOUGH // engines)
    beginnings = [today - STRETCH_BACK * number for number in range(stretches)]
    found = [day - back for day in beginnings for back in DAYS_BACK if enough <= day - max(DAYS_BACK)]
    return found or [int(days[int(share * (len(days) - 1))]) for share in STANDS]


def _fitted(told: Told, usual: Floats) -> Floats:
    """Coefficients of shift and log stretch, and the further log stretch of late days, about the usual."""
    from scipy.optimize import minimize  # a quarter of a second, which only a fit needs

    features = told.features
    below = np.clip(ndtri(np.clip(told.below, 1e-9, 1)), -6, 6)
    above = np.clip(ndtri(np.clip(told.above, 0, 1 - 1e-9)), -6, 6)
    below = np.where(told.below <= 0, -50.0, below)
    above = np.where(told.above >= 1, 50.0, np.maximum(above, below + 1e-3))
    count = features.shape[1]

    def loss(coefficients: Floats) -> tuple[float, Floats]:
        shift, log_stretch = features @ coefficients[:count], features @ coefficients[count:-1]
        late = coefficients[-1]
        scale = np.exp(-log_stretch)
        low_side, high_side = (np.exp(-late * (end > shift)) for end in (below, above))
        a, b = (below - shift) * scale * low_side, (above - shift) * scale * high_side
        inside = (1 - WILD) * (ndtr(b) - ndtr(a)) + WILD * (ndtr(b / 4) - ndtr(a / 4)) + 1e-12
        at_a, at_b = ((1 - WILD) * _density(end) + WILD / 4 * _density(end / 4) for end in (a, b))
        counted = told.weight / inside
        by_shift = -(at_b * high_side - at_a * low_side) * scale * counted
        by_stretch = -(at_b * b - at_a * a) * counted
        by_late = -(at_b * b * (b > 0) - at_a * a * (a > 0)) * counted
        gradient = np.concatenate([features.T @ by_shift, features.T @ by_stretch, [by_late.sum()]])
        # What one engine showed on several past days tells little more than on one.
        off = coefficients - usual
        value = -(told.weight * np.log(inside)).sum() / len(DAYS_BACK) + 0.5 * (off * off).sum() / UNUSUAL**2
        return float(value), -gradient / len(DAYS_BACK) + off / UNUSUAL**2

    found = minimize(loss, usual, jac=True, method="L-BFGS-B", options={"maxiter": 200})
    coefficients: Floats = found.x
    return coefficients


def _density(score: Floats) -> Floats:
    found: Floats = np.exp(-0.5 * score * score) / np.sqrt(2 * np.pi)
    return found

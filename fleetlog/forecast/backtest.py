"""Makes forecasts as of past days, with all that came after hidden, and sets them against later readings."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from fleetlog.forecast.crossings import chances_on, crossings, days_reached
from fleetlog.forecast.evidence import Days, FleetUsage
from fleetlog.forecast.fit import fit_fleet
from fleetlog.forecast.fleet import FleetForecast
from fleetlog.forecast.scoring import Backtest, Cases, scored

Floats = NDArray[np.float64]


Targets = Callable[[date, FleetForecast], tuple[Days, Floats]]
"""Which engines (indices) are to reach which hours, as known on a past day; an engine may come twice."""


def backtest(
    fleet: FleetUsage,
    stand_on: Sequence[date],
    targets: Targets,
    done: Callable[[int], None] = lambda _: None,
) -> Backtest | None:
    """Forecasts as of past days when the engines reach `targets`, scored by the readings that followed.

    What came after each day is hidden, the fleet's parameters are fitted anew for each; `done` is told the
    number of each day as its turn comes. None where no later reading tells anything.
    """
    parts = []
    for number, day in enumerate(stand_on, 1):
        known = fleet.as_known_on(day.toordinal())
        done(number)
        if not len(known.reading_day):
            continue
        forecast = FleetForecast(fit_fleet(known, day), known, day)
        engine, target = targets(day, forecast)
        ahead = (forecast.last_day[engine] > 0) & (target > forecast.last_hours[engine])
        engine, target = engine[ahead], target[ahead]
        seen = crossings(fleet, engine, target)
        # Only the next reading after the forecast's last one, and those after it, tell anything.
        told = (seen.low_day > forecast.last_day[engine]) | (seen.high_day > forecast.last_day[engine])
        engine, target, seen = engine[told], target[told], seen.chosen(told)
        after, by = days_reached(forecast, fleet, engine, seen)
        parts.append(cases_of(forecast, engine, target, seen.high_day > 0, after, by))
    cases = Cases.together(parts) if parts else None
    return None if cases is None or not len(cases) else scored(cases, fleet.uses)


def next_multiples(every_hours: float | Floats) -> Targets:
    """As targets, the next multiple of so many hours for each engine; one figure for all, or one each."""

    def targets(_: date, forecast: FleetForecast) -> tuple[Days, Floats]:
        engine = np.arange(len(forecast.fleet))
        step = np.broadcast_to(np.asarray(every_hours, dtype=np.float64), engine.shape)
        return engine, (np.floor(forecast.last_hours / step + 1e-9) + 1) * step

    return targets


def cases_of(
    forecast: FleetForecast,
    engine: Days,
    engine_hours: Floats,
    is_reached: NDArray[np.bool_],
    after: Days,
    by: Days,
) -> Cases:
    """The forecasts of some engines reaching engine hours, with the days between which they did."""
    since, last_hours = forecast.last_day[engine], forecast.last_hours[engine]
    hours = np.maximum(engine_hours - last_hours, 0.0)
    early, likely, late = forecast.windows(engine, hours)
    return Cases(
        engine=engine,
        use=forecast.fleet.use_code[engine],
        readings=forecast.fleet.times_read[engine],
        since=since,
        early=early,
        likely=likely,
        late=late,
        plain_days=hours / plain_rates(forecast)[engine],
        is_reached=is_reached,
        after=np.maximum(after, since[:, None]),
        by=by,
        chance_after=chances_on(forecast, engine, hours, after),
        chance_by=chances_on(forecast, engine, hours, by),
    )


def plain_rates(forecast: FleetForecast) -> Floats:
    """Hours a day from each engine's first to its last reading; where that is none, the median of its use."""
    fleet = forecast.fleet
    first = np.minimum(fleet.reading_offsets[:-1], max(len(fleet.reading_day) - 1, 0))
    days = forecast.last_day - fleet.reading_day[first]
    rate = np.where(
        (np.diff(fleet.reading_offsets) > 1) & (days > 0),
        (forecast.last_hours - fleet.reading_hours[first]) / np.maximum(days, 1),
        0.0,
    )
    usual = np.full(len(fleet.uses), np.median(rate[rate > 0]) if bool((rate > 0).any()) else 0.1)
    for use in range(len(fleet.uses)):
        mine = rate[(fleet.use_code == use) & (rate > 0)]
        usual[use] = np.median(mine) if len(mine) >= 5 else usual[use]
    return np.where(rate > 0, rate, usual[fleet.use_code])

"""Asks what a single engine is expected to run."""

from __future__ import annotations

from datetime import date

import numpy as np

from fleetlog.forecast import EngineUsage, FleetForecast, FleetParameters, FleetUsage
from fleetlog.forecast.many import years_ahead


def annual_hours(parameters: FleetParameters, usage: EngineUsage, today: date) -> float:
    """Expected hours of the year that begins today."""
    forecast = FleetForecast(parameters, FleetUsage.of([usage]), today)
    first_day = np.array([today.toordinal()])
    return float(forecast.expected_hours(np.zeros(1, dtype=np.int64), first_day, first_day + 365)[0])


def by_month(parameters: FleetParameters, usage: EngineUsage, today: date) -> dict[int, float]:
    """Expected hours of the months ahead, by number of month."""
    (ahead,) = years_ahead(parameters, [usage], today)
    return {month_on.month: hours for month_on, hours in ahead.months}

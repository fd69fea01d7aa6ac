"""Fits the fleet's parameters from everybody's readings."""

from __future__ import annotations

from datetime import date

import numpy as np

from fleetlog.forecast.evidence import FleetUsage
from fleetlog.forecast.parameters import FleetParameters

PRIOR_HOURS_PER_YEAR = 34.8
"""Outboards, hours a year: inputs of the US EPA model NONROAD2008a as shipped with MOVES5 (printed)."""


def fit_fleet(fleet: FleetUsage, today: date) -> FleetParameters:
    """The parameters of a fleet from the readings up to `today`; with none, the published prior stands."""
    seen = fleet.read_until(today.toordinal())
    engine = seen.reading_engine
    same = np.diff(engine) == 0
    hours = np.diff(seen.reading_hours)[same]
    days = np.diff(seen.reading_day)[same]
    use = seen.use_code[engine[1:][same]]
    annual = {}
    for code, name in enumerate(fleet.uses):
        mine = use == code
        annual[name] = float((hours[mine].sum() + PRIOR_HOURS_PER_YEAR) / (days[mine].sum() / 365.25 + 1))
    return FleetParameters(
        fitted_on=today,
        engines=len(fleet),
        readings=len(seen.reading_day),
        annual_hours=annual,
        years_worth=0.25,
        dispersion_hours=12.0,
    )

"""Usage and season: on which date an engine reaches given hours, and how sure that is."""

from fleetlog.forecast.engine import EngineForecast
from fleetlog.forecast.evidence import EngineUsage, FleetUsage
from fleetlog.forecast.fit import fit_fleet
from fleetlog.forecast.fleet import FleetForecast
from fleetlog.forecast.parameters import FleetParameters

__all__ = [
    "EngineForecast",
    "EngineUsage",
    "FleetForecast",
    "FleetParameters",
    "FleetUsage",
    "fit_fleet",
]

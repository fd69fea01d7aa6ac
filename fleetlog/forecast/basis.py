"""Says in plain words what the forecast of an engine rests on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from fleetlog.errors import counted
from fleetlog.forecast.evidence import Days, EngineUsage
from fleetlog.forecast.fleet import FleetForecast
from fleetlog.forecast.intervals import tells_since_new
from fleetlog.forecast.parameters import FLEET_ENGINES, FleetParameters


def bases_in_words(forecast: FleetForecast, engines: Sequence[EngineUsage]) -> list[str]:
    """Of each engine of a forecast: its readings, what alike engines and it run in a year, and its lay-up."""
    every: Days = np.arange(len(engines))
    today: Days = np.full(len(engines), forecast.today)
    layups, alike = forecast.clock.layups, forecast.alike_annual_hours()
    since_new = tells_since_new(forecast.fleet)
    return [
        _basis(forecast, usage, *told)
        for usage, *told in zip(
            engines,
            alike.tolist(),
            forecast.expected_hours(every, today, today + 365).tolist(),
            forecast.idle.tolist(),
            since_new.tolist(),
            layups.assumed_from.tolist(),
            layups.assumed_to.tolist(),
            layups.expected_to.tolist(),
            strict=True,
        )
    ]


def _basis(
    forecast: FleetForecast,
    usage: EngineUsage,
    alike_annual_hours: float,
    annual_hours: float,
    is_idle: bool,
    since_new: bool,
    assumed_from: int,
    assumed_to: int,
    expected_to: int,
) -> str:
    parameters, today = forecast.parameters, date.fromordinal(forecast.today)
    read_on = [day for day, _ in usage.readings if day <= today] if usage.metered else []
    before = len(usage.replaced_readings) if usage.metered else 0
    of_boat = f", and {before} of the engine that stood there before" if before else ""
    parts = [
        _readings_in_words(usage, read_on, is_idle, since_new) + of_boat,
        f"{_alike_in_words(parameters, usage.use)} run {alike_annual_hours:.0f} h a year on average, this"
        f" one is expected to run {annual_hours:.0f} h in the next twelve months",
        _layup_in_words(usage, today, assumed_from, assumed_to, expected_to),
    ]
    if not parameters.season_is_read:
        parts.append("no whole year read in this log, so the season is that of boats in general")
    if not usage.is_on_boat:
        parts.append("it is on no boat now, and taken to run on as it did")
    changed = usage.changed_on
    if changed and changed <= today and read_on:
        parts.append(f"owner, boat or use changed on {changed.isoformat()}, so readings before count less")
    return "; ".join(parts)


def _alike_in_words(parameters: FleetParameters, use: str | None) -> str:
    """Whose hours a year are told; of a use that few engines tell of, how many do."""
    of_use = parameters.told_engines[parameters.use_index(use or "")]
    if use and use in parameters.uses and of_use:
        told, alike = of_use, f"{use} engines"
    else:
        told, alike = sum(parameters.told_engines), "engines of this log"
    if not told:
        return "outboards in general"
    return alike if told >= FLEET_ENGINES else f"{alike}, judged by {counted(told, 'engine')},"


def _readings_in_words(usage: EngineUsage, read_on: list[date], is_idle: bool, since_new: bool) -> str:
    if not usage.metered:
        return "what alike engines run"
    if not read_on:
        return "no reading yet"
    last, new_on = read_on[-1].isoformat(), usage.in_service_on
    idle = ", without use for long" if is_idle else ""
    new = f", and what it ran since it was new on {new_on}" if since_new else ""
    is_from_new = usage.readings[0] == (new_on, 0)  # its 0 h that day need no look at the meter
    read, since = len(read_on) - is_from_new, f" since it was new on {new_on}" if is_from_new else ""
    if read == 0:
        return f"no reading{since}"
    if read == 1:
        return f"1 reading{since}, on {last}{new}"
    return f"{read} readings{since}, the last on {last}{idle}{new}"


def _layup_in_words(
    usage: EngineUsage, today: date, assumed_from: int, assumed_to: int, expected_to: int
) -> str:
    ahead = [(begin, end) for begin, end in usage.layups if end is None or end > today]
    if ahead:
        begin, end = min(ahead, key=lambda layup: layup[0])
        until = f"to {end.isoformat()}" if end else "with no day of launch"
        if end is None and expected_to:
            until += f", which is expected about {date.fromordinal(expected_to).isoformat()}"
        elif end is None:
            until += ", so long that the boat is taken to be out of use"
        return f"lay-up recorded from {begin.isoformat()} {until}"
    if assumed_from:
        begin, end = date.fromordinal(assumed_from), date.fromordinal(assumed_to)
        return f"lay-up assumed from {begin.isoformat()} to {end.isoformat()}, as recorded before"
    return "no lay-up recorded"

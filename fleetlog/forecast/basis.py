"""Says in plain words what the forecast of an engine rests on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from fleetlog.forecast.evidence import Days, EngineUsage
from fleetlog.forecast.fleet import FleetForecast
from fleetlog.forecast.intervals import tells_since_new


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
    alike = f"{usage.use} engines" if usage.use and usage.use in parameters.uses else "engines of this log"
    if parameters.readings == 0:
        alike = "outboards in general"
    read_on = [day for day, _ in usage.readings if day <= today] if usage.metered else []
    before = len(usage.replaced_readings) if usage.metered else 0
    of_boat = f", and {before} of the engine that stood there before" if before else ""
    parts = [
        _readings_in_words(usage, read_on, is_idle, since_new) + of_boat,
        f"{alike} run {alike_annual_hours:.0f} h a year on average, this one is expected to run"
        f" {annual_hours:.0f} h in the next twelve months",
        _layup_in_words(usage, today, assumed_from, assumed_to, expected_to),
    ]
    if not parameters.season_is_read:
        parts.append("no whole year read in this log, so the season is that of boats in general")
    changed = usage.changed_on
    if changed and changed <= today and read_on:
        parts.append(f"owner, boat or use changed on {changed.isoformat()}, so readings before count less")
    return "; ".join(parts)


def _readings_in_words(usage: EngineUsage, read_on: list[date], is_idle: bool, since_new: bool) -> str:
    if not usage.metered:
        return "what alike engines run"
    if not read_on:
        return "no reading yet"
    last = read_on[-1].isoformat()
    idle = ", without use for long" if is_idle else ""
    new = f", and what it ran since it was new on {usage.in_service_on}" if since_new else ""
    if len(read_on) == 1:
        return f"1 reading, on {last}{new}"
    return f"{len(read_on)} readings, the last on {last}{idle}{new}"


def _layup_in_words(
    usage: EngineUsage, today: date, assumed_from: int, assumed_to: int, expected_to: int
) -> str:
    ahead = [(begin, end) for begin, end in usage.layups if end is None or end > today]
    if ahead:
        begin, end = min(ahead, key=lambda layup: layup[0])
        until = f"to {end.isoformat()}" if end else "until further notice"
        if end is None and expected_to:
            until += f", which is expected about {date.fromordinal(expected_to).isoformat()}"
        return f"lay-up recorded from {begin.isoformat()} {until}"
    if assumed_from:
        begin, end = date.fromordinal(assumed_from), date.fromordinal(assumed_to)
        return f"lay-up assumed from {begin.isoformat()} to {end.isoformat()}, as recorded before"
    return "no lay-up recorded"

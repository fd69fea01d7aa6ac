"""Says in plain words what the forecast of an engine rests on."""

from __future__ import annotations

from datetime import date

from fleetlog.forecast.evidence import NEVER, EngineUsage
from fleetlog.forecast.parameters import FleetParameters
from fleetlog.forecast.season import assumed_layup


def basis_in_words(
    parameters: FleetParameters,
    usage: EngineUsage,
    today: date,
    alike_annual_hours: float,
    annual_hours: float,
    is_idle: bool,
) -> str:
    """The readings, what alike engines and this one run in a year, and the lay-up reckoned with."""
    alike = f"{usage.use} engines" if usage.use and usage.use in parameters.uses else "engines of this log"
    if parameters.readings == 0:
        alike = "outboards in general"
    read_on = [day for day, _ in usage.readings if day <= today] if usage.metered else []
    parts = [
        _readings_in_words(usage.metered, read_on, is_idle),
        f"{alike} run {alike_annual_hours:.0f} h a year on average, this one is expected to run"
        f" {annual_hours:.0f} h in the next twelve months",
        _layup_in_words(usage, today),
    ]
    changed = usage.changed_on
    if changed and changed <= today and read_on:
        parts.append(f"owner, boat or use changed on {changed.isoformat()}, so readings before count less")
    return "; ".join(parts)


def _readings_in_words(metered: bool, read_on: list[date], is_idle: bool) -> str:
    if not metered:
        return "no hour meter"
    if not read_on:
        return "no reading yet"
    last = read_on[-1].isoformat()
    if len(read_on) == 1:
        return f"1 reading, on {last}"
    idle = ", without use for long" if is_idle else ""
    return f"{len(read_on)} readings, the last on {last}{idle}"


def _layup_in_words(usage: EngineUsage, today: date) -> str:
    if not usage.layups:
        return "no lay-up recorded, the season as read"
    ahead = [(begin, end) for begin, end in usage.layups if end is None or end > today]
    if ahead:
        begin, end = min(ahead, key=lambda layup: layup[0])
        until = f"to {end.isoformat()}" if end else "until further notice"
        return f"lay-up recorded from {begin.isoformat()} {until}"
    assumed = assumed_layup(
        [(b.toordinal(), e.toordinal() if e else NEVER) for b, e in usage.layups], today.toordinal()
    )
    if assumed:
        begin, end = (date.fromordinal(day) for day in assumed)
        return f"lay-up assumed from {begin.isoformat()} to {end.isoformat()}, as recorded before"
    return "no lay-up recorded, the season as read"

"""What an engine's own hour meter shows, which after a change of meter is not what the engine has run."""

from __future__ import annotations

from fleetlog.domain.due import DueLine
from fleetlog.domain.fleet import EngineState
from fleetlog.reports.words import day_text, hours_shown


def last_figure(state: EngineState) -> str:
    """`412.5 h on 3 May 2026`: the last accepted reading as the meter showed it; nothing where none is."""
    last = state.facts.last_reading
    if last is None:
        return ""
    return f"{hours_shown(state.seen.hours.meter_tenths(last.on, last.tenths))} on {day_text(last.on)}"


def limit_on_meter(state: EngineState, line: DueLine) -> str | None:
    """The limit as the engine's own hour meter shows it, never rounded beyond the limit.

    None where the line has no limit by hours, or one that was passed on an earlier meter.
    """
    if line.due_tenths is None or not state.seen.hours.metered:
        return None
    whole = line.due_tenths.numerator // line.due_tenths.denominator
    shown = state.seen.hours.meter_tenths(state.seen.today, whole)
    return hours_shown(shown) if shown >= 0 else None

"""Whether a torque tool was in calibration when it was used, and when it next falls due.

After ISO 6789, edition of 2003 (second-hand): recalibrate after 12 months or 5000 cycles, whichever comes
first, counted from first use, unless the shop's own procedure says otherwise. A cycle is a fastener drawn up
as the log knows them; what the tool did besides is not known here.
"""

from __future__ import annotations

from datetime import date

from fleetlog.domain.evidence import ToolLedger, Torque
from fleetlog.domain.months import add_months
from fleetlog.domain.units import converted, figure_text
from fleetlog.domain.values import value_class
from fleetlog.errors import counted

DEFAULT_MONTHS = 12
DEFAULT_CYCLES = 5000


@value_class(frozen=True, slots=True)
class CalibrationState:
    """A tool on a day: when last calibrated, due when, and the cycles since.

    `due_on` is None where no calibration is on record. `is_due` says that the date or the cycles are passed.
    """

    calibrated_on: date | None
    due_on: date | None
    cycles: int
    most_cycles: int
    is_due: bool
    why: str


def calibration_state(ledger: ToolLedger, day: date) -> CalibrationState:
    """How a tool stands on a day. The limit of 12 months is the last day on which it may still be used."""
    tool = ledger.tool
    months = tool.calibrate_months or DEFAULT_MONTHS
    most = tool.calibrate_cycles or DEFAULT_CYCLES
    last = max((c.on for c in ledger.calibrations if c.on <= day), default=None)
    if last is None:
        cycles = sum(use.fasteners for use in ledger.uses if use.on <= day)
        return CalibrationState(None, None, cycles, most, True, "no calibration on record")
    since = max(last, tool.in_use_from_on) if tool.in_use_from_on else last
    due_on = add_months(since, months)
    cycles = sum(use.fasteners for use in ledger.uses if since <= use.on <= day)
    if day > due_on:
        age = counted(months, "month")
        why = f"calibration ran out on {due_on.isoformat()}, {age} after {since.isoformat()}"
    elif cycles > most:
        why = f"{cycles} cycles since {since.isoformat()}, more than {most}"
    else:
        why = ""
    return CalibrationState(last, due_on, cycles, most, bool(why), why)


def torque_flags(torque: Torque, ledger: ToolLedger | None) -> list[str]:
    """What speaks against the tool of a torque: out of calibration that day, out of range, not in use."""
    if torque.tool_id is None:
        return []
    if ledger is None:
        return [f"tool {torque.tool_id} is not in the log"]
    tool, flags = ledger.tool, []
    state = calibration_state(ledger, torque.on)
    if state.is_due:
        flags.append(f"{tool.name}: {state.why}")
    applied = converted(torque.applied, torque.unit, "N·m")
    if not converted(tool.low, tool.unit, "N·m") <= applied <= converted(tool.high, tool.unit, "N·m"):
        low, high = figure_text(tool.low), figure_text(tool.high)
        flags.append(f"{torque.shown} is outside the range of {tool.name}, {low} to {high} {tool.unit}")
    if tool.in_use_from_on is not None and torque.on < tool.in_use_from_on:
        flags.append(f"{tool.name} was in use only from {tool.in_use_from_on.isoformat()} on")
    if tool.retired_on is not None and torque.on >= tool.retired_on:
        flags.append(f"{tool.name} was retired on {tool.retired_on.isoformat()}")
    return flags

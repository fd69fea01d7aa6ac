"""Torque tools: added, calibrated, retired, listed by when they fall due."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from fleetlog.domain.batch import Batch
from fleetlog.domain.calibration import calibration_state
from fleetlog.domain.evidence import Calibration, Tool, ToolLedger
from fleetlog.errors.naming import RangeReversed
from fleetlog.errors.recording import AlreadyThere
from fleetlog.store.log import Log
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.evidence import find_tool
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.recording import refuse_row


@again_if_lost
def add_tool(log: Log, occasion: Occasion, tool: Tool) -> Tool:
    """A tool that is new to the log; without an id one is made. Raises AlreadyThere, RangeReversed."""
    if not 0 <= tool.low < tool.high:
        raise RangeReversed(str(tool.low), str(tool.high), tool.unit)
    tool = replace(tool, tool_id=tool.tool_id or new_id("w"))
    with log.writing(occasion.by, occasion.at) as writer:
        if writer.existing("tools", [tool.tool_id]):
            raise AlreadyThere("tool", tool.tool_id)
        writer.add(Batch(tools=[tool]))
    return tool


@again_if_lost
def calibrate_tool(
    log: Log, occasion: Occasion, tool: str, on: date, certificate: str | None, by: str | None
) -> tuple[Calibration, ToolLedger]:
    """A tool came back from calibration; gives the calibration and the tool as it stands now."""
    occasion.refuse_future("a calibration", on)
    with log.writing(occasion.by, occasion.at) as writer:
        calibration = Calibration(new_id("k"), find_tool(writer, tool), on, certificate, by)
        writer.add(Batch(calibrations=[calibration]))
        return calibration, writer.tools()[calibration.tool_id]


@again_if_lost
def retire_tool(log: Log, occasion: Occasion, tool: str, on: date, reason: str) -> Tool:
    """A tool is used no longer; said once."""
    occasion.refuse_future("a retirement", on)
    with log.writing(occasion.by, occasion.at) as writer:
        tool_id = find_tool(writer, tool)
        refuse_row(replace(writer.tools()[tool_id].tool, retired_on=on, retired_reason=reason))
        writer.end("tools", tool_id, on, reason)
        return writer.tools()[tool_id].tool


def list_tools(log: Log, occasion: Occasion, *, due_within_days: int | None = None) -> dict[str, ToolLedger]:
    """The tools, or those in use that are due for calibration within so many days of today."""
    with log.reading() as reader:
        tools = reader.tools()
    if due_within_days is None:
        return tools
    by = occasion.today + timedelta(days=due_within_days)
    due = {}
    for tool_id, ledger in tools.items():
        retired_on = ledger.tool.retired_on
        if retired_on is not None and retired_on <= occasion.today:
            continue
        state = calibration_state(ledger, occasion.today)
        if state.is_due or (state.due_on is not None and state.due_on <= by):
            due[tool_id] = ledger
    return due

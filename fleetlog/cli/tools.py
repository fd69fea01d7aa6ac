"""Commands about torque tools: tool add, calibrate, retire, list, due."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import (
    COUNT_ABOVE_0,
    DAY,
    DECIMAL,
    ID,
    MONTHS_ABOVE_0,
    NAME,
    TORQUE_UNIT,
    WINDOW,
    examples,
    format_option,
)
from fleetlog.cli.output import show
from fleetlog.errors import as_word, counted

_COLUMNS = [
    ("tool_id", "Tool"),
    ("name", "Name"),
    ("range", "Range"),
    ("calibrated_on", "Calibrated"),
    ("due_on", "Due"),
    ("cycles", "Cycles"),
    ("state", "State"),
]


@click.group("tool")
def tool_command() -> None:
    """Torque wrenches, their range and their calibration.

    After ISO 6789 (second-hand, of the 2003 edition): again after 12 months or
    5000 cycles, whichever first, unless the shop's own terms are given.
    """


@tool_command.command(
    "add", epilog=examples('tool add "Bench wrench" --unit lbf.ft --low 10 --high 80 --id W-9')
)
@click.argument("name", type=NAME)
@click.option("--unit", type=TORQUE_UNIT, required=True, help="The unit of its scale.")
@click.option("--low", type=DECIMAL, required=True, help="The low end of its range.")
@click.option("--high", type=DECIMAL, required=True, help="The high end of its range.")
@click.option("--id", "tool_id", type=ID, help="An id of your own, such as the number on it.")
@click.option("--in-use-from", "in_use_from_on", type=DAY, help="The day it was first used.")
@click.option("--months", type=MONTHS_ABOVE_0, help="The shop's own term in place of 12 months.")
@click.option("--cycles", type=COUNT_ABOVE_0, help="The shop's own term in place of 5000 cycles.")
@pass_desk
def tool_add(
    desk: Desk,
    name: str,
    unit: str,
    low: Decimal,
    high: Decimal,
    tool_id: str | None,
    in_use_from_on: date | None,
    months: int | None,
    cycles: int | None,
) -> None:
    """A wrench that is new to the log."""
    from fleetlog.domain.evidence import Tool
    from fleetlog.usecases.tools import add_tool

    given = Tool(tool_id or "", name, unit, low, high, in_use_from_on, None, months, cycles)
    tool = add_tool(desk.log_or_new, desk.occasion, given)
    calibrate = f"fleetlog tool calibrate {as_word(tool.tool_id)}"
    click.echo(f"Added tool {tool.tool_id}; record its calibration: {calibrate}")


@tool_command.command(
    "calibrate", epilog=examples("tool calibrate W-1 --on 2026-03-02 --certificate C-2026-118")
)
@click.argument("tool")
@click.option("--on", "on", type=DAY, help="The day of the certificate.  [default: today]")
@click.option("--certificate", help="Its number.")
@click.option("--house", "by", help="Who calibrated it.")
@pass_desk
def tool_calibrate(desk: Desk, tool: str, on: date | None, certificate: str | None, by: str | None) -> None:
    """A wrench came back from calibration."""
    from fleetlog.domain.calibration import calibration_state
    from fleetlog.usecases.tools import calibrate_tool

    calibration, ledger = calibrate_tool(desk.log, desk.occasion, tool, on or desk.today, certificate, by)
    state = calibration_state(ledger, desk.today)
    due = (
        f"; due again by {state.due_on.isoformat()}, or after {state.most_cycles} cycles"
        if state.due_on
        else ""
    )
    click.echo(f"Calibrated {calibration.tool_id} on {calibration.on.isoformat()}{due}.")


@tool_command.command("retire", epilog=examples("tool retire W-1 --on 2026-03-02 --reason 'worn'"))
@click.argument("tool")
@click.option("--on", "on", type=DAY, help="From which day it is used no longer.  [default: today]")
@click.option("--reason", required=True, help="Why it is used no longer.")
@pass_desk
def tool_retire(desk: Desk, tool: str, on: date | None, reason: str) -> None:
    """A wrench is used no longer."""
    from fleetlog.usecases.tools import retire_tool

    retired = retire_tool(desk.log, desk.occasion, tool, on or desk.today, reason)
    click.echo(f"Retired {retired.tool_id}.")


@tool_command.command("list", epilog=examples("tool list", "tool list --format csv"))
@format_option
@pass_desk
def tool_list(desk: Desk, shape: str) -> None:
    """All wrenches, the first to fall due first."""
    from fleetlog.exchange.evidence_rows import tool_rows
    from fleetlog.usecases.tools import list_tools

    show(tool_rows(list_tools(desk.log, desk.occasion), desk.today), _COLUMNS, shape, "No tool.")


@tool_command.command("due", epilog=examples("tool due", "tool due --within 90d"))
@click.option("--within", "within_days", type=WINDOW, default="30d", show_default=True, help="How far ahead.")
@format_option
@pass_desk
def tool_due(desk: Desk, within_days: int, shape: str) -> None:
    """The wrenches that are due for calibration, and why.

    Cycles are the fasteners that this log knows them to have drawn up; what a
    wrench did besides is not known here.
    """
    from fleetlog.exchange.evidence_rows import tool_rows
    from fleetlog.usecases.tools import list_tools

    tools = list_tools(desk.log, desk.occasion, due_within_days=within_days)
    columns = [*_COLUMNS, ("why", "Why")]
    nothing = f"No tool is due for calibration within {counted(within_days, 'day')}."
    show(tool_rows(tools, desk.today), columns, shape, nothing)

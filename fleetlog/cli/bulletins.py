"""Commands about bulletins: one-time work by family and serial numbers."""

from __future__ import annotations

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import examples, format_option
from fleetlog.cli.output import show


@click.group("bulletin")
def bulletin_command() -> None:
    """One-time work by family and serial numbers: who is affected, who is done.

    A bulletin is a rule of a service schedule with once = true; it is recorded
    as done like any other work.
    """


@bulletin_command.command("list", epilog=examples("bulletin list"))
@format_option
@pass_desk
def bulletin_list(desk: Desk, shape: str) -> None:
    """The bulletins of all schedules, and how many engines are done."""
    from fleetlog.usecases.bulletins import list_bulletins

    columns = [
        ("bulletin", "Bulletin"),
        ("title", "Title"),
        ("schedule", "Schedule"),
        ("by_on", "By"),
        ("by_hours", "or at h"),
        ("engines", "Engines"),
        ("done", "Done"),
        ("open", "Open"),
    ]
    show(list_bulletins(desk.log, desk.occasion), columns, shape, "No schedule has a bulletin.")


@bulletin_command.command(
    "show", epilog=examples("bulletin show bulletin-fuel-hose", "bulletin show fuel-hose --open")
)
@click.argument("bulletin")
@click.option("--open", "open_only", is_flag=True, help="Only where it is not done.")
@format_option
@pass_desk
def bulletin_show(desk: Desk, bulletin: str, open_only: bool, shape: str) -> None:
    """The engines that a bulletin is for, and where it was done."""
    from fleetlog.usecases.bulletins import show_bulletin

    facts, rows = show_bulletin(desk.log, desk.occasion, bulletin, open_only=open_only)
    if shape == "table":
        limits = [str(facts["by_on"])] if facts["by_on"] is not None else []
        limits += [f"{facts['by_hours']} h"] if facts["by_hours"] is not None else []
        click.echo(f"{facts['title']}, {facts['schedule']}: by {' or '.join(limits)}\n")
    columns = [
        ("state", "State"),
        ("serial", "Engine"),
        ("position", "Position"),
        ("boat", "Boat"),
        ("owner", "Owner"),
        ("engine_hours", "Hours"),
        ("done_on", "Done on"),
        ("done_by", "By"),
    ]
    show(
        rows,
        columns,
        shape,
        "It is for no engine of this log." if not open_only else "It is done everywhere.",
    )

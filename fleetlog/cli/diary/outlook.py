"""Commands of the diary that look ahead: the load of the coming months, and boats to fit out."""

from __future__ import annotations

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import examples, format_option
from fleetlog.cli.output import remark, show


@click.command("load", epilog=examples("diary load", "diary load --months 9 --format csv"))
@click.option(
    "--months", type=click.IntRange(1, 24), default=6, show_default=True, help="How many months ahead."
)
@format_option
@pass_desk
def load_command(desk: Desk, months: int, shape: str) -> None:
    """The load of the coming months against what the shop can do.

    Hours expected to fall due, by the forecast's chances, and hours booked;
    seen early, a peak can still be spread.
    """
    from fleetlog.usecases.diary.outlook import coming_load

    loads, uncounted = coming_load(desk.log, desk.occasion, months)
    rows = [
        {
            "month": load.month_on.isoformat()[:7],
            "expected_hours": load.expected_tenths / 10,
            "booked_hours": load.booked_tenths / 10,
            "technician_hours": load.technician_tenths / 10,
            "place_hours": load.place_tenths / 10,
            "load_percent": None if load.load_share is None else round(100 * load.load_share),
        }
        for load in loads
    ]
    columns = [
        ("month", "Month"),
        ("expected_hours", "Expected h"),
        ("booked_hours", "Booked h"),
        ("technician_hours", "Technicians h"),
        ("place_hours", "Bays h"),
        ("load_percent", "Load %"),
    ]
    show(rows, columns, shape)
    for told in uncounted:
        remark(f"{told}; the load does not count it")


@click.command("fit-out", epilog=examples("diary fit-out", "diary fit-out --weeks 8"))
@click.option("--weeks", type=click.IntRange(1, 26), default=6, show_default=True, help="Before the launch.")
@format_option
@pass_desk
def fit_out_command(desk: Desk, weeks: int, shape: str) -> None:
    """What the boats launched in the coming weeks need first."""
    from fleetlog.usecases.diary.outlook import fit_out

    state, found = fit_out(desk.log, desk.occasion, weeks)
    rows = [
        {
            "launch_on": out.launch_on,
            "assumed": out.launch_assumed,
            "boat": state.boat_name(out.boat_id),
            "serial": line.work.serial,
            "work": line.work.title,
            "position": line.work.position,
            "state": line.work.state,
            "why": line.why,
        }
        for out in found
        for line in out.lines
    ]
    if shape == "table":
        rows = [{**row, "assumed": "assumed" if row["assumed"] else None} for row in rows]
    columns = [
        ("launch_on", "Launch"),
        ("assumed", ""),
        ("boat", "Boat"),
        ("serial", "Engine"),
        ("work", "Work"),
        ("position", "Position"),
        ("why", "Why"),
    ]
    show(rows, columns, shape, "No boat is launched soon.")

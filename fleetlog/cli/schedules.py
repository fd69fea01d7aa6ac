"""Commands about the service schedules of the log."""

from __future__ import annotations

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import examples, format_option
from fleetlog.cli.output import show


@click.group("schedule")
def schedule_command() -> None:
    """Show the service schedules of the log.

    They come in with fleetlog import FOLDER: FOLDER/schedules/ has one TOML file
    for each family of engines, and nothing else is needed in it.
    """


@schedule_command.command("list", epilog=examples("schedule list"))
@format_option
@pass_desk
def schedule_list(desk: Desk, shape: str) -> None:
    """The service schedules, in their newest revision."""
    from fleetlog.usecases.listing import list_schedules

    columns = [("name", "Schedule"), ("title", "Title"), ("revision", "Revision"), ("rules", "Rules")]
    show(list_schedules(desk.log), columns, shape, "No schedule yet; import a folder with schedules/.")


@schedule_command.command("show", epilog=examples("schedule show 'V6 belt-cam'", "schedule show V6"))
@click.argument("name")
@format_option
@pass_desk
def schedule_show(desk: Desk, name: str, shape: str) -> None:
    """The rules of a service schedule, by its name or a part of it."""
    from fleetlog.usecases.listing import list_rules

    columns = [
        ("key", "Rule"),
        ("item", "Item"),
        ("action", "Work"),
        ("interval", "Interval"),
        ("access", "Access"),
    ]
    show(list_rules(desk.log, name), columns, shape, "It has no rules.")

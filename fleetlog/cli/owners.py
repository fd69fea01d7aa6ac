"""Commands about owners."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.facts import BOAT_COLUMNS, REASON, given, say_changed, say_namesakes
from fleetlog.cli.options import ID, NAME, examples, format_option, with_options
from fleetlog.cli.output import show, show_json
from fleetlog.cli.privacy import owner_export, owner_forget
from fleetlog.domain.words import REMIND_BY

_REACHED = (
    click.option("--email", help="Electronic mail address."),
    click.option("--phone", help="Telephone number."),
    click.option("--address", help="Postal address."),
    click.option("--remind-by", type=click.Choice(REMIND_BY), help="How reminders reach them."),
)


@click.group("owner")
def owner_command() -> None:
    """Add, show, list, change, export and forget owners."""


@owner_command.command(
    "add", epilog=examples('owner add "Mika Sandell" --email mika@example.org --remind-by email')
)
@click.argument("name", type=NAME)
@click.option("--id", "owner_id", type=ID, help="An id of your own, such as the customer number.")
@with_options(*_REACHED)
@pass_desk
def owner_add(desk: Desk, name: str, owner_id: str | None, **facts: Any) -> None:
    """Add an owner."""
    from fleetlog.usecases.register import add_owner

    owner = add_owner(desk.log_or_new, desk.occasion, owner_id, {"name": name, **given(facts)})
    click.echo(f"Added owner {owner.owner_id}: {owner.name}.")
    say_namesakes(desk.log, "owner", owner.owner_id, owner.name)


@owner_command.command("change", epilog=examples("owner change Garstone --phone 555-0144"))
@click.argument("owner")
@with_options(click.option("--name", type=NAME, help="Name."), *_REACHED, REASON)
@pass_desk
def owner_change(desk: Desk, owner: str, reason: str | None, **facts: Any) -> None:
    """Say otherwise what is said of an owner. What it was is kept, with its date."""
    from fleetlog.usecases.register import change_owner

    changed, changes = change_owner(desk.log, desk.occasion, owner, given(facts), reason)
    say_changed(f"owner {changed.owner_id}", changes, changed)


@owner_command.command("list", epilog=examples("owner list"))
@format_option
@pass_desk
def owner_list(desk: Desk, shape: str) -> None:
    """The owners, by name."""
    from fleetlog.usecases.listing import list_owners

    columns = [
        ("name", "Owner"),
        ("owner_id", "Id"),
        ("boats", "Boats"),
        ("remind_by", "Reminded by"),
        ("phone", "Phone"),
    ]
    show(list_owners(desk.log, desk.occasion), columns, shape, "No owner yet.")


owner_command.add_command(owner_export)
owner_command.add_command(owner_forget)


@owner_command.command("show", epilog=examples("owner show Garstone"))
@click.argument("owner")
@format_option
@pass_desk
def owner_show(desk: Desk, owner: str, shape: str) -> None:
    """An owner and their boats."""
    from fleetlog.usecases.listing import show_owner

    found, boats = show_owner(desk.log, desk.occasion, owner)
    if shape == "json":
        show_json({**asdict(found), "boats": boats})
        return
    if shape == "table":
        click.echo(f"{found.name} ({found.owner_id})")
        for label, value in (("email", found.email), ("phone", found.phone), ("address", found.address)):
            if value:
                click.echo(f"{label}: {value}")
        click.echo(f"reminders by: {found.remind_by or 'not said'}\n")
    show(boats, BOAT_COLUMNS, shape, "No boat.")

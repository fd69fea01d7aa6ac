"""The command of the register of parts: part."""

from __future__ import annotations

from dataclasses import asdict

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import (
    ID,
    examples,
    format_option,
)
from fleetlog.cli.output import show


@click.group("part")
def part_command() -> None:
    """Add part numbers and who makes them, and list them.

    With them `fleetlog life --split maker` compares makers of a part.
    """


@part_command.command(
    "add", epilog=examples('part add NV-4411 --maker Norvane --name "impeller kit"', "part list")
)
@click.argument("part_number", type=ID)
@click.option("--maker", help="Who makes the part.")
@click.option("--name", help="What it is called.")
@click.option("--note", help="Anything else.")
@pass_desk
def part_add(desk: Desk, part_number: str, maker: str | None, name: str | None, note: str | None) -> None:
    """Write a part number into the register."""
    from fleetlog.usecases.part_register import add_part

    part = add_part(desk.log_or_new, desk.occasion, part_number, maker, name, note)
    click.echo(f"{part.part_number} written down.")


@part_command.command("list", epilog=examples("part list", "part list --format csv"))
@format_option
@pass_desk
def part_list(desk: Desk, shape: str) -> None:
    """The parts of the register, by number."""
    from fleetlog.usecases.part_register import list_parts

    columns = [("part_number", "Part"), ("maker", "Maker"), ("name", "Name"), ("note", "Note")]
    rows = [asdict(part) for part in list_parts(desk.log)]
    show(rows, columns, shape, "No part is in the register yet.")

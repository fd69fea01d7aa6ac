"""Commands about boats."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.facts import BOAT_COLUMNS, ENGINE_COLUMNS, REASON, given, say_changed, say_namesakes
from fleetlog.cli.options import DAY, ID, NAME, examples, format_option, with_options
from fleetlog.cli.output import remark, show, show_json
from fleetlog.domain.words import USES, WATERS

if TYPE_CHECKING:
    from fleetlog.domain.records import Layup


_VESSEL = (
    click.option("--registration", help="Registration or sail number."),
    click.option("--water", type=click.Choice(WATERS), help="The water it lies in."),
    click.option("--use", type=click.Choice(USES), help="What it is used for."),
    click.option("--berth", help="Where it lies."),
)


@click.group("boat")
def boat_command() -> None:
    """Add, show, list, change, sell, lay up and launch boats; take back a sale."""


@boat_command.command(
    "add", epilog=examples('boat add "Sea Spray" --owner Garstone --water salt --use private --berth B14')
)
@click.argument("name", type=NAME)
@click.option("--owner", help="Whose it is: a name, a part of it, or the id.")
@click.option("--id", "boat_id", type=ID, help="An id of your own.")
@with_options(*_VESSEL)
@pass_desk
def boat_add(desk: Desk, name: str, owner: str | None, boat_id: str | None, **facts: Any) -> None:
    """Add a boat."""
    from fleetlog.usecases.register import add_boat

    boat = add_boat(desk.log_or_new, desk.occasion, boat_id, owner, {"name": name, **given(facts)})
    click.echo(f"Added boat {boat.boat_id}: {boat.name}.")
    say_namesakes(desk.log, "boat", boat.boat_id, boat.name)


@boat_command.command("change", epilog=examples('boat change "Lady Garstone" --berth C2 --use hire'))
@click.argument("boat")
@with_options(click.option("--name", type=NAME, help="Name."), *_VESSEL, REASON)
@pass_desk
def boat_change(desk: Desk, boat: str, reason: str | None, **facts: Any) -> None:
    """Say otherwise what is said of a boat. What it was is kept, with its date."""
    from fleetlog.usecases.register import change_boat

    changed, changes = change_boat(desk.log_for_work, desk.occasion, boat, given(facts), reason)
    say_changed(f"boat {changed.boat_id}", changes, changed)


@boat_command.command("sell", epilog=examples('boat sell "Lady Garstone" --to Haugtveit --on 2026-04-01'))
@click.argument("boat")
@click.option("--to", "owner", required=True, help="The new owner: a name, a part of it, or the id.")
@click.option("--on", type=DAY, help="From which day.  [default: today]")
@with_options(REASON)
@pass_desk
def boat_sell(desk: Desk, boat: str, owner: str, on: date | None, reason: str | None) -> None:
    """A boat belongs to another owner from a day on. Its engines go with it."""
    from fleetlog.usecases.sales_and_moves import sell_boat

    sold, buyer = sell_boat(desk.log_for_work, desk.occasion, boat, owner, on or desk.today, reason)
    click.echo(f"{sold.name} belongs to {buyer.name} from {(on or desk.today).isoformat()}.")


@boat_command.command(
    "not-sold",
    epilog=examples("boat not-sold \"Wet Paint\" --on 2024-06-08 --reason 'it was the other boat'"),
)
@click.argument("boat")
@click.option("--on", type=DAY, help="The day of the sale that was recorded.  [default: today]")
@click.option("--reason", required=True, help="Why it was not so.")
@pass_desk
def boat_not_sold(desk: Desk, boat: str, on: date | None, reason: str) -> None:
    """Take back a sale that was not so.

    The boat is its former owner's from that day on, as before. The sale stays in
    the record as taken back; the right one can be recorded for the same day.
    """
    from fleetlog.usecases.sales_and_moves import take_back_sale

    on = on or desk.today
    still, owner = take_back_sale(desk.log_for_work, desk.occasion, boat, on, reason)
    whose = f"{owner.name}'s" if owner else "nobody's, as far as was said"
    click.echo(f"Taken back: {still.name} was not sold on {on.isoformat()}; from then on it was {whose}.")


@boat_command.command(
    "lay-up", epilog=examples('boat lay-up "Lady Garstone" --from 2026-10-15 --to 2027-04-10')
)
@click.argument("boat")
@click.option("--from", "from_on", type=DAY, required=True, help="The first day it is stored.")
@click.option("--to", "to_on", type=DAY, help="The day it is afloat again, where it is known.")
@pass_desk
def boat_lay_up(desk: Desk, boat: str, from_on: date, to_on: date | None) -> None:
    """A boat is stored and not run, now or as planned.

    Without --to it goes on until boat launch ends it. Till then forecasts and
    the diary expect the boat afloat at the time of year of its last launch,
    without one after a winter, and after 450 days no more. Where plans change,
    say it again with the same --from and another --to; another --from is a
    lay-up of its own, and boat not-laid-up withdraws the one before.
    """
    from fleetlog.domain.season import shared_text
    from fleetlog.usecases.register import lay_up

    laid, layup, before, others = lay_up(desk.log_for_work, desk.occasion, boat, from_on, to_on)
    until = layup.to_on.isoformat() if layup.to_on else "further notice"
    instead = f", not {before.isoformat()}" if before else ""
    click.echo(f"Laid up from {layup.from_on.isoformat()} until {until}{instead}.")
    for other in others:
        remark(shared_text(laid.name, other, layup))


@boat_command.command(
    "not-laid-up",
    epilog=examples("boat not-laid-up Duckling --from 2025-10-08 --reason 'it stayed afloat'"),
)
@click.argument("boat")
@click.option("--from", "from_on", type=DAY, required=True, help="The first day of the lay-up.")
@click.option("--reason", required=True, help="Why it was not, or will not be.")
@pass_desk
def boat_not_laid_up(desk: Desk, boat: str, from_on: date, reason: str) -> None:
    """Withdraw a lay-up that was not, or will not be.

    It stays in the record as withdrawn and counts for nothing.
    """
    from fleetlog.domain.season import layup_text
    from fleetlog.usecases.register import withdraw_layup

    found, layup = withdraw_layup(desk.log_for_work, desk.occasion, boat, from_on, reason)
    click.echo(f"Withdrawn: {found.name} is not laid up from {layup_text(layup)}.")


@boat_command.command("launch", epilog=examples("boat launch Duckling --on 2026-04-10"))
@click.argument("boat")
@click.option("--on", type=DAY, help="The day it is afloat again.  [default: today]")
@pass_desk
def boat_launch(desk: Desk, boat: str, on: date | None) -> None:
    """A boat that was laid up is afloat again.

    Be it on a day before the planned one.
    """
    from fleetlog.usecases.register import launch

    layup, planned = launch(desk.log_for_work, desk.occasion, boat, on or desk.today)
    instead = f", not {planned.isoformat()}" if planned else ""
    click.echo(
        f"The lay-up from {layup.from_on.isoformat()} ended on {(on or desk.today).isoformat()}{instead}."
    )


@boat_command.command("list", epilog=examples("boat list"))
@format_option
@pass_desk
def boat_list(desk: Desk, shape: str) -> None:
    """The boats, by name."""
    from fleetlog.usecases.listing import list_boats

    show(list_boats(desk.log, desk.occasion), BOAT_COLUMNS, shape, "No boat yet.")


@boat_command.command("show", epilog=examples('boat show "Lady Garstone"'))
@click.argument("boat")
@format_option
@pass_desk
def boat_show(desk: Desk, boat: str, shape: str) -> None:
    """A boat, whose it is, its engines and its lay-ups."""
    from fleetlog.usecases.listing import show_boat

    found, owner, engines, layups, not_laid_up, not_sold = show_boat(desk.log, desk.occasion, boat)
    if shape == "json":
        whose = {"owner_id": owner and owner.owner_id, "owner": owner and owner.name}
        laid_up = {"layups": _layup_rows(layups), "not_laid_up": not_laid_up}
        show_json({**asdict(found), **whose, "engines": engines, **laid_up, "not_sold": not_sold})
        return
    if shape == "table":
        click.echo(
            f"{found.name} ({found.boat_id}), {found.use or 'use not said'}, "
            f"{found.water or 'water not said'}"
        )
        click.echo(f"owner: {owner.name if owner else 'not said'}")
        for label, value in (("registration", found.registration), ("berth", found.berth)):
            if value:
                click.echo(f"{label}: {value}")
        for layup in _layup_rows(layups):
            click.echo(f"laid up {layup['from_on']} to {layup['to_on'] or 'further notice'}")
        for one in not_laid_up:
            click.echo(f"not laid up from {one['from_on']}: {one['reason']} (by {one['by']})")
        for sale in not_sold:
            click.echo(f"not sold to {sale['owner']} on {sale['on']}: {sale['reason']} (by {sale['by']})")
        click.echo()
    show(engines, ENGINE_COLUMNS, shape, "No engine.")


def _layup_rows(layups: Sequence[Layup]) -> list[dict[str, Any]]:
    return [{"from_on": one.from_on, "to_on": one.to_on} for one in layups]

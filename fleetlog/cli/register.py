"""Commands about owners, boats, engines and schedules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import DAY, ID, NAME, examples, format_option, with_options
from fleetlog.cli.output import remark, show, show_object
from fleetlog.cli.privacy import owner_export, owner_forget
from fleetlog.domain.bounds import YEARS
from fleetlog.domain.words import ENGINE_STATES, REMIND_BY, USES, WATERS

if TYPE_CHECKING:
    from fleetlog.domain.records import Engine, Layup


def _given(facts: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in facts.items() if value is not None}


_REACHED = (
    click.option("--email", help="Electronic mail address."),
    click.option("--phone", help="Telephone number."),
    click.option("--address", help="Postal address."),
    click.option("--remind-by", type=click.Choice(REMIND_BY), help="How reminders reach them."),
)
_VESSEL = (
    click.option("--registration", help="Registration or sail number."),
    click.option("--water", type=click.Choice(WATERS), help="The water it lies in."),
    click.option("--use", type=click.Choice(USES), help="What it is used for."),
    click.option("--berth", help="Where it lies."),
)
_KIND = (
    click.option("--maker", help="Who made it."),
    click.option("--model", help="Which model."),
    click.option("--family", help="Engines that share one service schedule."),
    click.option("--model-year", type=click.IntRange(YEARS[0], YEARS[-1]), help="Model year."),
    click.option("--in-service", "in_service_on", type=DAY, help="The day it came into service."),
    click.option(
        "--from-new/--joined-used", "logged_from_new", default=None, help="Whether the log has it from new."
    ),
    click.option(
        "--hour-meter/--no-hour-meter", "hour_meter", default=None, help="Whether it has an hour meter."
    ),
    click.option("--schedule", help="Its service schedule, if not the one named like its family."),
    click.option("--position", help="Where it stands on the transom."),
    click.option("--state", type=click.Choice(ENGINE_STATES), help="Whether it runs."),
)


_REASON = click.option("--reason", help="Why; kept with the change.")


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

    owner = add_owner(desk.log_or_new, desk.occasion, owner_id, {"name": name, **_given(facts)})
    click.echo(f"Added owner {owner.owner_id}: {owner.name}.")


@owner_command.command("change", epilog=examples("owner change Garstone --phone 555-0144"))
@click.argument("owner")
@with_options(click.option("--name", type=NAME, help="Name."), *_REACHED, _REASON)
@pass_desk
def owner_change(desk: Desk, owner: str, reason: str | None, **facts: Any) -> None:
    """Say otherwise what is said of an owner. What it was is kept, with its date."""
    from fleetlog.usecases.register import change_owner

    changed, changes = change_owner(desk.log, desk.occasion, owner, _given(facts), reason)
    _say_changed(f"owner {changed.owner_id}", changes)


def _say_changed(what: str, changes: list[Any]) -> None:
    for change in changes:
        click.echo(f"Changed {what}: {change.field} was {change.was or 'not known'}.")


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
    if shape == "table":
        click.echo(f"{found.name} ({found.owner_id})")
        for label, value in (("email", found.email), ("phone", found.phone), ("address", found.address)):
            if value:
                click.echo(f"{label}: {value}")
        click.echo(f"reminders by: {found.remind_by or 'not said'}\n")
    show(boats, _BOAT_COLUMNS, shape, "No boat.")


_BOAT_COLUMNS = [
    ("name", "Boat"),
    ("boat_id", "Id"),
    ("owner", "Owner"),
    ("water", "Water"),
    ("use", "Use"),
    ("berth", "Berth"),
    ("engines", "Engines"),
]


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

    boat = add_boat(desk.log_or_new, desk.occasion, boat_id, owner, {"name": name, **_given(facts)})
    click.echo(f"Added boat {boat.boat_id}: {boat.name}.")


@boat_command.command("change", epilog=examples('boat change "Lady Garstone" --berth C2 --use hire'))
@click.argument("boat")
@with_options(click.option("--name", type=NAME, help="Name."), *_VESSEL, _REASON)
@pass_desk
def boat_change(desk: Desk, boat: str, reason: str | None, **facts: Any) -> None:
    """Say otherwise what is said of a boat. What it was is kept, with its date."""
    from fleetlog.usecases.register import change_boat

    changed, changes = change_boat(desk.log_for_work, desk.occasion, boat, _given(facts), reason)
    _say_changed(f"boat {changed.boat_id}", changes)


@boat_command.command("sell", epilog=examples('boat sell "Lady Garstone" --to Haugtveit --on 2026-04-01'))
@click.argument("boat")
@click.option("--to", "owner", required=True, help="The new owner: a name, a part of it, or the id.")
@click.option("--on", type=DAY, help="From which day.  [default: today]")
@with_options(_REASON)
@pass_desk
def boat_sell(desk: Desk, boat: str, owner: str, on: date | None, reason: str | None) -> None:
    """A boat belongs to another owner from a day on. Its engines go with it."""
    from fleetlog.usecases.register import sell_boat

    sold, buyer = sell_boat(desk.log_for_work, desk.occasion, boat, owner, on or desk.today, reason)
    click.echo(f"{sold.name} belongs to {buyer.name} from {(on or desk.today).isoformat()}.")


@boat_command.command(
    "not-sold",
    epilog=examples("boat not-sold \"Wet Paint\" --on 2024-06-08 --reason 'it was the other boat'"),
)
@click.argument("boat")
@click.option("--on", type=DAY, required=True, help="The day of the sale that was recorded.")
@click.option("--reason", required=True, help="Why it was not so.")
@pass_desk
def boat_not_sold(desk: Desk, boat: str, on: date, reason: str) -> None:
    """Take back a sale that was not so.

    The boat is its former owner's from that day on, as before. The sale stays in
    the record as taken back; the right one can be recorded for the same day.
    """
    from fleetlog.usecases.register import take_back_sale

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
    without one after a winter, and after 450 days no more.
    """
    from fleetlog.usecases.register import lay_up

    layup = lay_up(desk.log_for_work, desk.occasion, boat, from_on, to_on)
    until = layup.to_on.isoformat() if layup.to_on else "further notice"
    click.echo(f"Laid up from {layup.from_on.isoformat()} until {until}.")


@boat_command.command("launch", epilog=examples("boat launch Duckling --on 2026-04-10"))
@click.argument("boat")
@click.option("--on", type=DAY, help="The day it is afloat again.  [default: today]")
@pass_desk
def boat_launch(desk: Desk, boat: str, on: date | None) -> None:
    """A boat that was laid up is afloat again."""
    from fleetlog.usecases.register import launch

    layup = launch(desk.log_for_work, desk.occasion, boat, on or desk.today)
    click.echo(f"The lay-up from {layup.from_on.isoformat()} ended on {(on or desk.today).isoformat()}.")


@boat_command.command("list", epilog=examples("boat list"))
@format_option
@pass_desk
def boat_list(desk: Desk, shape: str) -> None:
    """The boats, by name."""
    from fleetlog.usecases.listing import list_boats

    show(list_boats(desk.log, desk.occasion), _BOAT_COLUMNS, shape, "No boat yet.")


@boat_command.command("show", epilog=examples('boat show "Lady Garstone"'))
@click.argument("boat")
@format_option
@pass_desk
def boat_show(desk: Desk, boat: str, shape: str) -> None:
    """A boat, whose it is, its engines and its lay-ups."""
    from fleetlog.usecases.listing import show_boat

    found, owner, engines, layups, not_sold = show_boat(desk.log, desk.occasion, boat)
    if shape == "json":
        whose = {"owner_id": owner and owner.owner_id, "owner": owner and owner.name}
        listed = {"engines": engines, "layups": _layup_rows(layups), "not_sold": not_sold}
        show_object({**asdict(found), **whose, **listed})
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
        for sale in not_sold:
            click.echo(f"not sold to {sale['owner']} on {sale['on']}: {sale['reason']} (by {sale['by']})")
        click.echo()
    show(engines, _ENGINE_COLUMNS, shape, "No engine.")


def _layup_rows(layups: Sequence[Layup]) -> list[dict[str, str | None]]:
    return [
        {"from_on": one.from_on.isoformat(), "to_on": one.to_on.isoformat() if one.to_on else None}
        for one in layups
    ]


_ENGINE_COLUMNS = [
    ("serial", "Engine"),
    ("family", "Family"),
    ("boat", "Boat"),
    ("position", "Position"),
    ("engine_hours", "Hours"),
    ("engine_hours_on", "Read on"),
    ("state", "State"),
]


@click.group("engine")
def engine_command() -> None:
    """Add, show, list, change, correct and move engines; take back a move."""


@engine_command.command(
    "add",
    epilog=examples(
        'engine add VK6-22001 --boat Duckling --family "V6 belt-cam" --in-service 2026-04-01 --from-new'
    ),
)
@click.argument("serial", type=ID)
@click.option("--boat", help="Where it stands: a name, a part of it, or the id.")
@with_options(*_KIND)
@pass_desk
def engine_add(desk: Desk, serial: str, boat: str | None, **facts: Any) -> None:
    """Add an engine."""
    from fleetlog.usecases.register import add_engine

    engine = add_engine(desk.log_or_new, desk.occasion, serial, boat, _given(facts))
    click.echo(f"Added engine {engine.serial}.")
    _remark_without_lines(desk, engine)


@engine_command.command(
    "change", epilog=examples("engine change 20417 --state sold", "engine change 20417 --state 'laid by'")
)
@click.argument("serial")
@with_options(*_KIND, _REASON)
@pass_desk
def engine_change(desk: Desk, serial: str, reason: str | None, **facts: Any) -> None:
    """Say otherwise what is said of an engine. Sold, scrapped, laid by, its schedule …

    What it was is kept, with its date. An engine sold or scrapped has no due
    lines any more. A serial that was mistyped is put right by engine correct.
    """
    from fleetlog.usecases.register import change_engine

    changed, changes, uncounted = change_engine(
        desk.log_for_work, desk.occasion, serial, _given(facts), reason
    )
    _say_changed(f"engine {changed.serial}", changes)
    _remark_without_lines(desk, changed)
    if uncounted:
        from fleetlog.domain.held_text import no_meter_text

        remark(no_meter_text(changed.serial, uncounted))


def _remark_without_lines(desk: Desk, engine: Engine) -> None:
    from fleetlog.domain.due import why_without_lines

    why = why_without_lines(engine, desk.occasion.today)
    if why is not None:
        remark(f"{engine.serial} {why}")


@engine_command.command(
    "correct", epilog=examples("engine correct 20417 ML4-0418 --reason 'read off the plate'")
)
@click.argument("serial")
@click.argument("right", type=ID)
@click.option("--reason", required=True, help="Why the first one is wrong; kept with the correction.")
@pass_desk
def engine_correct(desk: Desk, serial: str, right: str, reason: str) -> None:
    """Put a mistyped serial number right.

    RIGHT is the one on the plate. All that was recorded stays with the engine.
    The wrong number still finds it, in a command and in a folder that is
    imported, and says what it is now.
    """
    from fleetlog.usecases.register import correct_serial

    was, engine = correct_serial(desk.log_for_work, desk.occasion, serial, right, reason)
    click.echo(f"Corrected engine {engine.serial}: the number was {was}.")


@engine_command.command(
    "move", epilog=examples('engine move 20417 --to "Old Argument" --position port --on 2026-04-01')
)
@click.argument("serial")
@click.option("--to", "boat", help="The boat it is mounted on.  [default: none, it comes off]")
@click.option("--position", help="Where on the transom.")
@click.option("--on", type=DAY, help="From which day.  [default: today]")
@_REASON
@pass_desk
def engine_move(
    desk: Desk, serial: str, boat: str | None, position: str | None, on: date | None, reason: str | None
) -> None:
    """Move an engine to another boat, or off its boat. Its history stays with it."""
    from fleetlog.usecases.register import move_engine

    moved, to = move_engine(
        desk.log_for_work, desk.occasion, serial, boat, position, on or desk.today, reason
    )
    where = f"on {to.name}" if to else "off its boat"
    click.echo(f"{moved.serial} is {where} from {(on or desk.today).isoformat()}.")


@engine_command.command(
    "not-moved", epilog=examples("engine not-moved 21140 --on 2023-03-27 --reason 'it was its twin'")
)
@click.argument("serial")
@click.option("--on", type=DAY, required=True, help="The day of the move that was recorded.")
@click.option("--reason", required=True, help="Why it was not so.")
@pass_desk
def engine_not_moved(desk: Desk, serial: str, on: date, reason: str) -> None:
    """Take back a move that was not so.

    The engine stands from that day on where it stood before, until its next
    move. The move stays in the record as taken back; the right one can be
    recorded for the same day.
    """
    from fleetlog.usecases.register import take_back_move

    still, boat = take_back_move(desk.log_for_work, desk.occasion, serial, on, reason)
    where = f"on {boat.name}" if boat else "on no boat"
    click.echo(f"Taken back: {still.serial} was not moved on {on.isoformat()}; from then on it was {where}.")


@engine_command.command("list", epilog=examples("engine list"))
@format_option
@pass_desk
def engine_list(desk: Desk, shape: str) -> None:
    """The engines, by serial."""
    from fleetlog.usecases.listing import list_engines

    show(list_engines(desk.log, desk.occasion), _ENGINE_COLUMNS, shape, "No engine yet.")


_SAID_IN_WORDS = ("reckoned_low_hours", "reckoned_hours", "reckoned_high_hours")
"""Figures of an engine that its `reckoned_today` has in words."""


@engine_command.command("show", epilog=examples("engine show 20417"))
@click.argument("serial")
@format_option
@pass_desk
def engine_show(desk: Desk, serial: str, shape: str) -> None:
    """What is said of an engine."""
    from fleetlog.usecases.listing import show_engine

    row = show_engine(desk.log, desk.occasion, serial)
    if shape == "json":
        show_object(row)
        return
    if shape == "csv":
        show([row], [], shape)
        return
    for name, value in row.items():
        if value is not None and name not in _SAID_IN_WORDS:
            shown = ("yes" if value else "no") if isinstance(value, bool) else value
            click.echo(f"{name.replace('_', ' ')}: {shown}")


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

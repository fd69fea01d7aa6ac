"""Commands of the diary about the shop: its set-up, wishes, load, parts, estimates, boats to fit out."""

from __future__ import annotations

from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import DAY, FORMATS, WINDOW, examples, format_option
from fleetlog.cli.output import show, show_object


class Amount(click.ParamType):  # type: ignore[type-arg]  # generic in newer clicks only
    """An exact amount, 0 or more, such as 2 or 6.5."""

    name = "AMOUNT"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Decimal:
        try:
            amount = Decimal(str(value).replace(",", "."))
        except InvalidOperation:
            amount = Decimal(-1)
        if not (amount.is_finite() and 0 <= amount < 1_000_000 and amount == round(amount, 3)):
            self.fail(f"{value!r} is no amount; write it as 2 or 6.5", param, ctx)
        return amount


AMOUNT = Amount()


@click.command("shop", epilog=examples("diary shop", "diary shop --template > my-marina/shop/shop.toml"))
@click.option("--template", is_flag=True, help="Print a shop.toml to begin with.")
@click.option("--format", "shape", type=click.Choice([f for f in FORMATS if f != "csv"]), default="table")
@pass_desk
def shop_command(desk: Desk, template: bool, shape: str) -> None:
    """The shop as the log knows it: who works when, where, and what can be done.

    It is set up by the file shop/shop.toml of a folder taken in with fleetlog
    import; raise its revision with every change.
    """
    from fleetlog.usecases.diary_setup import shop_facts, shop_template

    if template:
        click.echo(shop_template(), nl=False)
        return
    facts = shop_facts(desk.log)
    if shape == "json":
        show_object(facts)
        return
    for label, value in facts.items():
        for text in value if isinstance(value, list) else [value]:
            click.echo(f"{label}: {text}")


@click.group("wish", epilog=examples("diary wish list"))
def wish_command() -> None:
    """What owners ask for: not before, not in, preferred weekdays."""


@wish_command.command(
    "add",
    epilog=examples(
        'diary wish add "Lady Garstone" --not-before 2026-05-04 --weekdays "mon tue"',
        "diary wish add --owner Lindqvist --not-in 2026-05-20..2026-06-02",
    ),
)
@click.argument("boat", required=False)
@click.option("--owner", help="For all boats of an owner.")
@click.option("--not-before", "not_before_on", type=DAY)
@click.option("--not-after", "not_after_on", type=DAY)
@click.option("--not-in", "not_in", metavar="DAY..DAY", help="A time that is ruled out.")
@click.option("--weekdays", help="Preferred ones, such as 'mon thu'.")
@click.option("--note", help="In the owner's words.")
@pass_desk
def wish_add(
    desk: Desk,
    boat: str | None,
    owner: str | None,
    not_before_on: date | None,
    not_after_on: date | None,
    not_in: str | None,
    weekdays: str | None,
    note: str | None,
) -> None:
    """Record what an owner asks for, for one boat or for all of theirs."""
    from fleetlog.domain.diary_records import Wish, weekdays_from_text
    from fleetlog.usecases.diary_shop import record_wish

    if (boat is None) == (owner is None):
        raise click.UsageError("Name a boat, or an owner with --owner.")
    if not (not_before_on or not_after_on or not_in or weekdays):
        raise click.UsageError("Say what is wished: --not-before, --not-after, --not-in or --weekdays.")
    try:
        weekdays_from_text(weekdays)
    except ValueError:
        raise click.UsageError(f"{weekdays!r} are no weekdays; write them as 'mon thu'.") from None
    from_on, to_on = _days(not_in) if not_in else (None, None)
    wish = Wish(
        "",
        not_before_on=not_before_on,
        not_after_on=not_after_on,
        not_in_from_on=from_on,
        not_in_to_on=to_on,
        weekdays=weekdays,
        note=note,
    )
    wish = record_wish(desk.log, desk.occasion, boat, owner, wish)
    click.echo(f"Recorded wish {wish.wish_id}.")


def _days(text: str) -> tuple[date, date]:
    start, _, end = text.partition("..")
    try:
        from_on, to_on = date.fromisoformat(start.strip()), date.fromisoformat((end or start).strip())
    except ValueError:
        raise click.UsageError(f"{text!r} is no time; write it as 2026-05-20..2026-06-02.") from None
    if to_on < from_on:
        raise click.UsageError(f"{text!r} ends before it begins.")
    return from_on, to_on


@wish_command.command("withdraw", epilog=examples("diary wish withdraw wk7m2p9xq"))
@click.argument("wish_id", metavar="WISH")
@pass_desk
def wish_withdraw(desk: Desk, wish_id: str) -> None:
    """A wish holds no longer."""
    from fleetlog.usecases.diary_shop import withdraw_wish

    withdraw_wish(desk.log, desk.occasion, wish_id)
    click.echo(f"Withdrew wish {wish_id}.")


@wish_command.command("list", epilog=examples("diary wish list"))
@format_option
@pass_desk
def wish_list(desk: Desk, shape: str) -> None:
    """The wishes that hold."""
    from fleetlog.usecases.diary_shop import list_wishes

    columns = [
        ("wish_id", "Wish"),
        ("for", "For"),
        ("not_before_on", "Not before"),
        ("not_after_on", "Not after"),
        ("not_in_from_on", "Not in, from"),
        ("not_in_to_on", "to"),
        ("weekdays", "Weekdays"),
        ("note", "Note"),
    ]
    show(list_wishes(desk.log, desk.occasion), columns, shape, "No wish.")


@click.command("load", epilog=examples("diary load", "diary load --months 9 --format csv"))
@click.option("--months", type=click.IntRange(1, 24), default=6, show_default=True)
@format_option
@pass_desk
def load_command(desk: Desk, months: int, shape: str) -> None:
    """The load of the coming months against what the shop can do.

    Hours expected to fall due, by the forecast's chances, and hours booked;
    seen early, a peak can still be spread.
    """
    from fleetlog.usecases.diary_outlook import coming_load

    rows = [
        {
            "month": load.month_on.isoformat()[:7],
            "expected_hours": load.expected_tenths / 10,
            "booked_hours": load.booked_tenths / 10,
            "technician_hours": load.technician_tenths / 10,
            "place_hours": load.place_tenths / 10,
            "load_percent": None if load.load_share is None else round(100 * load.load_share),
        }
        for load in coming_load(desk.log, desk.occasion, months)
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


@click.group("parts", epilog=examples("diary parts list"))
def parts_command() -> None:
    """Parts for the visits to come: on the shelf, on order, to order."""


@parts_command.command(
    "list", epilog=examples("diary parts list", "diary parts list --to-order --within 30d")
)
@click.option("--within", "days", type=WINDOW, help="How far ahead.  [default: as far as the shop plans]")
@click.option("--to-order", is_flag=True, help="Only what nobody has ordered.")
@click.option("--boat", help="Of one boat: its name or a part of it.")
@format_option
@pass_desk
def parts_list(desk: Desk, days: int | None, to_order: bool, boat: str | None, shape: str) -> None:
    """The parts of each visit to come, the most pressing visit first."""
    from fleetlog.domain.words import name_key
    from fleetlog.usecases.diary_outlook import parts_outlook

    outlook = parts_outlook(desk.log, desk.occasion, days)
    rows = [
        {
            "visit": line.visit,
            "boat": line.boat,
            "part_number": line.part_number,
            "amount": f"{line.amount.normalize():f}",
            "source": line.source,
            "on": line.on.isoformat(),
            "order_by_on": line.order_by_on.isoformat() if line.order_by_on else None,
        }
        for line in outlook.lines
        if (not to_order or line.source == "to order")
        and (boat is None or name_key(boat) in name_key(line.boat))
    ]
    columns = [
        ("boat", "Boat"),
        ("part_number", "Part"),
        ("amount", "Amount"),
        ("source", "Where"),
        ("on", "There on"),
        ("order_by_on", "Order by"),
    ]
    show(rows, columns, shape, "No part is needed.")
    if shape == "table":
        for order in outlook.state.stock.on_order:
            late = " LATE" if order.late else ""
            click.echo(
                f"on order {order.order_id}: {order.amount.normalize():f} of {order.part_number},"
                f" expected {order.expected_on or 'some day'}{late}"
            )


@parts_command.command("order", epilog=examples("diary parts order NV-3105 2 --expected 2026-04-28"))
@click.argument("number")
@click.argument("amount", type=AMOUNT)
@click.option("--expected", "expected_on", type=DAY, help="The day they should be here.")
@click.option("--boat", help="For which boat.")
@pass_desk
def parts_order(desk: Desk, number: str, amount: Decimal, expected_on: date | None, boat: str | None) -> None:
    """Record that parts were ordered."""
    from fleetlog.usecases.diary_shop import order_part

    _above_zero(amount)
    order = order_part(desk.log, desk.occasion, number, amount, expected_on, boat)
    click.echo(f"Recorded order {order.move_id}.")


@parts_command.command(
    "arrived", epilog=examples("diary parts arrived ok7m2p9xq", "diary parts arrived ok7m2p9xq 1")
)
@click.argument("order_id", metavar="ORDER")
@click.argument("amount", type=AMOUNT, required=False)
@pass_desk
def parts_arrived(desk: Desk, order_id: str, amount: Decimal | None) -> None:
    """Record that what was ordered is here."""
    from fleetlog.usecases.diary_shop import part_arrived

    if amount is not None:
        _above_zero(amount)
    move = part_arrived(desk.log, desk.occasion, order_id, amount)
    click.echo(f"{move.amount.normalize():f} of {move.part_number} arrived.")


@parts_command.command("count", epilog=examples("diary parts count NV-3105 4"))
@click.argument("number")
@click.argument("amount", type=AMOUNT)
@pass_desk
def parts_count(desk: Desk, number: str, amount: Decimal) -> None:
    """Record how many lie on the shelf."""
    from fleetlog.usecases.diary_shop import count_part

    count_part(desk.log, desk.occasion, number, amount)
    click.echo(f"Counted {amount.normalize():f} of {number}.")


def _above_zero(amount: Decimal) -> None:
    if amount == 0:
        raise click.UsageError("The amount is above 0.")


@click.command("estimate", epilog=examples('diary estimate "Lady Garstone"'))
@click.argument("boat")
@click.option("--format", "shape", type=click.Choice([f for f in FORMATS if f != "csv"]), default="table")
@pass_desk
def estimate_command(desk: Desk, boat: str, shape: str) -> None:
    """About what the next visits of a boat will cost: labour and parts.

    fleetlog diary pages writes it as a page with boxes for the owner to tick.
    """
    from fleetlog.usecases.diary_outlook import estimates_of

    state, found = estimates_of(desk.log, desk.occasion, boat)
    currency = state.setup.currency
    objects = [
        {
            "visit": bundle.bundle_id,
            "boat": state.boat_name(bundle.boat_id),
            "currency": currency,
            "labour_hours": about.labour_tenths / 10,
            "labour": str(about.labour_amount),
            "parts": [
                {
                    "part_number": part.number,
                    "amount": str(part.quantity),
                    "price": None if part.amount is None else str(part.amount),
                }
                for part in about.parts
            ],
            "about": str(about.about_amount),
            "without_price": list(about.unpriced),
            "jobs": [line.work.title for line in bundle.lines],
        }
        for bundle, about in found
    ]
    if shape == "json":
        show(objects, [], "json")
        return
    if not found:
        click.echo("Nothing is to be done soon.")
    for bundle, about in found:
        click.echo(f"{state.boat_name(bundle.boat_id)}, visit {bundle.bundle_id}:")
        for line in bundle.lines:
            click.echo(f"  [ ] yes  [ ] no   {line.work.title} ({line.work.place_on_engine})")
        click.echo(f"  labour {about.labour_tenths / 10} h: {about.labour_amount} {currency}")
        for part in about.parts:
            price = "price not known" if part.amount is None else f"{part.amount} {currency}"
            click.echo(f"  {part.quantity} x {part.number}: {price}")
        missing = f", without {', '.join(about.unpriced)}" if about.unpriced else ""
        click.echo(f"  about {about.about_amount} {currency}{missing}; an estimate, no bill")


@click.command("fit-out", epilog=examples("diary fit-out", "diary fit-out --weeks 8"))
@click.option("--weeks", type=click.IntRange(1, 26), default=6, show_default=True, help="Before the launch.")
@format_option
@pass_desk
def fit_out_command(desk: Desk, weeks: int, shape: str) -> None:
    """What the boats launched in the coming weeks need first."""
    from fleetlog.usecases.diary_outlook import fit_out

    state, found = fit_out(desk.log, desk.occasion, weeks)
    rows = [
        {
            "launch_on": out.launch_on.isoformat(),
            "assumed": "assumed" if out.launch_assumed else None,
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


COMMANDS: dict[str, click.Command] = {
    "shop": shop_command,
    "wish": wish_command,
    "load": load_command,
    "parts": parts_command,
    "estimate": estimate_command,
    "fit-out": fit_out_command,
}

"""Commands of the diary about parts and money: what is there, ordered and to order, and estimates."""

from __future__ import annotations

from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import DAY, ID, WINDOW, OfWhom, ValueKind, examples, format_option, printed_as
from fleetlog.cli.output import remark, show
from fleetlog.domain.units import figure_number, figure_text


class Amount(ValueKind):
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


@click.group("parts", epilog=examples("diary parts list"))
def parts_command() -> None:
    """Parts for the visits to come: on the shelf, on order, to order."""


@parts_command.command(
    "list", cls=OfWhom, epilog=examples("diary parts list", "diary parts list --to-order --within 30d")
)
@click.option("--within", "days", type=WINDOW, help="How far ahead.  [default: as far as the shop plans]")
@click.option("--to-order", is_flag=True, help="Only what nobody has ordered.")
@click.option("--boat", help="Of one boat: its name or a part of it.")
@format_option
@pass_desk
def parts_list(desk: Desk, days: int | None, to_order: bool, boat: str | None, shape: str) -> None:
    """The parts of each visit to come, the most pressing visit first."""
    from fleetlog.domain.words import name_key
    from fleetlog.usecases.diary.outlook import parts_outlook

    outlook = parts_outlook(desk.log, desk.occasion, days)
    rows = [
        {
            "visit": line.visit,
            "boat": line.boat,
            "part_number": line.part_number,
            "amount": figure_number(line.amount),
            "source": line.source,
            "on": line.on,
            "order_by_on": line.order_by_on,
        }
        for line in outlook.lines
        if (not to_order or line.source == "to order")
        and (boat is None or name_key(boat) in name_key(line.boat))
    ]
    columns = [
        ("visit", "Visit"),
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
                f"on order {order.order_id}: {figure_text(order.amount)} of {order.part_number},"
                f" expected {order.expected_on or 'some day'}{late}"
            )


@parts_command.command("order", epilog=examples("diary parts order NV-3105 2 --expected 2026-04-28"))
@click.argument("number", type=ID)
@click.argument("amount", type=AMOUNT)
@click.option("--expected", "expected_on", type=DAY, help="The day they should be here.")
@click.option("--boat", help="For which boat.")
@pass_desk
def parts_order(desk: Desk, number: str, amount: Decimal, expected_on: date | None, boat: str | None) -> None:
    """Record that parts were ordered."""
    from fleetlog.usecases.diary.shop import order_part
    from fleetlog.usecases.part_register import said_of_unknown

    _above_zero(amount)
    order = order_part(desk.log, desk.occasion, number, amount, expected_on, boat)
    amount_of = f"{figure_text(amount)} of {order.part_number}"
    click.echo(f"Recorded order {order.move_id}: {amount_of}.")
    if said := said_of_unknown(desk.log, desk.occasion, number):
        remark(said)


@parts_command.command(
    "arrived", epilog=examples("diary parts arrived ok7m2p9xq", "diary parts arrived ok7m2p9xq 1")
)
@click.argument("order_id", metavar="ORDER")
@click.argument("amount", type=AMOUNT, required=False)
@pass_desk
def parts_arrived(desk: Desk, order_id: str, amount: Decimal | None) -> None:
    """Record that what was ordered is here."""
    from fleetlog.usecases.diary.shop import part_arrived

    if amount is not None:
        _above_zero(amount)
    move = part_arrived(desk.log, desk.occasion, order_id, amount)
    click.echo(f"{figure_text(move.amount)} of {move.part_number} arrived.")


@parts_command.command("count", epilog=examples("diary parts count NV-3105 4"))
@click.argument("number", type=ID)
@click.argument("amount", type=AMOUNT)
@pass_desk
def parts_count(desk: Desk, number: str, amount: Decimal) -> None:
    """Record how many lie on the shelf."""
    from fleetlog.usecases.diary.shop import count_part
    from fleetlog.usecases.part_register import said_of_unknown

    move = count_part(desk.log, desk.occasion, number, amount)
    click.echo(f"Counted {figure_text(amount)} of {move.part_number}.")
    if said := said_of_unknown(desk.log, desk.occasion, number):
        remark(said)


def _above_zero(amount: Decimal) -> None:
    if amount == 0:
        raise click.UsageError("The amount is above 0.")


@click.command("estimate", epilog=examples('diary estimate "Lady Garstone"'))
@click.argument("boat")
@printed_as("table", "json")
@pass_desk
def estimate_command(desk: Desk, boat: str, shape: str) -> None:
    """About what the next visits of a boat will cost. Labour and parts.

    fleetlog diary pages writes it as a page with boxes for the owner to tick.
    """
    from fleetlog.usecases.diary.outlook import estimates_of

    state, found = estimates_of(desk.log, desk.occasion, boat)
    currency = state.setup.currency
    objects = [
        {
            "visit": bundle.bundle_id,
            "boat": state.boat_name(bundle.boat_id),
            "currency": currency,
            "labour_hours": about.labour_tenths / 10,
            "labour": figure_number(about.labour_amount),
            "parts": [
                {
                    "part_number": part.number,
                    "amount": figure_number(part.quantity),
                    "price": None if part.amount is None else figure_number(part.amount),
                }
                for part in about.parts
            ],
            "about": figure_number(about.about_amount),
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
            click.echo(f"  {figure_text(part.quantity)} x {part.number}: {price}")
        missing = f", without {', '.join(about.unpriced)}" if about.unpriced else ""
        click.echo(f"  about {about.about_told} {currency}{missing}; an estimate, no bill")

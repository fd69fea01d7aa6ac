"""Commands of the diary about the shop and its owners: its set-up, and what is wished."""

from __future__ import annotations

from datetime import date

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import DAY, examples, format_option, printed_as
from fleetlog.cli.output import show, show_json
from fleetlog.domain.bounds import day_from_text


@click.command("shop", epilog=examples("diary shop", "diary shop --template > my-marina/shop/shop.toml"))
@click.option("--template", is_flag=True, help="Print a shop.toml to begin with.")
@printed_as("table", "json")
@pass_desk
def shop_command(desk: Desk, template: bool, shape: str) -> None:
    """The shop as the log knows it. Who works when, where, and what can be done.

    It is set up by the file shop/shop.toml of a folder taken in with fleetlog
    import; raise its revision with every change.
    """
    from fleetlog.usecases.diary.setup import shop_facts, shop_template

    if template:
        if shape == "json":
            raise click.UsageError("--template is a TOML text: leave --format json out.")
        click.echo(shop_template(), nl=False)
        return
    facts = shop_facts(desk.log)
    if shape == "json":
        show_json(facts)
        return
    for label, value in facts.items():
        texts = value if isinstance(value, list) else [] if value is None else [value]
        for text in texts:
            click.echo(f"{label}: {text}")


@click.group("wish", epilog=examples("diary wish list"))
def wish_command() -> None:
    """What owners ask for: not before, not in, preferred weekdays."""


@wish_command.command(
    "add",
    epilog=examples(
        'diary wish add "Lady Garstone" --not-before 2026-05-04 --weekdays "mon tue"',
        "diary wish add --owner Haugtveit --not-in 2026-05-20..2026-06-02",
    ),
)
@click.argument("boat", required=False)
@click.option("--owner", help="For all boats of an owner.")
@click.option("--not-before", "not_before_on", type=DAY, help="The first day that suits.")
@click.option("--not-after", "not_after_on", type=DAY, help="The last day that suits.")
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
    """Record what an owner asks for. It is for one boat or for all of theirs."""
    from fleetlog.domain.diary_records import Wish, weekdays_from_text
    from fleetlog.usecases.diary.shop import record_wish

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
        from_on, to_on = day_from_text(start.strip()), day_from_text((end or start).strip())
    except ValueError:
        raise click.UsageError(f"{text!r} is no time; write it as 2026-05-20..2026-06-02.") from None
    if to_on < from_on:
        raise click.UsageError(f"{text!r} ends before it begins.")
    return from_on, to_on


@wish_command.command("withdraw", epilog=examples("diary wish withdraw wk7m2p9xq --reason 'back early'"))
@click.argument("wish_id", metavar="WISH")
@click.option("--reason", required=True, help="Why it holds no longer.")
@pass_desk
def wish_withdraw(desk: Desk, wish_id: str, reason: str) -> None:
    """A wish holds no longer."""
    from fleetlog.usecases.diary.shop import withdraw_wish

    withdraw_wish(desk.log, desk.occasion, wish_id, reason)
    click.echo(f"Withdrew wish {wish_id}.")


@wish_command.command("list", epilog=examples("diary wish list"))
@format_option
@pass_desk
def wish_list(desk: Desk, shape: str) -> None:
    """The wishes that hold."""
    from fleetlog.usecases.diary.shop import list_wishes

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

"""Commands about items that travel: swap, move-item, item."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import (
    DAY,
    HOURS,
    ID,
    MONTHS,
    NAME,
    ValueKind,
    examples,
    format_option,
    with_options,
)
from fleetlog.cli.output import show
from fleetlog.cli.visits import say_outside
from fleetlog.domain.words import ASSEMBLIES, REMOVAL_REASONS, with_position
from fleetlog.errors import as_word, counted

if TYPE_CHECKING:
    from fleetlog.domain.transfer import Written
    from fleetlog.usecases.travel import Traced


class ItemAge(ValueKind):
    """An item with hours and months of its own: `timing belt=240h,30m`, either or both."""

    name = "ITEM[:POSITION]=HOURS,MONTHS"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if isinstance(value, tuple):
            return value
        item, _, age = value.rpartition("=")
        found = re.fullmatch(r"(?:([\d.,]+?)\s*h)?\s*,?\s*(?:(\d+)\s*m)?", age.strip(), re.ASCII)
        if not item.strip() or found is None or not any(found.groups()):
            self.fail(f"{value!r} is no item with an age; write it as 'timing belt=240h,30m'", param, ctx)
        tenths = HOURS.convert(found[1], param, ctx) if found[1] else None
        months = MONTHS.convert(int(found[2]), param, ctx) if found[2] else None
        return item.strip(), tenths, months


_ON = click.option("--on", "on", type=DAY, help="The day it was done.  [default: today]")
_DRY = click.option("--dry-run", "is_tried", is_flag=True, help="Only show what would be recorded.")
_SHELVED = click.option(
    "--shelved",
    "is_shelved",
    is_flag=True,
    help="The one that came off before; what the other engine has now stays there.",
)
_TAKER_HOURS = click.option(
    "--hours", "hours_tenths", type=HOURS, help="What the meter of the engine that takes showed."
)
_GIVER_HOURS = click.option(
    "--from-hours", "giver_hours_tenths", type=HOURS, help="What the meter of the engine that gives showed."
)
_WHY = click.option(
    "--reason",
    "why",
    type=click.Choice(REMOVAL_REASONS),
    default="scheduled",
    show_default=True,
    help="Why the old one came off.",
)
_REST = (
    click.option("--visit", "visit_id", type=ID, help="The visit it belongs to."),
    click.option("--note", help="Anything worth knowing."),
    click.option("--done-by", type=NAME, help="Who did the work, if not who enters it."),
    click.option("--checked-by", type=NAME, help="Who checked it."),
)


@click.command(
    "swap",
    epilog=examples(
        "swap 20417 powerhead --from 19521 --from-hours 354 --hours 720.5 --dry-run",
        "swap 20417 powerhead --hours 720.5 --carried-over starter --carried-over dowels",
        'swap 20417 "lower unit" --prior-hours 300 --prior-months 40 --renewed impeller',
    ),
)
@click.argument("serial")
@click.argument("assembly", metavar="|".join(a.replace(" ", "-") for a in ASSEMBLIES))
@with_options(
    _ON,
    _TAKER_HOURS,
    click.option(
        "--from", "giver", metavar="SERIAL", help="It comes from this engine; all ages are looked up there."
    ),
    _GIVER_HOURS,
    _SHELVED,
    click.option("--used", "is_used", is_flag=True, help="It is not new; nothing is known of its age."),
    click.option("--prior-hours", "prior_tenths", type=HOURS, help="The hours it has run already."),
    click.option("--prior-months", type=MONTHS, help="The months it was in use already."),
    click.option("--rebuilt", "is_rebuilt", is_flag=True, help="It was rebuilt just before."),
    click.option(
        "--carried-over",
        "carried",
        metavar="ITEM[:POSITION]",
        multiple=True,
        help="Stays on the engine, from the old assembly. Once for each item.",
    ),
    click.option(
        "--renewed", metavar="ITEM[:POSITION]", multiple=True, help="Came new with a used assembly."
    ),
    click.option("--age", "ages", type=ItemAge(), multiple=True, help="An item with an age of its own."),
    click.option("--part", "part_number", metavar="N", help="Part number of the assembly."),
    _WHY,
    *_REST,
    _DRY,
)
@pass_desk
def swap_command(
    desk: Desk, serial: str, assembly: str, on: date | None, is_tried: bool, **said: Any
) -> None:
    """Record that an engine got another powerhead, lower unit, midsection or rigging.

    What rides on it by the schedule comes with it, each item with its own age,
    and what rode on the old one leaves; but for what is carried over. New,
    unless it is said otherwise.
    """
    from fleetlog.usecases.travel import SwapSaid, swap_assembly

    swap = SwapSaid(assembly.replace("-", " "), on or desk.today, **said)
    written = swap_assembly(desk.log_for_work, desk.occasion, serial, swap, is_tried=is_tried)
    _say(written, is_tried)


@click.command(
    "move-item",
    epilog=examples(
        'move-item 19521 "timing belt" --to 20417 --from-hours 354 --hours 720.5',
        "move-item 19521 anode --position gearcase --to 20417 --dry-run",
    ),
)
@click.argument("serial")
@click.argument("item")
@click.option("--to", "to_serial", metavar="SERIAL", required=True, help="The engine it goes to.")
@with_options(
    _ON,
    _GIVER_HOURS,
    _TAKER_HOURS,
    click.option("--position", "from_position", metavar="P", help="Where it sat."),
    click.option("--to-position", metavar="P", help="Where it sits now, if elsewhere."),
    _SHELVED,
    _WHY,
    *_REST,
    _DRY,
)
@pass_desk
def move_item_command(
    desk: Desk, serial: str, item: str, on: date | None, is_tried: bool, **said: Any
) -> None:
    """Record that an item went from engine SERIAL to another; its age is looked up."""
    from fleetlog.usecases.travel import MoveSaid, move_item

    move = MoveSaid(item, on=on or desk.today, **said)
    _say(move_item(desk.log_for_work, desk.occasion, serial, move, is_tried=is_tried), is_tried)


def _say(written: Written, is_tried: bool) -> None:
    from fleetlog.domain.hours import age_text

    rows = []
    for entry in (*written.on_giver, *written.on_taker):
        what = entry.item or f"{entry.scope}"
        age = ""
        if entry.condition == "used":
            hours = "hours unknown"
            if entry.prior_tenths is not None:
                hours = age_text(entry.prior_tenths, is_least=entry.prior_is_least)
            months = "months unknown" if entry.prior_months is None else counted(entry.prior_months, "month")
            age = f"{hours}, {months}"
        rows.append(
            {
                "serial": entry.serial,
                "done": entry.action + (" used" if entry.condition == "used" else ""),
                "what": with_position(what, entry.position),
                "age": age,
                "note": entry.note,
                "entry_id": None if is_tried else entry.entry_id,
            }
        )
    click.echo("This would be recorded; nothing was written:" if is_tried else "Recorded:")
    columns = [("serial", "Engine"), ("done", "Done"), ("what", "What"), ("age", "Age"), ("note", "Note")]
    show(rows, columns if is_tried else [*columns, ("entry_id", "Entry")], "table")
    visits = dict.fromkeys(as_word(str(e.visit_id)) for e in (*written.on_taker, *written.on_giver))
    void = " and ".join(f"fleetlog visit void {word} --reason ..." for word in visits)
    say_outside(written.outside, None if is_tried else void)


@click.command(
    "item", epilog=examples('item 20417 "timing belt"', "item 20417 anode --position gearcase --all")
)
@click.argument("serial")
@click.argument("item")
@click.option("--position", metavar="P", help="Of one position only.")
@click.option("--all", "with_former", is_flag=True, help="With those that were there before.")
@format_option
@pass_desk
def item_command(
    desk: Desk, serial: str, item: str, position: str | None, with_former: bool, shape: str
) -> None:
    """The stints of an item, on every engine it ran on, and its age.

    It is the item that engine SERIAL has now, or had last.
    """
    from fleetlog.usecases.travel import trace_item

    traced = trace_item(desk.log, desk.occasion, serial, item, position, with_former=with_former)
    rows = [row for n, one in enumerate(traced, 1) for row in _stints(one, n, desk.today)]
    columns = [
        ("item_no", "No."),
        ("serial", "Engine"),
        ("position", "Position"),
        ("from_on", "From"),
        ("to_on", "To"),
        ("hours", "Hours"),
        ("months", "Months"),
        ("why_off", "Came off"),
    ]
    if shape == "table":
        rows = [
            {**row, "hours": f"at least {row['hours']}"} if row["hours_are_least"] else row for row in rows
        ]
    show(rows, columns, shape)
    if shape == "table":
        click.echo()
        for n, one in enumerate(traced, 1):
            click.echo(_age_line(one, n, desk.today))


def _stints(one: Traced, number: int, today: date) -> list[dict[str, Any]]:
    from fleetlog.domain.hours import hours_number

    rows = []
    for leg in one.journey.legs:
        stint, run = leg.stint, leg.run_tenths
        rows.append(
            {
                "item_no": number,
                "item": leg.item.item,
                "serial": leg.serial,
                "position": leg.item.position,
                "from_on": stint.from_on,
                "to_on": stint.to_on,
                "hours": hours_number(run),
                "hours_are_least": stint.is_least,
                "months": leg.run_months(today),
                "why_off": stint.why_off,
                "part_number": leg.item.fitted.part_number if leg.item.fitted else None,
                "lot": leg.item.fitted.lot if leg.item.fitted else None,
                "entry_id": stint.put_on.entry_id if stint.put_on else None,
            }
        )
    return rows


def _age_line(one: Traced, number: int, today: date) -> str:
    from fleetlog.domain.hours import age_text, hours_text

    journey = one.journey
    tenths, months = journey.age_tenths(), journey.age_months(today)
    known = [
        "hours not known" if tenths is None else age_text(tenths, is_least=journey.is_least),
        "months not known" if months is None else counted(months, "month"),
    ]
    came = [
        *([f"{hours_text(journey.came_tenths)} h"] if journey.came_tenths else []),
        *([counted(journey.came_months, "month")] if journey.came_months else []),
    ]
    before = f", of these {' and '.join(came)} before the log" if came else ""
    where = f"now on {one.now_on}" if one.now_on else "off"
    return f"No. {number}: {', '.join(known)} in all{before}; {where}."

"""Commands that record work on an engine, one for each action: fit, remove, reuse, inspect, adjust …"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from itertools import groupby
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.asking import ask_word
from fleetlog.cli.desk import Desk, ask, pass_desk, somebody_there
from fleetlog.cli.options import (
    DAY,
    HOURS,
    HOURS_ABOVE_0,
    ID,
    LOTS_OF_JOBS,
    MONTHS,
    MONTHS_ABOVE_0,
    NAME,
    NEW_ITEM,
    PARTS_OF_JOBS,
    Command,
    examples,
    with_options,
)
from fleetlog.cli.output import remark
from fleetlog.cli.visits import say_outside
from fleetlog.domain.words import REMOVAL_REASONS, with_position
from fleetlog.errors import counted

if TYPE_CHECKING:
    from fleetlog.domain.records import Entry
    from fleetlog.usecases.recording import Recorded


def _options(*chosen: Callable[[Any], Any]) -> Callable[[Command], Command]:
    return with_options(*_WHEN, *chosen, *_WHO)


_WHEN = (
    click.option("--on", "on", type=DAY, help="The day it was done.  [default: today]"),
    click.option("--hours", "hours_tenths", type=HOURS, help="What the hour meter showed."),
    click.option(
        "--engine-hours",
        "are_engine_hours",
        is_flag=True,
        help="The hours are engine hours, not the meter's.",
    ),
)


def _by_position(
    ctx: click.Context, option: click.Parameter, given: tuple[str, ...]
) -> dict[str | None, int]:
    said: dict[str | None, int] = {}
    for text in given:
        position, _, hours = text.rpartition("=")
        if (position.strip() or None) in said:
            raise click.BadParameter(f"{text!r} is said of an engine that has its hours already")
        said[position.strip() or None] = HOURS.convert(hours, option, ctx)
    return said


_HOURS_OF_EACH = click.option(
    "--hours",
    multiple=True,
    metavar="HOURS|POSITION=HOURS",
    callback=_by_position,
    help="What the hour meter showed; of a boat once for each engine.",
)
_WHO = (
    click.option("--visit", "visit_id", type=ID, help="The visit it belongs to; without it, to none."),
    click.option("--note", help="Anything worth knowing: sealant, where, how it looked."),
    click.option("--done-by", type=NAME, help="Who did the work, if not who enters it."),
    click.option("--checked-by", type=NAME, help="Who checked it."),
)
_PLACE = (
    click.option("--position", metavar="P|all", help="Where on the engine, such as 'bank 1'; all says so."),
    NEW_ITEM,
)
_PART = (
    click.option("--part", "part_number", metavar="N", help="Part number."),
    click.option("--lot", metavar="L", help="Lot or batch."),
)
_FOUND = (
    click.option(
        "--again-hours", "again_tenths", type=HOURS_ABOVE_0, help="Look again within so many hours."
    ),
    click.option("--again-months", type=MONTHS_ABOVE_0, help="Look again within so many months."),
    click.option("--measured", metavar="VALUE", help="What was measured."),
    click.option("--unit", metavar="UNIT", help="The unit of what was measured."),
)


def _record(desk: Desk, serial: str, action: str, on: date | None, position: str | None, **said: Any) -> None:
    from fleetlog.cli.hours import say_figure
    from fleetlog.errors.naming import PositionNeeded
    from fleetlog.usecases.recording import Work, record_work

    work = Work(action, on or desk.today, position=position, **said)
    try:
        recorded = record_work(desk.log_for_work, desk.occasion, serial, work, ask=ask)
    except PositionNeeded as needed:
        if not somebody_there():
            raise
        places = [*needed.places, "all"]
        said["position"] = ask_word(f"Which {needed.item}?", places)
        recorded = record_work(
            desk.log_for_work, desk.occasion, serial, Work(action, on or desk.today, **said), ask=ask
        )
    _say(recorded)
    say_outside(recorded.outside, f"fleetlog void {recorded.entry.entry_id} --reason ...")
    say_figure(recorded.figure)
    _say_age_not_known(recorded.entry)
    _say_next(desk, recorded.entry)
    if recorded.entry.from_serial is not None:
        from fleetlog.usecases.travel import given_but_on_still

        for told in given_but_on_still(desk.log, desk.occasion, recorded.entry):
            remark(told)


def _say(recorded: Recorded) -> None:
    from fleetlog.domain.hours import age_text, hours_text

    entry = recorded.entry
    what = with_position(entry.item or f"{entry.scope} rebuild", entry.position)
    at = f" at {hours_text(entry.meter_tenths)} h on the meter" if entry.meter_tenths is not None else ""
    click.echo(
        f"Recorded {entry.entry_id}: {entry.serial}, {what} {entry.action} on {entry.on.isoformat()}{at}."
    )
    if recorded.said_before is not None:
        remark(
            f"{recorded.said_before.entry_id} says the same of that day; if it is one job:"
            f" fleetlog void {entry.entry_id} --reason ..."
        )
    if recorded.not_judged is not None:
        remark(recorded.not_judged)
    if recorded.not_counted is not None:
        remark(f"{recorded.not_counted}; if that was done: fleetlog void {entry.entry_id} --reason ...")
    if recorded.first is not None:
        from fleetlog.domain.held_text import not_read_text

        remark(
            f"{not_read_text(entry.serial, recorded.first)}: fleetlog void {entry.entry_id} --reason ..., and"
            " record it again with --hours"
        )
    if entry.from_serial and entry.has_prior_age:
        hours = "unknown hours"
        if entry.prior_tenths is not None:
            hours = age_text(entry.prior_tenths, is_least=entry.prior_is_least)
        months = "unknown months" if entry.prior_months is None else counted(entry.prior_months, "month")
        click.echo(f"Its age, looked up on {entry.from_serial}: {hours}, {months}.")


def _say_age_not_known(entry: Entry) -> None:
    """Say what a used item counts from its fitting, though it may be older, or that nobody knows its age."""
    from fleetlog.domain.explain import age_not_known

    again = f"if it is: fleetlog void {entry.entry_id} --reason ..., and record it again with --prior-"
    missing = age_not_known(entry)
    if missing is not None:
        remark(f"its age in {missing} is not known, so they count from the fitting; {again}{missing}")
    elif entry.condition == "used" and not entry.has_prior_age:
        remark(
            f"its age is not known, so nothing says how long it will last; {again}hours and --prior-months"
        )


def _say_next(desk: Desk, entry: Entry) -> None:
    """Say when work on the item falls due from now on."""
    from fleetlog.cli.looking import limit_text
    from fleetlog.exchange.due_lines import due_objects
    from fleetlog.usecases.due import lines_of_item

    if entry.item is None or entry.action == "removed":
        return
    lines = lines_of_item(desk.log, desk.occasion, entry.serial, entry.item, entry.position)
    for line in due_objects(lines):
        work = with_position(line["title"], line["position"])
        click.echo(f"  {work}: {limit_text(line) or line['state']}")


@click.command(
    "fit",
    epilog=examples(
        'fit 20417 "timing belt" --on 2026-04-15 --hours 720.5 --part TB-118',
        'fit 20417 "belt tensioner" --hours 720.5 --used --prior-hours 240 --prior-months 30',
        "fit 20417 anode --position all --reason worn",
    ),
)
@click.argument("serial")
@click.argument("item")
@_options(
    *_PLACE,
    *_PART,
    click.option("--used", "is_used", is_flag=True, help="It is not new; an age says so too."),
    click.option("--prior-hours", "prior_tenths", type=HOURS, help="The hours it has run already."),
    click.option("--prior-months", type=MONTHS, help="The months it was fitted already."),
    click.option(
        "--from",
        "from_serial",
        metavar="SERIAL",
        help="The engine it comes from; its age is looked up there.",
    ),
    # --why is what scripts that call fit have always said.
    click.option("--reason", "--why", type=click.Choice(REMOVAL_REASONS), help="Why the old one came off."),
    *_FOUND[:2],
)
@pass_desk
def fit_command(desk: Desk, serial: str, item: str, **said: Any) -> None:
    """Record that an item was fitted, and so the old one taken off.

    SERIAL may be any part of the serial that is unique, or the name of a boat
    with one engine. An item that the schedule has at several positions is asked
    for its position.
    """
    _record(desk, serial, "fitted", item=item, **said)


@click.command("remove", epilog=examples('remove 20417 "lower unit cover gasket" --reason access'))
@click.argument("serial")
@click.argument("item")
@_options(
    *_PLACE,
    click.option("--reason", type=click.Choice(REMOVAL_REASONS), help="Why it came off."),
)
@pass_desk
def remove_command(desk: Desk, serial: str, item: str, **said: Any) -> None:
    """Record that an item was taken off.

    Taken off for access with nothing fitted or reused in the same visit, it
    counts as put back used. Else its due lines count on from before, until
    fleetlog fit says what went on.
    """
    _record(desk, serial, "removed", item=item, **said)


@click.command(
    "reuse",
    epilog=examples('reuse 20417 "cam cover gasket" --position "bank 1" --note "sealant at the corners"'),
)
@click.argument("serial")
@click.argument("item")
@_options(*_PLACE)
@pass_desk
def reuse_command(desk: Desk, serial: str, item: str, **said: Any) -> None:
    """Record that an item was put back used, and how (--note).

    Where the schedule wants a new one whenever it is disturbed, it stays on
    the engine's list as work for the next time that access is open.
    """
    _record(desk, serial, "reused", item=item, **said)


@click.command(
    "inspect",
    epilog=examples('inspect 20417 "timing belt" --hours 720.5 --again-hours 50 --note "edge wear"'),
)
@click.argument("serial")
@click.argument("item")
@_options(*_PLACE, *_FOUND)
@pass_desk
def inspect_command(desk: Desk, serial: str, item: str, **said: Any) -> None:
    """Record that an item was looked at, and what was found.

    A finding can bring the next look closer: --again-hours, --again-months.
    """
    _record(desk, serial, "inspected", item=item, **said)


@click.command("adjust", epilog=examples('adjust 20417 "steering linkage" --hours 720.5'))
@click.argument("serial")
@click.argument("item")
@_options(*_PLACE, *_FOUND)
@pass_desk
def adjust_command(desk: Desk, serial: str, item: str, **said: Any) -> None:
    """Record that an item was adjusted."""
    _record(desk, serial, "adjusted", item=item, **said)


@click.command("service", epilog=examples('service 20417 "gear oil" --hours 720.5'))
@click.argument("serial")
@click.argument("item")
@_options(*_PLACE, *_PART, *_FOUND)
@pass_desk
def service_command(desk: Desk, serial: str, item: str, **said: Any) -> None:
    """Record that an item was serviced."""
    _record(desk, serial, "serviced", item=item, **said)


@click.command(
    "done",
    epilog=examples(
        'done 20391 "gear oil" "spark plugs" anode-inspect --hours 244.5',
        'done "Lady Garstone" "gear oil" impeller --hours port=352.5 --hours starboard=355',
        'done 20391 "Replace timing belt" impeller --part belt=NV-3105 --lot belt=L-22 --visit J-1042',
    ),
)
@click.argument("about", metavar="SERIAL|BOAT")
@click.argument("jobs", nargs=-1, required=True, metavar="JOB...")
@with_options(_WHEN[0], _HOURS_OF_EACH, _WHEN[2], PARTS_OF_JOBS, LOTS_OF_JOBS, *_WHO)
@pass_desk
def done_command(
    desk: Desk,
    about: str,
    jobs: tuple[str, ...],
    on: date | None,
    hours: dict[str | None, int],
    parts: list[tuple[str, str]],
    lots: list[tuple[str, str]],
    **said: Any,
) -> None:
    """Record several jobs of the schedule that were done: all of them or none.

    JOB is what the due list calls the work, or a part of it; one that names no
    position was done at all of them. Each is recorded as its rule asks: fitted
    (new, with the part number of the rule), inspected, adjusted or serviced. Of a
    BOAT they were done on each of its engines.
    """
    from fleetlog.cli.hours import say_figure
    from fleetlog.usecases.servicing import Jobs, record_jobs

    given, day = Jobs(jobs, parts, lots), on or desk.today
    recorded = record_jobs(desk.log_for_work, desk.occasion, about, given, day, hours, said, ask=ask)
    each = recorded[0].entry.entry_id if len(recorded) == 1 else "ENTRY"
    for _, of_one in groupby(recorded, key=lambda one: one.entry.serial):
        of_engine = list(of_one)
        for one in of_engine:
            _say(one)
        for one in of_engine:
            say_figure(one.figure)
        for one in of_engine:
            _say_next(desk, one.entry)
    say_outside(recorded[0].outside, f"fleetlog void {each} --reason ...")

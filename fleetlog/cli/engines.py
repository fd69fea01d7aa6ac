"""Commands about engines."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.facts import ENGINE_COLUMNS, REASON, given, say_changed
from fleetlog.cli.options import DAY, ID, examples, format_option, with_options
from fleetlog.cli.output import remark, show, show_json
from fleetlog.domain.bounds import YEARS
from fleetlog.domain.words import ENGINE_STATES
from fleetlog.errors import as_word

if TYPE_CHECKING:
    from fleetlog.domain.records import Engine

_LATELY = timedelta(days=90)
"""An engine put into service no longer ago may be a new one."""

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

    engine = add_engine(desk.log_or_new, desk.occasion, serial, boat, given(facts))
    click.echo(f"Added engine {engine.serial}.")
    _remark_others(desk, engine)
    _remark_without_lines(desk, engine)
    if facts["logged_from_new"] is None:
        _remark_as_if_new(desk, engine)


@engine_command.command(
    "change", epilog=examples("engine change 20417 --state sold", "engine change 20417 --state 'laid by'")
)
@click.argument("serial")
@with_options(*_KIND, REASON)
@pass_desk
def engine_change(desk: Desk, serial: str, reason: str | None, **facts: Any) -> None:
    """Say otherwise what is said of an engine. Sold, scrapped, laid by, its schedule …

    What it was is kept, with its date. An engine sold or scrapped has no due
    lines any more. A serial that was mistyped is put right by engine correct.
    """
    from fleetlog.usecases.register import change_engine

    changed, changes, uncounted, later = change_engine(
        desk.log_for_work, desk.occasion, serial, given(facts), reason
    )
    say_changed(f"engine {changed.serial}", changes, changed)
    _remark_others(desk, changed)
    _remark_without_lines(desk, changed)
    for said in later:
        remark(said)
    if uncounted:
        from fleetlog.domain.held_text import no_meter_text

        remark(no_meter_text(changed.serial, uncounted))


def _remark_others(desk: Desk, engine: Engine) -> None:
    from fleetlog.usecases.register import others_at_its_place

    for said in others_at_its_place(desk.log, desk.occasion, engine.serial):
        remark(said)


def _remark_as_if_new(desk: Desk, engine: Engine) -> None:
    """Say of an engine lately put into service that it is taken for used: it may be a new one."""
    began, today = engine.in_service_on, desk.occasion.today
    if began is not None and timedelta() <= today - began <= _LATELY:
        remark(
            f"{engine.serial} came into service on {began.isoformat()} and is taken to have been used before;"
            " if it was new, its first services come sooner:"
            f" fleetlog engine change {as_word(engine.serial)} --from-new"
        )


def _remark_without_lines(desk: Desk, engine: Engine) -> None:
    from fleetlog.cli.looking import tell_of_unscheduled
    from fleetlog.domain.out_of_service import why_without_lines
    from fleetlog.usecases.due import DueQuestion, list_unscheduled, schedule_offered

    why = why_without_lines(engine, desk.occasion.today)
    if why is not None:
        remark(f"{engine.serial} {why}")
    near = schedule_offered(desk.log, engine.schedule_name)
    tell_of_unscheduled(list_unscheduled(desk.log, DueQuestion(engine=engine.serial)), near)


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
@REASON
@pass_desk
def engine_move(
    desk: Desk, serial: str, boat: str | None, position: str | None, on: date | None, reason: str | None
) -> None:
    """Move an engine to another boat, or off its boat. Its history stays with it."""
    from fleetlog.usecases.sales_and_moves import move_engine

    moved, to = move_engine(
        desk.log_for_work, desk.occasion, serial, boat, position, on or desk.today, reason
    )
    where = f"on {to.name}" if to else "off its boat"
    click.echo(f"{moved.serial} is {where} from {(on or desk.today).isoformat()}.")
    _remark_others(desk, moved)


@engine_command.command(
    "not-moved", epilog=examples("engine not-moved 21140 --on 2023-03-27 --reason 'it was its twin'")
)
@click.argument("serial")
@click.option("--on", type=DAY, help="The day of the move that was recorded.  [default: today]")
@click.option("--reason", required=True, help="Why it was not so.")
@pass_desk
def engine_not_moved(desk: Desk, serial: str, on: date | None, reason: str) -> None:
    """Take back a move that was not so.

    The engine stands from that day on where it stood before, until its next
    move. The move stays in the record as taken back; the right one can be
    recorded for the same day.
    """
    from fleetlog.usecases.sales_and_moves import take_back_move

    on = on or desk.today
    still, boat = take_back_move(desk.log_for_work, desk.occasion, serial, on, reason)
    where = f"on {boat.name}" if boat else "on no boat"
    click.echo(f"Taken back: {still.serial} was not moved on {on.isoformat()}; from then on it was {where}.")
    _remark_others(desk, still)


@engine_command.command("list", epilog=examples("engine list"))
@format_option
@pass_desk
def engine_list(desk: Desk, shape: str) -> None:
    """The engines, by serial."""
    from fleetlog.usecases.listing import list_engines

    show(list_engines(desk.log, desk.occasion), ENGINE_COLUMNS, shape, "No engine yet.")


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
        show_json(row)
        return
    if shape == "csv":
        show([row], [], shape)
        return
    for name, value in row.items():
        if value is not None and name not in _SAID_IN_WORDS:
            shown = ("yes" if value else "no") if isinstance(value, bool) else value
            click.echo(f"{name.replace('_', ' ')}: {shown}")

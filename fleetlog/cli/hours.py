"""Commands about engine hours: hours, reading, meter."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from fleetlog.cli.desk import Desk, ask, pass_desk
from fleetlog.cli.options import DAY, HANDED_IN_TEXT, HOURS, examples, format_option
from fleetlog.cli.output import remark, show
from fleetlog.errors import as_word

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fleetlog.domain.hour_record import HeldReading
    from fleetlog.usecases.recording import JudgedFigure


_MOST_TOLD = 12
"""Of more parts of a text that were passed over it is only said how many there are."""


@click.command(
    "hours",
    epilog=examples(
        "hours 20417 720.5 --on 2026-04-15",
        'hours "Lady Garstone" port=352.5 starboard=355 --on 2026-04-15',
        "hours --from owners.txt      (lines such as: Lady Garstone: port 352.5, starboard 355)",
    ),
)
@click.argument("about", metavar="[SERIAL|BOAT]", required=False)
@click.argument("figures", nargs=-1, metavar="[HOURS|POSITION=HOURS]...")
@click.option("--on", type=DAY, help="The day it was read.  [default: today]")
@click.option(
    "--from",
    "pasted",
    type=HANDED_IN_TEXT,
    help="A text with a boat a line; - reads what is pasted.",
)
@click.option(
    "--engine-hours", "are_engine_hours", is_flag=True, help="The hours are engine hours, not the meter's."
)
@click.option("--source", metavar="TEXT", help="Where they come from, such as owner or visit.")
@click.option(
    "--crossed/--as-given", default=None, help="Twins given the wrong way round: swap them, or do not."
)
@pass_desk
def hours_command(
    desk: Desk,
    about: str | None,
    figures: tuple[str, ...],
    on: date | None,
    pasted: str | None,
    are_engine_hours: bool,
    source: str | None,
    crossed: bool | None,
) -> None:
    """Record hour meter readings: of an engine, of a boat, or of many.

    A figure below the last accepted one, or more than 24 hours a day above it,
    is held until a person confirms or withdraws it. Of a mail that is pasted in,
    greetings, signature, telephone numbers and quoted text are passed over and
    told, but for a reminder's own line that was filled in.
    """
    from fleetlog.errors.recording import NoHoursSaid
    from fleetlog.usecases.hours import HowRead, record_hours
    from fleetlog.usecases.hours_text import figure_from_words, figures_from_text

    day = on or desk.today
    if (pasted is None) == (about is None):
        raise click.UsageError("Give an engine or a boat with its hours, or --from a text.")
    how = HowRead(are_engine_hours, source, crossed)
    if about is not None:
        if not figures:
            raise click.UsageError(f"Give the hours of {about}, such as 812.5 or port=412 starboard=415.")
        said, without = [figure_from_words(about, figures, day)], []
    else:
        text = figures_from_text((pasted or "").split("\n"), day)
        said, without = text.figures, text.without
        if not said:
            raise NoHoursSaid(_passed_over(without))
    for row in record_hours(desk.log_for_work, desk.occasion, said, how, ask=ask):
        _say(row)
    if without:
        remark(f"passed over, as no hours stand in it: {_passed_over(without)}")


def _passed_over(without: Sequence[tuple[int, str]]) -> str:
    """What of a text was not taken, first what holds a digit."""
    from fleetlog.reports.words import shortened

    told = sorted(without, key=lambda part: (not any(map(str.isdigit, part[1])), part[0]))
    shown = [f"line {line} {shortened(part, 30)!r}" for line, part in told[:_MOST_TOLD]]
    more = [f"{len(told) - _MOST_TOLD} more"] if len(told) > _MOST_TOLD else []
    return ", ".join(shown + more)


def _say(figure: JudgedFigure) -> None:
    from fleetlog.domain.hours import hours_text

    click.echo(f"{figure.serial}: {hours_text(figure.meter_tenths)} h on {figure.on.isoformat()} recorded.")
    say_figure(figure)


def say_figure(figure: JudgedFigure | None) -> None:
    """Tell on standard error what is odd about a figure that was recorded, with the ways out."""
    if figure is None:
        return
    from fleetlog.domain.held_text import ruling_command

    serial = figure.serial
    withdraw = ruling_command("withdraw", serial, figure.on, figure.meter_tenths)
    if figure.starts_on is not None:
        remark(
            f"{serial} was new, with 0 h, on {figure.starts_on.isoformat()}, which is later: what was done"
            f" before counts from more hours than it has; if the day of the figure is wrong: {withdraw}; if"
            f" the engine's is: fleetlog engine change {as_word(serial)} --in-service DATE"
        )
    if figure.above_habit is not None:
        remark(
            f"that is {figure.above_habit:.0f} times the hours a day that {serial} usually runs; if it is"
            f" wrong: {withdraw}"
        )
    say_held(serial, figure.held, *figure.others_held)


def say_held(serial: str, *held: HeldReading | None) -> None:
    """Tell on standard error that figures are held, what they conflict with, and both ways out."""
    from fleetlog.domain.held_text import held_text

    for one in filter(None, held):
        remark(held_text(serial, one))


@click.group("reading")
def reading_command() -> None:
    """List the readings of an engine, and confirm or withdraw one."""


@reading_command.command("list", epilog=examples("reading list 20417", "reading list --held"))
@click.argument("serial", required=False)
@click.option("--held", "held_only", is_flag=True, help="Only those held, of every engine.")
@format_option
@pass_desk
def reading_list(desk: Desk, serial: str | None, held_only: bool, shape: str) -> None:
    """What the hour meter showed and when. Says which readings are held."""
    from fleetlog.usecases.readings import list_readings

    if serial is None and not held_only:
        raise click.UsageError("Give a serial, or --held for all that are held.")
    rows = list_readings(desk.log, desk.occasion, serial, held_only=held_only)
    columns = [
        ("serial", "Engine"),
        ("on", "Date"),
        ("meter", "Meter"),
        ("engine_hours", "Engine hours"),
        ("status", "Status"),
        ("source", "From"),
    ]
    show(rows, columns, shape, "No reading is held." if held_only else "No reading yet.")


def _ruling(
    status: str, desk: Desk, serial: str, on: date | None, hours_tenths: int | None, reason: str
) -> None:
    from fleetlog.domain.hours import hours_text
    from fleetlog.usecases.meters import rule_on_reading

    on = on or desk.today
    ruled = rule_on_reading(desk.log_for_work, desk.occasion, serial, on, hours_tenths, status, reason)
    click.echo(f"{ruled.serial}: {hours_text(ruled.meter_tenths)} h on {ruled.on.isoformat()} {status}.")


@reading_command.command(
    "confirm", epilog=examples("reading confirm 20417 --on 2026-04-14 --reason 'seen by me'")
)
@click.argument("serial")
@click.option("--on", type=DAY, help="The day of the reading.  [default: today]")
@click.option("--hours", "hours_tenths", type=HOURS, help="Which figure, where the day has several.")
@click.option("--reason", required=True, help="Why it is right.")
@pass_desk
def reading_confirm(desk: Desk, serial: str, on: date | None, hours_tenths: int | None, reason: str) -> None:
    """Say that a held reading is right.

    One below an earlier reading takes a change of meter, or the withdrawal of
    the earlier one.
    """
    _ruling("confirmed", desk, serial, on, hours_tenths, reason)


@reading_command.command(
    "withdraw", epilog=examples("reading withdraw 20417 --on 2026-04-14 --hours 716.5 --reason 'misread'")
)
@click.argument("serial")
@click.option("--on", type=DAY, help="The day of the reading.  [default: today]")
@click.option("--hours", "hours_tenths", type=HOURS, help="Which figure, where the day has several.")
@click.option("--reason", required=True, help="Why it is wrong.")
@pass_desk
def reading_withdraw(desk: Desk, serial: str, on: date | None, hours_tenths: int | None, reason: str) -> None:
    """Say that a reading is wrong; it is kept, and counts for nothing."""
    _ruling("withdrawn", desk, serial, on, hours_tenths, reason)


@click.command(
    "meter",
    epilog=examples("meter 20417 --on 2026-04-15 --reads 0 --engine-hours 720.5 --reason 'display dead'"),
)
@click.argument("serial")
@click.option("--on", type=DAY, required=True, help="The day the new meter was fitted, or the old one reset.")
@click.option(
    "--reads", "reads_tenths", type=HOURS, default="0", show_default=True, help="What it showed then."
)
@click.option(
    "--engine-hours", "engine_tenths", type=HOURS, help="Engine hours then.  [default: as last read]"
)
@click.option("--reason", help="Why: replaced, reset, rolled over.")
@pass_desk
def meter_command(
    desk: Desk, serial: str, on: date, reads_tenths: int, engine_tenths: int | None, reason: str | None
) -> None:
    """Record a new, reset or rolled-over hour meter; engine hours run on."""
    from fleetlog.domain.held_text import ruling_command
    from fleetlog.domain.hours import hours_text
    from fleetlog.usecases.meters import change_meter

    meter, read_on, figures, held = change_meter(
        desk.log_for_work, desk.occasion, serial, on, reads_tenths, engine_tenths, reason
    )
    as_read = "" if read_on is None or read_on == on else f", as last read on {read_on.isoformat()}"
    click.echo(
        f"{meter.serial}: from {on.isoformat()} the meter reads {hours_text(meter.meter_reads_tenths)} at "
        f"{hours_text(meter.engine_tenths)} engine hours{as_read}."
    )
    for figure in figures:
        remark(
            f"{hours_text(figure)} h of that day now counts as the new meter's; if the old one showed it:"
            f" {ruling_command('withdraw', meter.serial, on, figure)}"
        )
    say_held(meter.serial, *held)

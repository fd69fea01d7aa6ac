"""Commands of the diary about what is agreed: book, move, release, done."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.asking import ask_value
from fleetlog.cli.desk import Desk, ask, pass_desk, somebody_there
from fleetlog.cli.options import (
    DAY,
    HOURS,
    HOURS_ABOVE_0,
    ID,
    LOTS_OF_JOBS,
    NAME,
    PARTS_OF_JOBS,
    ValueKind,
    examples,
    pair_of,
    printed_as,
    with_options,
)
from fleetlog.cli.output import remark, show_json
from fleetlog.cli.visits import say_outside
from fleetlog.errors import as_word, counted

if TYPE_CHECKING:
    from fleetlog.domain.diary_records import Booking
    from fleetlog.usecases.diary.booking import Booked
    from fleetlog.usecases.diary.done import DoneVisit


class Clock(ValueKind):
    """A time of day, kept as tenths of an hour since midnight."""

    name = "HH:MM"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        from fleetlog.domain.diary_records import clock_from_text

        if isinstance(value, int):
            return value
        try:
            return clock_from_text(value)
        except ValueError:
            self.fail(f"{value!r} is not a time of day; write it as HH:MM, such as 08:30", param, ctx)


CLOCK = Clock()


_AGREED = (
    click.option("--on", type=DAY, help="The day."),
    click.option("--at", "from_tenths", type=CLOCK, help="From when."),
    click.option("--all-day", is_flag=True, help="No hour is set."),
    click.option("--hours", "tenths", type=HOURS_ABOVE_0, help="How long."),
    click.option("--technician", help="Who."),
    click.option("--place", help="In which bay or at which berth."),
    click.option("--reason", help="Why; kept with the booking."),
    click.option(
        "--anyway",
        is_flag=True,
        help="Although it breaks a rule or a wish; with --reason.",
    ),
)


@click.command(
    "book",
    epilog=examples(
        'diary book "Lady Garstone"',
        'diary book "Lady Garstone" --on 2026-04-22 --at 09:00',
        "diary book --all --to 2026-04-24",
    ),
)
@click.argument("visit", required=False)
@click.option("--all", "every", is_flag=True, help="Every visit of the latest plan that has a day.")
@click.option("--to", "to_on", type=DAY, help="With --all: up to this day.")
@with_options(*_AGREED)
@pass_desk
def book_command(desk: Desk, visit: str | None, every: bool, to_on: date | None, **agreed: Any) -> None:
    """Agree a visit: it stays where it is until it is released.

    VISIT is a boat, or a visit of the latest plan. Without --on it keeps the
    plan's day; a visit that was not planned needs --on and --hours. What breaks
    a rule (closed days, hours, bays, people, skills, lifts, the owner's wishes)
    is refused unless you say --anyway and --reason.
    """
    from fleetlog.usecases.diary.booking import book_all, book_visit
    from fleetlog.usecases.diary.placing import Agreement

    if every == (visit is not None):
        raise click.UsageError("Name a boat or a visit, or say --all.")
    if every:
        rows, left = book_all(desk.log, desk.occasion, to_on)
        click.echo(f"Booked {counted(len(rows), 'visit')}.")
        for out in left:
            click.echo(f"Not booked: {out.boat}, {out.on}: {out.why}. Plan again.")
        return
    booked = book_visit(desk.log, desk.occasion, visit or "", Agreement(**agreed))
    click.echo(f"Booked {booked.row.booking_id}: {_when(booked.row)}.")
    _say_against(booked)


def _say_against(booked: Booked) -> None:
    for text in booked.against:
        remark(f"booked anyway, although {text}")


def _when(row: Booking) -> str:
    from fleetlog.domain.diary_records import clock_text
    from fleetlog.domain.hours import hours_text

    at = "no hour set" if row.from_tenths is None else f"from {clock_text(row.from_tenths)}"
    return f"{row.on}, {at}, {hours_text(row.tenths or 0)} h, {row.technician}, {row.place}"


@click.command("move", epilog=examples("diary move bk7m2p9xq --on 2026-04-23"))
@click.argument("booking")
@with_options(*_AGREED)
@pass_desk
def move_command(desk: Desk, booking: str, **agreed: Any) -> None:
    """Agree another day, time, technician or place for a booking.

    BOOKING is its id, or a boat that has one open booking.
    """
    from fleetlog.usecases.diary.booking import move_booking
    from fleetlog.usecases.diary.placing import Agreement

    moved = move_booking(desk.log, desk.occasion, booking, Agreement(**agreed))
    click.echo(f"Moved {moved.row.booking_id}: {_when(moved.row)}.")
    _say_against(moved)


@click.command("release", epilog=examples('diary release bk7m2p9xq --reason "owner is away"'))
@click.argument("booking")
@click.option("--reason", help="Why it was given up.")
@pass_desk
def release_command(desk: Desk, booking: str, reason: str | None) -> None:
    """Give a booking up; its work is planned anew.

    BOOKING is its id, or a boat that has one open booking.
    """
    from fleetlog.usecases.diary.booking import release_booking

    state = release_booking(desk.log, desk.occasion, booking, reason)
    click.echo(f"Released {booking}, which was on {state.on}.")


@click.command(
    "done",
    epilog=examples(
        "diary done bk7m2p9xq --engine 20417:352.5 --engine 20418:355",
        'diary done bk7m2p9xq --not-done anode-inspect --reason "boat left early"',
        "diary done bk7m2p9xq --visit J-1042 --lot timing-belt-replace=L-22 --done-by Femke",
        "diary done bk7m2p9xq --nothing",
    ),
)
@click.argument("booking")
@click.option("--on", type=DAY, help="The day it was done.  [default: the day agreed]")
@click.option(
    "--visit", "visit_id", type=ID, help="The visit it belongs to, open or new, such as the job number."
)
@click.option(
    "--engine", "meters", multiple=True, metavar="SERIAL:HOURS", help="What an engine's hour meter showed."
)
@click.option("--not-done", multiple=True, metavar="JOB", help="A job that was left; with --reason.")
@click.option(
    "--reason", "because", multiple=True, metavar="TEXT", help="Why: once for all, or once for each."
)
@PARTS_OF_JOBS
@LOTS_OF_JOBS
@click.option("--nothing", is_flag=True, help="Record no work, only make the visit.")
@click.option("--done-by", type=NAME, help="Who did the work, if not who enters it.")
@click.option("--checked-by", type=NAME, help="Who checked it.")
@click.option("--note", help="Anything worth knowing, on each entry.")
@printed_as("table", "json")
@pass_desk
def done_command(
    desk: Desk,
    booking: str,
    on: date | None,
    visit_id: str | None,
    meters: tuple[str, ...],
    not_done: tuple[str, ...],
    because: tuple[str, ...],
    parts: list[tuple[str, str]],
    lots: list[tuple[str, str]],
    nothing: bool,
    shape: str,
    **who: str | None,
) -> None:
    """The work of a booking was done: records it, all or nothing.

    BOOKING is its id, or a boat that has one open booking.
    Makes the visit, unless one that is open is named, and an entry for each of
    its jobs but those --not-done, which stay due. An entry says fitted (new,
    with the part number of the rule), inspected, adjusted or serviced, as the
    rule asks; hours are recorded only where they were read. JOB is a rule, with
    SERIAL: before or :POSITION behind it where that is needed. Work cards are
    named, to be filled in.
    """
    from fleetlog.usecases.diary.done import Said, booking_done

    if not_done and len(because) not in (1, len(not_done)):
        raise click.UsageError("Say why with --reason: once for all, or once for each --not-done.")
    if because and not not_done:
        raise click.UsageError("--reason goes with --not-done.")
    if nothing and (not_done or parts or lots or meters):
        raise click.UsageError("--nothing records no work: leave out --not-done, --engine, --part and --lot.")
    read = [
        (serial, HOURS.convert(text, None, None))
        for serial, text in (pair_of(pair, ":", "--engine", "SERIAL:HOURS") for pair in meters)
    ]
    said = Said(
        on=on,
        visit_id=visit_id,
        not_done=[*zip(not_done, because * (len(not_done) if len(because) == 1 else 1), strict=False)],
        nothing=nothing,
        meters=read if nothing else _with_meters_asked(desk, booking, read),
        parts=parts,
        lots=lots,
        **who,
    )
    _show_done(booking_done(desk.log_for_work, desk.occasion, booking, said, ask=ask), shape)


def _with_meters_asked(desk: Desk, booking: str, read: list[tuple[str, int]]) -> list[tuple[str, int]]:
    """A person is shown the jobs and asked for the hours of meters that were not named; a script is not."""
    from fleetlog.domain.words import name_key
    from fleetlog.usecases.diary.done import jobs_to_do

    if not somebody_there():
        return read
    to_do = jobs_to_do(desk.log, desk.occasion, booking)
    for one in to_do.jobs:
        click.echo(f"  {one.job.serial}: {one.title}", err=True)
    asked = list(read)
    for serial in to_do.metered:
        if any(name_key(typed) in name_key(serial) for typed, _ in read):
            continue
        tenths = ask_value(f"Hours on the meter of {serial}, nothing if not read", HOURS)
        if tenths is not None:
            asked.append((serial, tenths))
    return asked


def _show_done(done: DoneVisit, shape: str) -> None:
    from fleetlog.cli.hours import say_figure
    from fleetlog.domain.hours import hours_text

    visit_id = done.visit.visit_id
    say_outside(done.outside, f"fleetlog visit void {as_word(visit_id)} --reason ...")
    if shape == "json":
        show_json(
            {
                "visit_id": visit_id,
                "boat_id": done.visit.boat_id,
                "entries": [
                    [one.job.serial, one.job.rule, one.job.position, recorded.entry.entry_id]
                    for one, recorded in done.recorded
                ],
                "left": [[one.job.serial, one.job.rule, one.job.position, why] for one, why in done.left],
                "cards": [list(pair) for pair in done.cards],
            }
        )
        return
    click.echo(f"Visit {visit_id} of {done.on}: {counted(len(done.recorded), 'entry', 'entries')}.")
    for one, recorded in done.recorded:
        entry = recorded.entry
        at = "" if entry.meter_tenths is None else f" at {hours_text(entry.meter_tenths)} h on the meter"
        part = f", {entry.part_number}" if entry.part_number else ""
        click.echo(f"  {one.job.serial}: {one.title}: {entry.action}{part}{at}")
    for one, why in done.left:
        click.echo(f"  {one.job.serial}: {one.title}: not recorded ({why}); stays due")
    for name, serial in done.cards:
        printing = f"fleetlog card print {as_word(name)} {as_word(serial)}"
        click.echo(f"  work card, to fill in with visit {visit_id}: {printing}")
    unread = dict.fromkeys(one.job.serial for one, r in done.recorded if r.entry.meter_tenths is None)
    for serial in unread:
        remark(
            f"no hours were recorded for {serial}; if they were read:"
            f" fleetlog hours {as_word(serial)} HOURS --on {done.on}"
        )
    for _, recorded in done.recorded:
        say_figure(recorded.figure)
    click.echo(f"When the boat leaves: fleetlog visit close {as_word(visit_id)}")

"""Words about figures that conflict: readings held, hours that go back or nobody read, and rulings."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from fleetlog.domain.hour_record import AcceptedReading, Fall, HeldReading
from fleetlog.domain.hours import hours_text
from fleetlog.errors import as_word, counted, one_of

MOST_TOLD_EACH = 6
"""Of more engines with held readings a list tells in one line: hundreds of lines nobody reads."""


def ruling_command(ruling: str, serial: str, on: date, meter_tenths: int) -> str:
    """The command that confirms or withdraws (`ruling`) this figure and no other of its day."""
    hours = hours_text(meter_tenths)
    return f"fleetlog reading {ruling} {as_word(serial)} --on {on.isoformat()} --hours {hours} --reason WHY"


def not_read_text(serial: str, first: AcceptedReading) -> str:
    """That what an engine ran between work without hours and its first reading is not counted."""
    shown = f"{hours_text(first.tenths)} h on {first.on.isoformat()}"
    return (
        f"{serial} was first read at {shown}: what it ran before is not counted, so limits by hours may come"
        " sooner than told; if the hours of the day are known"
    )


def held_text(serial: str, held: HeldReading) -> str:
    """That a figure of an engine is held, what it conflicts with, and both ways out."""
    against = f"{hours_text(held.against.tenths)} h of {held.against.on.isoformat()}"
    on = held.on.isoformat()
    shown = f" ({hours_text(held.meter_tenths)} on the meter)" if held.tenths != held.meter_tenths else ""
    said = f"{serial}: {hours_text(held.tenths)} h{shown} on {on} is held, it is"
    withdraw = ruling_command("withdraw", serial, held.on, held.meter_tenths)
    if held.is_below:
        if held.against_meter_tenths is not None:
            other = ruling_command("withdraw", serial, held.against.on, held.against_meter_tenths)
            withdraw += f" or {other}"
        return (
            f"{said} below the {against}. Either the meter was changed (fleetlog meter {as_word(serial)} --on"
            f" {on} --engine-hours H), or a figure is wrong ({withdraw})."
        )
    confirm = ruling_command("confirm", serial, held.on, held.meter_tenths)
    return (
        f"{said} more than 24 hours a day above the {against}. If it is right: {confirm}; if not: {withdraw}"
    )


def held_texts(held: Mapping[str, int]) -> list[str]:
    """How many readings of engines, by serial, are held, and where they are seen; of many in one line."""
    if len(held) > MOST_TOLD_EACH:
        readings, engines = counted(sum(held.values()), "reading"), counted(len(held), "engine")
        return [
            f"{readings} of {engines} are held and count for nothing, so hours may have run out unseen, of"
            f" {one_of(sorted(held))}: fleetlog reading list --held"
        ]
    return [
        f"{serial}: {counted(count, 'reading is held and counts', 'readings are held and count')} for"
        f" nothing, so hours may have run out unseen: fleetlog reading list {as_word(serial)}"
        for serial, count in sorted(held.items())
    ]


def fall_text(serial: str, fall: Fall) -> str:
    """That engine hours go back, by what, what that does, and the commands that take a wrong figure back."""
    by = "a change of meter" if fall.meter_tenths is None else "a confirmed figure"
    figures = ((fall.below.on, fall.below_meter_tenths), (fall.on, fall.meter_tenths))
    ways = [ruling_command("withdraw", serial, on, figure) for on, figure in figures if figure is not None]
    return (
        f"{serial}: engine hours go back from {hours_text(fall.below.tenths)} h of"
        f" {fall.below.on.isoformat()} to {hours_text(fall.tenths)} h on {fall.on.isoformat()} by {by}, and"
        f" what is due by hours falls due later. If a figure is wrong: {' or '.join(ways)}"
    )


def no_meter_text(serial: str, figures: int) -> str:
    """That figures of an engine count for nothing, as it is said to have no hour meter, and the way out."""
    return (
        f"{serial}: it is said to have no hour meter, so its figures on record ({figures}) count for nothing"
        f" and no work is overdue by hours; if it has one: fleetlog engine change {as_word(serial)}"
        " --hour-meter"
    )

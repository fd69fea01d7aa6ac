"""The command for hours out of telemetry."""

from __future__ import annotations

from pathlib import Path

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import HANDED_IN, Between, examples
from fleetlog.cli.output import remark
from fleetlog.domain.hours import hours_text
from fleetlog.errors import counted


@click.command(
    "telemetry",
    epilog=examples(
        "telemetry boat.json --map port=20417 --map starboard=20418", "telemetry bus.csv --map 0=20417"
    ),
)
@click.argument("file", type=HANDED_IN)
@click.option("--map", "maps", multiple=True, metavar="ID=SERIAL", help="Which engine an id in the file is.")
@click.option("--source", help="The device to believe, where several tell the hours of one engine.")
@click.option(
    "--utc-offset",
    type=Between(-14, 14),
    default=0,
    show_default=True,
    help="Your time less UTC, hours.",
)
@pass_desk
def telemetry_command(
    desk: Desk, file: Path, maps: tuple[str, ...], source: str | None, utc_offset: float
) -> None:
    """Record engine hours from a telemetry FILE, at most one reading a day.

    JSON of the open marine data model (propulsion.ID.runTime, seconds), or a
    log of messages as CSV: NMEA 2000 PGN 127489, J1939 PGN 65253. The same file
    again changes nothing. ID is the engine's in the file.
    """
    from fleetlog.cli.hours import say_figure, say_held
    from fleetlog.usecases.telemetry import take_telemetry

    engines = {}
    for one in maps:
        name, sign, serial = one.partition("=")
        if not sign or not name.strip() or not serial.strip():
            raise click.BadParameter(f"{one!r} is not ID=SERIAL", param_hint="--map")
        if name.strip() in engines:
            raise click.BadParameter(f"{name.strip()} is there twice", param_hint="--map")
        engines[name.strip()] = serial.strip()
    done = take_telemetry(
        desk.log_for_work, desk.occasion, file, engines, source=source, utc_offset_hours=utc_offset
    )
    for figure in done.recorded:
        held = "  held: it conflicts with another reading" if figure.held else ""
        click.echo(f"{figure.serial}  {figure.on.isoformat()}  {hours_text(figure.meter_tenths)} h{held}")
    for figure in done.recorded:
        if figure.held:  # said in its line: a device that is off tells of many days
            say_held(figure.serial, *figure.others_held)
        else:
            say_figure(figure)
    click.echo(f"Readings recorded: {len(done.recorded)}; days that were there already: {done.known_days}.")
    if done.without_figure:
        remark(f"{counted(done.without_figure, 'message tells', 'messages tell')} no figure")
    if done.misdated:
        remark(
            f"{counted(done.misdated, 'figure is', 'figures are')} of days after today, {desk.today}, or long"
            " before the engine came into service, and left out; is the clock of the device right?"
        )

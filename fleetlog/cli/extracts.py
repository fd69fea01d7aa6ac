"""The command that hands out one engine's history and checks it when it comes back: extract."""

from __future__ import annotations

from pathlib import Path

import click

from fleetlog import __version__
from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import FILE, MARINA, examples
from fleetlog.cli.output import fault


@click.command(
    "extract", epilog=examples("extract 20417 --out engine-20417.html", "extract --verify engine-20417.html")
)
@click.argument("serial", required=False)
@click.option("--out", type=FILE, metavar="FILE", help="The file to write.")
@click.option("--with-owner", is_flag=True, help="With the name and the address of the owner.")
@click.option("--verify", type=FILE, metavar="FILE", help="Check an extract.")
@MARINA
@pass_desk
def extract_command(
    desk: Desk,
    serial: str | None,
    out: Path | None,
    with_owner: bool,
    verify: Path | None,
    marina: str | None,
) -> None:
    """One engine's history for a buyer or an insurer, as one HTML file.

    It names no boat and, unless asked to, no owner; what technicians wrote
    stands as they wrote it, so read it before you hand it out. The log notes
    each one: --verify says whether a file is, letter for letter, what was
    handed out, and whether the log still holds what it held then.
    """
    from fleetlog.errors.extracts import NothingToExtract
    from fleetlog.reports.context import ReportContext
    from fleetlog.usecases.extracting import check_extract, hand_out_extract

    if verify is not None:
        verdict = check_extract(desk.log, verify)
        for said in verdict.said:
            click.echo(said)
        for problem in verdict.problems:
            fault(problem)
        if verdict.problems:
            raise SystemExit(1)
        return
    if serial is None or out is None:
        raise NothingToExtract
    context = ReportContext(desk.signed_by(marina), __version__)
    found = hand_out_extract(desk.log, desk.occasion, serial, out, context, with_owner=with_owner)
    click.echo(f"The history of engine {found} is in {out}; read it before you hand it out.")

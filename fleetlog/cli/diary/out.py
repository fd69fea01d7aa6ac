"""Commands of the diary that write files: calendar, pages."""

from __future__ import annotations

from pathlib import Path

import click

from fleetlog import __version__
from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import FILE, FOLDER, MARINA, examples
from fleetlog.errors import counted


@click.command(
    "calendar",
    epilog=examples(
        "diary calendar --for shop --out shop.ics",
        'diary calendar --for technician "Femke Aldous" --out femke.ics',
        "diary calendar --for owner Haugtveit --out haugtveit.ics --with-plan",
    ),
)
@click.option(
    "--for",
    "whom",
    type=click.Choice(["shop", "technician", "owner"]),
    default="shop",
    show_default=True,
    help="Whose calendar.",
)
@click.argument("name", required=False)
@click.option("--out", type=FILE, required=True, help="The .ics file.")
@click.option("--with-plan", is_flag=True, help="With the days that are only proposed, as tentative.")
@pass_desk
def calendar_command(desk: Desk, whom: str, name: str | None, out: Path, with_plan: bool) -> None:
    """Write what is booked as an iCalendar file.

    Taken into a calendar again, it updates what is there: visits that moved are
    moved, those released, and proposals given up, are cancelled.
    """
    from fleetlog.usecases.diary.calendar import make_calendar

    if (whom == "shop") != (name is None):
        raise click.UsageError("Name the technician or the owner, and nobody for the shop.")
    count = make_calendar(
        desk.log,
        desk.occasion,
        out,
        technician=name if whom == "technician" else None,
        owner=name if whom == "owner" else None,
        with_plan=with_plan,
    )
    click.echo(f"{counted(count, 'visit')} in {out}.")


@click.command("pages", epilog=examples("diary pages", "diary pages --out diary --marina 'Our marina'"))
@click.option(
    "--out",
    type=FOLDER,
    default="diary",
    show_default=True,
    help="The folder the pages go to.",
)
@MARINA
@pass_desk
def pages_command(desk: Desk, out: Path, marina: str | None) -> None:
    """Write the diary's HTML pages, to print or to read on a phone.

    The weeks, the load of the coming months, a sheet a boat to take along the
    dock, a sheet a technician and day, and estimates for owners.
    """
    from fleetlog.reports.context import ReportContext
    from fleetlog.usecases.diary.pages import make_diary_pages

    context = ReportContext(desk.signed_by(marina), __version__)
    pages = make_diary_pages(desk.log, desk.occasion, out, context)
    click.echo(f"{counted(len(pages), 'page')} in {out}; open {pages[0]}")

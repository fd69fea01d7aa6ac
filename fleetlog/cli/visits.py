"""Commands about visits: visit open, close, void, list, show."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.looking import HISTORY_COLUMNS
from fleetlog.cli.options import (
    DAY,
    ID,
    OfWhom,
    examples,
    format_option,
)
from fleetlog.cli.output import remark, show, show_json
from fleetlog.errors import as_word, counted

if TYPE_CHECKING:
    from fleetlog.domain.records import Visit


def say_outside(visit: Visit | None, back: str | None, *, by_form: bool = False) -> None:
    """Say which open visit of its boat work stands outside of, and how it goes there.

    `back` is the command that takes back what was recorded.
    """
    if visit is not None and visit.opened_on is not None:
        word = as_word(visit.visit_id)
        put = f'visit = "{visit.visit_id}" in the form' if by_form else f"--visit {word}"
        first = f" (take this back first: {back})" if back else ""
        remark(
            f"it stands outside visit {visit.visit_id}, which is open since {visit.opened_on.isoformat()}:"
            f" {put} puts work there{first}; if the boat has left: fleetlog visit close {word}"
        )


@click.group("visit")
def visit_command() -> None:
    """Open, close, void, list and show visits."""


@visit_command.command(
    "open", epilog=examples('visit open "Lady Garstone" --reason breakdown --complaint "no cooling water"')
)
@click.argument("boat")
@click.option("--on", type=DAY, help="The day it came.  [default: today]")
@click.option("--id", "visit_id", type=ID, help="An id of your own, such as the job number.")
@click.option("--reason", "why", help="Why it came: booked service, breakdown, survey, bulletin.")
@click.option("--complaint", help="What the owner complained of.")
@click.option("--cause", help="What it was.")
@click.option("--correction", help="What was done about it.")
@click.option("--advised", help="What the owner was advised, and whether he declined.")
@click.option("--note", help="Anything else.")
@pass_desk
def visit_open(desk: Desk, boat: str, on: date | None, visit_id: str | None, **facts: str | None) -> None:
    """A boat has come in: entries made with --visit ID belong to it.

    Those made without it, while the visit is open, are in none or in one of
    their own, and say so.
    """
    from fleetlog.usecases.visits import open_visit

    visit = open_visit(desk.log, desk.occasion, boat, on or desk.today, visit_id, facts)
    click.echo(f"Opened visit {visit.visit_id}; record its work with --visit {as_word(visit.visit_id)}.")


@visit_command.command(
    "close", epilog=examples("visit close v2026031", 'visit close "Lady Garstone" --on 2026-04-15')
)
@click.argument("visit_id", metavar="VISIT")
@click.option("--on", type=DAY, help="The day it left.  [default: today]")
@pass_desk
def visit_close(desk: Desk, visit_id: str, on: date | None) -> None:
    """The boat has left. VISIT is its id, or a boat that has one open visit."""
    from fleetlog.usecases.visits import close_visit

    visit, has_work = close_visit(desk.log, desk.occasion, visit_id, on or desk.today)
    click.echo(f"Closed visit {visit.visit_id}.")
    if not has_work:
        named = as_word(visit.visit_id)
        remark(f"no work is recorded in {visit.visit_id}; what was done can still be, with --visit {named}")


@visit_command.command("void", epilog=examples("visit void v2026031 --reason 'it was the other boat'"))
@click.argument("visit_id", metavar="VISIT")
@click.option("--reason", required=True, help="Why it is wrong.")
@pass_desk
def visit_void(desk: Desk, visit_id: str, reason: str) -> None:
    """Take back all entries of a visit at once.

    It is for one on the wrong engine. Each is kept and shown as voided. What
    was measured and checked, papers and the booking stay: answer, paper
    withdraw and diary say what is wrong there.
    """
    from fleetlog.cli.correcting import entry_text
    from fleetlog.usecases.correcting import void_visit

    withdrawn = void_visit(desk.log_for_work, desk.occasion, visit_id, reason)
    for entry in withdrawn.entries:
        click.echo(f"Voided {entry_text(entry)}.")
    stays = [
        f"{counted(count, what)} ({how})"
        for count, what, how in (
            (withdrawn.evidence, "row of evidence", "fleetlog answer takes one back"),
            (withdrawn.papers, "paper", "fleetlog paper withdraw"),
        )
        if count
    ]
    if stays:
        remark(f"visit {visit_id} keeps {' and '.join(stays)}")


@visit_command.command(
    "list", cls=OfWhom, epilog=examples("visit list --open", 'visit list --boat "Lady Garstone"')
)
@click.option("--boat", help="Of one boat.")
@click.option("--open", "open_only", is_flag=True, help="Only those that are open.")
@format_option
@pass_desk
def visit_list(desk: Desk, boat: str | None, open_only: bool, shape: str) -> None:
    """The visits, the latest first."""
    from fleetlog.usecases.visits import list_visits

    rows = list_visits(desk.log, desk.occasion, boat, open_only=open_only)
    columns = [
        ("visit_id", "Visit"),
        ("boat", "Boat"),
        ("opened_on", "Opened"),
        ("closed_on", "Closed"),
        ("why", "Why"),
        ("complaint", "Complaint"),
    ]
    show(rows, columns, shape, "No visit.")


@visit_command.command("show", epilog=examples("visit show V-00449"))
@click.argument("visit_id", metavar="VISIT")
@format_option
@pass_desk
def visit_show(desk: Desk, visit_id: str, shape: str) -> None:
    """Why a boat came, and all that was done on its engines in the visit.

    VISIT is its id, or a boat that has one open visit.
    """
    from fleetlog.exchange.history_rows import visit_rows
    from fleetlog.usecases.papers import list_papers
    from fleetlog.usecases.visits import show_visit

    visit, histories = show_visit(desk.log, desk.occasion, visit_id)
    rows = visit_rows(histories, visit["visit_id"])
    papers = list_papers(desk.log, desk.occasion, visit_id=visit["visit_id"])
    if shape == "json":
        show_json({**visit, "work": rows, "papers": papers})
        return
    if shape == "table":
        _tell_visit(visit)
    show(rows, [("serial", "Engine"), *HISTORY_COLUMNS], shape, "Nothing is recorded in it yet.")
    if papers and shape == "table":
        named = as_word(visit["visit_id"])
        click.echo(f"\n{counted(len(papers), 'paper')}: fleetlog paper list --visit {named}")


def _tell_visit(visit: dict[str, Any]) -> None:
    ended = f"closed {visit['closed_on']}" if visit["closed_on"] else "open"
    opened = f"opened {visit['opened_on']}, " if visit["opened_on"] else ""
    click.echo(f"{visit['visit_id']}, {visit['boat'] or 'no boat'}: {opened}{ended}")
    for label in ("why", "complaint", "cause", "correction", "advised", "note"):
        if visit[label]:
            click.echo(f"{label}: {visit[label]}")
    click.echo()

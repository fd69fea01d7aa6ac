"""Commands about work cards: card list, show, print, record, take."""

from __future__ import annotations

from pathlib import Path

import click

from fleetlog import __version__
from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import FILE, HANDED_IN, MARINA, examples, format_option
from fleetlog.cli.output import remark, show
from fleetlog.errors import counted


@click.group("card")
def card_command() -> None:
    """Work cards: the steps, torques and checks of a job, signed off as it is done."""


@card_command.command("list", epilog=examples("card list", "card list --engine 20417"))
@click.option("--engine", metavar="SERIAL", help="Only those for this engine's family.")
@format_option
@pass_desk
def card_list(desk: Desk, engine: str | None, shape: str) -> None:
    """The work cards of the log."""
    from fleetlog.usecases.cards import list_cards

    rows = [
        {
            "name": card.name,
            "title": card.title,
            "revision": card.revision,
            "families": ", ".join(card.families) or None,
            "steps": len(card.steps),
            "note": card.note,
        }
        for card in list_cards(desk.log, engine)
    ]
    columns = [
        ("name", "Card"),
        ("title", "Title"),
        ("revision", "Revision"),
        ("families", "For"),
        ("steps", "Steps"),
    ]
    show(rows, columns, shape, "No work card; take one in with fleetlog card take FILE.")


@card_command.command("show", epilog=examples('card show "timing belt"'))
@click.argument("name")
@format_option
@pass_desk
def card_show(desk: Desk, name: str, shape: str) -> None:
    """The steps of a card, in order."""
    from fleetlog.usecases.cards import show_card

    card = show_card(desk.log, name)
    if shape == "table":
        click.echo(f"{card.title}, revision {card.revision}")
        for text in (*((card.note,) if card.note else ()), *card.cautions):
            click.echo(f"  {text}")
        click.echo("")
    rows = [
        {
            "number": number,
            "part": step.part,
            "key": step.key,
            "title": step.title,
            "figures": "; ".join(step.figures()) or None,
            "why": step.why,
        }
        for number, step in enumerate(card.steps, start=1)
    ]
    columns = [("number", "No"), ("part", "Part"), ("title", "Step"), ("figures", "To read")]
    show(rows, columns, shape)


@card_command.command(
    "print",
    epilog=examples('card print "timing belt" 20417', 'card print "timing belt" 20417 --out belt-job'),
)
@click.argument("name")
@click.argument("serial")
@click.option(
    "--out",
    type=FILE,
    help="Path of the files without suffix.  [default: card, engine and day]",
)
@MARINA
@pass_desk
def card_print(desk: Desk, name: str, serial: str, out: Path | None, marina: str | None) -> None:
    """Write a card for an engine: an HTML sheet, and a form.

    The sheet has boxes to tick. The form is filled in and recorded with:
    fleetlog card record SERIAL --from FORM.toml
    """
    from fleetlog.reports.context import ReportContext
    from fleetlog.usecases.cards import print_card

    context = ReportContext(desk.signed_by(marina), __version__)
    card, found, paths = print_card(desk.log, desk.occasion, name, serial, out, context)
    click.echo(f"{card.title} for {found}: print {paths[0]}; fill in {paths[1]}")


@card_command.command("record", epilog=examples("card record 20417 --from belt-job.toml"))
@click.argument("serial")
@click.option("--from", "form_path", type=HANDED_IN, required=True, help="The form, filled in.")
@pass_desk
def card_record(desk: Desk, serial: str, form_path: Path) -> None:
    """Record a card that was done, all of it or nothing.

    A torque outside its band or a check that failed stands out, and keeps the
    visit open until someone says what was done about it.
    """
    from fleetlog.cli.evidence import say_left
    from fleetlog.exchange.card_form import open_card_form
    from fleetlog.usecases.cards import record_card

    recorded = record_card(desk.log, desk.occasion, serial, open_card_form(form_path, desk.today))
    batch = recorded.batch
    click.echo(
        f"Recorded {recorded.card.title} on {recorded.serial}, visit {recorded.evidence.visit_id}: "
        f"{counted(len(batch.checks), 'step')}, {counted(len(batch.torques), 'torque')},"
        f" {counted(len(batch.measurements), 'figure')}."
    )
    if recorded.seen_by_none:
        steps = ", ".join(map(str, recorded.seen_by_none))
        remark(f"a second person was to see what these steps did, and none is named (checked_by): {steps}")
    say_left(recorded.evidence, None, by_form=True)


@card_command.command("take", epilog=examples('card take "cards/belt refit.toml"'))
@click.argument("path", type=HANDED_IN, metavar="FILE")
@pass_desk
def card_take(desk: Desk, path: Path) -> None:
    """Take a card of your own into the log, or a newer revision of one."""
    from fleetlog.usecases.cards import take_card

    card = take_card(desk.log_or_new, desk.occasion, path)
    click.echo(f"Work card {card.name}, revision {card.revision}, {counted(len(card.steps), 'step')}.")

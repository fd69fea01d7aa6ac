"""Commands about photos and papers on visits: paper add, list, save, restore, withdraw, erase."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from fleetlog.cli.desk import Desk, ask, pass_desk
from fleetlog.cli.options import DAY, FILE_OR_FOLDER, HANDED_IN, examples, format_option
from fleetlog.cli.output import remark, show
from fleetlog.errors.recording import NotErased

_COLUMNS = [
    ("paper_id", "Paper"),
    ("taken_on", "Taken"),
    ("boat", "Boat"),
    ("visit_id", "Visit"),
    ("name", "Name"),
    ("size", "Size"),
    ("note", "Note"),
    ("taken_back", "Taken back"),
]


@click.group("paper")
def paper_command() -> None:
    """Photos and papers on a visit.

    They are kept beside the log under the hash of their content, so that
    fleetlog check finds one that is missing or altered. Taken are pictures
    (JPEG, PNG, WebP, HEIC), PDF and plain text, by their content, 20 MB at most.
    """


@paper_command.command(
    "add",
    epilog=examples(
        "paper add v2026031 gears.jpg", 'paper add v2026031 *.jpg --engine 20417 --note "as found"'
    ),
)
@click.argument("visit_id", metavar="VISIT")
@click.argument("files", metavar="FILE...", nargs=-1, required=True, type=HANDED_IN)
@click.option("--engine", metavar="SERIAL", help="Of one engine; else of all that the visit was about.")
@click.option("--note", help="What they show.")
@click.option("--taken-on", type=DAY, help="The day of the photo, or on the paper.  [default: today]")
@click.option("--taken-by", help="Who took or signed them.  [default: who is at work]")
@pass_desk
def paper_add(
    desk: Desk,
    visit_id: str,
    files: tuple[Path, ...],
    engine: str | None,
    note: str | None,
    taken_on: date | None,
    taken_by: str | None,
) -> None:
    """Photos or papers that belong to a visit, all of them or none."""
    from fleetlog.domain.papers import size_text
    from fleetlog.usecases.papers import PaperFacts, add_papers

    facts = PaperFacts(engine, note, taken_on, taken_by)
    added = add_papers(desk.log, desk.occasion, visit_id, files, facts)
    for paper in added.papers:
        kept = f"{paper.media_type}, {size_text(paper.size_bytes)}, sha256 {paper.sha256[:16]}"
        click.echo(f"Added paper {paper.paper_id}: {paper.name} ({kept}).")
    if not added.serials:
        text = f"visit {visit_id} has no work on any engine yet; until it has, no history shows this"
        remark(f"{text}, unless you name one with --engine")


@paper_command.command("list", epilog=examples("paper list --engine 20417", "paper list --visit v2026031"))
@click.option("--visit", "visit_id", metavar="VISIT", help="Of one visit.")
@click.option("--engine", metavar="SERIAL", help="Of one engine.")
@click.option("--boat", help="Of one boat.")
@click.option("--with-withdrawn", is_flag=True, help="With those that were taken back.")
@format_option
@pass_desk
def paper_list(
    desk: Desk, visit_id: str | None, engine: str | None, boat: str | None, with_withdrawn: bool, shape: str
) -> None:
    """The photos and papers, the latest first."""
    from fleetlog.usecases.papers import list_papers

    rows = list_papers(
        desk.log,
        desk.occasion,
        visit_id=visit_id,
        engine=engine,
        boat=boat,
        with_withdrawn=with_withdrawn,
    )
    columns = _COLUMNS if with_withdrawn else _COLUMNS[:-1]
    show(rows, columns, shape, "No photo or paper.")


@paper_command.command("save", epilog=examples("paper save p2345678", "paper save p2345678 --out here.jpg"))
@click.argument("paper_id", metavar="PAPER")
@click.option("--out", type=FILE_OR_FOLDER, help="A new file, or a folder.  [default: here]")
@pass_desk
def paper_save(desk: Desk, paper_id: str, out: Path | None) -> None:
    """Write a photo or a paper to a file, as it was handed in."""
    from fleetlog.usecases.papers import save_paper

    click.echo(f"{save_paper(desk.log, desk.occasion, paper_id, out)}: written.")


@paper_command.command("restore", epilog=examples("paper restore gears.jpg"))
@click.argument("files", metavar="FILE...", nargs=-1, required=True, type=FILE_OR_FOLDER)
@pass_desk
def paper_restore(desk: Desk, files: tuple[Path, ...]) -> None:
    """Put back what check found missing or altered. Takes the same files."""
    from fleetlog.usecases.paper_keeping import restore_papers

    for paper in restore_papers(desk.log, files):
        click.echo(f"The file of paper {paper.paper_id}, {paper.name}, is whole.")


@paper_command.command("withdraw", epilog=examples('paper withdraw p2345678 --reason "of another boat"'))
@click.argument("paper_id", metavar="PAPER")
@click.option("--reason", required=True, help="Why it is taken back.")
@pass_desk
def paper_withdraw(desk: Desk, paper_id: str, reason: str) -> None:
    """Take a paper back: it no longer shows; its file stays."""
    from fleetlog.usecases.papers import withdraw_paper

    paper = withdraw_paper(desk.log, desk.occasion, paper_id, reason)
    click.echo(f"Withdrew paper {paper.paper_id} of visit {paper.visit_id}.")


@paper_command.command("erase", epilog=examples('paper erase p2345678 --reason "shows a person" --yes'))
@click.argument("paper_id", metavar="PAPER")
@click.option("--reason", required=True, help="Why it goes: it shows a person, its file is lost.")
@click.option("--yes", is_flag=True, help="Do not ask.")
@pass_desk
def paper_erase(desk: Desk, paper_id: str, reason: str, yes: bool) -> None:
    """Erase a paper for good: its file, its name and its note.

    That it was there stays on record, with its hash, and the chains hold.
    """
    from fleetlog.usecases.paper_keeping import erase_paper

    if not yes and not ask(f"Erase paper {paper_id} for good?"):
        raise NotErased(f"paper {paper_id}")
    needing = erase_paper(desk.log, desk.occasion, paper_id, reason)
    click.echo(f"Erased paper {paper_id}.")
    if needing is not None:
        remark(f"its file stays, paper {needing} has the same content")

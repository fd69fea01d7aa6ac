"""Commands about what is kept of a person: owner export, owner forget."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetlog.cli.desk import Desk, ask, pass_desk
from fleetlog.cli.options import FILE, examples
from fleetlog.cli.output import remark
from fleetlog.errors import counted
from fleetlog.errors.recording import NotErased

if TYPE_CHECKING:
    from fleetlog.domain.papers import Paper


@click.command("export", epilog=examples("owner export Garstone", "owner export O-036 --out sandell.json"))
@click.argument("owner")
@click.option("--out", type=FILE, help="A new file, private to you.")
@pass_desk
def owner_export(desk: Desk, owner: str, out: Path | None) -> None:
    """Write all that is kept about one person, as JSON.

    What was done to their engines, and the hours these ran, is the engines'
    story: fleetlog history SERIAL.
    """
    from fleetlog.usecases.privacy import export_owner

    text = json.dumps(export_owner(desk.log, owner), ensure_ascii=False, indent=2, default=str)
    if out is None:
        click.echo(text)
        return
    from fleetlog.exchange.new_file import write_new

    write_new(out, f"{text}\n".encode())
    click.echo(f"{out}: written, readable by you only.")


@click.command(
    "forget",
    epilog=examples(
        "owner forget Garstone --review",
        "owner forget Garstone --yes --also visits:12:note",
        "owner forget O-036",
    ),
)
@click.argument("owner")
@click.option("--review", is_flag=True, help="Only list the free texts and ids that name them.")
@click.option(
    "--also",
    multiple=True,
    metavar="WHERE",
    help="A listed text or paper that is to go as well; `all` for all texts, `papers` for all papers.",
)
@click.option("--yes", is_flag=True, help="Do not ask.")
@pass_desk
def owner_forget(desk: Desk, owner: str, review: bool, also: tuple[str, ...], yes: bool) -> None:
    """Erase a person's name and contact for good. The engines' story stays.

    Free texts that name them are listed, and photos and papers of their boats,
    which may show them: both go only where --also says so. Their id stays, and
    the log's chains still hold. Backups, pages, mails and folders that were
    written before hold what they held; an import of such a folder tells nothing
    of them to the log again.
    """
    from fleetlog.usecases.privacy import forget_owner, look_up_owner, what_names

    if review:
        naming = what_names(desk.log, owner)
        for cell in naming.texts:
            click.echo(f"{cell.name}  {cell.excerpt}")
        if not naming.texts:
            click.echo("No free text names them.")
        for text in naming.ids:
            click.echo(f"an id names them, and ids stay: {text}")
        _list_papers(naming.papers)
        return
    if not yes:
        found = look_up_owner(desk.log, owner)
        if not ask(f"Erase what is kept of {found.name} ({found.owner_id}), for good?"):
            raise NotErased(f"what is kept of {found.name} ({found.owner_id})", ", or --review first")
    done = forget_owner(desk.log, desk.occasion, owner, also, desk.backups_elsewhere)
    and_papers = f", {counted(done.papers_erased, 'paper')}" if done.papers_erased else ""
    click.echo(f"{done.owner_id}: {counted(done.erased, 'text')}{and_papers} erased.")
    for cell in done.left:
        click.echo(f"names them still: {cell.name}  {cell.excerpt}")
    _list_papers(done.papers_left)
    if done.erased or done.papers_erased:
        remark(
            "pages, mails, extracts and folders that were written before hold it still: write the pages anew,"
            " and delete what you can do without"
        )
        if desk.log.place.path is None:
            remark("the server's own backups hold it still, until whoever runs it lets newer ones take over")
    if done.backups:
        hold = counted(done.backups, "backup holds", "backups hold")
        remark(f"{hold} it still, until newer ones take over")
    for copy in done.kept_before_upgrades:
        remark(f"{copy} holds it still: an upgrade kept it, delete it if you can do without")


def _list_papers(papers: Sequence[Paper]) -> None:
    from fleetlog.usecases.privacy import paper_mark

    for paper in papers:
        click.echo(f"may show them: {paper_mark(paper)}  {paper.name}, visit {paper.visit_id}")

"""Commands about what is kept of a person: owner export, owner forget."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetlog.cli.desk import Desk, ask, pass_desk
from fleetlog.cli.options import examples
from fleetlog.errors import FileThereAlready, NotConfirmed

if TYPE_CHECKING:
    from fleetlog.domain.papers import Paper


@click.command("export", epilog=examples("owner export Sandell", "owner export O12 --out sandell.json"))
@click.argument("owner")
@click.option("--out", type=click.Path(dir_okay=False, path_type=Path), help="A new file, private to you.")
@pass_desk
def owner_export(desk: Desk, owner: str, out: Path | None) -> None:
    """Write all that is kept about one person, as JSON."""
    from fleetlog.usecases.privacy import export_owner

    text = json.dumps(export_owner(desk.log, owner), ensure_ascii=False, indent=2, default=str)
    if out is None:
        click.echo(text)
        return
    try:
        handle = os.open(out, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    except FileExistsError:
        raise FileThereAlready(out) from None
    with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
        stream.write(text + "\n")
    click.echo(f"{out}: written, readable by you only.")


@click.command(
    "forget",
    epilog=examples(
        "owner forget Sandell --review",
        "owner forget Sandell --yes --also visits:12:note",
        "owner forget O12",
    ),
)
@click.argument("owner")
@click.option("--review", is_flag=True, help="Only list the free texts that name them.")
@click.option(
    "--also",
    multiple=True,
    metavar="WHERE",
    help="A listed text or paper that is to go as well; `all` for all texts, `papers` for all papers.",
)
@click.option("--yes", is_flag=True, help="Do not ask.")
@pass_desk
def owner_forget(desk: Desk, owner: str, review: bool, also: tuple[str, ...], yes: bool) -> None:
    """Erase a person's name and contact for good; the engines' story stays.

    Free texts that name them are listed, and photos and papers of their boats,
    which may show them: both go only where --also says so. Their id stays, and
    the log's chains still hold.
    """
    from fleetlog.usecases.privacy import forget_owner, texts_naming

    if review:
        cells, papers = texts_naming(desk.log, owner)
        for cell in cells:
            click.echo(f"{cell.name}  {' '.join(cell.text.split())}")
        if not cells:
            click.echo("No free text names them.")
        _list_papers(papers)
        return
    if not yes and not ask(f"Erase what is kept of {owner}, for good?"):
        raise NotConfirmed("owner forget erases for good")
    done = forget_owner(desk.log, desk.occasion, owner, also)
    and_papers = f", {done.papers_erased} papers" if done.papers_erased else ""
    click.echo(f"{done.owner_id}: {done.erased} texts{and_papers} erased.")
    for cell in done.left:
        click.echo(f"names them still: {cell.name}  {' '.join(cell.text.split())}")
    _list_papers(done.papers_left)
    if done.backups:
        click.echo(f"{done.backups} backup(s) hold it still, until newer ones take their place.", err=True)


def _list_papers(papers: Sequence[Paper]) -> None:
    from fleetlog.usecases.privacy import paper_mark

    for paper in papers:
        click.echo(f"may show them: {paper_mark(paper)}  {paper.name}, visit {paper.visit_id}")

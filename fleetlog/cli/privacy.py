"""Commands about what is kept of a person: owner export, owner forget."""

from __future__ import annotations

import json
import os
from pathlib import Path

import click

from fleetlog.cli.desk import Desk, ask, pass_desk
from fleetlog.cli.options import examples
from fleetlog.errors import FileThereAlready, NotConfirmed


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
    help="A listed text that is to go as well; `all` for all of them.",
)
@click.option("--yes", is_flag=True, help="Do not ask.")
@pass_desk
def owner_forget(desk: Desk, owner: str, review: bool, also: tuple[str, ...], yes: bool) -> None:
    """Erase a person's name and contact for good; the engines' story stays.

    Free texts that name them are listed, and go only where --also says so.
    Their id stays, and the log's chains still hold.
    """
    from fleetlog.usecases.privacy import forget_owner, texts_naming

    if review:
        cells = texts_naming(desk.log, owner)
        for cell in cells:
            click.echo(f"{cell.name}  {' '.join(cell.text.split())}")
        if not cells:
            click.echo("No free text names them.")
        return
    if not yes and not ask(f"Erase what is kept of {owner}, for good?"):
        raise NotConfirmed("owner forget erases for good")
    done = forget_owner(desk.log, desk.occasion, owner, also)
    click.echo(f"{done.owner_id}: {done.erased} texts erased.")
    for cell in done.left:
        click.echo(f"names them still: {cell.name}  {' '.join(cell.text.split())}")
    if done.backups:
        click.echo(f"{done.backups} backup(s) hold it still, until newer ones take their place.", err=True)

"""Commands for the upkeep of the log and the shell: check, refresh, completion."""

from __future__ import annotations

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import PROCESSES, examples
from fleetlog.cli.output import fault, progress_bar
from fleetlog.errors import counted


@click.command("check", epilog=examples("check", "check --head 3fa94c0d5b1e8a27"))
@click.option("--head", "printed_head", metavar="HASH", help="A head printed earlier, by check or on a page.")
@pass_desk
def check_command(desk: Desk, printed_head: str | None) -> None:
    """Check the log against its own rules and its chain of hashes.

    Exit status 1 where something is wrong. What only waits for a person's word
    (a held reading) is listed and is no fault. The head that is printed last
    stands for all that was written so far: keep it elsewhere, and --head finds
    out later whether the end of the log was cut off.
    """
    from fleetlog.usecases.checking import check_log

    report = check_log(desk.log, desk.today, printed_head)
    for problem in report.problems:
        fault(problem)
    for waiting in report.waiting:
        click.echo(f"waiting: {waiting}")
    found = counted(len(report.problems), "problem") if report.problems else "nothing wrong"
    click.echo(
        f"{counted(report.engines, 'engine')},"
        f" {counted(report.entries, 'entry', 'entries')} checked: {found}."
    )
    click.echo(f"Head of the log after {counted(len(report.heads), 'writing')}: {report.head}")
    if report.problems:
        raise SystemExit(1)


@click.command("refresh", epilog=examples("refresh", "refresh --processes 4"))
@PROCESSES
@pass_desk
def refresh_command(desk: Desk, processes: int) -> None:
    """Learn the fleet's use anew and work out all due lines that are kept.

    It is never needed for a right list, which works out whatever is out of
    date; after a large import it makes the first list quick.
    """
    from fleetlog.usecases.refreshing import refresh_log

    with progress_bar("Engines") as advance:
        done = refresh_log(desk.log, desk.today, processes=processes, advance=advance)
    waiting = done.engines - done.kept
    left = f"; {counted(waiting, 'is', 'are')} left for the next list" if waiting else ""
    click.echo(f"{counted(done.kept, 'engine is', 'engines are')} up to date{left}.")


@click.command(
    "completion", epilog=examples("completion bash > ~/.local/share/bash-completion/completions/fleetlog")
)
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def completion_command(shell: str) -> None:
    """Print the completion script of a shell."""
    from click.shell_completion import get_completion_class

    from fleetlog.cli.main import cli

    made = get_completion_class(shell)
    if made is None:
        raise click.UsageError(f"no completion for {shell}")
    click.echo(made(cli, {}, "fleetlog", "_FLEETLOG_COMPLETE").source())

"""Commands that keep the log safe: backup, restore, rescue."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import FOLDER, ON_DISK, examples, format_option
from fleetlog.cli.output import fault, remark, say_notices, show
from fleetlog.cli.secrets import without_password
from fleetlog.domain.words import counted_kind
from fleetlog.errors import counted

if TYPE_CHECKING:
    from fleetlog.store.copies import Backup
    from fleetlog.usecases.checking import CheckReport


_MOST_TOLD = 10
"""So many lines of a kind a rescue prints of what is amiss."""


@click.command("backup", epilog=examples("backup", "backup --to /media/stick --keep 30", "backup --list"))
@click.option(
    "--to",
    "folder",
    type=FOLDER,
    envvar="FLEETLOG_BACKUPS",
    help="The folder of the backups; else one beside the log. [FLEETLOG_BACKUPS]",
)
@click.option("--keep", type=click.IntRange(1, 10_000), default=10, show_default=True, help="How many stay.")
@click.option("--list", "listing", is_flag=True, help="List the backups there are.")
@format_option
@pass_desk
def backup_command(desk: Desk, folder: Path | None, keep: int, listing: bool, shape: str) -> None:
    """Copy the log while others may go on writing, and check the copy.

    The copy is dated and can be read by its owner only; it counts when it has
    been opened and its pages are sound. The latest ones are kept. Where the
    check names a problem, or an older copy tells what the log does not, the new
    copy is kept and no older one removed: exit status 1.
    What a backup that was killed left in the folder is swept away.
    """
    from fleetlog.usecases.safekeeping import back_up, list_backups

    if listing:
        rows = [_row(backup) for backup in list_backups(desk.log_url, folder)]
        show(rows, (("taken_at", "Taken"), ("path", "File")), shape, "No backups yet.")
        return
    done = back_up(desk.log, desk.occasion, folder, keep)
    if shape == "table":
        papers = f" {counted(done.papers_copied, 'paper')} copied." if done.papers_copied else ""
        click.echo(f"{done.backup.path}: {_told(done.report)}.{papers}")
        if done.removed:
            click.echo(f"{counted(len(done.removed), 'older backup')} removed, {keep} kept.")
    else:
        row = {
            **_row(done.backup),
            "engines": done.report.engines,
            "entries": done.report.entries,
            "papers_copied": done.papers_copied,
            "removed": len(done.removed),
        }
        show([row], [], shape)
    for told in done.stayed:
        remark(told)
    for reason in done.held_by:
        fault(reason)
    if done.held_by:
        fault(
            "the new copy was kept and no older one removed: run `fleetlog check`, and see whether this is"
            " the log you mean; older copies that are another's are yours to move away"
        )
        raise SystemExit(1)


@click.command("restore", epilog=examples("restore BACKUP NEW-LOG"))
@click.argument("backup", type=ON_DISK)
@click.argument("target", type=ON_DISK)
@pass_desk
def restore_command(desk: Desk, backup: Path, target: Path) -> None:
    """Make a log at TARGET, where none is, from a BACKUP that is first checked.

    No log is ever written over: use the new one by --log or FLEETLOG_LOG. What
    the check finds wrong with its rows or papers is named: exit status 1.
    """
    from fleetlog.usecases.safekeeping import restore

    report, notices = restore(backup, target, desk.occasion)
    say_notices(notices)
    click.echo(f"{target}: {_told(report)}.")
    for problem in report.problems:
        fault(problem)
    if report.problems:
        raise SystemExit(1)


@click.command("rescue", epilog=examples("rescue DAMAGED-LOG rescued"))
@click.argument("file", type=ON_DISK)
@click.argument("out", type=ON_DISK)
def rescue_command(file: Path, out: Path) -> None:
    """Write all that can be read of a damaged log FILE to the CSV folder OUT.

    The file is left as it is. What was read is compared with what the log's
    chains sealed: of each engine that is not whole it is said which rows are
    missing or differ, or why that is not known. An end that is lost without a
    trace shows only by the last head, which is printed: compare it with one on a
    page. Rows that no import would take, such as one with a day that does not
    exist, or a second fitting of a day as the void of the first is lost, are set
    apart in OUT-apart, with the rows that refer to them; put them right by an
    older backup or by hand, and import that folder too. Of many lines the first
    are printed, and all are in OUT-amiss.txt. Anything lost, set apart, differing
    or not compared is exit status 1. Look the folder through before you import it
    into a new log.
    """
    from fleetlog.usecases.rescuing import rescue, write_told

    done = rescue(file, out)
    amiss = (
        [f"lost: {lost}" for lost in done.remarks],
        done.differing,
        [f"set apart in {done.apart_in}: {row}" for row in done.apart],
    )
    for told in amiss:
        for line in told[:_MOST_TOLD]:
            fault(line)
    more = sum(len(told[_MOST_TOLD:]) for told in amiss)
    if more:
        fault(f"and {counted(more, 'line')} more; all are in {write_told(done, out)}")
    click.echo(f"{out}: " + ", ".join(counted_kind(size, kind) for kind, size in done.counts.items()))
    if done.not_compared is not None:
        fault(f"could not be compared with what was sealed: {done.not_compared}")
    else:
        click.echo(f"Whole, by what was sealed: {done.whole} of {counted(done.engines, 'engine')}.")
        click.echo(f"Last head of the log's chain: {done.head}")
    if any(amiss) or done.not_compared is not None:
        raise SystemExit(1)


@click.command(
    "copy-log",
    epilog=examples("copy-log OLD-LOG postgresql://fleet@server/marina", "copy-log OLD-LOG NEW-LOG"),
)
@click.argument("source", metavar="FROM", callback=without_password)
@click.argument("target", metavar="TO", callback=without_password)
@pass_desk
def copy_log_command(desk: Desk, source: str, target: str) -> None:
    """Copy the log FROM into the empty or new log TO, each a path or a URL.

    Every row is read back and compared, and the chains of the copy are checked
    before it stands. FROM is left as it is. Photos and papers go along; those of
    a log in a database are in the folder that --papers or FLEETLOG_PAPERS names.
    A password comes by PGPASSWORD or PGPASSFILE, never in the address.
    """
    from fleetlog.usecases.copying import copy_log

    done = copy_log(source, target, desk.occasion, desk.papers_of_database)
    say_notices(done.notices)
    for found in done.faults:
        remark(f"as in the log copied: {found}")
    tables = ", ".join(counted_kind(size, table) for table, size in done.rows.items() if size)
    click.echo(f"The same on both sides: {tables or 'no rows'}; {counted(done.links, 'link')} of the chain.")


def _row(backup: Backup) -> dict[str, Any]:
    return {"taken_at": backup.taken_at.isoformat(), "path": str(backup.path)}


def _told(report: CheckReport) -> str:
    return f"{counted(report.engines, 'engine')}, {counted(report.entries, 'entry', 'entries')} checked"

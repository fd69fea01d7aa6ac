"""Commands for files in and out: import, export."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import examples


@click.command(
    "import", epilog=examples("import my-marina", 'import my-marina --separator ";" --decimal-comma')
)
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--separator", default=",", show_default=True, help="What stands between cells.")
@click.option("--decimal-comma", is_flag=True, help="Numbers are written 412,5.")
@click.option("--encoding", default="utf-8", show_default=True, help="Of the files, such as cp1252.")
@pass_desk
def import_command(desk: Desk, folder: Path, separator: str, decimal_comma: bool, encoding: str) -> None:
    """Take in a folder of CSV files (and schedules/NAME.toml), all or nothing.

    What is in the log already is left alone, so that a second import changes
    nothing. With anything wrong nothing is taken in, and every problem is
    named with its file, line and column.
    """
    from fleetlog.usecases.importing import import_folder

    occasion = desk.occasion
    report = import_folder(
        desk.log,
        folder,
        by=occasion.by,
        at=occasion.at,
        today=occasion.today,
        separator=separator,
        decimal_comma=decimal_comma,
        encoding=encoding,
    )
    for label, counts in (("new", report.new), ("changed", report.changed), ("unchanged", report.unchanged)):
        if any(counts.values()):
            click.echo(f"{label}: {_counted(counts)}")
    if not any(report.new.values()) and not any(report.changed.values()):
        click.echo("Nothing new.")
    for finding in report.findings:
        click.echo(f"fleetlog: note: {finding}", err=True)


def _counted(counts: Mapping[str, int]) -> str:
    return ", ".join(f"{size} {kind}" for kind, size in counts.items() if size)


@click.command("export", epilog=examples("export my-marina"))
@click.argument("folder", type=click.Path(path_type=Path))
@pass_desk
def export_command(desk: Desk, folder: Path) -> None:
    """Write all that the log holds to a folder of CSV files.

    Imported into an empty log, the folder gives the same log again.
    """
    from fleetlog.usecases.exporting import export_folder

    counts = export_folder(desk.log, folder)
    click.echo(f"{folder}: {_counted(counts) or 'nothing, the log is empty'}")

"""Commands for files in and out: import, export."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import FILE_OR_FOLDER, HANDED_IN, examples
from fleetlog.cli.output import remark
from fleetlog.domain.words import counted_kind
from fleetlog.errors import counted

if TYPE_CHECKING:
    from fleetlog.usecases.imports.folder import ImportReport

_DRY_RUN = click.option("--dry-run", is_flag=True, help="Only show what would be recorded.")


@click.command(
    "import",
    epilog=examples(
        "import my-marina --dry-run",
        "import my-marina",
        'import my-marina --separator ";" --decimal-comma',
    ),
)
@click.argument("folder", type=HANDED_IN)
@click.option("--separator", default=",", show_default=True, help="What stands between cells.")
@click.option("--decimal-comma", is_flag=True, help="Numbers are written 412,5.")
@click.option("--encoding", default="utf-8", show_default=True, help="Of the files, such as cp1252.")
@_DRY_RUN
@pass_desk
def import_command(
    desk: Desk, folder: Path, separator: str, decimal_comma: bool, encoding: str, dry_run: bool
) -> None:
    """Take in a folder of CSV files (and schedules/NAME.toml), all or nothing.

    What is in the log already is left alone, so that a second import changes
    nothing. With anything wrong nothing is taken in, and every problem is
    named with its file, line and column.
    """
    from fleetlog.exchange.csv.folder import folder_there
    from fleetlog.usecases.imports.folder import import_folder

    there = folder_there(folder)  # before a database gets the tables of a log
    report = import_folder(
        desk.log_or_passing if dry_run else desk.log_or_new,
        desk.occasion,
        there,
        separator=separator,
        decimal_comma=decimal_comma,
        encoding=encoding,
        preview=dry_run,
    )
    _show_report(report, dry_run)


def _show_report(report: ImportReport, is_dry_run: bool) -> None:
    for label, counts in (("new", report.new), ("changed", report.changed), ("unchanged", report.unchanged)):
        if any(counts.values()):
            click.echo(f"{label}: {_counted(counts)}")
    if not any(report.new.values()) and not any(report.changed.values()):
        click.echo("Nothing new.")
    for finding in report.findings:
        remark(finding)
    for kind, rows in report.first_rows.items():
        click.echo(f"{kind}, as they would be recorded:")
        for row in rows:
            click.echo("  " + ", ".join(f"{name} {' '.join(text.split())}" for name, text in row.items()))
    if is_dry_run:
        click.echo("Nothing was written, as --dry-run asks.")


def _counted(counts: Mapping[str, int]) -> str:
    return ", ".join(counted_kind(size, kind) for kind, size in counts.items() if size)


@click.command(
    "import-sheet",
    epilog=examples(
        "import-sheet engines.xlsx --mapping ours.toml --dry-run", "import-sheet all.ods --mapping m.toml"
    ),
)
@click.argument("file", type=HANDED_IN)
@click.option("--mapping", type=HANDED_IN, required=True, help="Which column is which (TOML).")
@_DRY_RUN
@pass_desk
def import_sheet_command(desk: Desk, file: Path, mapping: Path, dry_run: bool) -> None:
    """Take in a spreadsheet FILE (xlsx, ods) by a mapping, all or nothing.

    \b
    The mapping has, for each sheet:
      [[sheet]]
      sheet = "Motors"              # else the first
      file = "engines"              # the CSV file it stands for
      header_row = 1
      columns = { serial = "Serial no.", family = "Type" }
      fixed = { logged_from_new = "no" }
      words = { state = { "in use" = "in service" } }
      as_above = ["family"]         # an empty cell says what the one above says
      needs = ["serial"]            # a row where it is empty is left out
      day_form = "%d.%m.%Y"         # of days that are text, such as 14.04.2026

    Where all of an engine stands in one row, there is a [[sheet]] for each thing
    in it: its boat, its hours, its belt, its impeller …
    """
    from fleetlog.usecases.imports.sheets import import_sheets, sheets_read

    with sheets_read(file, mapping) as sheets:
        log = desk.log_or_passing if dry_run else desk.log_or_new
        report = import_sheets(log, desk.occasion, sheets, preview=dry_run)
    click.echo(
        "read: " + ", ".join(f"{counted(size, 'row')} of {name}" for name, size in sheets.rows.items())
    )
    for sentence in sheets.left_out():
        click.echo(f"left out: {sentence}")
    _show_report(report, dry_run)


@click.command("export", epilog=examples("export my-marina"))
@click.argument("folder", type=FILE_OR_FOLDER)
@pass_desk
def export_command(desk: Desk, folder: Path) -> None:
    """Write all that the log holds to a folder of CSV files.

    Imported into an empty log, the folder gives the same log again.
    """
    from fleetlog.usecases.exporting import export_folder

    counts = export_folder(desk.log, folder)
    click.echo(f"{folder}: {_counted(counts) or 'nothing, the log is empty'}")

"""Commands that write pages: report, demo."""

from __future__ import annotations

from pathlib import Path

import click

from fleetlog import __version__
from fleetlog.cli.desk import Desk, default_log_path, pass_desk
from fleetlog.cli.options import FOLDER, MARINA, PROCESSES, REPLY_BY, REPLY_EMAIL, WINDOW, examples
from fleetlog.cli.output import progress_bar, remark, say_notices
from fleetlog.errors import as_word, counted

_OUT = click.option(
    "--out",
    type=FOLDER,
    default="reports",
    show_default=True,
    help="The folder the pages go to.",
)


@click.command(
    "report",
    epilog=examples("report --out reports", 'report --marina "Our marina" --reply-email us@example.org'),
)
@_OUT
@click.option("--within", "within_days", type=WINDOW, default="60d", show_default=True, help="How far ahead.")
@MARINA
@REPLY_EMAIL
@REPLY_BY
@PROCESSES
@pass_desk
def report_command(
    desk: Desk,
    out: Path,
    within_days: int,
    marina: str | None,
    reply_email: str | None,
    reply_by: str | None,
    processes: int,
) -> None:
    """Write the HTML pages: an index, the due list, a reminder for each owner,
    a history for each engine. They open from disk, without a network.
    """
    from fleetlog.reports.context import ReportContext
    from fleetlog.usecases.reporting import make_reports

    context = ReportContext(desk.signed_by(marina), __version__, reply_email, reply_by, within_days)
    with progress_bar("Pages") as advance:
        pages = make_reports(
            desk.log, desk.occasion, out, context, processes=processes, advance=advance, tell=remark
        )
    click.echo(f"{counted(len(pages), 'page')} in {out}; open {pages[0]}")


@click.command("demo", epilog=examples("demo", "--log demo.db demo --out demo-reports"))
@_OUT
@pass_desk
def demo_command(desk: Desk, out: Path) -> None:
    """Try everything on an invented marina, on a spring day of its own.

    Makes a log beside yours (or where --log says), fills it, prints what is
    overdue and due first, and writes the pages.
    """
    import os

    from fleetlog.cli.looking import due_table
    from fleetlog.errors.log import DemoLogInTheWay
    from fleetlog.store.opening import open_log
    from fleetlog.store.unfinished import sweep
    from fleetlog.usecases.demo import DEMO_CONTEXT, DEMO_OCCASION, DEMO_TODAY, fill_demo
    from fleetlog.usecases.due import DueQuestion, list_due
    from fleetlog.usecases.reporting import make_reports

    where = desk.given_log_url
    if where is None:
        path = default_log_path().with_name("demo.db")
        try:
            sweep(path)
        except OSError as error:
            raise DemoLogInTheWay(str(path), error.strerror or str(error)) from error
        where = str(path)
    log = open_log(where, at=DEMO_OCCASION.at, papers=desk.papers_of_database)
    say_notices(log.notices)
    log.notices.clear()
    try:
        fill_demo(log)
        lines = list_due(log, DEMO_OCCASION, DueQuestion())
        pages = make_reports(log, DEMO_OCCASION, out, DEMO_CONTEXT)
    finally:
        log.dispose()
    most = 25
    click.echo(
        f"An invented marina, as of {DEMO_TODAY.isoformat()}:"
        f" {counted(len(lines), 'due line')}, the first {most}:\n"
    )
    due_table(lines[:most], "table", "")
    click.echo(f"\n{counted(len(pages), 'page')} in {out}; open {pages[0]}\n\nGo on with the demo log:")
    settings = {"FLEETLOG_TODAY": DEMO_TODAY.isoformat()}
    if os.environ.get("FLEETLOG_LOG") != where:  # what is set there may hold a password, and is not told
        settings["FLEETLOG_LOG"] = where
    if log.place.path is None:
        settings["FLEETLOG_PAPERS"] = str(desk.papers_of_database)
    for line in lines_that_set(settings, os.name == "nt"):
        click.echo(f"  {line}")


def lines_that_set(settings: dict[str, str], on_windows: bool) -> list[str]:
    """What a person types to have settings in their terminal, on Windows in either of its shells."""
    if not on_windows:
        return [f"export {name}={as_word(value)}" for name, value in settings.items()]
    told = [f"set {name}={value}" for name, value in settings.items()]
    quoted = {name: value.replace("'", "''") for name, value in settings.items()}
    return [*told, "or, in PowerShell:", *(f"$env:{name} = '{value}'" for name, value in quoted.items())]

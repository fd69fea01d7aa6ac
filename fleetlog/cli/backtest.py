"""The command that judges the forecast on the shop's own log: backtest."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetlog import __version__
from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import DAY, FOLDER, HOURS, MARINA, examples, format_option
from fleetlog.cli.output import show
from fleetlog.errors import counted

if TYPE_CHECKING:
    from fleetlog.forecast.scoring import Score
    from fleetlog.usecases.backtesting import BacktestAnswer

_COLUMNS = (
    ("group", "Group"),
    ("cases", "Cases"),
    ("engines", "Engines"),
    ("held", "Held"),
    ("early", "Too early"),
    ("late", "Too late"),
    ("pinball_10", "Loss at 10"),
    ("pinball_50", "50"),
    ("pinball_90", "90 %"),
    ("pinball", "Mean loss"),
    ("ratio", "Of the rate's"),
    ("error", "Median error"),
)


@click.command(
    "backtest",
    epilog=examples(
        "backtest",
        "backtest --out reports",
        "backtest --every 50 --stand-on 2025-05-01 --stand-on 2025-10-01",
        "backtest --format csv > backtest.csv",
    ),
)
@click.option(
    "--stand-on",
    type=DAY,
    multiple=True,
    help="A past day to forecast from; may be repeated. Without it, every quarter of three years.",
)
@click.option(
    "--every", "every_tenths", type=HOURS, help="Forecast each engine's next multiple of so many hours."
)
@click.option(
    "--out",
    type=FOLDER,
    help="Write the reports here, with a page of this backtest.",
)
@MARINA
@format_option
@pass_desk
def backtest_command(
    desk: Desk,
    stand_on: tuple[date, ...],
    every_tenths: int | None,
    out: Path | None,
    marina: str | None,
    shape: str,
) -> None:
    """Judge the forecast by the log's own past.

    Stands at past days, hides what came after, forecasts when each engine
    reaches its next limits in hours, and compares with what later readings
    show. A window should hold eight times in ten, and miss early and late
    about once in ten each. In brackets stands the strongest simple rival: the
    engine's rate so far, with a window whose width was fitted to the same
    truth. Losses and errors are in days; smaller is better.
    """
    from fleetlog.errors.forecast import EveryHoursNone
    from fleetlog.usecases.backtesting import BacktestQuestion, backtest_log, rows_of

    if every_tenths == 0:
        raise EveryHoursNone()
    every_hours = None if every_tenths is None else every_tenths / 10
    answer = backtest_log(desk.log, desk.occasion, BacktestQuestion(stand_on, every_hours), say_progress)
    rows = [table_row(score) for score in answer.result.scores] if shape == "table" else list(rows_of(answer))
    show(rows, _COLUMNS, shape)
    if shape == "table":
        click.echo(f"\n{_told(answer)}")
    if out is not None:
        _write_pages(desk, out, answer, marina)


def say_progress(what: str, done: int, total: int) -> None:
    """Say how far it is, on one line of a terminal; nothing where nobody watches."""
    if sys.stderr.isatty() and (done == total or done % max(total // 100, 1) == 0):
        click.echo(f"\r{what}: {done} of {total}", nl=done == total, err=True)


def table_row(score: Score) -> dict[str, object]:
    """How a group came out, as the table shows it: rounded once, as the page is."""

    def days(mine: float, rate: float) -> str:
        return f"{mine:.1f} ({rate:.1f})" if mine == mine and rate == rate else "–"

    losses = zip(score.pinball_by_share_days, score.rival_pinball_by_share_days, strict=True)
    at_10, at_50, at_90 = (days(*both) for both in losses)
    ratio = score.pinball_ratio
    return {
        "group": score.group,
        "cases": score.cases,
        "engines": f"{score.engines}{' *' if score.tells_little else ''}",
        "held": f"{score.coverage_share:.0%} ({score.rival_coverage_share:.0%})",
        "early": f"{score.early_share:.0%} ({score.rival_early_share:.0%})",
        "late": f"{score.late_share:.0%} ({score.rival_late_share:.0%})",
        "pinball_10": at_10,
        "pinball_50": at_50,
        "pinball_90": at_90,
        "pinball": days(score.pinball_days, score.rival_pinball_days),
        "ratio": f"{ratio:.2f}" if ratio == ratio else "–",
        "error": days(score.median_error_days, score.rival_median_error_days),
    }


def _told(answer: BacktestAnswer) -> str:
    days = answer.stood_on
    as_of = f"{counted(len(days), 'day')} from {days[0].isoformat()} to {days[-1].isoformat()}"
    if len(days) == 1:
        as_of = days[0].isoformat()
    what = "the next limits" if answer.every_hours is None else f"the next {answer.every_hours:g} h"
    return (
        f"Forecast as of {as_of}: when {what}"
        f" would be reached, of {counted(answer.engines, 'engine')} with"
        f" {counted(answer.readings, 'reading')}. Held: the share of windows from the early to the late"
        " date that held the true day, which lies between two readings, about where their hours put it."
        f"{' ' + note if (note := answer.result.note) else ''}"
    )


def _write_pages(desk: Desk, out: Path, answer: BacktestAnswer, marina: str | None) -> None:
    from fleetlog.reports.context import ReportContext
    from fleetlog.usecases.backtesting import make_backtest_page

    context = ReportContext(desk.signed_by(marina), __version__)
    page = make_backtest_page(desk.log, desk.occasion, out, context, answer)
    click.echo(f"The page is {page}; {out / 'index.html'} links to it", err=True)

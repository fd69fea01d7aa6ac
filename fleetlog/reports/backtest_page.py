"""The page of a backtest: how often windows held, how far dates were off, and the calibration plot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from markupsafe import Markup

from fleetlog.reports.charts.calibration import calibration_chart
from fleetlog.reports.words import NBSP, capital, counted, day_text, percent_text

if TYPE_CHECKING:
    from fleetlog.forecast.scoring import Backtest, Score

BACKTEST_PAGE = "backtest.html"


@dataclass(frozen=True, slots=True)
class GroupView:
    """How the cases of a group came out: the forecast's figures, and in each the rate's beside them."""

    name: str
    cases: str
    held: tuple[str, str]
    early: tuple[str, str]
    late: tuple[str, str]
    losses: tuple[str, str]
    mean_loss: tuple[str, str]
    error: tuple[str, str]


@dataclass(frozen=True, slots=True)
class BacktestPage:
    """The page as it is laid out."""

    told: str
    verdict: Sequence[str]
    chart: Markup
    groups: Sequence[GroupView]
    note: str | None


def backtest_page(result: Backtest, stood_on: Sequence[date], every_hours: float | None) -> BacktestPage:
    """Everything that the page of a backtest shows."""
    whole = result.scores[0]
    what = "its next limits in hours" if every_hours is None else f"its next {every_hours:g}{NBSP}h"
    days = (
        f"as of {day_text(stood_on[0])}"
        if len(stood_on) == 1
        else f"as of {len(stood_on)} days from {day_text(stood_on[0])} to {day_text(stood_on[-1])}"
    )
    told = (
        f"When would each engine reach {what}? It was forecast {days}, with all that came after hidden, and"
        f" compared with the readings that followed: {counted(whole.cases, 'case')} of"
        f" {counted(whole.engines, 'engine')}. The true day lies between two readings, about where the"
        " hours that they show put it, or has not come yet, and is counted so."
    )
    chart = calibration_chart(result.stated_shares.tolist(), result.came_true_shares.tolist(), "came-true")
    groups = [_group(score) for score in result.scores]
    return BacktestPage(told, list(_verdict(whole)), chart, groups, result.note)


def _verdict(whole: Score) -> list[str]:
    held, least, most, early, late = (
        percent_text(share)
        for share in (
            whole.coverage_share,
            whole.coverage_least_share,
            whole.coverage_most_share,
            whole.early_share,
            whole.late_share,
        )
    )
    said = [
        f"Of the windows {held} held the true day; {percent_text(0.8)} should. Without any assumption on"
        f" where it lay between readings, between {least} and {most} held.",
        f"{early} came before the early date and {late} after the late one; one in ten of each should.",
    ]
    if whole.reached:
        said.append(
            f"The likely date was off by {_days(whole.median_error_days)} in the middle case, that by the"
            f" engine's rate so far by {_days(whole.rival_median_error_days)}."
        )
    if whole.tells_little:
        from fleetlog.forecast.scoring import BY_CHANCE  # with numpy: only where it is needed

        said.append(f"Of {counted(whole.engines, 'engine')} {BY_CHANCE}")
    return said


def _group(score: Score) -> GroupView:
    name = capital(score.group)
    return GroupView(
        name,
        f"{score.cases} of {counted(score.engines, 'engine')}{NBSP + '*' if score.tells_little else ''}",
        (percent_text(score.coverage_share), percent_text(score.rival_coverage_share)),
        (percent_text(score.early_share), percent_text(score.rival_early_share)),
        (percent_text(score.late_share), percent_text(score.rival_late_share)),
        (_losses(score.pinball_by_share_days), _losses(score.rival_pinball_by_share_days)),
        (_plain(score.pinball_days), _plain(score.rival_pinball_days)),
        (_plain(score.median_error_days), _plain(score.rival_median_error_days)),
    )


def _losses(days: Sequence[float]) -> str:
    return " / ".join(_plain(loss) for loss in days)


def _plain(days: float) -> str:
    return f"{days:.1f}" if days == days else "–"


def _days(days: float) -> str:
    return f"{days:.0f}{NBSP}days"

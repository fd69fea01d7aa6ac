"""Judges the usage forecast on the shop's own log: past days are stood on, later readings tell the truth."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from fleetlog.domain.due import engine_limits
from fleetlog.domain.hours import Tenths
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.satisfaction import seen_on
from fleetlog.domain.schedule import Schedule
from fleetlog.errors.forecast import DayBeforeReadings, DayNotPast, NoDayToStandOn, NothingToJudge
from fleetlog.reports.backtest_page import BACKTEST_PAGE, backtest_page
from fleetlog.reports.context import ReportContext
from fleetlog.reports.rendering import laid_out
from fleetlog.reports.writing import write_pages
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import schedule_of
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.reporting import make_reports
from fleetlog.usecases.usage import usage_of

if TYPE_CHECKING:
    from fleetlog.forecast.backtest import Targets
    from fleetlog.forecast.scoring import Backtest

STANDS, DAYS_APART = 12, 91
"""Where no days are given, so many are stood on, every quarter of a year back from today."""

FIRST_READINGS = 20
"""A day is stood on of itself only where so many readings had been taken."""

LIMITS_AHEAD = 3
"""Of each engine the next limits in hours, at most so many."""

Progress = Callable[[str, int, int], None]
"""Told what is done, how many of it are through, and of how many."""


@dataclass(frozen=True, slots=True)
class BacktestQuestion:
    """Which past days are stood on, and which hours are forecast.

    Without `stand_on`, every quarter of a year. Without `every_hours`, the limits of the service schedules as
    they stood on the day; else the next multiple of so many hours.
    """

    stand_on: Sequence[date] = ()
    every_hours: float | None = None


@dataclass(frozen=True, eq=False)
class BacktestAnswer:
    """How the forecasts of some days came out; `engines` are those of the log that have readings."""

    stood_on: Sequence[date]
    engines: int
    readings: int
    every_hours: float | None
    result: Backtest


def backtest_log(
    log: Log, occasion: Occasion, question: BacktestQuestion, progress: Progress
) -> BacktestAnswer:
    """Forecasts of past days against the readings that followed.

    Raises DayNotPast or DayBeforeReadings for a day that tells nothing, NoDayToStandOn where none is given
    and the log is too small to choose some, NothingToJudge where no later reading tells anything.
    """
    from fleetlog.forecast.backtest import backtest, next_multiples
    from fleetlog.forecast.evidence import FleetUsage

    for day in question.stand_on:
        if day >= occasion.today:
            raise DayNotPast(day, occasion.today)
    with log.reading() as reader:
        ledgers, schedules = _read(reader, progress), reader.schedules()
    fleet = FleetUsage.of(usage_of(ledger, seen_on(ledger, occasion.today)) for ledger in ledgers)
    for day in question.stand_on if len(fleet.reading_day) else ():
        if day.toordinal() < (first := int(fleet.reading_day.min())):
            raise DayBeforeReadings(day, date.fromordinal(first))
    days = sorted(fleet.reading_day.tolist())
    read = int((fleet.reading_offsets[1:] > fleet.reading_offsets[:-1]).sum())
    stood_on = sorted(set(question.stand_on)) or _quarters(days, occasion.today)
    if not stood_on and days and days[0] < days[-1]:
        middle = date.fromordinal((days[0] + days[-1]) // 2)
        raise NoDayToStandOn(read, len(days), FIRST_READINGS, middle)
    targets = (
        _limits(ledgers, [schedule_of(ledger, schedules) for ledger in ledgers])
        if question.every_hours is None
        else next_multiples(question.every_hours)
    )
    result = backtest(
        fleet, stood_on, targets, lambda done: progress("forecast as of past days", done, len(stood_on))
    )
    if result is None:
        raise NothingToJudge(read, len(days))
    return BacktestAnswer(stood_on, read, len(days), question.every_hours, result)


def _read(reader: Reader, progress: Progress) -> list[EngineLedger]:
    total = len(reader.serials())
    ledgers = []
    for ledger in reader.ledgers():
        ledgers.append(ledger)
        progress("engines read", len(ledgers), total)
    return ledgers


def _quarters(reading_days: Sequence[int], today: date) -> list[date]:
    """Days a quarter of a year apart before today, oldest first, with enough of the readings before them."""
    enough = reading_days[FIRST_READINGS - 1] if len(reading_days) >= FIRST_READINGS else today.toordinal()
    wanted = (today - timedelta(days=DAYS_APART * back) for back in range(STANDS, 0, -1))
    return [day for day in wanted if day.toordinal() >= enough]


def _limits(ledgers: Sequence[EngineLedger], schedules: Sequence[Schedule | None]) -> Targets:
    """As targets, the next limits in hours of each engine as its ledger and schedule gave them on the day."""
    import numpy as np

    def targets(day, forecast):  # type: ignore[no-untyped-def]
        rows = [
            (number, float(tenths) / 10)
            for number, (ledger, schedule) in enumerate(zip(ledgers, schedules, strict=True))
            if schedule is not None
            for tenths in _next_limits(ledger, schedule, day)
        ]
        engine = np.array([number for number, _ in rows], dtype=np.int64)
        return engine, np.array([hours for _, hours in rows], dtype=np.float64)

    return targets


def _next_limits(ledger: EngineLedger, schedule: Schedule, day: date) -> list[Tenths]:
    targets = engine_limits(ledger, schedule, day).targets
    ahead = {target.tenths for target in targets if target.since is None}
    return sorted(ahead)[:LIMITS_AHEAD]


def make_backtest_page(
    log: Log, occasion: Occasion, out: Path, context: ReportContext, answer: BacktestAnswer
) -> Path:
    """Write every page of the reports into a folder, with one of this backtest; returns that one's path.

    Reports that are made there later keep it.
    """
    view = backtest_page(answer.result, answer.stood_on, answer.every_hours)
    page = laid_out("backtest.html", view, context, occasion.today)
    [written] = write_pages({BACKTEST_PAGE: page}, out, is_whole=False)
    make_reports(log, occasion, out, context)
    return written


def rows_of(answer: BacktestAnswer) -> Iterator[dict[str, object]]:
    """The scores as plain rows: days to a tenth, shares to a thousandth, None where nothing was reached."""
    for score in answer.result.scores:
        row: dict[str, object] = {
            "group": score.group,
            "cases": score.cases,
            "engines": score.engines,
            "tells_little": score.tells_little,
            "reached": score.reached,
        }
        for name, share in (
            ("coverage_share", score.coverage_share),
            ("coverage_least_share", score.coverage_least_share),
            ("coverage_most_share", score.coverage_most_share),
            ("early_share", score.early_share),
            ("late_share", score.late_share),
            ("rate_coverage_share", score.rival_coverage_share),
            ("rate_early_share", score.rival_early_share),
            ("rate_late_share", score.rival_late_share),
        ):
            row[name] = round(share, 3)
        for mine, losses in (("", score.pinball_by_share_days), ("rate_", score.rival_pinball_by_share_days)):
            for percent, loss in zip((10, 50, 90), losses, strict=True):
                row[f"{mine}pinball_{percent}_days"] = _figure(loss, 2)
        row["pinball_days"] = _figure(score.pinball_days, 2)
        row["rate_pinball_days"] = _figure(score.rival_pinball_days, 2)
        row["pinball_ratio"] = _figure(score.pinball_ratio, 3)
        row["median_error_days"] = _figure(score.median_error_days, 1)
        row["rate_median_error_days"] = _figure(score.rival_median_error_days, 1)
        row["median_width_days"] = round(score.median_width_days, 1)
        yield row


def _figure(value: float, places: int) -> float | None:
    return round(value, places) if value == value else None

"""The page of a backtest: figures beside the rate's, a plot that tells what it draws, a link that stays."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from fleetlog.forecast.scoring import Backtest, Score
from fleetlog.reports.backtest_page import BACKTEST_PAGE, backtest_page
from fleetlog.reports.charts.calibration import HIGH, WIDE, calibration_chart
from fleetlog.reports.rendering import laid_out
from fleetlog.reports.writing import LIST_NAME, write_pages
from tests.reports.marina import CONTEXT, TODAY, render_pages, small_fleet, write_fleet
from tests.reports.pages import faults, rows_under, text_of

DAYS = [date(2025, 4, 15), date(2025, 10, 14)]
NAN = float("nan")

SCORE = Score(
    group="all",
    cases=120,
    engines=41,
    reached=100,
    coverage_share=0.81,
    coverage_least_share=0.55,
    coverage_most_share=0.93,
    early_share=0.09,
    late_share=0.10,
    rival_coverage_share=0.79,
    rival_early_share=0.08,
    rival_late_share=0.13,
    pinball_by_share_days=(4.0, 12.0, 5.0),
    rival_pinball_by_share_days=(8.0, 20.0, 14.0),
    median_error_days=17.4,
    rival_median_error_days=31.6,
    median_width_days=62.0,
)


def page_of(*scores: Score) -> str:
    shares = np.linspace(0, 1, 21)
    # The view needs the scores and the curve, not the cases behind them.
    result = Backtest(None, scores, shares, shares**1.1)  # type: ignore[arg-type]
    return laid_out("backtest.html", backtest_page(result, DAYS, None), CONTEXT, TODAY)


def test_the_page_is_valid_and_has_the_rates_figures_beside_the_forecasts() -> None:
    page = page_of(SCORE, replace(SCORE, group="private"))
    assert faults(page) == []
    heading, whole, private = rows_under(page, "groups")
    assert heading[2] == "Window held"
    assert whole == [
        "All",
        "120 of 41 engines",
        "81 % (79 %)",
        "9 % (8 %)",
        "10 % (13 %)",
        "4.0 / 12.0 / 5.0 (8.0 / 20.0 / 14.0)",
        "7.0 (14.0)",
        "17.4 (31.6)",
    ]
    assert private[0] == "Private"
    assert "81 % held the true day; 80 % should" in text_of(page)


def test_nothing_reached_yet_leaves_losses_open() -> None:
    score = replace(
        SCORE,
        reached=0,
        pinball_by_share_days=(NAN, NAN, NAN),
        rival_pinball_by_share_days=(NAN, NAN, NAN),
        median_error_days=NAN,
        rival_median_error_days=NAN,
    )
    page = page_of(score)
    assert "nan" not in text_of(page)
    assert "– / – / – (– / – / –)" in rows_under(page, "groups")[1]


def test_few_engines_are_said_to_tell_little() -> None:
    few, many = (text_of(page_of(replace(SCORE, engines=engines))) for engines in (9, 41))
    assert "by chance" in few
    assert "120 of 9 engines *" in few
    assert "9\xa0engines\xa0*" in page_of(replace(SCORE, engines=9))  # on one line
    assert "by chance" not in many
    assert "engines *" not in many
    assert "by chance" not in text_of(page_of(SCORE))


def test_the_plot_stays_in_its_picture_and_says_what_came_true() -> None:
    shares = [0.0, 0.25, 0.5, 0.75, 1.0]
    drawn = str(calibration_chart(shares, [0.0, 0.3, 0.6, 0.8, 1.0], "c"))
    assert "30 % for 25 %, 60 % for 50 %, 80 % for 75 %" in drawn.replace("\xa0", " ")
    assert {">chance stated<", ">came true<"} <= set(re.findall(r">[a-z ]+<", drawn))
    line = re.search(r'class="line" d="M([^"]+)"', drawn)
    assert line is not None
    figures = [float(f) for f in line[1].split()]
    assert all(0 <= x <= WIDE for x in figures[::2])
    assert all(0 <= y <= HIGH for y in figures[1::2])


def test_the_first_page_links_to_a_backtest_only_where_there_is_one() -> None:
    assert BACKTEST_PAGE not in render_pages(small_fleet(), CONTEXT)["index.html"]
    index = render_pages(small_fleet(), CONTEXT, has_backtest=True)["index.html"]
    assert f'href="{BACKTEST_PAGE}"' in index
    assert faults(index) == []


def test_later_reports_keep_the_page_of_a_backtest_and_link_to_it(tmp_path: Path) -> None:
    write_pages({BACKTEST_PAGE: page_of(SCORE)}, tmp_path, is_whole=False)
    for _ in range(2):
        write_fleet(small_fleet(), tmp_path)
        assert (tmp_path / BACKTEST_PAGE).read_text(encoding="utf-8") == page_of(SCORE)
        assert f'href="{BACKTEST_PAGE}"' in (tmp_path / "index.html").read_text(encoding="utf-8")
        assert BACKTEST_PAGE in json.loads((tmp_path / LIST_NAME).read_text(encoding="utf-8"))["pages"]
    (tmp_path / BACKTEST_PAGE).unlink()
    write_fleet(small_fleet(), tmp_path)
    assert BACKTEST_PAGE not in (tmp_path / "index.html").read_text(encoding="utf-8")


@pytest.mark.browser
def test_the_page_reads_on_a_phone_and_for_all(tmp_path: Path, browser: object) -> None:
    from tests.reports.browser import violations, window, written

    path = written({BACKTEST_PAGE: page_of(SCORE)}, tmp_path)[BACKTEST_PAGE]
    for wide in (320, 375, 1280):
        with window(browser, wide=wide) as page:  # type: ignore[arg-type]
            page.goto(path.as_uri())
            assert violations(page) == []
            assert page.evaluate("document.documentElement.scrollWidth") <= wide
            of_the_rate = page.locator("#groups ~ table .whole")
            lines = of_the_rate.evaluate_all("spans => spans.map(span => span.getClientRects().length)")
            assert set(lines) == {1}

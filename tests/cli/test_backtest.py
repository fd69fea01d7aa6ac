"""The command that judges the forecast on a log's own past."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import numpy as np

from fleetlog.cli.backtest import table_row
from fleetlog.forecast.scoring import Backtest
from fleetlog.reports.backtest_page import backtest_page
from tests.cli.conftest import Fleetlog
from tests.reports.test_backtest_page import DAYS, SCORE


def test_a_log_judges_its_forecast_beside_the_rate_by_use_and_by_readings(marina: Fleetlog) -> None:
    said = marina("backtest", "--stand-on", "2025-04-15", "--format", "json")
    assert (said.status, said.err) == (0, "")
    rows = {row["group"]: row for row in json.loads(said.out)}
    assert rows.keys() >= {"all", "private", "hire", "9 to 20 readings"}
    whole = rows["all"]
    assert whole["cases"] > 100
    assert whole["coverage_least_share"] <= whole["coverage_share"] <= whole["coverage_most_share"]
    assert abs(whole["coverage_share"] + whole["early_share"] + whole["late_share"] - 1) < 0.003
    assert abs(whole["pinball_ratio"] - whole["pinball_days"] / whole["rate_pinball_days"]) < 0.002
    mean = sum(whole[f"pinball_{percent}_days"] for percent in (10, 50, 90)) / 3
    assert abs(mean - whole["pinball_days"]) < 0.01


def test_the_table_the_page_and_its_link(twins: Fleetlog, tmp_path: Path) -> None:
    said = twins("backtest", "--every", "10", "--stand-on", "2025-01-10", "--out", "pages")
    assert said.status == 0
    heading, whole, *_ = said.out.splitlines()
    assert heading.split()[:4] == ["Group", "Cases", "Engines", "Held"]
    assert whole.startswith("all ")
    assert "the next 10 h" in said.out
    assert "backtest.html" in said.err
    page = (tmp_path / "pages/backtest.html").read_text(encoding="utf-8")
    assert "Did the forecast hold?" in page
    assert "backtest.html" in (tmp_path / "pages/index.html").read_text(encoding="utf-8")


def test_the_table_and_the_page_show_the_same_figures() -> None:
    score = replace(SCORE, coverage_share=0.8654, pinball_by_share_days=(4.0, 29.2502, 5.0))
    shown = table_row(score)
    assert (shown["held"], shown["pinball_50"], shown["late"]) == ("87% (79%)", "29.3 (20.0)", "10% (13%)")
    view = backtest_page(Backtest(None, (score,), np.zeros(2), np.zeros(2)), DAYS, None).groups[0]  # type: ignore[arg-type]
    assert (view.held[0].replace("\xa0", ""), view.losses[0]) == ("87%", "4.0 / 29.3 / 5.0")
    unreached = replace(score, rival_median_error_days=float("nan"))
    assert table_row(unreached)["error"] == "–"


def test_csv_has_every_figure(twins: Fleetlog) -> None:
    said = twins("backtest", "--every", "10", "--stand-on", "2025-01-10", "--format", "csv")
    assert said.status == 0
    (whole, *_) = csv.DictReader(io.StringIO(said.out))
    assert whole["group"] == "all"
    assert int(whole["cases"]) == 3
    assert {"pinball_90_days", "rate_late_share", "median_width_days"} <= whole.keys()


def test_what_cannot_be_judged_is_refused_in_one_line(fleetlog: Fleetlog, twins: Fleetlog) -> None:
    for words, part in (
        (("--stand-on", "2030-01-01"), "not before today"),
        (("--every", "0"), "--every more than 0"),
        (("--stand-on", "2000-01-01"), "before the first reading, of 2021-05-22"),
        (("--every", "5", "--stand-on", "2026-04-14"), "no reading tells"),
    ):
        said = twins("backtest", *words)
        assert said.status == 1
        assert said.out == ""
        assert part in said.err
        assert said.err.count("\n") == 1


def test_a_log_too_small_to_choose_days_names_one(fleetlog: Fleetlog) -> None:
    assert fleetlog("engine", "add", "E1", "--family", "V6", "--in-service", "2023-05-01").status == 0
    for day, hours in (("2024-05-01", "40"), ("2025-05-01", "90"), ("2026-03-01", "150")):
        assert fleetlog("hours", "E1", hours, "--on", day).status == 0
    said = fleetlog("backtest", "--every", "50")
    assert (said.status, said.out) == (1, "")
    assert "20 readings taken: 3 readings of 1 engine so far" in said.err
    assert said.err.endswith("such as --stand-on 2025-03-31\n")
    named = fleetlog("backtest", "--every", "50", "--stand-on", "2025-03-31", "--format", "json")
    assert (named.status, json.loads(named.out)[0]["cases"]) == (0, 1)


def test_an_empty_log_is_refused_in_one_line(fleetlog: Fleetlog) -> None:
    assert fleetlog("owner", "add", "Ann Bee").status == 0
    said = fleetlog("backtest")
    assert said.status == 1
    assert "0 readings of 0 engines" in said.err

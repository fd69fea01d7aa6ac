"""The command that judges the forecast on a log's own past."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

from tests.cli.conftest import Fleetlog


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


def test_an_empty_log_is_refused_in_one_line(fleetlog: Fleetlog) -> None:
    assert fleetlog("owner", "add", "Ann Bee").status == 0
    said = fleetlog("backtest")
    assert said.status == 1
    assert "0 readings of 0 engines" in said.err

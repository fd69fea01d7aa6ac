"""life, repairs, renew, demand: what a shop asks its own records, and what thin records answer."""

from __future__ import annotations

import csv
import io
import json
import math
from datetime import date, timedelta
from pathlib import Path

import pytest

from tests.files import table_rows

FIELDS = """
    item lives failed found_worn sound entered_with_age shape shape_low shape_high characteristic_life_hours
    characteristic_life_low characteristic_life_high b10_hours b10_low b10_high log_likelihood
""".split()  # noqa: SIM905  (as the interface lists them)
PUMP = "water pump impeller"
PUBLISHED = Path(__file__).parents[1] / "published/data"


def test_life_as_json_is_one_object_with_the_fields_scripts_rely_on(marina):
    said = marina("life", PUMP, "--where", "water=salt", "--format", "json")
    found = json.loads(said.out)
    assert set(FIELDS) <= set(found)
    assert found["item"] == PUMP
    assert found["lives"] == found["failed"] + found["found_worn"] + found["sound"]
    assert found["shape_low"] < found["shape"] < found["shape_high"]
    assert found["b10_low"] < found["b10_hours"] < found["b10_high"]
    assert found["characteristic_life_hours"] > found["b10_hours"]
    everywhere = json.loads(marina("life", "impeller", "--format", "json").out)
    assert everywhere["lives"] > found["lives"]


def lives_in_a_folder(folder: Path, lives: list[tuple[float, float, float]]) -> Path:
    """A log's folder in which one blade an engine lived so: low, high and age of entry, in hours."""
    new_on = date(2020, 1, 1)
    engines = ["serial,in_service_on,logged_from_new"]
    entries = ["serial,on,meter,action,item,condition,prior_hours,reason"]
    readings = ["serial,on,meter"]

    def at(hours: float) -> str:
        return f"{(new_on + timedelta(days=math.ceil(hours / 12))).isoformat()},{hours:g}"

    for number, (low, high, entered) in enumerate(lives):
        serial = f"R{number}"
        engines.append(f"{serial},{new_on.isoformat()},yes")
        came = f"used,{entered:g}" if entered else ","
        entries.append(f"{serial},{at(0)},fitted,blade,{came},")
        if entered < low < high < math.inf:
            entries.append(f"{serial},{at(low - entered)},inspected,blade,,,")
        if high < math.inf:
            reason = "failed" if low == high else "worn"
            entries.append(f"{serial},{at(high - entered)},removed,blade,,,{reason}")
        else:
            readings.append(f"{serial},{at(low - entered)}")
    folder.mkdir()
    for name, rows in (("engines", engines), ("entries", entries), ("readings", readings)):
        (folder / f"{name}.csv").write_text("\n".join([*rows, ""]), encoding="utf-8")
    return folder


def test_a_log_of_the_handbooks_units_has_the_printed_weibull(fleetlog, tmp_path: Path):
    """NIST/SEMATECH e-Handbook of Statistical Methods, 8.2.2.1 and 8.4.1.3 (printed), through a log."""
    lives = [
        (float(row["time_h"]), math.inf if row["censored"] == "1" else float(row["time_h"]), 0.0)
        for row in table_rows(PUBLISHED / "life_handbook_units.csv")
        for _ in range(int(row["count"]))
    ]
    assert fleetlog("import", str(lives_in_a_folder(tmp_path / "units", lives))).status == 0
    found = json.loads(fleetlog("life", "blade", "--format", "json").out)
    assert (found["lives"], found["failed"], found["sound"]) == (20, 10, 10)
    assert found["characteristic_life_hours"] == pytest.approx(606.5280, abs=1e-3)
    assert found["shape"] == pytest.approx(1.7208, abs=1e-4)
    assert found["log_likelihood"] == pytest.approx(-75.135, abs=1e-3)


def test_a_log_of_parts_looked_at_and_entered_with_age_has_the_reference_weibull(fleetlog, tmp_path: Path):
    """W. Nelson, Applied Life Data Analysis (1982), p. 415, late entry imposed (computed to 30 digits)."""
    lives = [
        (float(row["low"]), float(row["high"]), float(row["entered_at"]))
        for row in table_rows(PUBLISHED / "life_cracks_truncated_interval.csv")
        for _ in range(int(float(row["count"])))
    ]
    assert fleetlog("import", str(lives_in_a_folder(tmp_path / "parts", lives))).status == 0
    found = json.loads(fleetlog("life", "blade", "--format", "json").out)
    assert (found["lives"], found["found_worn"], found["sound"]) == (144, 71, 73)
    assert found["entered_with_age"] == 86
    assert found["shape"] == pytest.approx(1.394293879, rel=1e-6)
    assert found["characteristic_life_hours"] == pytest.approx(2168.2464247, rel=1e-6)
    assert found["b10_hours"] == pytest.approx(431.6825635, rel=1e-6)
    assert found["log_likelihood"] == pytest.approx(-230.2059626, rel=1e-6)


def test_life_in_words_defers_to_the_maker_and_compares_groups(marina):
    said = marina("life", PUMP, "--split", "water=salt")
    text = " ".join(said.out.split())
    assert said.status == 0
    for part in ("ended in failure", "one in ten is done by", "The maker's manual governs.", "salt water"):
        assert part in text, part
    groups = json.loads(marina("life", PUMP, "--split", "water=salt", "--format", "json").out)
    assert [group["group"] for group in groups["groups"]] == ["other water", "salt"]
    assert 0 <= groups["comparisons"][0]["p_value"] <= 1


def test_a_table_of_a_kind_has_plain_cells_whatever_is_compared(marina):
    (row,) = csv.DictReader(io.StringIO(marina("life", PUMP, "--split", "use", "--format", "csv").out))
    assert row["split_by"] == "use"
    assert not [cell for cell in row.values() if cell[:1] in ("{", "[")]


def test_ages_can_be_in_months_and_a_shape_can_be_stated(marina):
    months = json.loads(marina("life", PUMP, "--age", "months", "--format", "json").out)
    assert months["unit"] == "months"
    assert months["b10_months"] > 0
    stated = json.loads(marina("life", "timing belt", "--shape", "3", "--format", "json").out)
    assert (stated["shape"], stated["shape_stated"]) == (3, True)


def test_makers_of_a_part_are_compared_by_the_register_of_parts(marina):
    assert marina("part", "add", "NV-3105", "--maker", "Vellmar").status == 0
    assert "Vellmar" in marina("part", "list").out
    again = marina("part", "add", "nv-3105", "--maker", "Norvane")
    assert (again.status, len(again.err.splitlines())) == (1, 1)
    assert marina("part", "add", " ").status == 2
    found = json.loads(marina("life", PUMP, "--split", "maker", "--format", "json").out)
    assert {"Norvane", "Vellmar"} <= {group["group"] for group in found["groups"]}
    whole = json.loads(marina("life", PUMP, "--format", "json").out)
    assert sum(group["lives"] for group in found["groups"]) < whole["lives"]


def test_without_an_item_the_kinds_are_listed(marina):
    rows = list(csv.DictReader(io.StringIO(marina("life", "--format", "csv").out)))
    counts = {row["item"]: row for row in rows}
    assert counts[PUMP]["firm"] == "True"
    assert int(counts[PUMP]["failed"]) > 0
    assert PUMP in marina("life").out
    salt = json.loads(marina("life", "--where", "water=salt", "--format", "json").out)
    of_pump = json.loads(marina("life", PUMP, "--where", "water=salt", "--format", "json").out)
    assert {row["item"]: row["lives"] for row in salt}[PUMP] == of_pump["lives"]
    assert "expected one of" in marina("life", "--where", "water=sea").err


@pytest.mark.parametrize("words", [("--split", "water"), ("--shape", "2"), ("--out", "pages")])
def test_what_is_said_of_one_kind_needs_the_kind(marina, words):
    said = marina("life", *words)
    assert (said.status, "say which" in said.err) == (2, True)


def test_a_cost_is_not_made_less_by_another(marina):
    assert marina("renew", PUMP, "--planned", "9", "--failure", "90", "--tow", "-50").status == 2


@pytest.mark.parametrize("store", ["sqlite"])  # what is refused follows from lives, wherever they were read
@pytest.mark.parametrize(
    ("words", "part"),
    [
        (("life", "belt of nowhere"), "no kind of item 'belt of nowhere'"),
        (("life", "timing belt"), "too few to say, it takes 3"),
        (("life", "flywheel"), "none of"),
        (("life", PUMP, "--where", "water=sea"), "expected one of fresh, brackish, salt"),
        (("life", PUMP, "--where", "colour=red"), "expected one of family, maker, part, water, use"),
        (("life", PUMP, "--where", "family=V99"), "no family 'V99'"),
        (("life", PUMP, "--split", "boat"), "expected one of family, maker, part, water, use"),
        (("life", PUMP, "--confidence", "2"), "give a figure between 0 and 1"),
        (("life", PUMP, "--shape", "-1"), "a shape of -1 is not possible"),
        (("life", "anode", "--where", "maker=Nobody"), "no maker 'Nobody'"),
        (("repairs", "--split", "berth"), "expected one of family, water, use"),
        (("repairs", "--item", "flux capacitor"), "no kind of item"),
        (("repairs", "--item", "flywheel"), "no repair is on record"),
        (("renew", PUMP, "--planned", "0", "--failure", "9"), "give a cost above 0"),
        (("renew", "flywheel", "--planned", "1", "--failure", "9"), "none of"),
        (("renew", "thermostat", "--planned", "1", "--failure", "9"), "state the maker's with --interval"),
        (("renew", PUMP, "--planned", "1", "--failure", "9", "--open-every", "5"), "--open-every needs"),
        (("renew", PUMP, "--planned", "1", "--failure", "9", "--interval", "5000"), "beyond the 250 hours"),
        (("demand", "--days", "0d"), "give one above 0"),
        (("demand", "--level", "1.5"), "give a figure between 0 and 1"),
    ],
)
def test_what_cannot_be_said_is_refused_in_one_clear_line(marina, words, part):
    said = marina(*words)
    assert said.status == 1
    assert part in said.err
    assert len(said.err.splitlines()) == 1
    assert said.out == ""


def test_a_condition_that_is_none_is_wrong_usage(marina):
    assert marina("life", PUMP, "--where", "salt").status == 2


def test_the_page_of_a_kind_is_written_beside_what_is_there(marina, tmp_path):
    out = tmp_path / "pages"
    assert marina("life", PUMP, "--out", str(out)).status == 0
    assert marina("life", "anode", "--split", "water", "--out", str(out)).status == 0
    assert {page.name for page in (out / "life").iterdir()} == {"water-pump-impeller.html", "anode.html"}


def test_why_tells_the_chance_of_failure_where_the_records_are_firm(marina):
    lines = json.loads(marina("due", "--all", "--item", PUMP, "--format", "json").out)
    line = next(
        li for li in lines if li["rule"] and li["state"] == "later" and li["serial"].startswith("ML4")
    )
    said = marina("why", line["serial"], line["rule"])
    assert "the chance that it fails or is found worn before the next likely visit" in said.out
    belt = marina("why", line["serial"], "timing-belt-replace")
    assert "the chance that it fails" not in belt.out


def test_repairs_per_engine_by_use_and_their_trend(marina):
    found = json.loads(marina("repairs", "--split", "use", "--format", "json").out)
    assert found["repairs"] == sum(group["repairs"] for group in found["groups"])
    means = [row["mean"] for row in found["mean_cumulative"]]
    assert means == sorted(means)
    limited = [row for row in found["mean_cumulative"] if row["at_risk"] > 1]
    assert all(row["low"] <= row["mean"] <= row["high"] for row in limited)
    assert all(row["low"] is None for row in found["mean_cumulative"] if row["at_risk"] == 1)
    assert 0 <= found["laplace_p_value"] <= 1
    assert found["watched_hours"] == round(found["watched_hours"], 3)
    text = marina("repairs", "--where", "use=hire").out
    assert "repairs (any item)" in " ".join(text.split())
    assert json.loads(marina("repairs", "--age", "months", "--format", "json").out)["unit"] == "months"


def test_one_engines_repairs_have_the_handbooks_mean_time_between_them(fleetlog, tmp_path: Path):
    """NIST/SEMATECH e-Handbook of Statistical Methods, 8.2.2.3 and 8.4.5.2 (printed), through a log."""
    folder = tmp_path / "handbook"
    folder.mkdir()
    new_on = date(2020, 1, 1)
    ages = [5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478]
    days = [(new_on + timedelta(days=age)).isoformat() for age in (*ages, 1500)]
    repairs = [f"R1,{day},{age},fitted,seal,failed" for day, age in zip(days, ages, strict=False)]
    for name, rows in (
        (
            "engines",
            [
                "serial,in_service_on,logged_from_new",
                f"R1,{new_on.isoformat()},yes",
                "R2,,",
                "R3,2199-01-01,",
            ],
        ),
        ("entries", ["serial,on,meter,action,item,reason", *repairs]),
        ("readings", ["serial,on,meter", f"R1,{days[-1]},1500", "R2,2024-01-01,9", "R2,2025-01-01,90"]),
    ):
        (folder / f"{name}.csv").write_text("\n".join([*rows, ""]), encoding="utf-8")
    assert fleetlog("import", str(folder)).status == 0
    between = json.loads(fleetlog("repairs", "--engine", "R1", "--format", "json").out)[
        "time_between_repairs"
    ]
    assert between["growth_slope"] == pytest.approx(0.516494, abs=1e-6)
    assert between["mean"] == pytest.approx(310.234, abs=1e-3)
    assert between["low"] == pytest.approx(157.7138, abs=1e-3)
    assert between["high"] == pytest.approx(548.5566, abs=1e-3)
    alone = json.loads(fleetlog("repairs", "--engine", "R1", "--format", "json").out)["mean_cumulative"]
    assert [(row["mean"], row["low"], row["high"]) for row in alone[:2]] == [(1, None, None), (2, None, None)]
    said = " ".join(fleetlog("repairs", "--engine", "R1").out.split())
    assert "By now it has one in about 310 hours (158 to 549, 80 % sure)" in said
    everybody = json.loads(fleetlog("repairs", "--format", "json").out)
    assert everybody["time_between_repairs"] is None
    not_yet = fleetlog("repairs", "--engine", "R3")
    assert (not_yet.status, "no repair is on record" in not_yet.err) == (1, True)


def test_renewing_is_never_advised_beyond_the_makers_interval(marina):
    costs = ("--planned", "180", "--failure", "240", "--tow", "350", "--while-open", "60")
    found = json.loads(marina("renew", PUMP, *costs, "--format", "json").out)
    assert found["failure_cost"] == 590
    assert found["advice"]
    for advice in found["advice"]:
        assert advice["advised_age"] <= advice["maker_interval"]
        assert advice["least_cost_when_open"] is not None
        assert 0 < advice["failed_share_at_maker"] < 1
    text = " ".join(marina("renew", PUMP, *costs).out.split())
    assert "The maker's manual governs." in text
    stated = json.loads(marina("renew", PUMP, *costs, "--interval", "50", "--format", "json").out)
    assert [advice["maker_interval"] for advice in stated["advice"]] == [50]


def test_severe_water_and_use_stand_beside_the_makers_interval(marina):
    text = " ".join(marina("renew", PUMP, "--planned", "100", "--failure", "110").out.split())
    assert "every 250 hours (brackish 225, hire 200, salt 187.5) as the maker says" in text
    stated = ("--planned", "100", "--failure", "110", "--interval", "160")
    text = " ".join(marina("renew", PUMP, *stated).out.split())
    assert "every 160 hours (salt 150) as the maker says" in text
    salt = " ".join(marina("life", PUMP, "--where", "water=salt").out.split())
    assert "At the maker's 187.5 hours of the I4 belt-cam schedule" in salt


def test_what_is_grave_by_its_inspections_has_no_age_of_least_cost(marina):
    costs = ("--planned", "100", "--failure", "1000", "--interval", "500")
    found = json.loads(marina("renew", "steering linkage", *costs, "--format", "json").out)
    assert [(advice["grave"], advice["advised_age"]) for advice in found["advice"]] == [(True, None)]
    said = " ".join(marina("renew", "steering linkage", *costs).out.split())
    assert "cost is no measure here" in said
    assert "would not pay" not in said


def test_demand_expects_more_the_further_it_looks_and_lists_what_to_order(marina):
    rows = json.loads(marina("demand", "--format", "json").out)
    by_part: dict[str, list[dict]] = {}
    for row in rows:
        by_part.setdefault(row["part_number"], []).append(row)
    for found in by_part.values():
        assert [row["days"] for row in found] == [30, 90, 365]
        expected = [row["expected"] for row in found]
        assert expected == sorted(expected)
        assert all(row["enough"] >= 0 for row in found)
    order = json.loads(marina("demand", "--to-order", "--days", "90d", "--format", "json").out)
    assert order
    assert all(row["to_order"] > 0 and row["days"] == 90 for row in order)
    shown = [str(row[name]) for row in rows for name in ("enough", "on_order", "to_order")]
    assert max(len(figure.partition(".")[2]) for figure in shown) <= 2, shown
    assert len(marina("demand").out.splitlines()) == 1 + len(rows)


def test_what_a_month_takes_does_not_depend_on_how_far_else_is_looked(marina):
    def month(*more: str) -> dict[str, float]:
        rows = json.loads(marina("demand", "--days", "30d", *more, "--format", "json").out)
        return {row["part_number"]: row["expected"] for row in rows if row["days"] == 30}

    near, far = month(), month("--days", "365d")
    assert near == pytest.approx({part: far[part] for part in near}, rel=0.002, abs=0.002)

"""fleetlog tool, torque, measure, answer: wrenches and what was read off them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest


@pytest.fixture
def bench(twins):
    added = twins(
        "tool", "add", "Bench wrench", "--unit", "lbf.ft", "--low", "10", "--high", "80", "--id", "W-1"
    )
    assert added.status == 0, added.err
    assert twins("tool", "calibrate", "W-1", "--on", "2025-03-02", "--certificate", "C-1").status == 0
    return twins


def nut(fleetlog, applied, *more):
    return fleetlog("torque", "TT-0017", "nut", "--applied", applied, "--unit", "lbf·ft", *more)


def test_a_torque_is_kept_as_read_and_in_newton_metres(bench):
    said = nut(bench, "49", "--on", "2025-06-01", "--tool", "bench")
    assert said.status == 0
    assert "49 lbf·ft (66.4 N·m)" in said.out
    assert said.err == ""
    (row,) = json.loads(bench("evidence", "TT-0017", "--format", "json").out)
    assert row["newton_metres"] == pytest.approx(66.4351, abs=1e-4)
    assert row["how"].endswith("Bench wrench, calibrated 2025-03-02")


def test_a_wrench_out_of_calibration_or_range_is_accepted_and_flagged_everywhere(bench):
    late = nut(bench, "49", "--on", "2026-03-03", "--tool", "W-1")
    assert late.status == 0
    assert "calibration ran out on 2026-03-02, 12 months after 2025-03-02" in late.err
    assert "flagged" not in nut(bench, "49", "--on", "2026-03-02", "--tool", "W-1").err
    far = nut(bench, "174", "--on", "2025-06-01", "--tool", "W-1")
    assert "174 lbf·ft (235.9 N·m) is outside the range of Bench wrench, 10 to 80 lbf·ft" in far.err
    flagged = json.loads(bench("evidence", "TT-0017", "--flagged", "--format", "json").out)
    assert len(flagged) == 2
    history = bench("history", "TT-0017").out
    assert "outside the range of Bench wrench" in history
    assert "calibration ran out" in history


def test_the_list_of_tools_due_says_why(bench):
    (row,) = json.loads(bench("tool", "due", "--format", "json").out)
    assert (row["tool_id"], row["state"], row["due_on"]) == ("W-1", "due", "2026-03-02")
    assert bench("tool", "calibrate", "W-1", "--on", "2026-04-10").status == 0
    assert "No tool is due" in bench("tool", "due").out
    bench("tool", "add", "New wrench", "--unit", "N·m", "--low", "5", "--high", "25", "--id", "W-2")
    (row,) = json.loads(bench("tool", "due", "--format", "json").out)
    assert (row["tool_id"], row["why"]) == ("W-2", "no calibration on record")
    assert bench("tool", "retire", "W-2", "--reason", "dropped").status == 0
    assert "No tool is due" in bench("tool", "due").out
    rows = json.loads(bench("tool", "list", "--format", "json").out)
    assert [row["state"] for row in rows] == ["in calibration", "retired"]
    assert rows[1]["why"] == "dropped"


def test_the_shops_own_terms_stand_before_the_standards(bench):
    bench("tool", "add", "Own", "--unit", "N.m", "--low", "5", "--high", "99", "--id", "O", "--months", "6",
          "--cycles", "10")  # fmt: skip
    bench("tool", "calibrate", "O", "--on", "2026-01-01")
    for _ in range(2):
        said = bench(
            "torque", "TT-0017", "bolts", "--applied", "8", "--unit", "Nm", "--fasteners", "8", "--tool", "O"
        )
    assert "16 cycles since 2026-01-01, more than 10" in said.err


def test_a_measurement_left_outside_its_limits_keeps_its_visit_open(twins):
    for stage, status in (("found", 0), ("left", 1)):
        visit = f"V-{stage}"
        said = twins("measure", "TT-0017", "anode", "--quantity", "mass left", "--value", "41", "--unit", "%",
                     "--low", "50", "--stage", stage, "--visit", visit)  # fmt: skip
        assert said.status == 0, said.err
        assert twins("visit", "close", visit).status == status


def test_what_is_measured_goes_by_names_that_are_known_and_a_misspelt_one_is_refused(twins):
    def measured(*words):
        return twins("measure", "TT-0017", *words, "--quantity", "mass left", "--value", "62")

    wrong = measured("anod")
    assert (wrong.status, wrong.out) == (1, "")
    assert "no item 'anod'; nearest: anode; say --new-item if it is a kind of its own" in wrong.err
    assert "TT-0017, anode (gearcase)," in measured("ANODE", "--position", "Gearcase").out
    assert "no position of the anode 'gearcse'" in measured("anode", "--position", "gearcse").err
    assert "TT-0017, anod," in measured("anod", "--new-item").out
    assert "TT-0017, transom bolt (4)," in measured("transom bolt", "--position", "4").out
    assert "nearest: transom bolt" in measured("transom blot").err


def test_what_is_off_waits_in_the_check_until_it_is_answered(bench):
    off = nut(bench, "40", "--low", "47").out.split()[1].rstrip(":")
    told = bench("check")
    assert told.status == 0
    assert f"band at least 47 lbf·ft; say what was done: fleetlog answer {off}" in told.out
    bench("answer", off, "drawn up again")
    assert "fleetlog answer" not in bench("check").out


def test_in_the_list_a_figure_that_is_off_is_not_said_twice(bench):
    nut(bench, "40", "--low", "47")
    listed = bench("evidence", "TT-0017").out
    assert listed.count("40 lbf·ft") == 1
    assert "; OFF" in listed
    (row,) = json.loads(bench("evidence", "TT-0017", "--format", "json").out)
    assert row["flags"].startswith("OFF: ")


def test_an_answer_needs_something_that_is_off_unless_it_was_entered_wrong(bench):
    recorded = nut(bench, "49", "--low", "47", "--high", "51").out.split()[1].rstrip(":")
    said = bench("answer", recorded, "looked at")
    assert said.status == 1
    assert "nothing to answer" in said.err
    assert bench("answer", recorded, "typed for the wrong engine", "--outcome", "entered wrong").status == 0
    assert bench("answer", "t-none", "x").status == 1


def test_what_cannot_be_is_refused_in_one_line(bench):
    for words in (
        ("tool", "add", "Back to front", "--unit", "N·m", "--low", "50", "--high", "5"),
        ("tool", "add", "Again", "--unit", "N·m", "--low", "5", "--high", "50", "--id", "W-1"),
        ("tool", "calibrate", "W-9"),
        ("tool", "calibrate", "W-1", "--on", "2026-05-01"),
        ("torque", "TT-0017", "nut", "--applied", "49", "--unit", "N·m", "--tool", "lost"),
        ("torque", "TT-0017", "nut", "--applied", "49", "--unit", "N·m", "--on", "2026-05-01"),
    ):
        said = bench(*words)
        assert said.status == 1, words
        assert len(said.err.splitlines()) == 1, said.err
    assert bench("torque", "TT-0017", "nut", "--applied", "49", "--unit", "cubits").status == 2
    assert bench("torque", "TT-0017", "nut", "--applied", "many", "--unit", "N·m").status == 2


def test_evidence_goes_out_and_comes_in_again_the_same(bench):
    nut(bench, "49.5", "--target", "49", "--low", "47", "--high", "51", "--tool", "W-1", "--visit", "V-5")
    off = nut(bench, "40", "--low", "47").out.split()[1].rstrip(":")
    bench("answer", off, "drawn up again")
    bench(
        "measure", "TT-0017", "anode", "--quantity", "mass left", "--value", "62.5", "--position", "gearcase"
    )
    assert bench("export", "out").status == 0
    assert "49.5,lbf·ft,66.4351,67.113," in Path("out/torques.csv").read_text(encoding="utf-8")
    assert "Nothing new." in bench("import", "out").out
    told = bench("evidence", "TT-0017", "--format", "json").out
    assert bench("--log", "second.db", "import", "out").status == 0
    assert bench("--log", "second.db", "evidence", "TT-0017", "--format", "json").out == told
    assert bench("--log", "second.db", "export", "again").status == 0
    for file in ("tools", "calibrations", "torques", "measurements", "checks", "answers"):
        assert Path(f"out/{file}.csv").read_bytes() == Path(f"again/{file}.csv").read_bytes()


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        ("t1,TT-0017,2026-04-01,nut,49,cubits,,", "column unit"),
        ('t1,TT-0017,2026-04-01,nut,"49,5",N·m,,', "decimal commas: say --decimal-comma"),
        ("t1,TT-0017,2026-04-01,nut,49,lbf·ft,49,", "column applied_nm"),
        ("t1,TT-0099,2026-04-01,nut,49,lbf·ft,,", "an engine of engines.csv or of the log"),
        ("t1,TT-0017,2026-04-01,nut,49,lbf·ft,,W-9", "a tool of tools.csv or of the log"),
    ],
)
def test_a_wrong_torque_of_a_folder_is_named_and_nothing_is_taken_in(twins, row, expected):
    Path("in").mkdir()
    Path("in/torques.csv").write_text(
        f"torque_id,serial,on,joint,applied,unit,applied_nm,tool_id\n{row}\n", encoding="utf-8"
    )
    said = twins("import", "in")
    assert said.status == 1
    assert expected in said.err
    assert "torques.csv, line 2" in said.err
    assert "No evidence" in twins("evidence", "TT-0017").out


def test_a_figure_that_the_schedules_limit_cannot_be_compared_with_is_told(marina):
    told = "42 % counts for nothing by the schedule, which judges anode by figures in % left"
    measure = ("measure", "20417", "anode", "--position", "gearcase", "--quantity", "mass", "--value", "42")
    assert told in marina(*measure, "--unit", "%").err
    assert "counts for nothing" not in marina(*measure, "--unit", "% left").err
    look = ("inspect", "20417", "anode", "--position", "trim tab")
    assert told in marina(*look, "--measured", "42", "--unit", "%").err
    assert "counts for nothing" not in marina(*look, "--measured", "42", "--unit", "% left").err
    assert "about half counts for nothing" in marina(*look, "--measured", "about half").err

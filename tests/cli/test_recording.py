"""fit and its siblings, hours, readings, voids and deferrals: what a person records."""

from __future__ import annotations

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import pytest

from tests.cli.conftest import Fleetlog
from tests.exchange.folders import schedule_text, with_schedule

NO_HOURS = "the text has no hours; write a boat a line, such as 'Sea Spray 412'"


def line_of(fleetlog, serial, rule, position=None):
    lines = json.loads(fleetlog("due", "--all", "--engine", serial, "--format", "json").out)
    return next(li for li in lines if li["rule"] == rule and li["position"] == position)


def test_work_recorded_as_what_counts_for_no_line_is_told_to_be_that(marina):
    said = marina("service", "20391", "gear oil", "--on", "2026-04-15")
    assert (
        "serviced does not count for: Change gear oil; fitted does; if that was done: fleetlog void"
        in said.err
    )
    assert "does not count" not in marina("inspect", "20391", "spark plugs", "--on", "2026-04-15").err
    assert "does not count" not in marina("service", "20391", "anode", "--position", "gearcase").err


def test_a_belt_fitted_today_is_due_its_interval_from_now(twins):
    said = twins("fit", "TT-0017", "timing belt", "--on", "2026-04-15", "--hours", "345.5", "--part", "X-1")
    assert said.status == 0
    assert "TT-0017, timing belt fitted on 2026-04-15 at 345.5 h" in said.out
    line = line_of(twins, "TT-0017", "timing-belt-replace")
    assert line["last_done_on"] == "2026-04-15"
    assert line["last_done_hours"] == 345.5
    assert line["due_hours"] > 345.5
    assert line["engine_hours"] == 345.5
    assert f"\n  {line['title']}: {line['due_hours']} h or {line['due_on']}\n" in said.out
    assert "anode" not in said.out
    one = twins("fit", "TT-0017", "anode", "--position", "gearcase").out
    assert one.count("\n  ") == 1
    placed = twins("inspect", "TT-0017", "timing belt", "--position", "bank 1", "--hours", "345.5").out
    assert placed.count("\n  ") == 2, "its rules name no place, so they are of this one too"


def test_an_item_name_is_taken_in_any_case_and_a_wrong_one_is_offered_the_nearest(twins):
    assert twins("fit", "TT-0017", "TIMING Belt", "--hours", "345.5").status == 0
    wrong = twins("fit", "TT-0017", "timng belt")
    assert wrong.status == 1
    assert "nearest: timing belt" in wrong.err


def test_an_item_at_several_positions_is_refused_without_one_and_all_says_so(twins):
    refused = twins("inspect", "TT-0017", "anode")
    assert refused.status == 1
    assert "--position all" in refused.err
    assert twins("inspect", "TT-0017", "anode", "--position", "all").status == 0
    wrong = twins("inspect", "TT-0017", "anode", "--position", "bow")
    assert wrong.status == 1
    assert len(wrong.err.splitlines()) == 1


def test_several_jobs_are_recorded_at_once_each_as_its_rule_asks(marina):
    said = marina(
        "done", "20391", "Change gear oil", "impeller", "anode", "--hours", "244.5", "--on", "2026-04-15",
        "--lot", "impeller=L-7", "--part", "gear oil=NV-9", "--visit", "J-1", "--done-by", "Femke",
    )  # fmt: skip
    assert said.status == 0, said.err
    history = json.loads(marina("history", "20391", "--format", "json").out)
    written = [entry for entry in history["entries"] if entry["visit_id"] == "J-1"]
    assert {(e["action"], e["item"], e["position"], e["part_number"], e["lot"]) for e in written} == {
        ("fitted", "gear oil", None, "NV-9", None),
        ("fitted", "water pump impeller", None, "NV-4410A", "L-7"),
        ("inspected", "anode", None, None, None),
    }
    assert {(e["engine_hours"], e["by"]) for e in written} == {(244.5, "Femke")}
    assert said.out.count("Recorded ") == 3
    for place in ("trim tab", "gearcase"):
        line = line_of(marina, "VK6-20391", "anode-inspect", place)
        assert line["last_done_on"] == "2026-04-15"
        assert f"{line['title']} ({place}): {line['due_hours']} h" in said.out


@pytest.mark.parametrize(
    ("jobs", "status", "why"),
    [
        (("gear oil", "belt"), 1, "which rule? 'belt' fits"),
        (
            ("gear oil", "zzz"),
            1,
            "no rule 'zzz' in V6 belt-cam, the schedule of the engine: fleetlog schedule",
        ),
        (("gear oil", "--part", "impeller=3"), 1, "no job among those done 'impeller'"),
        (("gear oil", "--part", "gear oil=3", "--part", "change gear oil=4"), 1, "both '3' and '4'"),
        (("gear oil", "--part", "gear oil=3", "--part", "gear oil=4"), 1, "both '3' and '4'"),
        (("gear oil", "--lot", "gear oil=3", "--lot", "gear oil=4"), 1, "both '3' and '4'"),
        (("Replace timing belt", "tensioner", "--lot", "belt=L-7"), 1, "which job among those done? 'belt'"),
        (("gear oil", "--lot", "L-7"), 2, "write it as JOB=LOT"),
        (("gear oil", "impeller", "--on", "2026-04-16"), 1, "2026-04-16"),
        ((), 2, "JOB"),
    ],
)
def test_of_several_jobs_all_are_recorded_or_none(marina, jobs, status, why):
    before = marina("history", "20391", "--format", "json").out
    refused = marina("done", "20391", *jobs)
    assert (refused.status, refused.out) == (status, "")
    assert why in refused.err
    assert marina("history", "20391", "--format", "json").out == before


def test_jobs_on_a_boat_were_done_on_each_of_its_engines_with_its_own_hours(marina):
    before = {s: marina("history", s, "--format", "json").out for s in ("19517", "19521")}
    done = ("done", "lady g", "gear oil", "impeller", "--visit", "J-1")
    for hours, why in (
        (("--hours", "352.5"), "Lady Garstone has 2 engines: say which, such as port=412.5 starboard=412.5"),
        (("--hours", "bow=352.5"), "no engine of Lady Garstone at 'bow'"),
        (
            ("--hours", "port=352.5", "--hours", "port=353"),
            "'port=353' is said of an engine that has its hours",
        ),
        (("--hours", "port=a lot"), "'a lot'"),
    ):
        refused = marina(*done, *hours)
        assert refused.status != 0
        assert why in refused.err
    assert {s: marina("history", s, "--format", "json").out for s in before} == before
    said = marina(*done, "--hours", "stbd=355", "--hours", "port=352.5")
    assert said.status == 0, said.err
    assert said.out.count("Recorded ") == 4
    for serial, hours in (("19517", 352.5), ("19521", 355)):
        entries = json.loads(marina("history", serial, "--format", "json").out)["entries"]
        written = [(e["item"], e["engine_hours"]) for e in entries if e["visit_id"] == "J-1"]
        assert written == [("water pump impeller", hours), ("gear oil", hours)]
        lines = said.out.splitlines()
        first = next(n for n, line in enumerate(lines) if serial in line)
        assert lines[first + 2].startswith("  Change gear oil: ")
    assert marina("done", "Lady Garstone", "anode").out.count("Recorded ") == 2


def test_a_job_is_found_by_its_item_and_what_is_near_is_offered_as_the_due_list_calls_it(marina):
    done = marina("done", "20391", "LAUNCH check", "lay-up flush")
    assert re.findall(r"VK6-20391, (.*) on 2026-04-15", done.out) == [
        "launch check inspected",
        "lay-up flush serviced",
    ]
    wrong = marina("done", "20391", "impeler")
    assert wrong.err.startswith("fleetlog: no rule 'impeler'; nearest: Replace water pump impeller")
    assert "Replace timing belt" in marina("why", "20391", "timing belt").out


def test_the_same_work_said_twice_on_a_day_is_recorded_and_told(twins):
    first = twins("inspect", "TT-0017", "timing belt")
    entry_id = first.out.split()[1].rstrip(":")
    assert first.err == ""
    again = twins("inspect", "TT-0017", "Timing Belt")
    assert again.status == 0
    second = again.out.split()[1].rstrip(":")
    told = f"{entry_id} says the same of that day; if it is one job: fleetlog void {second} --reason ..."
    assert again.err.splitlines() == [f"fleetlog: note: {told}"]
    twins("void", entry_id, "--reason", "twice")
    assert twins("void", second, "--reason", "twice").status == 0
    assert twins("inspect", "TT-0017", "timing belt").err == ""
    look = ("inspect", "TT-0017", "anode", "--position", "gearcase", "--unit", "% left", "--measured")
    assert [twins(*look, figure).err for figure in ("62", "60")] == ["", ""]
    assert "says the same of that day" in twins(*look, "60").err
    unmeasured = twins(*look[:5]).err
    assert "says the same of that day" in unmeasured
    assert "counts for nothing" not in unmeasured


def test_a_blank_part_or_lot_is_none(twins):
    twins("fit", "TT-0017", "timing belt", "--part", " ", "--lot", "", "--note", "  ")
    entry = json.loads(twins("history", "TT-0017", "--format", "json").out)["entries"][0]
    assert (entry["part_number"], entry["lot"], entry["note"]) == (None, None, None)


def test_two_rules_of_one_work_make_one_entry_and_a_named_place_is_the_only_one(marina):
    title = "Inspect anode, renew at half its mass (trim tab)"
    done = marina("done", "20391", title, "Change gear oil", "change GEAR oil")
    assert done.out.count("Recorded ") == 2
    assert line_of(marina, "VK6-20391", "anode-inspect", "trim tab")["last_done_on"] == "2026-04-15"
    assert line_of(marina, "VK6-20391", "anode-inspect", "gearcase")["last_done_on"] != "2026-04-15"


def test_what_scripts_say_to_fit_keeps_working(twins):
    words = "--on 2026-04-14 --hours 345.5 --position all --part X-1 --lot L-7 --used --prior-hours 30"
    said = twins("fit", "TT-0017", "timing belt", *words.split(), "--prior-months", "4", "--why", "failed")
    assert (said.status, said.err) == (0, "")
    done = json.loads(twins("history", "TT-0017", "--format", "json").out)["entries"][0]
    assert (done["part_number"], done["lot"], done["condition"]) == ("X-1", "L-7", "used")
    assert (done["prior_hours"], done["prior_months"], done["reason"]) == (30.0, 4, "failed")


def test_a_second_fitting_of_the_same_day_is_refused_and_nothing_is_written(twins):
    assert twins("fit", "TT-0017", "timing belt").status == 0
    before = json.loads(twins("history", "TT-0017", "--format", "json").out)
    again = twins("fit", "TT-0017", "timing belt")
    assert again.status == 1
    assert "says so already" in again.err
    assert json.loads(twins("history", "TT-0017", "--format", "json").out) == before


def test_removing_what_is_off_already_is_refused(twins):
    assert twins("remove", "TT-0017", "timing belt", "--reason", "failed").status == 0
    again = twins("--today", "2026-04-16", "remove", "TT-0017", "timing belt", "--reason", "failed")
    assert again.status == 1
    assert "nothing was put on since" in again.err


def test_work_in_the_future_is_refused(twins):
    said = twins("fit", "TT-0017", "timing belt", "--on", "2026-04-16")
    assert said.status == 1
    assert "after today" in said.err


def test_a_used_belt_brings_its_age(twins):
    twins(
        "fit",
        "TT-0017",
        "timing belt",
        "--hours",
        "345.5",
        "--used",
        "--prior-hours",
        "100",
        "--prior-months",
        "12",
    )
    used = line_of(twins, "TT-0017", "timing-belt-replace")
    twins("fit", "TT-0021", "timing belt", "--hours", "346.5")
    new = line_of(twins, "TT-0021", "timing-belt-replace")
    assert new["due_hours"] - used["due_hours"] == pytest.approx(1 + 100)
    assert int(new["due_on"][:4]) - int(used["due_on"][:4]) == 1


def test_a_used_belt_of_unknown_age_is_told_to_be_one(twins):
    said = twins("fit", "TT-0017", "timing belt", "--used")
    assert re.search(
        r"its age is not known, so nothing says how long it will last; if it is: fleetlog void \S+ --reason"
        r" \.\.\., and record it again with --prior-hours and --prior-months\n",
        said.err,
    )
    assert "how long it will last" not in twins("fit", "TT-0021", "timing belt").err


def test_a_used_belt_of_unknown_age_is_no_record(twins):
    twins("fit", "TT-0017", "timing belt", "--hours", "345.5", "--used")
    line = line_of(twins, "TT-0017", "timing-belt-replace")
    assert (line["state"], line["due_on"], line["due_hours"]) == ("no record", None, None)
    assert line["last_done_on"] == "2026-04-15"


def test_an_item_from_another_engine_has_its_age_looked_up(twins):
    said = twins("fit", "TT-0017", "water pump impeller", "--hours", "345.5", "--from", "TT-0021")
    assert said.status == 0
    assert "looked up on TT-0021" in said.out


def test_a_gasket_put_back_used_is_work_for_the_next_access(twins):
    said = twins(
        "reuse", "TT-0017", "cam cover gasket", "--position", "bank 1", "--note", "sealant at the corners"
    )
    assert said.status == 0
    lines = json.loads(twins("due", "--engine", "TT-0017", "--format", "json").out)
    owed = next(li for li in lines if li["item"] == "cam cover gasket")
    assert owed["state"] == "next access"
    assert "sealant at the corners" in owed["why"]


def test_a_finding_brings_the_next_look_closer(twins):
    twins(
        "inspect", "TT-0017", "timing belt", "--hours", "345.5", "--again-hours", "20", "--note", "edge wear"
    )
    line = line_of(twins, "TT-0017", "timing-belt-inspect")
    assert line["due_hours"] == 365.5
    assert "edge wear" in line["why"]


def test_a_void_is_kept_and_shown_and_takes_its_figure_back(twins):
    before = line_of(twins, "TT-0017", "timing-belt-replace")
    entry_id = twins("fit", "TT-0017", "timing belt", "--hours", "345.5").out.split()[1].rstrip(":")
    said = twins("void", entry_id, "--reason", "wrong engine")
    assert said.status == 0
    assert line_of(twins, "TT-0017", "timing-belt-replace") == before
    hidden = twins("history", "TT-0017").out
    assert entry_id not in hidden
    assert "1 entry taken back: see --with-voided\n" in hidden
    shown = twins("history", "TT-0017", "--with-voided").out
    assert "VOIDED on 2026-04-15 by Tess: wrong engine" in shown
    assert twins("void", entry_id, "--reason", "again").status == 1


def test_a_deferral_moves_the_limit_out_and_is_shown_with_person_and_reason(marina):
    line = next(
        li
        for li in json.loads(marina("due", "--format", "json").out)
        if li["state"] == "overdue" and li["due_on"] and li["governs"] == "date"
    )
    position = ("--position", line["position"]) if line["position"] else ()
    said = marina(
        "defer",
        line["serial"],
        line["rule"],
        *position,
        "--until",
        "2026-06-01",
        "--reason",
        "in the yard in May",
    )
    assert said.status == 0
    assert "maker's limit is not changed" in said.err
    hours = f"at {line['due_hours']} h or " if line["due_hours"] else ""
    own = f"By the schedule alone it is due {hours}on {line['due_on']}."
    assert own in said.out
    assert own in marina("why", line["serial"], line["rule"]).out
    after = line_of(marina, line["serial"], line["rule"], line["position"])
    assert after["due_on"] == "2026-06-01"
    assert after["deferred_until"] == "2026-06-01"
    assert "Deferred by Tess" in after["why"]
    assert "in the yard in May" in after["why"]


def test_hours_of_a_boat_are_taken_by_position(twins):
    said = twins("hours", "plain twins", "port=345.5", "starboard=347", "--on", "2026-04-14")
    assert said.status == 0
    assert len(said.out.splitlines()) == 2
    assert line_of(twins, "TT-0021", "timing-belt-replace")["engine_hours"] == 347.0


def test_hours_of_twins_without_positions_are_refused_with_the_positions(twins):
    said = twins("hours", "Plain Twins", "345.5")
    assert said.status == 1
    assert "port=412.5" in said.err


def test_a_position_may_be_abbreviated_and_an_unknown_one_is_told_how_it_is_said(twins):
    said = twins("hours", "Plain Twins", "pt=345.5", "stbd=347", "--on", "2026-04-14")
    assert said.out.startswith("TT-0017: 345.5 h")
    assert "TT-0021: 347.0 h" in said.out
    unknown = twins("hours", "Plain Twins", "bow=345.5")
    assert "nearest: port, starboard; fleetlog engine change SERIAL --position PLACE" in unknown.err
    engine = twins("hours", "TT-0017", "port=345.5")
    assert "it is an engine: say its hours without a place" in engine.err


def test_twins_that_fit_the_other_way_round_are_asked_about(twins):
    twins("hours", "Plain Twins", "port=345", "starboard=390", "--on", "2026-04-10")
    crossed = twins("hours", "Plain Twins", "port=391", "starboard=346", "--on", "2026-04-12")
    assert crossed.status == 1
    assert "--crossed" in crossed.err
    done = twins("hours", "Plain Twins", "port=391", "starboard=346", "--on", "2026-04-12", "--crossed")
    assert "TT-0017: 346.0 h" in done.out


def test_a_reading_that_cannot_be_is_held_with_both_ways_out(twins):
    twins("hours", "TT-0017", "345.5", "--on", "2026-04-10")
    below = twins("hours", "TT-0017", "300", "--on", "2026-04-14")
    assert below.status == 0
    assert "fleetlog meter" in below.err
    assert "fleetlog reading withdraw" in below.err
    refused = twins("reading", "confirm", "TT-0017", "--on", "2026-04-14", "--reason", "sure")
    assert refused.status == 1
    assert "meter" in refused.err
    assert "withdraw" in refused.err
    assert twins("reading", "withdraw", "TT-0017", "--on", "2026-04-14", "--reason", "misread").status == 0
    assert '"held"' not in twins("reading", "list", "TT-0017", "--format", "json").out


@pytest.mark.parametrize(
    "words",
    [
        ("hours", "TT-0017", "345", "--on", "2025-10-01"),
        ("inspect", "TT-0017", "timing belt", "--on", "2025-10-01", "--hours", "345"),
        ("telemetry", "t.json", "--map", "port=TT-0017"),
    ],
    ids=lambda words: words[0],
)
def test_a_later_figure_that_is_held_because_of_an_earlier_one_is_told(twins, tmp_path, words):
    told = {"path": "propulsion.port.runTime", "value": 345 * 3600}
    update = {"timestamp": "2025-10-01T12:00:00Z", "$source": "n2k.1", "values": [told]}
    (tmp_path / "t.json").write_text(json.dumps({"updates": [update]}), encoding="utf-8")
    said = twins(*words)
    assert said.status == 0, said.err
    assert "TT-0017: 342.1 h on 2025-10-14 is held, it is below the 345.0 h of 2025-10-01" in said.err
    assert len(said.err.splitlines()) == 1
    held, earlier = hinted(said.err, "withdraw")
    assert (held[held.index("--hours") + 1], earlier[earlier.index("--hours") + 1]) == ("342.1", "345.0")
    again = twins("hours", "TT-0017", "345.5", "--on", "2025-11-01")
    assert "held" not in again.err  # said once


def hinted(err, ruling):
    """The words of the commands of that ruling which a message names, with a reason of ours."""
    found = re.findall(rf"fleetlog (reading {ruling} .*?) --reason WHY", err)
    return [[*shlex.split(command), "--reason", "misread"] for command in found]


@pytest.mark.parametrize(("hours", "ruling"), [("600", "confirm"), ("600", "withdraw"), ("300", "withdraw")])
def test_the_command_that_a_held_figure_prints_works_beside_another_of_that_day(twins, hours, ruling):
    twins("hours", "TT-0017", "342.1", "--on", "2025-10-14")
    twins("hours", "TT-0017", "344.5", "--on", "2025-10-15")
    said = twins("hours", "TT-0017", hours, "--on", "2025-10-15")
    command = hinted(said.err, ruling)[0]
    bare = [w for w in command if w not in ("--hours", f"{hours}.0")]
    several = twins(*bare)
    assert several.status == 1
    assert "several readings" in several.err
    assert "--hours 344.5" in several.err
    assert twins(*command).status == 0
    assert f"TT-0017,2025-10-15,{hours}.0" in twins("reading", "list", "TT-0017", "--format", "csv").out
    assert "held" not in twins("reading", "list", "TT-0017").out


def test_either_of_two_figures_that_conflict_is_withdrawn_by_its_own_command(twins):
    twins("hours", "TT-0017", "345.5", "--on", "2026-04-10")
    twins("hours", "TT-0017", "345.0", "--on", "2026-04-10")
    said = twins("hours", "TT-0017", "300", "--on", "2026-04-14")
    held, earlier = hinted(said.err, "withdraw")
    assert (held[held.index("--hours") + 1], earlier[earlier.index("--hours") + 1]) == ("300.0", "345.5")
    assert twins(*earlier).status == 0
    confirmed = twins(*["confirm" if w == "withdraw" else w for w in held])
    assert confirmed.status == 1
    (next_one,) = hinted(confirmed.err, "withdraw")
    assert "345.0" in next_one


@pytest.mark.parametrize("serial", ["A 1", "A1; echo $(id)", "A'1\"", "-A1", "T2/0541"])
def test_a_command_that_is_offered_is_one_whatever_the_serial(twins, serial):
    """It is there to be pasted into a shell."""
    twins("engine", "add", "--family", "V6 belt-cam", "--", serial)
    twins("hours", "--on", "2026-04-10", "--", serial, "100")
    command = hinted(twins("hours", "--on", "2026-04-14", "--", serial, "50").err, "withdraw")[0]
    assert command[2] == serial


def test_a_figure_above_habit_is_withdrawn_by_the_command_it_prints(twins):
    twins("hours", "TT-0017", "344")
    (command,) = hinted(twins("hours", "TT-0017", "600").err, "withdraw")
    twins("hours", "TT-0017", "345")
    assert "600.0 h on 2026-04-15 withdrawn" in twins(*command).out


def test_a_new_meter_lets_engine_hours_run_on(twins):
    twins("hours", "TT-0017", "345.5", "--on", "2026-04-10")
    assert twins("meter", "TT-0017", "--on", "2026-04-12", "--reason", "display dead").status == 0
    assert twins("hours", "TT-0017", "2.5", "--on", "2026-04-15").status == 0
    line = line_of(twins, "TT-0017", "timing-belt-replace")
    assert line["engine_hours"] == 348.0


def test_a_new_meter_says_when_the_hours_that_it_runs_on_from_were_read(twins):
    twins("hours", "TT-0017", "345.5", "--on", "2026-04-10")
    said = twins("meter", "TT-0017", "--on", "2026-04-12").out
    assert said == (
        "TT-0017: from 2026-04-12 the meter reads 0.0 at 345.5 engine hours, as last read on 2026-04-10.\n"
    )
    given = twins("meter", "TT-0017", "--on", "2026-04-13", "--engine-hours", "347").out
    assert given == "TT-0017: from 2026-04-13 the meter reads 0.0 at 347.0 engine hours.\n"


def test_a_new_meter_of_an_engine_that_nobody_had_read_by_then_needs_its_hours(twins):
    twins("engine", "add", "VK6-23011", "--family", "V6 belt-cam")
    twins("hours", "VK6-23011", "594.6", "--on", "2025-09-11")
    words = ("meter", "VK6-23011", "--on", "2022-05-01", "--reads", "0")
    refused = twins(*words)
    assert (refused.status, refused.err) == (
        1,
        "fleetlog: not recorded: what VK6-23011 had run by 2022-05-01 is not known, as no reading is of that"
        " day or before; say it, such as what the old meter showed last: --engine-hours HOURS\n",
    )
    assert twins(*words, "--engine-hours", "512").status == 0
    assert "engine hours: 1106.6" in twins("engine", "show", "VK6-23011").out


def test_a_new_meter_names_the_figures_of_its_day_that_the_old_one_showed(twins):
    twins("fit", "TT-0017", "timing belt", "--on", "2026-04-12", "--hours", "345.5")
    said = twins("meter", "TT-0017", "--on", "2026-04-12")
    assert "345.5 h of that day now counts as the new meter's" in said.err
    assert "held" in twins("reading", "list", "TT-0017").out
    (command,) = hinted(said.err, "withdraw")
    assert twins(*command).status == 0
    assert line_of(twins, "TT-0017", "timing-belt-replace")["engine_hours"] == 345.5
    assert twins("meter", "TT-0021", "--on", "2026-04-12").err == ""
    twins("hours", "TT-0021", "2")
    listed = json.loads(twins("reading", "list", "TT-0021", "--format", "json").out)
    assert [(row["on"], row["status"]) for row in listed[-2:]] == [
        ("2026-04-12", "meter changed"),
        ("2026-04-15", "accepted"),
    ]


def test_later_figures_that_a_new_meter_cannot_have_shown_are_told(twins):
    twins("hours", "TT-0017", "346", "--on", "2026-04-14")
    said = twins("meter", "TT-0017", "--on", "2026-04-12", "--reason", "display dead")
    assert said.status == 0
    [told] = said.err.splitlines()
    assert "(346.0 on the meter) on 2026-04-14 is held" in told
    assert "fleetlog reading withdraw TT-0017 --on 2026-04-14 --hours 346.0" in told
    assert "346.0" in twins("reading", "list", "--held").out


def test_a_new_meter_at_hours_that_nobody_can_have_run_is_refused(twins):
    """They would stay: no meter is held, and all work would look overdue."""
    twins("hours", "TT-0017", "345.5", "--on", "2026-04-10")
    said = twins("meter", "TT-0017", "--on", "2026-04-12", "--engine-hours", "3455")
    assert (said.status, said.err) == (
        1,
        "fleetlog: not recorded: TT-0017: 3455.0 h on 2026-04-12 are more than 24 hours a day above the 345.5"
        " h of 2026-04-10; leave --engine-hours out, and they run on from those last read; if these are too"
        " low: fleetlog reading withdraw TT-0017 --on 2026-04-10 --reason WHY\n",
    )
    assert twins("meter", "TT-0017", "--on", "2026-04-12", "--engine-hours", "350").status == 0


def test_a_new_meter_does_not_take_engine_hours_back(twins):
    """What is overdue by hours would look as if it were not; an earlier change of meter is put right."""
    twins("hours", "TT-0017", "345.5", "--on", "2026-04-10")
    said = twins("meter", "TT-0017", "--on", "2026-04-11", "--engine-hours", "45.5")
    assert said.status == 1
    assert "engine hours go back from 345.5 h of 2026-04-10 to 45.5 h on 2026-04-11" in said.err
    assert hinted(said.err, "withdraw")[0][-4:-2] == ["--hours", "345.5"]
    assert twins("meter", "TT-0017", "--on", "2026-04-11", "--engine-hours", "390").status == 0
    assert twins("meter", "TT-0017", "--on", "2026-04-12", "--engine-hours", "345.5").status == 0
    assert "go back" not in twins("check").out


@pytest.mark.parametrize(
    "words", [("hours", "TT-0017", "100"), ("fit", "TT-0017", "gear oil", "--hours", "100")]
)
def test_engine_hours_from_before_the_meter_of_the_day_are_refused(twins, words):
    assert (
        twins("meter", "TT-0017", "--on", "2026-04-12", "--reads", "2", "--engine-hours", "345.5").status == 0
    )
    said = twins(*words, "--engine-hours")
    assert (said.status, said.out) == (1, "")
    assert said.err == (
        "fleetlog: engine TT-0017: its hour meter of 2026-04-15 shows 0.0 h at 343.5 engine hours, so it"
        " never stood at 100.0; give what it shows, without --engine-hours, or another day\n"
    )


def test_pasted_hours_of_several_boats_are_all_or_nothing(twins):
    good = "Plain Twins: port 345,5; starboard 347\n# a remark\n\nTT-0125 275.0 2026-04-13\n"
    said = twins("hours", "--from", "-", stdin=good)
    assert said.status == 0
    assert len(said.out.splitlines()) == 3
    bad = twins("hours", "--from", "-", stdin="Plain Twins: port 346; starboard 348\nNo Such Boat 12\n")
    assert bad.status == 1
    assert line_of(twins, "TT-0017", "timing-belt-replace")["engine_hours"] == 345.5


def test_a_pasted_answer_may_greet_and_leave_figures_open(twins):
    answer = "Good evening,\n> Plain Twins: port=345.5 starboard=____ on 2026-04-13\nRegards\n"
    said = twins("hours", "--from", "-", stdin=answer)
    assert said.out == "TT-0017: 345.5 h on 2026-04-13 recorded.\n"
    told = "line 1 'Good evening,', line 2 'starboard=____', line 3 'Regards'"
    assert said.err == f"fleetlog: note: passed over, as no hours stand in it: {told}\n"


def test_of_a_pasted_mail_signature_quoted_text_and_telephone_numbers_are_passed_over_and_told(twins):
    mail = (
        "Hello,\nPlain Twins: port 345.5, starboard 347\nTT-0125 275.5 (mobile 0170 555 0188)\n\n"
        "Best regards\nArden Reed, Slip 14\n+1 555-0188\n\n"
        "On Mon, 13 Apr 2026 at 10:14, the shop\n<shop@example.org> wrote:\n"
        "> the belt is due at 500 h\n> call 555-0100\n"
    )
    said = twins("hours", "--from", "-", stdin=mail)
    assert said.status == 0
    assert [line.split(" on ")[0] for line in said.out.splitlines()] == [
        "TT-0017: 345.5 h", "TT-0021: 347.0 h", "TT-0125: 275.5 h"
    ]  # fmt: skip
    [told] = said.err.splitlines()
    assert "note: passed over, as no hours stand in it: line 3 'mobile 0170 555 0188', line" in told
    for part in ("Arden Reed, Slip 14", "+1 555-0188", "belt is due at 500 h", "Hello,"):
        assert part in told


def test_a_mail_of_which_all_is_passed_over_is_refused_with_what_it_holds(twins):
    said = twins("hours", "--from", "-", stdin="as below\n> TT-0125 275.5\n")
    assert said.status == 1
    assert "the text has no hours (passed over: line 2 'TT-0125 275.5', line 1 'as below')" in said.err


@pytest.mark.parametrize("encoding", ["cp1252", "utf-16"])
def test_hours_in_a_text_of_another_encoding_are_not_guessed_at(twins, tmp_path, encoding: str):
    (tmp_path / "said.txt").write_text("Grüße\nTT-0017 345.5\n", encoding=encoding)
    said = twins("hours", "--from", "said.txt")
    assert said.status == 2
    assert "'said.txt' is not text in UTF-8: save it as such" in said.err


def test_all_that_is_wrong_with_pasted_hours_is_told_at_once(twins):
    text = "No Such Boat 12\nPlain Twins 346\nPlain Twins: port 346\nTT-0125 275 2027-01-01\n"
    said = twins("hours", "--from", "-", stdin=text)
    first, *problems = said.err.splitlines()
    assert first == "fleetlog: no hours were recorded, as there are 3 problems:"
    assert [line.partition(":")[0] for line in problems] == ["line 1", "line 2", "line 4"]
    assert "no engine or boat 'No Such Boat'" in problems[0]
    assert "say which" in problems[1]
    assert "after today" in problems[2]


@pytest.mark.parametrize(
    "text", ["nonsense", "Plain Twins: port", "Plain Twins port=12x", "2026-13-40 Boat 3"]
)
def test_pasted_nonsense_is_one_clear_line(twins, text):
    said = twins("hours", "--from", "-", stdin=text)
    assert said.status == 1
    assert len(said.err.splitlines()) == 1


def test_hours_before_the_day_on_which_the_engine_was_new_are_told(twins):
    told = "TT-0017 was new, with 0 h, on 2021-05-22, which is later"
    assert told in twins("hours", "TT-0017", "210", "--on", "2021-05-01").err
    fitted = twins(
        "fit", "TT-0017", "anode", "--position", "gearcase", "--on", "2021-05-02", "--hours", "211"
    )
    assert told in fitted.err
    assert "--in-service" in fitted.err
    assert told not in twins("hours", "TT-0017", "0", "--on", "2021-04-01").err
    assert told not in twins("hours", "TT-0017", "3", "--on", "2021-05-25").err


def test_the_command_that_puts_the_first_day_of_an_engine_right_can_be_pasted(twins):
    twins("engine", "add", "NE W1", "--in-service", "2026-03-01", "--from-new")
    said = twins("hours", "NE W1", "6", "--on", "2026-02-01").err
    assert "fleetlog engine change 'NE W1' --in-service DATE" in said


def test_a_figure_far_above_the_engines_habit_is_accepted_and_said(twins):
    said = twins("hours", "TT-0017", "600")
    assert said.status == 0
    assert "times the hours a day" in said.err


def test_what_hours_and_work_are_about_may_be_meant_as_an_engine_or_a_boat(twins):
    for words in (("hours", "Plain Twin5", "345"), ("done", "Plain Twin5", "anode")):
        said = twins(*words)
        assert said.err.startswith("fleetlog: no engine or boat 'Plain Twin5'; nearest: ")
        assert "Plain Twins" in said.err
    for words in (("hours", "TT-00", "345"), ("done", "TT-00", "anode")):
        assert twins(*words).err.startswith("fleetlog: which engine? 'TT-00' fits TT-0017, TT-0021;")
    assert "no engine or boat '99999'" in twins("hours", "99999", "261").err
    near = twins("hours", "TT-0018", "345").err
    assert "no engine or boat 'TT-0018'; nearest: " in near
    assert "TT-0017" in near
    assert "no boat 'Nobody'" in twins("hours", "Nobody", "port=3").err


def test_an_empty_name_is_refused_as_such(twins):
    assert twins("fit", "TT-0017", "", "--hours", "345").err.startswith("fleetlog: no item is named")
    assert twins("history", " ").err.startswith("fleetlog: no engine is named")
    assert twins("why", "TT-0017", "").err.startswith("fleetlog: no rule is named")
    assert twins("owner", "show", "").err.startswith("fleetlog: no owner is named")


def test_hours_for_an_engine_without_a_meter_are_refused(marina):
    engines = json.loads(marina("engine", "list", "--format", "json").out)
    serial = next(e["serial"] for e in engines if not e["hour_meter"])
    said = marina("hours", serial, "12")
    assert said.status == 1
    assert "no hour meter" in said.err


def test_a_deferral_of_what_has_no_record_says_that_it_moves_nothing(twins):
    twins("fit", "TT-0017", "timing belt", "--used")
    said = twins("defer", "TT-0017", "timing-belt-replace", "--until", "2027-06-01", "--reason", "away")
    assert (said.status, said.out.count("\n")) == (0, 1)
    assert "nothing is moved by this: a line of 'no record' has no limit to put off" in said.err
    assert line_of(twins, "TT-0017", "timing-belt-replace")["state"] == "no record"


def test_a_deferral_to_no_later_than_the_line_is_due_anyway_says_that_it_puts_off_nothing(twins):
    told = "nothing is put off by this: no limit of the line comes before that"
    words = ("defer", "TT-0017", "timing-belt-replace", "--reason", "away")
    own = line_of(twins, "TT-0017", "timing-belt-replace")
    assert (own["due_on"], own["due_hours"]) == ("2028-05-02", 1240.0)
    for until in (("--until", "2028-05-02"), ("--until-hours", "1000"), ("--until", "2027-01-01")):
        said = twins(*words, *until)
        assert (said.status, said.err.count(told)) == (0, 1), until
    for until in (("--until", "2028-05-03"), ("--until", "2027-01-01", "--until-hours", "1240.1")):
        assert told not in twins(*words, *until).err
    assert told in twins(*words, "--until", "2027-01-01").err
    now = line_of(twins, "TT-0017", "timing-belt-replace")
    assert (now["due_on"], now["due_hours"]) == (own["due_on"], own["due_hours"])
    listed = "1240.0 h or 2028-05-02"
    assert re.search(rf"{listed}$", twins("due", "--all", "--item", "belt").out, re.M)
    twins(*words, "--until", "2028-05-03")
    assert re.search(r"1240\.0 h or 2028-05-03 deferred$", twins("due", "--all", "--item", "belt").out, re.M)


def test_a_position_said_whole_is_put_off_though_another_has_it_in_its_name(twins, tmp_path):
    with_schedule(tmp_path, "v10", schedule_text(1, "cylinder 1", "cylinder 10"))
    assert twins("import", str(tmp_path)).status == 0
    assert twins("engine", "change", "TT-0017", "--schedule", "v10").status == 0
    words = ("defer", "TT-0017", "belt", "--until", "2027-06-01", "--reason", "away")
    said = twins(*words, "--position", "Cylinder 1")
    assert said.status == 0
    assert "\ncylinder 1: later." in said.out
    assert "cylinder 10" not in said.out
    assert "which position? 'cyl' fits cylinder 1, cylinder 10" in twins(*words, "--position", "cyl").err


def test_a_deferral_without_an_end_asks_for_one(twins):
    said = twins("defer", "TT-0017", "timing-belt-replace", "--reason", "it can wait")
    assert said.status == 1
    assert "until when is timing-belt-replace put off? say --until DAY" in said.err


def test_said_twice_under_one_key_it_is_recorded_once_and_both_times_well(twins):
    words = ("--once", "phone-17", "hours", "TT-0017", "345.5", "--on", "2026-04-15")
    assert twins(*words).status == 0
    again = twins(*words)
    assert again.status == 0
    assert again.out == ""
    assert again.err.startswith("fleetlog: note: recorded already under the key phone-17, by Tess on ")
    readings = json.loads(twins("reading", "list", "TT-0017", "--format", "json").out)
    assert sum(reading["on"] == "2026-04-15" for reading in readings) == 1


def test_a_clock_that_was_set_back_is_told_where_nobody_said_the_day(twins, monkeypatch):
    monkeypatch.delenv("FLEETLOG_TODAY")
    words = ("part", "add")

    def set_clock(year):
        class Clock(datetime):
            @classmethod
            def now(cls, tz=None):
                return datetime(year, 5, 1, 12, tzinfo=tz)

        monkeypatch.setattr("fleetlog.cli.desk.datetime", Clock)

    set_clock(2026)
    assert "clock" not in twins(*words, "N-1").err
    set_clock(2020)
    told = twins(*words, "N-2")
    assert told.status == 0
    assert "a clock that says 2020-05-01" in told.err
    assert len(told.err.splitlines()) == 1
    assert "clock" not in twins("owner", "list").err
    assert "clock" not in twins("--today", "2026-04-15", *words, "N-3").err


def test_something_else_under_a_used_key_is_refused(twins):
    first = ("--once", "k1", "hours", "TT-0017", "345.5", "--on", "2026-04-15")
    assert twins(*first).status == 0
    other = twins("--once", "k1", "hours", "TT-0017", "346.5", "--on", "2026-04-15")
    assert other.status == 1
    assert (
        "the key k1 stands for other words, or for files that held something else, recorded by Tess"
        in other.err
    )
    assert twins("--by", "Kim", *first).status == 0
    readings = json.loads(twins("reading", "list", "TT-0017", "--format", "json").out)
    assert sum(reading["on"] == "2026-04-15" for reading in readings) == 1


def test_a_file_that_holds_something_else_under_a_used_key_is_refused(twins, tmp_path):
    words = ("--once", "k1", "hours", "--from", "said.txt", "--on", "2026-04-15")
    text = tmp_path / "said.txt"
    text.write_text("TT-0017: 345.5\n", encoding="utf-8")
    assert twins(*words).status == 0
    assert "recorded already" in twins(*words).err
    text.write_text("TT-0017: 346.5\n", encoding="utf-8")
    other = twins(*words)
    assert (other.status, other.out) == (1, "")
    assert "files that held something else" in other.err


def test_a_folder_that_holds_something_else_under_a_used_key_is_refused(twins, tmp_path):
    twins("export", "folder")
    words = ("--once", "k1", "--log", "new.db", "import", "folder")
    assert twins(*words).status == 0
    assert "recorded already" in twins(*words).err
    owners = tmp_path / "folder" / "owners.csv"
    owners.write_text(owners.read_text(encoding="utf-8").replace("Arden", "Ardan"), encoding="utf-8")
    assert "files that held something else" in twins(*words).err


def test_a_key_of_nothing_is_wrong_usage(twins):
    said = twins("--once", " ", "hours", "TT-0017", "345.5")
    assert said.status == 2
    assert "a key is a word or more" in said.err


def test_a_figure_of_long_before_the_engine_came_into_service_is_refused_and_holds_no_other(twins):
    before = twins("reading", "list", "TT-0017").out
    for words in (
        ("hours", "TT-0017", "345", "--on", "2006-04-15"),
        ("meter", "TT-0017", "--on", "2006-04-15"),
    ):
        refused = twins(*words)
        assert refused.status == 1
        assert "the engine came into service on 2021-05-22 (correct that where it is wrong)" in refused.err
    assert twins("reading", "list", "TT-0017").out == before
    Path("more").mkdir()
    Path("more/readings.csv").write_text("serial,on,meter\nTT-0017,1970-01-01,345\n", encoding="utf-8")
    Path("more/meters.csv").write_text(
        "serial,fitted_on,engine_hours\nTT-0017,1970-01-02,0\n", encoding="utf-8"
    )
    imported = twins("import", "more")
    assert imported.status == 1
    assert 'readings.csv, line 2, column on: found "1970-01-01"' in imported.err
    assert 'meters.csv, line 2, column fitted_on: found "1970-01-02"' in imported.err


@pytest.mark.parametrize("said", ["port=350 port=351", "port=350 p=351", "port=350, starboard=351, s=352"])
def test_two_figures_for_one_engine_are_refused_and_nothing_is_recorded(twins, said):
    before = twins("reading", "list", "TT-0017").out
    refused = twins("hours", "Plain Twins", *said.split(" "))
    assert refused.status == 1
    assert "one figure for port" in refused.err or "two figures for" in refused.err
    assert twins("reading", "list", "TT-0017").out == before


def test_a_text_without_hours_is_refused(twins):
    said = twins("hours", "--from", "-", stdin="\n# nothing yet\n")
    assert (said.status, said.err) == (1, "fleetlog: " + NO_HOURS + "\n")


LOADED_WHILE_IT_IS_HELD = """
import sys
sys.argv[:1] = ["fleetlog", "--today", "2026-04-15", "--log"]
from fleetlog.cli.main import main
from fleetlog.store.log import Log
from fleetlog.store.writer import Writer
begin, confirm, held = Writer.__init__, Log._confirm, set()

def begun(writer, *given):
    held.update(sys.modules)
    begin(writer, *given)

def confirmed(log, *given):
    late = set(sys.modules) - held
    assert not late, late
    confirm(log, *given)

Writer.__init__, Log._confirm = begun, confirmed
try: main()
except SystemExit as ended: assert not ended.code
assert "numpy" in sys.modules
"""


def test_a_recording_loads_what_it_needs_before_it_holds_up_others(twins_log, tmp_path):
    shutil.copy(twins_log, tmp_path / "log.db")
    words = [str(tmp_path / "log.db"), "hours", "TT-0017", "345.5", "--on", "2026-04-15"]
    ran = subprocess.run(
        [sys.executable, "-c", LOADED_WHILE_IT_IS_HELD, *words], capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0, ran.stderr


def _stop(*_given: object) -> None:
    raise KeyboardInterrupt


@pytest.mark.parametrize(
    ("stopped_at", "said", "kept"),
    [
        ("fleetlog.store.writer.Writer.seal", "stopped, nothing was recorded", False),
        ("fleetlog.store.log.Log.put_in_place", "look it up before you record it again", True),
    ],
    ids=["before it is kept", "after"],
)
def test_a_command_that_a_person_stops_says_whether_something_may_be_recorded(
    twins: Fleetlog, monkeypatch: pytest.MonkeyPatch, stopped_at: str, said: str, kept: bool
) -> None:
    with monkeypatch.context() as stopping:
        stopping.setattr(stopped_at, _stop)
        stopped = twins("owner", "add", "Late Comer")
    assert stopped.status == 1
    assert said in stopped.err
    assert ("Late Comer" in twins("owner", "list").out) == kept


def test_a_command_that_is_stopped_while_it_loads_ends_with_one_line(tmp_path: Path) -> None:
    (tmp_path / "click.py").write_text("raise KeyboardInterrupt")
    path = os.pathsep.join([str(tmp_path), *sys.path])
    for began in (["-m", "fleetlog"], ["-c", "from fleetlog.__main__ import main; main()"]):
        ran = subprocess.run(
            [sys.executable, *began, "--version"],
            env={**os.environ, "PYTHONPATH": path},
            capture_output=True,
            text=True,
            check=False,
        )
        assert (ran.returncode, ran.stdout) == (1, "")
        assert ran.stderr == "fleetlog: stopped, nothing was recorded\n"


def test_the_name_of_who_is_at_work_is_one_line(
    twins: Fleetlog, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    for by in ("Tess\nKim", "Tess\x1b[2J", " "):
        said = twins("--by", by, "owner", "add", "Late Comer")
        assert (said.status, said.out) == (2, "")
        assert "write one line of 1 to" in said.err
    monkeypatch.setenv("FLEETLOG_BY", "Tess\nKim")
    assert twins("owner", "add", "Late Comer").status == 2
    assert twins("--by", " Tess ", "owner", "add", "Late Comer").status == 0


def test_a_late_figure_above_what_the_next_meter_began_with_is_refused(twins):
    twins("meter", "TT-0017", "--on", "2026-04-10", "--reads", "0")
    before = twins("due", "--all", "--format", "json").out
    for late in (
        ("hours", "TT-0017", "349", "--on", "2026-04-09"),
        ("fit", "TT-0017", "timing belt", "--on", "2026-04-09", "--hours", "349"),
    ):
        said = twins(*late)
        assert said.status == 1, late
        assert "349.0 h on 2026-04-09 is above the 342.1 h of the meter changed on 2026-04-10" in said.err
    assert twins("due", "--all", "--format", "json").out == before
    assert "go back" not in twins("check").out
    right = ("meter", "TT-0017", "--on", "2026-04-11", "--reads", "0.4", "--engine-hours", "350")
    assert twins(*right).status == 0
    assert twins("hours", "TT-0017", "342.1", "--on", "2026-04-09").status == 0
    assert "350.0 h read on 2026-04-11" in twins("history", "TT-0017").out


@pytest.mark.parametrize(
    "words", [("inspect", "TT-0017", "timing belt"), ("done", "TT-0017", "Inspect timing belt")]
)
def test_work_recorded_outside_an_open_visit_of_the_boat_says_so(twins, words):
    opened = twins("visit", "open", "Plain Twins", "--id", "V 2", "--on", "2026-04-14").out
    assert opened == "Opened visit V 2; record its work with --visit 'V 2'.\n"
    twins("visit", "open", "Plain Twins", "--id", "V 3", "--on", "2026-04-15")
    told = "outside visit V 2, which is open since 2026-04-14: --visit 'V 2' puts work there"
    assert "outside visit" not in twins(*words, "--on", "2026-04-13").err
    assert told in twins(*words, "--on", "2026-04-14").err
    assert "outside visit V 3" in twins(*words).err
    assert "outside visit" not in twins(*words, "--visit", "V 3").err
    twins("visit", "close", "V 3")
    assert told in twins(*words).err
    twins("visit", "close", "V 2")
    assert "outside visit" not in twins(*words).err


@pytest.mark.parametrize(
    ("words", "back"),
    [
        ("fit TT-0017 'timing belt'", "fleetlog void e"),
        ("torque TT-0017 'cam bolt' --applied 49 --unit N.m", "fleetlog answer t"),
        ("measure TT-0017 anode --quantity 'mass left' --value 62", "fleetlog answer m"),
        ("swap TT-0017 lower-unit --from TT-0125", "fleetlog visit void v"),
        ("move-item TT-0021 impeller --to TT-0017", "fleetlog visit void v"),
    ],
)
def test_all_work_outside_an_open_visit_says_how_it_goes_there_and_the_words_work(twins, words, back):
    twins("visit", "open", "Plain Twins", "--id", "V 2", "--on", "2026-04-14")
    said = twins(*shlex.split(words))
    assert (said.status, said.err.count("outside visit V 2, which is open since 2026-04-14")) == (0, 1)
    assert f"--visit 'V 2' puts work there (take this back first: {back}" in said.err
    (offered,) = re.findall(r"first: (.*)\); if the boat", said.err)
    for command in offered.split(" and "):
        given = shlex.split(command.replace("...", "elsewhere"))[1:]
        assert twins(*given).status == 0, command
    there = twins(*shlex.split(words), "--visit", "V 2")
    assert (there.status, "outside" in there.err) == (0, False)


def test_a_visit_of_another_boat_takes_no_work(twins):
    twins("boat", "add", "Second Try", "--owner", "Quill", "--water", "fresh", "--use", "private")
    twins("visit", "open", "Second Try", "--id", "V-9", "--on", "2026-04-14")
    for words in (
        "fit TT-0017 'timing belt'",
        "torque TT-0017 'cam bolt' --applied 49 --unit N.m",
        "move-item TT-0021 impeller --to TT-0017",
        "move-item TT-0021 impeller --to TT-0017 --dry-run",
        "advice add TT-0017 'a new belt'",
    ):
        refused = twins(*shlex.split(words), "--visit", "V-9")
        assert (refused.status, refused.out, refused.err.count("\n")) == (1, "", 1), words
        assert "visit V-9 is of Second Try, and this is work on Plain Twins" in refused.err
    assert twins("engine", "move", "TT-0017", "--to", "Second Try", "--on", "2026-04-15").status == 0
    assert twins("fit", "TT-0017", "timing belt", "--visit", "V-9").status == 0
    twins("visit", "open", "Plain Twins", "--id", "V-8", "--on", "2026-04-14")
    assert twins("inspect", "TT-0017", "timing belt", "--visit", "V-8").status == 0, "it came with this boat"


def test_a_figure_of_a_day_is_listed_once_with_what_it_came_with(twins):
    twins("done", "TT-0017", "gear oil", "impeller", "--hours", "345.5")
    twins("hours", "TT-0021", "346")
    twins("hours", "TT-0021", "346", "--source", "owner")
    for serial, source in (("TT-0017", r"entry e\w+ \(and 1 more\)"), ("TT-0021", r"Tess \(and 1 more\)")):
        rows = json.loads(twins("reading", "list", serial, "--format", "json").out)
        (row,) = (row for row in rows if row["on"] == "2026-04-15")
        assert re.fullmatch(source, row["source"])


@pytest.mark.parametrize(
    ("age", "missing"),
    [
        ("--prior-hours 240", "months"),
        ("--prior-months 30", "hours"),
        ("--prior-hours 240 --prior-months 30", ""),
    ],
)
def test_an_item_of_an_age_is_a_used_one_and_says_what_is_not_known_of_it(twins, age, missing):
    said = twins("fit", "TT-0017", "timing belt", *age.split())
    note = f"its age in {missing} is not known, so they count from the fitting" if missing else ""
    assert (note in said.err, said.err.count("--prior-")) == (True, 1 if missing else 0)
    told = twins("why", "TT-0017", "Replace timing belt").out
    assert "timing belt fitted used" in told


def test_a_reading_that_was_told_twice_is_withdrawn_as_one_and_offered_no_more(twins):
    for _ in range(2):
        twins("hours", "TT-0017", "346")
    assert twins("reading", "withdraw", "TT-0017", "--reason", "misread").status == 0
    assert line_of(twins, "TT-0017", "timing-belt-replace")["engine_hours"] == 342.1
    (row,) = (row for row in twins("reading", "list", "TT-0017").out.splitlines() if "346.0" in row)
    assert "withdrawn" in row
    again = twins("reading", "confirm", "TT-0017", "--reason", "it was right")
    assert (again.status, "no such reading" in again.err, "346" in again.err) == (1, True, False)

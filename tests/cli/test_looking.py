"""due, history, why: what a person looks up."""

from __future__ import annotations

import csv
import io
import json
import re
import subprocess
import sys
from pathlib import Path

from tests.cli.conftest import Stream

FIELDS = """
    serial boat boat_id owner owner_id rule title item position state last_done_on last_done_hours due_on
    due_hours governs early_on likely_on late_on engine_hours engine_hours_on deferred_until
    deferred_until_hours access consequence why
""".split()  # noqa: SIM905  (as the interface lists them)
STATES = ["overdue", "no record", "needs a reading", "due", "next access", "later"]


def test_due_lines_have_the_fields_scripts_rely_on(marina):
    lines = json.loads(marina("due", "--format", "json").out)
    assert lines
    assert all(list(line) == FIELDS for line in lines)


def test_the_due_list_is_sorted_by_state_then_likely_date_then_serial(marina):
    lines = json.loads(marina("due", "--all", "--format", "json").out)
    keys = [(STATES.index(li["state"]), li["likely_on"] or "9999", li["serial"]) for li in lines]
    assert keys == sorted(keys)
    assert {li["state"] for li in lines} == set(STATES)


def test_later_lines_are_left_out_unless_asked_for(marina):
    lines = json.loads(marina("due", "--format", "json").out)
    assert "later" not in {li["state"] for li in lines}


def test_a_window_in_weeks_is_as_long_as_one_in_days(marina):
    weeks = marina("due", "--within", "10w", "--format", "json").out
    assert weeks == marina("due", "--within", "70d", "--format", "json").out
    assert len(json.loads(weeks)) > len(json.loads(marina("due", "--within", "0d", "--format", "json").out))


def test_forecast_dates_are_in_order_and_never_after_the_calendar_limit(marina):
    for line in json.loads(marina("due", "--all", "--format", "json").out):
        dates = [line["early_on"], line["likely_on"], line["late_on"]]
        if dates[0] is not None:
            assert dates == sorted(dates)
            assert line["due_on"] is None or dates[2] <= line["due_on"]


def test_filters_keep_only_what_they_name(marina):
    lines = json.loads(marina("due", "--all", "--format", "json").out)
    boat = next(li for li in lines if li["boat"])
    of_boat = json.loads(marina("due", "--all", "--boat", boat["boat"].upper(), "--format", "json").out)
    assert of_boat == [li for li in lines if li["boat_id"] == boat["boat_id"]]
    of_owner = json.loads(marina("due", "--all", "--owner", boat["owner_id"], "--format", "json").out)
    assert of_owner == [li for li in lines if li["owner_id"] == boat["owner_id"]]
    of_engine = json.loads(marina("due", "--all", "--engine", boat["serial"], "--format", "json").out)
    assert of_engine == [li for li in lines if li["serial"] == boat["serial"]]
    belts = json.loads(marina("due", "--all", "--item", "BELT", "--format", "json").out)
    assert belts == [li for li in lines if "belt" in li["item"]]
    assert belts


def test_csv_has_the_same_rows_as_json(marina):
    rows = list(csv.DictReader(io.StringIO(marina("due", "--format", "csv").out)))
    lines = json.loads(marina("due", "--format", "json").out)
    assert [r["serial"] for r in rows] == [li["serial"] for li in lines]
    assert list(rows[0]) == FIELDS


def test_a_piped_table_is_plain_text_one_line_a_row(marina):
    out = marina("due").out
    assert "\x1b" not in out
    assert len(out.splitlines()) == 1 + len(json.loads(marina("due", "--format", "json").out))


def test_a_past_day_shows_only_what_was_known_then(marina):
    now = json.loads(marina("due", "--all", "--format", "json").out)
    then = json.loads(marina("--today", "2024-06-01", "due", "--all", "--format", "json").out)
    assert then != now
    for line in then:
        assert line["last_done_on"] is None or line["last_done_on"] <= "2024-06-01"
        assert line["engine_hours_on"] is None or line["engine_hours_on"] <= "2024-06-01"


def test_a_part_of_a_serial_will_do_and_several_are_refused(twins):
    whole = twins("history", "TT-0017")
    assert whole.status == 0
    assert twins("history", " t-0017").out == whole.out
    twins("engine", "add", "TT-00170", "--model", "other")
    assert twins("history", "TT-0017").out == whole.out
    assert twins("history", "tt-0017").out == whole.out
    assert "type more of it" in twins("history", "T-0017").err
    several = twins("history", "TT")
    assert several.status == 1
    assert "type more of it" in several.err
    assert several.out == ""


def test_the_name_of_a_boat_stands_for_its_only_engine_and_offers_several(marina):
    several = marina("history", "lady gar")
    assert (several.status, several.out) == (1, "")
    assert "'lady gar' fits VK6-19517, VK6-19521; say one of them" in several.err
    assert marina("history", "nachtreiher").out == marina("history", "VK6-20391").out
    assert "VK6-20391, timing belt fitted" in marina("fit", "Nachtreiher", "timing belt").out


def test_why_without_a_rule_tells_of_all_that_is_due_and_a_word_of_all_that_it_fits(marina):
    due = json.loads(marina("due", "--engine", "20391", "--format", "json").out)
    told = json.loads(marina("why", "20391", "--format", "json").out)
    assert {(t["rule"], t["state"]) for t in told} == {(line["rule"], line["state"]) for line in due}
    said = marina("why", "20391").out
    assert said.startswith("VK6-20391: ")
    assert all(f"VK6-20391: {line['title']}\n" in said for line in due)
    belts = json.loads(marina("why", "20391", "belt", "--format", "json").out)
    assert {b["rule"] for b in belts} == {
        "timing-belt-inspect",
        "timing-belt-replace",
        "belt-tensioner-replace",
    }
    marina("engine", "add", "NEW-2", "--family", "V6 belt-cam", "--in-service", "2026-04-15", "--from-new")
    assert marina("why", "NEW-2").out == "Nothing is due within 60 days.\n"


def test_a_wrong_serial_is_offered_the_nearest(twins):
    said = twins("history", "TT-0018x")
    assert said.status == 1
    assert "TT-0017" in said.err
    assert len(said.err.splitlines()) == 1


def test_rebuilds_show_what_was_renewed_and_what_was_put_back_used(marina):
    engines = json.loads(marina("engine", "list", "--format", "json").out)
    histories = [
        json.loads(marina("history", e["serial"], "--rebuilds", "--format", "json").out) for e in engines
    ]
    rebuilds = [r for h in histories for r in h["rebuilds"]]
    assert rebuilds
    done = {(e["item"], e["action"]) for r in rebuilds for e in r["entries"]}
    assert ("timing belt", "fitted") in done
    assert any(action == "reused" and "gasket" in item for item, action in done if item)


def test_why_says_last_done_interval_limit_and_state(marina):
    line = next(
        li
        for li in json.loads(marina("due", "--format", "json").out)
        if li["state"] == "due" and li["due_hours"]
    )
    said = marina("why", line["serial"], line["rule"])
    assert said.status == 0
    for part in ("interval", f"{line['due_hours']:.1f} h", "last reading", "due within"):
        assert part in said.out, part
    assert line["why"].split(". ")[0] in said.out


def test_a_kind_of_item_that_no_schedule_knows_is_no_empty_list(marina):
    said = marina("due", "--item", "timing bellt")
    assert (said.status, said.out) == (1, "")
    assert "no kind of item 'timing bellt'; nearest: timing belt" in said.err


def test_why_and_defer_take_a_line_in_the_words_of_the_list(marina):
    table = marina("due", "--engine", "VK6-19517").out
    [line] = [x for x in table.splitlines() if "(gearcase)" in x and "Inspect anode" in x]
    words = re.search(r"Inspect anode.*\(gearcase\)", line)[0]
    said = marina("why", "VK6-19517", words)
    assert said.status == 0, said.err
    assert "gearcase: overdue" in said.out
    assert "trim tab" not in said.out
    done = marina("defer", "VK6-19517", words, "--until", "2026-06-01", "--reason", "at the haul-out")
    assert done.status == 0, done.err
    lines = json.loads(
        marina("due", "--all", "--engine", "VK6-19517", "--item", "anode", "--format", "json").out
    )
    assert {x["position"]: x["deferred_until"] for x in lines} == {"gearcase": "2026-06-01", "trim tab": None}


def test_a_deferral_by_date_of_work_overdue_by_hours_says_that_it_is_overdue_all_the_same(marina):
    words = ("defer", "ML4-0346", "thermostat", "--reason", "at the haul-out", "--until", "2026-06-01")
    assert "overdue all the same" in marina(*words).err
    assert "overdue all the same" not in marina(*words, "--until-hours", "520").err


def test_a_person_at_a_terminal_is_told_of_why_below_the_list(marina, monkeypatch):
    assert "fleetlog why" not in marina("due").out
    monkeypatch.setattr(Stream, "isatty", lambda _self: True)
    *_, hint = marina("due", "--engine", "VK6-19517", "--item", "belt").out.splitlines()
    assert hint == 'Why a line stands there: fleetlog why VK6-19517 "Inspect timing belt"'


def test_a_person_is_told_that_a_setting_says_what_counts_as_today(twins, monkeypatch):
    """A setting that was forgotten would make what is overdue look as it did then."""
    told = "2026-04-15 counts as today, as FLEETLOG_TODAY says"
    assert twins("due").err == ""
    monkeypatch.setattr(Stream, "isatty", lambda _self: True)
    assert told in twins("due").err
    assert told not in twins("--today", "2026-04-16", "due").err


def test_a_wrong_rule_is_offered_the_nearest(twins):
    said = twins("why", "TT-0017", "timing-bolt-replace")
    assert said.status == 1
    assert "nearest: Replace timing belt" in said.err


def test_help_and_a_history_load_no_more_than_they_show(twins_log):
    for words in (["--help"], ["history", "TT-0017"]):
        code = (
            "import sys; sys.argv[:1] = ['fleetlog', '--today', '2026-04-15', '--log']\n"
            "from fleetlog.cli.main import main\n"
            "try: main()\n"
            "except SystemExit: pass\n"
            "heavy = {'numpy', 'scipy', 'alembic', 'jinja2', 'rich', 'pendulum', 'fleetlog.store.writer',"
            " 'fleetlog.store.kept.lines', *(f'fleetlog.domain.{kind}' for kind in ('batch', 'evidence',"
            " 'papers', 'promises', 'units', 'usage'))} & set(sys.modules)\n"
            "assert not heavy, heavy\n"
        )
        ran = subprocess.run(
            [sys.executable, "-c", code, str(twins_log), *words], capture_output=True, text=True, check=False
        )
        assert ran.returncode == 0, ran.stderr


def test_a_schedule_is_found_by_a_part_of_its_name_and_another_is_refused(twins):
    part = twins("schedule", "show", "v6", "--format", "json")
    assert {rule["key"] for rule in json.loads(part.out)} > {"timing-belt-replace"}
    none = twins("schedule", "show", "V6 belt-can")
    assert (none.status, none.out) == (1, "")
    assert "no schedule 'V6 belt-can'; nearest: V6 belt-cam" in none.err


def test_an_engine_without_a_schedule_is_named_wherever_it_would_be_listed(twins):
    twins("engine", "add", "NEW-1", "--boat", "Plain Twins", "--family", "V6 beltcam")
    for words in ((), ("--owner", "Quill"), ("--boat", "Plain Twins"), ("--engine", "NEW-1")):
        assert "no service schedule for NEW-1, so nothing can be said to be due" in twins("due", *words).err
    assert twins("due", "--owner", "Arden").err == ""
    assert json.loads(twins("due", "--engine", "NEW-1", "--format", "json").out) == []
    twins("report", "--out", "pages")
    assert "1 without a schedule" in Path("pages/index.html").read_text(encoding="utf-8")
    assert "nothing can be said to be due:</strong> NEW-1<" in Path("pages/due.html").read_text("utf-8")
    twins("engine", "change", "NEW-1", "--schedule", "V6 belt-cam")
    assert twins("due").err == ""
    twins("engine", "change", "TT-0125", "--family", "other", "--state", "sold")
    assert twins("due").err == ""


def test_an_empty_log_says_that_it_has_no_engine_and_not_that_nothing_is_due(fleetlog):
    fleetlog("owner", "add", "Quill Marsh")
    assert fleetlog("due").out == "The log has no engine yet.\n"
    assert fleetlog("due", "--format", "json").out == "[]\n"


def test_an_engine_that_is_gone_or_not_in_service_yet_says_so_in_place_of_nothing_due(twins):
    """A slip in the day of service (2062 for 2026) takes every line away."""
    later = "comes into service on 2062-04-01; nothing falls due before that day"
    words = ("--boat", "Plain Twins", "--family", "V6 belt-cam", "--in-service", "2062-04-01")
    assert f"NEW-1 {later}" in twins("engine", "add", "NEW-1", *words).err
    assert twins("due", "--engine", "NEW-1").out == f"NEW-1 {later}.\n"
    assert f"NEW-1 {later}." in twins("why", "NEW-1", "timing-belt-replace").out
    assert f"waiting: engine NEW-1 {later}\n" in twins("check").out
    twins("report", "--out", "pages")
    page = Path("pages/engines/NEW-1.html").read_text("utf-8").replace("\u00a0", " ")
    assert "The engine comes into service on 1 April 2062; nothing falls due before that day." in page
    assert "TT-0017 is sold; nothing falls due" in twins("engine", "change", "TT-0017", "--state", "sold").err
    assert twins("due", "--engine", "TT-0017").out == "TT-0017 is sold; nothing falls due.\n"
    assert "TT-0017" not in twins("check").out


def test_what_came_off_and_has_no_limit_shows_since_when_alone(twins):
    twins("engine", "add", "TT-9", "--family", "V6 belt-cam")
    twins("remove", "TT-9", "timing belt", "--on", "2026-04-13", "--reason", "failed")
    said = twins("due", "--engine", "TT-9", "--item", "belt").out
    assert "off since 2026-04-13" in said
    assert ", off since" not in said


def test_what_came_off_is_told_wherever_a_person_looks_while_its_lines_are_for_later(twins, tmp_path: Path):
    twins("fit", "TT-0017", "timing belt", "--on", "2026-04-12", "--hours", "345.5")
    twins("remove", "TT-0017", "timing belt", "--on", "2026-04-13", "--reason", "failed")
    told = "TT-0017: timing belt came off on 2026-04-13 and nothing put on since is on record"
    for filters in ((), ("--engine", "TT-0017"), ("--item", "belt"), ("--all",)):
        said = twins("due", *filters, "--format", "json")
        assert told in said.err, filters
        assert all(list(line) == FIELDS for line in json.loads(said.out))
    assert told not in twins("due", "--engine", "TT-0018").err
    assert told not in twins("--today", "2026-04-12", "due").err
    assert "off since 2026-04-13" in twins("due", "--all", "--item", "belt").out
    why = twins("why", "TT-0017", "timing-belt-replace").out
    assert "\nlater\n" in why
    assert "The timing belt came off on 2026-04-13 (failed), and nothing put on since is on record" in why
    assert "The timing belt came off on 2026-04-13 (failed)" in twins("why", "TT-0017").out
    assert told in twins("history", "TT-0017").out
    off = json.loads(twins("history", "TT-0017", "--format", "json").out)["taken_off"]
    assert off == [{"item": "timing belt", "position": None, "off_on": "2026-04-13", "reason": "failed"}]
    assert "off with nothing put on: timing belt since 2026-04-13" in twins("engine", "show", "TT-0017").out
    assert told in twins("check").out
    twins("engine", "change", "TT-0017", "--state", "scrapped")
    assert told not in twins("due").err + twins("check").out
    twins("engine", "change", "TT-0017", "--state", "in service")
    twins("fit", "TT-0017", "timing belt", "--on", "2026-04-14", "--hours", "345.5")
    assert "came off" not in twins("due").err + twins("history", "TT-0017").out


def test_what_came_off_is_told_before_and_after_lines_are_worked_out_anew(twins):
    twins("remove", "TT-0017", "timing belt", "--on", "2026-04-13", "--reason", "failed")
    told = [twins("due", "--format", "json").err, twins("refresh").err + twins("due").err]
    assert all("TT-0017: timing belt came off on 2026-04-13" in said for said in told)
    assert "nothing wrong" in twins("check").out


def test_readings_held_are_told_by_the_due_list_until_they_are_ruled_on(twins):
    twins("hours", "TT-0017", "100", "--on", "2026-04-10")
    twins("hours", "TT-0017", "101", "--on", "2026-04-11")
    told = "TT-0017: 2 readings are held and count for nothing, so hours may have run out unseen"
    for filters in ((), ("--engine", "TT-0017"), ("--item", "anode"), ("--all",), ("--within", "0d")):
        assert told in twins("due", *filters).err, filters
    assert "held" not in twins("due", "--engine", "TT-0021").err
    assert "held" not in twins("--today", "2026-04-09", "due").err
    for on in ("2026-04-10", "2026-04-11"):
        assert twins("reading", "withdraw", "TT-0017", "--on", on, "--reason", "misread").status == 0
    assert "held" not in twins("due").err
    assert "nothing wrong" in twins("check").out


def test_what_was_put_off_is_told_below_the_list_that_leaves_it_out(twins):
    rule = "timing-belt-replace"
    said = ("defer", "TT-0017", rule, "--until", "2034-06-01", "--reason", "owner wants to wait")
    assert twins(*said).status == 0
    told = (
        "put off, and so not in this list: TT-0017 'Replace timing belt' until 2034-06-01; what the schedule"
        f" says: fleetlog why TT-0017 {rule}; all: fleetlog due --all"
    )
    for words in (("due",), ("due", "--engine", "TT-0017"), ("--today", "2026-05-01", "due")):
        listed = twins(*words)
        assert told in listed.err, words
        assert not re.search(r"TT-0017 +Replace timing belt", listed.out)
    for words in (("due", "--all"), ("due", "--item", "gear oil"), ("--today", "2034-05-30", "due")):
        assert "put off, and" not in twins(*words).err, words


def test_of_what_was_put_off_to_before_its_own_limits_nothing_is_told(twins):
    own = r"later +2028-05-02 +Plain Twins, TT-0017 +Replace timing belt +1240\.0 h or 2028-05-02"
    for until in (("--until", "2028-05-01"), ("--until-hours", "1239"), ("--until", "2028-05-03")):
        assert re.search(own, twins("due", "--all").out), until
        twins("defer", "TT-0017", "timing-belt-replace", *until, "--reason", "the boat is away")
        assert ("put off, and" in twins("due").err) == (until[1] == "2028-05-03"), until


def test_hours_that_are_not_in_sight_have_no_day_in_a_list_and_the_last_of_all_in_json(marina):
    asked = ("due", "--all", "--engine", "VK6-21266", "--item", "flywheel")
    assert "later  not in sight  Second Wind IV, VK6-21266  Inspect flywheel" in marina(*asked).out
    [line] = json.loads(marina(*asked, "--format", "json").out)
    assert (line["governs"], line["due_hours"]) == ("hours", 1000.0)
    assert [line[day] for day in ("early_on", "likely_on", "late_on")] == 3 * ["9999-12-31"]
    assert "The hours are hardly reached within 8 years." in line["why"]

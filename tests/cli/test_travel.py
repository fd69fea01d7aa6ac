"""swap, move-item, item: what travels takes its age along, and nothing is written by halves."""

from __future__ import annotations

import json
import re
import shlex

import pytest

from tests.cli.test_recording import line_of


def items_of(marina, serial):
    found = json.loads(marina("history", serial, "--format", "json").out)
    found = found[0] if isinstance(found, list) else found
    return found, {(i["item"], i["position"]): i for i in found["items"]}


def test_a_swap_is_previewed_before_it_is_written(marina):
    before, _ = items_of(marina, "19517")
    words = ("swap", "19517", "lower-unit", "--prior-hours", "300", "--prior-months", "40")
    said = marina(*words, "--renewed", "impeller", "--dry-run")
    assert said.status == 0, said.err
    assert "nothing was written" in said.out
    assert items_of(marina, "19517")[0] == before
    assert marina(*words, "--renewed", "impeller").status == 0
    after, items = items_of(marina, "19517")
    assert len(after["entries"]) > len(before["entries"])
    assert (items["lower unit", None]["age_hours"], items["lower unit", None]["age_months"]) == (300.0, 40)
    assert items["water pump impeller", None]["age_months"] == 0
    [unit] = [a for a in after["assemblies"] if a["assembly"] == "lower unit"]
    assert (unit["hours_since_new"], unit["months_since_new"]) == (300.0, 40)
    assert "lower unit: since new 300.0 h, 40 months" in marina("history", "19517").out


def test_a_powerhead_from_another_engine_brings_its_belt_and_leaves_what_is_carried_over(marina):
    _, there = items_of(marina, "19521")
    belt = there["timing belt", None]
    said = marina(
        "swap",
        "19517",
        "powerhead",
        "--from",
        "19521",
        "--carried-over",
        "starter",
        "--carried-over",
        "spark plugs",
    )
    assert said.status == 0, said.err
    assert "carried over from the old powerhead" in said.out
    _, here = items_of(marina, "19517")
    moved = here["timing belt", None]
    assert (moved["age_hours"], moved["age_months"]) == (belt["age_hours"], belt["age_months"])
    giver, left = items_of(marina, "19521")
    assert ("timing belt", None) not in left
    assert ("spark plugs", None) in left
    removed = [e for e in giver["entries"] if e["action"] == "removed"]
    assert {e["reason"] for e in removed} == {"transferred"}
    visits = {e["visit_id"] for e in removed}
    assert len(visits) == 1
    assert visits.isdisjoint(e["visit_id"] for e in items_of(marina, "19517")[0]["entries"])


def test_a_swap_that_breaks_a_rule_of_the_ledger_is_refused_whole(marina):
    marina("fit", "19517", "timing belt")
    before, _ = items_of(marina, "19517")
    refused = marina("swap", "19517", "powerhead")
    assert refused.status == 1
    assert "says so already" in refused.err
    assert items_of(marina, "19517")[0] == before


def test_words_that_no_swap_can_have_are_refused_in_one_line(marina):
    for words, said in (
        (("powerheat",), "expected one of powerhead, midsection"),
        (("powerhead", "--from", "19517"), "name two engines"),
        (("powerhead", "--renewed", "anode:gearcase"), "expected one of engine oil"),
        (("powerhead", "--on", "2026-04-16"), "after today"),
        (("powerhead", "--carried-over", "thermostat:port"), "no position of the thermostat 'port'"),
    ):
        refused = marina("swap", "19517", *words)
        assert refused.status == 1, words
        assert said in refused.err
        assert len(refused.err.splitlines()) == 1
    assert marina("swap", "19517", "powerhead", "--age", "belt").status == 2


def test_a_moved_belt_is_due_by_its_own_hours(marina):
    _, there = items_of(marina, "19521")
    age = there["timing belt", None]["age_hours"]
    said = marina("move-item", "19521", "timing belt", "--to", "19517", "--hours", "350.5")
    assert said.status == 0, said.err
    line = line_of(marina, "VK6-19517", "timing-belt-replace")
    assert round(350.5 - age + 1000, 1) == line["due_hours"]
    stints = json.loads(marina("item", "19517", "timing belt", "--format", "json").out)
    assert [s["serial"] for s in stints] == ["VK6-19521", "VK6-19517"]
    assert (stints[0]["why_off"], stints[1]["to_on"]) == ("transferred", None)
    assert stints[0]["hours"] == age
    told = marina("item", "19521", "timing belt").out
    assert "now on VK6-19517" in told
    again = marina("move-item", "19521", "timing belt", "--to", "20125")
    assert again.status == 1
    assert "has no timing belt" in again.err


def test_an_item_that_nothing_is_recorded_of_has_no_stints(marina):
    said = marina("item", "19517", "flywheel")
    assert said.status == 1
    assert "original as far as the log knows" in said.err


def test_what_was_fitted_from_an_engine_that_has_it_still_is_found_by_check(marina):
    marina("fit", "19517", "timing belt", "--hours", "350.5", "--from", "19521")
    said = marina("check").out + marina("check").err
    asked = "fleetlog remove VK6-19521 'timing belt' --reason transferred"
    assert asked in said
    assert marina("remove", "19521", "timing belt", "--reason", "transferred").status == 0
    assert asked not in marina("check").out
    told = marina("fit", "20391", "anode", "--position", "gearcase", "--from", "19517").err
    assert (
        "its anode (gearcase) was fitted to engine VK6-20391 on 2026-04-15, but here it is on still" in told
    )
    (offered,) = re.findall(r"fleetlog (remove .*)\n", told)
    assert marina(*shlex.split(offered)).status == 0
    assert [i for i in items_of(marina, "19517")[1] if i[0] == "anode"] == [("anode", "trim tab")]


def test_history_tells_who_did_who_checked_and_who_wrote_it_down(marina):
    marina("fit", "19517", "timing belt", "--done-by", "Ilse", "--checked-by", "Femke")
    found, _ = items_of(marina, "19517")
    entry = found["entries"][0]
    assert (entry["by"], entry["checked_by"], entry["written_by"]) == ("Ilse", "Femke", "Tess")
    assert entry["written_at"].endswith("+00:00")
    assert "by Ilse, checked by Femke, written down by Tess" in marina("history", "19517").out


def test_a_shelved_assembly_has_come_off_its_engine_before(twins):
    words = ("swap", "TT-0017", "lower unit", "--from", "TT-0021", "--shelved", "--dry-run")
    said = twins(*words)
    assert (said.status, said.out) == (1, "")
    assert said.err.startswith(
        "fleetlog: no lower unit ever came off engine TT-0021, as far as the log knows;"
    )
    assert len(said.err.splitlines()) == 1
    assert twins("remove", "TT-0021", "lower unit", "--on", "2026-04-01").status == 0
    assert twins(*words).status == 0


def test_a_shelved_lower_unit_that_went_elsewhere_is_not_taken_again(marina):
    said = marina("swap", "20391", "lower unit", "--from", "18114", "--shelved")
    assert said.status == 1
    assert "no lower unit to give: it came off on 2023-03-22 and went elsewhere" in said.err


def test_what_rode_on_a_shelved_assembly_and_went_elsewhere_does_not_come_with_it(marina):
    for item in ("lower unit", "propeller shaft seals", "water pump impeller"):
        off = ("remove", "19521", item, "--reason", "transferred", "--on", "2024-05-01")
        marina("--today", "2024-05-02", *off)
    marina("move-item", "19521", "propeller shaft seals", "--to", "20125", "--on", "2024-06-01")
    said = marina("swap", "20391", "lower unit", "--from", "19521", "--shelved", "--dry-run")
    assert said.status == 0, said.err
    lines = {line.split("  ")[2].strip(): line for line in said.out.splitlines() if "fitted used" in line}
    seals = next(line for name, line in lines.items() if "seals" in line)
    impeller = next(line for line in lines.values() if "impeller" in line)
    assert "hours unknown, months unknown" in seals
    assert "unknown" not in impeller


def test_fitting_from_another_engine_says_that_its_record_has_it_on_still(twins):
    said = twins("fit", "TT-0017", "water pump impeller", "--from", "TT-0021", "--on", "2026-04-14")
    assert said.status == 0
    told = "engine TT-0021: its water pump impeller was fitted to engine TT-0017 on 2026-04-14, but here"
    assert told in said.err
    assert told in twins("check").out


READ_LATER = {
    "engines.csv": "serial,family,in_service_on,logged_from_new\n"
    "GIVER,V6 belt-cam,2025-01-01,yes\nTAKER,V6 belt-cam,,\n",
    "readings.csv": "serial,on,meter\nGIVER,2025-03-02,60.0\n",
}
TAKEN = "serial,on,action,item,condition,from_serial\nTAKER,2025-02-01,fitted,timing belt,used,GIVER\n"


@pytest.mark.parametrize(
    "words",
    [
        ("fit", "TAKER", "timing belt", "--on", "2025-02-01", "--from", "GIVER"),
        ("move-item", "GIVER", "timing belt", "--to", "TAKER", "--on", "2025-02-01"),
        ("import", "taken"),
    ],
    ids=lambda words: words[0],
)
def test_a_reading_from_after_it_was_taken_tells_what_an_item_had_run_by_then(twins, tmp_path, words):
    for name, text in [*READ_LATER.items(), ("taken/entries.csv", TAKEN)]:
        path = tmp_path / "given" / name if "/" not in name else tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    assert twins("import", "given").status == 0
    assert twins(*words).status == 0
    [fitted] = json.loads(twins("history", "TAKER", "--format", "json").out)["entries"]
    assert (fitted["prior_hours"], fitted["prior_months"]) == (31.0, 1)

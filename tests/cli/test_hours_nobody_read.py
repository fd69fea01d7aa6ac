"""Work from before an engine's first reading: nothing tells the hours of that day as if they were read."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.cli.conftest import Fleetlog

SERIAL = "VK6-23011"


@pytest.fixture
def from_paper(twins: Fleetlog) -> Fleetlog:
    """An engine whose cards have days and no hours, read for the first time at 812.5 h."""
    twins("engine", "add", SERIAL, "--family", "V6 belt-cam")
    twins("hours", SERIAL, "812.5", "--on", "2025-10-01")
    twins("fit", SERIAL, "timing belt", "--on", "2024-05-02")
    twins("fit", SERIAL, "powerhead", "--on", "2024-05-02", "--new-item")
    return twins


def test_scripts_get_the_hours_that_the_limit_counts_from_and_why_says_whose(from_paper: Fleetlog) -> None:
    rows = json.loads(from_paper("due", "--all", "--engine", SERIAL, "--format", "json").out)
    [belt] = [row for row in rows if row["rule"] == "timing-belt-replace"]
    assert (belt["last_done_on"], belt["last_done_hours"]) == ("2024-05-02", 812.5)
    assert "Last done on 2024-05-02: timing belt fitted. The hours of that day are not known" in belt["why"]


def test_histories_leave_them_out(from_paper: Fleetlog) -> None:
    history = from_paper("history", SERIAL).out
    assert re.search(r"^2024-05-02 +fitted +timing belt", history, re.MULTILINE), history
    assert "powerhead: since new at least 0.0 h, 23 months" in history


def test_an_age_is_what_it_ran_at_least(from_paper: Fleetlog) -> None:
    from_paper("hours", SERIAL, "900", "--on", "2026-03-01")
    told = from_paper("item", SERIAL, "timing belt").out
    assert "at least 87.5" in told.splitlines()[1]
    assert "No. 1: at least 87.5 h, 23 months in all; now on" in told
    [stint] = json.loads(from_paper("item", SERIAL, "timing belt", "--format", "json").out)
    assert (stint["hours"], stint["hours_are_least"]) == (87.5, True)
    items = json.loads(from_paper("history", SERIAL, "--format", "json").out)["items"]
    assert [i["age_hours_are_least"] for i in items if i["item"] == "timing belt"] == [True]


def test_the_form_of_a_rebuild_says_at_least(from_paper: Fleetlog, tmp_path: Path) -> None:
    from_paper("rebuild", SERIAL, "--scope", "powerhead", "--template", "power.toml")
    form = (tmp_path / "power.toml").read_text(encoding="utf-8")
    assert "Now: at least 0.0 h, 23 months, fitted 2024-05-02" in form


def test_who_records_such_work_is_told(from_paper: Fleetlog) -> None:
    told = (
        "was first read at 812.5 h on 2025-10-01: what it ran before is not counted, so limits by hours may"
    )
    late = from_paper("fit", SERIAL, "spark plugs", "--on", "2024-05-02").err
    assert f"{SERIAL} {told} come sooner than told; if the hours of the day are known: fleetlog void " in late
    assert told in from_paper("done", SERIAL, "gear oil", "--on", "2024-06-02").err
    assert "was first read" not in from_paper("fit", SERIAL, "fuel filter", "--on", "2025-10-02").err
    given = from_paper("fit", SERIAL, "water pump impeller", "--on", "2024-05-02", "--hours", "610")
    assert (given.status, "was first read" in given.err) == (0, False)


def test_who_joins_an_engine_by_days_alone_is_told(from_paper: Fleetlog, tmp_path: Path) -> None:
    from_paper("join", SERIAL, "--template", "past.toml")
    form = (tmp_path / "past.toml").read_text(encoding="utf-8")
    plugs = 'rule = "spark-plugs-replace"'
    before, after = form.split(plugs)
    done = after.replace('answer = "unknown"', 'answer = "done"\non = 2024-06-01', 1)
    (tmp_path / "past.toml").write_text(before + plugs + done, encoding="utf-8")
    said = from_paper("join", SERIAL, "--from", "past.toml")
    assert f"{SERIAL} was first read at 812.5 h on 2025-10-01: what it ran before is not counted" in said.err
    assert said.err.endswith("if the hours of the day are known, give them as hours\n")


def test_an_import_tells_once_how_many_such_entries_it_has(twins: Fleetlog, tmp_path: Path) -> None:
    folder = tmp_path / "cards"
    folder.mkdir()
    (folder / "engines.csv").write_text(f"serial,family\n{SERIAL},V6 belt-cam\n", encoding="utf-8")
    (folder / "readings.csv").write_text(f"serial,on,meter\n{SERIAL},2025-10-01,812.5\n", encoding="utf-8")
    rows = [
        f"{SERIAL},2023-04-01,,fitted,timing belt",
        f"{SERIAL},2024-04-01,,fitted,gear oil",
        f"{SERIAL},2025-10-01,,fitted,spark plugs",
    ]
    header = "serial,on,meter,action,item"
    (folder / "entries.csv").write_text("\n".join([header, *rows, ""]), encoding="utf-8")
    done = twins("import", "cards")
    assert (done.status, done.err.count("first reading of the engine")) == (0, 1)
    assert (
        f"entries.csv, line 2: 2 entries without hours from before the first reading of the engine ({SERIAL}"
        " timing belt fitted on 2023-04-01): what it ran from then to that reading is not counted" in done.err
    )
    assert "first reading" not in twins("import", "cards").err


def test_an_import_tells_work_that_counts_for_no_line(twins: Fleetlog, tmp_path: Path) -> None:
    folder = tmp_path / "cards"
    folder.mkdir()
    (folder / "engines.csv").write_text(f"serial,family\n{SERIAL},V6 belt-cam\n", encoding="utf-8")
    rows = [f"{SERIAL},2025-0{n},serviced,gear oil" for n in ("4-01", "5-01")]
    (folder / "entries.csv").write_text("\n".join(["serial,on,action,item", *rows, ""]), encoding="utf-8")
    told = (
        f"entries.csv, line 2: {SERIAL} gear oil serviced on 2025-04-01, as 1 more: serviced does not count"
    )
    assert f"{told} for: Change gear oil; fitted does" in twins("import", "cards").err


def test_pages_for_owners_and_buyers_claim_no_hours(from_paper: Fleetlog, tmp_path: Path) -> None:
    from_paper("owner", "add", "Ida Brandwall", "--remind-by", "post")
    from_paper("boat", "add", "Second Try", "--owner", "Brandwall", "--water", "salt", "--use", "private")
    from_paper("engine", "move", SERIAL, "--to", "Second Try", "--on", "2025-10-02")
    from_paper("hours", SERIAL, "1800", "--on", "2026-03-01")
    from_paper("report", "--out", "pages")
    [page] = (tmp_path / "pages/owners").glob("ida-*.html")
    text = page.read_text(encoding="utf-8").replace("\N{NO-BREAK SPACE}", " ")
    assert "Last done on 2 May 2024. We do not know its hours then, so they may run out sooner" in text
    assert "at least 987.5 of 1000 h" in text
    assert "at 812.5" not in text
    from_paper("extract", SERIAL, "--out", "sold.html")
    extract = (tmp_path / "sold.html").read_text(encoding="utf-8").replace("\N{NO-BREAK SPACE}", " ")
    assert "2 May 2024" in extract
    assert "812.5" not in extract


def test_what_goes_to_another_engine_had_at_least_those_hours(from_paper: Fleetlog, tmp_path: Path) -> None:
    from_paper("hours", SERIAL, "900", "--on", "2026-03-01")
    moved = from_paper("move-item", SERIAL, "timing belt", "--to", "TT-0125", "--from-hours", "910")
    assert moved.status == 0, moved.err
    assert re.search(r"fitted used +timing belt +at least 97\.5 h, 23 months +ran at least", moved.out), moved
    history = from_paper("history", "TT-0125").out
    assert "with at least 97.5 h and 23 months on it; ran at least these hours: no reading tells" in history
    [entry] = [
        e for e in json.loads(from_paper("history", "TT-0125", "--format", "json").out)["entries"]
        if e["item"] == "timing belt"
    ]  # fmt: skip
    assert (entry["prior_hours"], entry["prior_hours_are_least"]) == (97.5, True)
    items = json.loads(from_paper("history", "TT-0125", "--format", "json").out)["items"]
    assert [i["age_hours_are_least"] for i in items if i["item"] == "timing belt"] == [True]
    why = from_paper("why", "TT-0125", "timing belt").out
    assert "It had at least 97.5 h and 23 months already, which count." in why
    assert "It may have run more before, so hours may run out sooner than told." in why
    from_paper("report", "--out", "pages")
    [page] = (tmp_path / "pages/engines").glob("*0125*.html")
    text = page.read_text(encoding="utf-8").replace("\N{NO-BREAK SPACE}", " ")
    assert "It had at least 97.5 h and 23 months already." in text


def test_what_rides_on_a_powerhead_had_at_least_those_hours_and_so_has_what_is_fitted_from_there(
    from_paper: Fleetlog,
) -> None:
    from_paper("fit", SERIAL, "spark plugs", "--on", "2025-10-02")
    from_paper("hours", SERIAL, "900", "--on", "2026-03-01")
    words = ("swap", "TT-0125", "powerhead", "--from", SERIAL, "--from-hours", "910", "--note", "cracked")
    swapped = from_paper(*words).out
    assert re.search(r"powerhead +at least 97\.5 h, 23 months +cracked; ran at least", swapped), swapped
    assert re.search(r"timing belt +at least 97\.5 h, 23 months +rode in on the powerhead; ran", swapped)
    assert re.search(r"spark plugs +\d+\.\d h, 6 months +rode in on the powerhead  ", swapped)


def test_after_the_last_reading_an_item_had_run_at_least_what_that_one_tells(twins: Fleetlog) -> None:
    words = ("fit", "TT-0125", "timing belt", "--from", "TT-0017")
    fitted = twins(*words, "--on", "2026-04-10").out
    assert "Its age, looked up on TT-0017: at least 102.1 h, 35 months." in fitted
    assert twins("void", entry_id(fitted), "--reason", "another day").status == 0
    assert "looked up on TT-0017: 102.1 h, 29 months." in twins(*words, "--on", "2025-10-14").out


def entry_id(said: str) -> str:
    """The entry that a command says it recorded."""
    return re.findall(r"Recorded (\S+):", said)[0]

"""fleetlog card: listed, printed as a sheet and a form, recorded; what stands out keeps the visit open."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

import html5lib
import pytest

from fleetlog.usecases.demo import demo_folder

BELT = "belt and flywheel refit"
FIGURES = {
    "sprocket-bank-1": "applied = [49]",
    "sprocket-bank-2": "applied = [49]",
    "tensioner": "applied = [43]",
    "cover-bolts": "applied = [3.5, 5.8]",
    "stator-bolts": "applied = [7.5]",
    "flywheel-nut": "applied = [174]",
    "grounds": "counted = 6\nout_of = 6",
    "oil-pressure": "measured = [410]",
    "revolutions": "measured = [5600]",
    "voltage": "measured = [14.1]",
    "temperature": "measured = [68]",
}


@pytest.fixture
def shop(twins):
    for path in sorted((demo_folder() / "cards").glob("*.toml")):
        said = twins("card", "take", str(path))
        assert said.status == 0, said.err
    return twins


def printed(shop, name=BELT) -> str:
    said = shop("card", "print", name, "TT-0017", "--out", "job")
    assert said.status == 0, said.err
    return Path("job.toml").read_text(encoding="utf-8")


def filled(text: str, head: str = "", **steps: str) -> None:
    """The form with every step done and its figures in, or a step as given."""

    def fill(found: re.Match[str]) -> str:
        key = found.group(1)
        if key in steps:
            return f'key = "{key}"\n{steps[key]}\n'
        return f'key = "{key}"\nresult = "done"\n{FIGURES.get(key, "")}\n'

    form = re.sub(r'key = "([^"]+)"\n(?:(?!\n\n|\[\[).*\n?)*?(?=\n#|\Z)', fill, text)
    Path("job.toml").write_text(form.replace("# by = ", f"{head}\n# by = ", 1), encoding="utf-8")


def test_cards_are_listed_for_an_engines_family(shop):
    names = [row["name"] for row in json.loads(shop("card", "list", "--format", "json").out)]
    assert names == [BELT, "lower unit service", "twin yearly look"]
    said = shop("card", "list", "--engine", "TT-0017", "--format", "json").out
    assert [row["name"] for row in json.loads(said)] == [BELT, "lower unit service"]


def test_a_card_taken_twice_is_there_once_and_an_older_text_is_refused(shop):
    path = demo_folder() / "cards" / f"{BELT}.toml"
    assert shop("card", "take", str(path)).status == 0
    changed = Path(f"{BELT}.toml")
    changed.write_text(path.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    said = shop("card", "take", str(changed))
    assert said.status == 1
    assert "above 1, which the log has" in said.err
    Path("bad.toml").write_text('name = "x"\nrevision = 1\n', encoding="utf-8")
    assert "step: expected a list of tables" in shop("card", "take", "bad.toml").err


@pytest.mark.skipif(sys.platform == "win32", reason="there is no file without an end")
def test_a_file_without_an_end_is_refused_as_too_long(shop):
    for words in (("card", "take"), ("card", "record", "TT-0017", "--from"), ("join", "TT-0017", "--from")):
        said = shop(*words, "/dev/zero")
        assert (said.status, said.out) == (1, "")
        assert said.err == "fleetlog: /dev/zero: it has more than 2,000,000 bytes; give another file\n"


def test_the_sheet_is_valid_html_with_a_box_for_every_result_of_every_step(shop):
    printed(shop)
    page = Path("job.html").read_text(encoding="utf-8")
    html5lib.HTMLParser(strict=True).parse(page)
    steps = json.loads(shop("card", "show", "timing belt", "--format", "json").out)
    assert page.count('class="box"') == 4 * len(steps)
    for step in steps:
        assert step["title"] in page
    assert "174 lbf·ft (235.9 N·m), band 168 to 180" in page
    assert "Invented for the demo fleet" in page
    assert page.count("wrench <span") == sum("lbf·ft" in (step["figures"] or "") for step in steps) == 6
    again = shop("card", "print", BELT, "TT-0017", "--out", "job")
    assert again.status == 1
    assert "left alone" in again.err


def test_the_belt_card_covers_in_order_what_the_job_turns_on(shop):
    steps = json.loads(shop("card", "show", BELT, "--format", "json").out)
    told = [f"{s['title']} {s['figures'] or ''} {s['why'] or ''}" for s in steps]
    wanted = [
        r"Ignition off, kill cord off, battery off; plugs out where the manual says",
        r"Dowels present, and carried over to a new block",
        r"Hold the cam of bank 1 on its flats .* load does not go through the belt",
        r"cover bolts in two passes pass 1: .*; pass 2: .* gasket settles",
        r"Cam marks at their points and the crank on its mark before the belt goes on; nudged",
        r"Belt seated evenly",
        r"stator bolts with medium-strength threadlocker, not high-strength",
        r"Key in its slot",
        r"flywheel nut with oiled threads, flywheel held",
        r"turned by hand through a full cycle: two turns of the crank, in running direction only",
        r"marks .* seen again where they were",
        r"Timing pointer back on and at top dead centre",
        r"Linkage tightened from the upper joint first, hand-tight below",
        r"without binding .* arrow outward and up",
        r"Every ground counted before the covers go on",
        r"Plug boots looked at for cracks and felt to engage",
        r"Harness tape renewed where oil or fuel has loosened it",
        r"No fuel leak .* under pressure",
        r"Oil pressure",
        r"Cooling water seen",
        r"Kill cord stops it",
        r"Propeller of the test run",
        r"Revolutions",
        r"voltage",
        r"temperature",
    ]
    places = []
    for pattern in wanted:
        after = places[-1] + 1 if places else 0
        found = next((n for n in range(after, len(told)) if re.search(pattern, told[n])), None)
        assert found is not None, (pattern, told[after:])
        places.append(found)


def test_a_form_left_as_it_was_printed_is_refused_step_by_step(shop):
    printed(shop)
    said = shop("card", "record", "TT-0017", "--from", "job.toml")
    assert said.status == 1
    assert "step made-safe, result: expected one of done, failed, not done, not applicable" in said.err
    assert "No evidence" in shop("evidence", "TT-0017").out


def test_the_form_says_what_each_figure_is_and_its_limits(shop):
    form = printed(shop)
    asked = form[form.index('key = "oil-pressure"') :]
    assert asked.splitlines()[2:4] == [
        "#   idle, cold, kPa, 250 to 600",
        "measured = []               # one figure for each line above",
    ]


def test_a_card_that_is_done_records_every_step_with_its_figures(shop):
    filled(printed(shop), **{"sprocket-bank-2": 'result = "not applicable"'})
    shop("visit", "open", "Plain Twins", "--id", "V-2")
    said = shop("card", "record", "TT-0017", "--from", "job.toml")
    assert (said.status, "outside visit V-2" in said.err) == (0, True)
    assert "37 steps, 6 torques, 4 figures" in said.out
    rows = json.loads(shop("evidence", "TT-0017", "--format", "json").out)
    assert all(row["card"] == BELT for row in rows)
    covers = [row for row in rows if row["what"].startswith("cam cover bolts")]
    assert [row["value"] for row in covers] == [3.5, 5.8]
    assert [row["what"] for row in covers] == [f"cam cover bolts, 16 of them, pass {n}" for n in (1, 2)]
    visit = rows[0]["visit_id"]
    assert shop("visit", "close", visit).status == 0


def test_steps_that_no_second_person_saw_are_told(shop):
    """Who did it is no second person; a step that was not done was to be seen by none."""
    form = printed(shop)
    assert form.count('checked_by = ""             # a second person, who saw it') == 12
    steps = {
        "made-safe": 'result = "done"\nchecked_by = "Lou"',
        "dowels": 'result = "done"\nby = "Lou"\nchecked_by = "lou"',
        "kill-cord": 'result = "not done"\nreason = "no water"',
    }
    filled(form, 'by = "Kim"', **steps)
    told = shop("card", "record", "TT-0017", "--from", "job.toml").err
    assert "none is named (checked_by): 2, 5, 7, 11, 15, 17, 19, 20, 23, 29\n" in told
    alone = json.loads(shop("evidence", "TT-0017", "--flagged", "--format", "json").out)
    assert [row["flags"] for row in alone] == ["no second person is named"] * 10
    assert not any(row["off"] for row in alone)
    out = "no second person is named for 10 steps that one was to see: "
    assert out in shop("history", "TT-0017").out
    assert out in shop("visit", "show", alone[0]["visit_id"]).out
    assert shop("report", "--out", "pages").status == 0
    page = Path("pages/engines/TT-0017.html").read_text(encoding="utf-8")
    assert out in " ".join(page.replace("&nbsp;", " ").replace("\xa0", " ").split())
    assert shop("answer", alone[0]["id"], "seen by Lou the day after").status == 0
    assert shop("answer", alone[1]["id"], "another engine", "--outcome", "entered wrong").status == 0
    assert out.replace("10", "8") in shop("history", "TT-0017").out
    filled(form, 'by = "Kim"\nchecked_by = "Lou"')
    assert "second person" not in shop("card", "record", "TT-0017", "--from", "job.toml").err


def test_a_step_without_an_answer_or_a_figure_is_named(shop):
    text = printed(shop)
    filled(text, **{"cover-bolts": 'result = "done"\napplied = [5.8]', "grounds": 'result = "not done"'})
    form = Path("job.toml").read_text(encoding="utf-8")
    Path("job.toml").write_text(form.replace('key = "pointer"', 'key = "pointr"'), encoding="utf-8")
    said = shop("card", "record", "TT-0017", "--from", "job.toml")
    assert said.status == 1
    for fault in (
        "step cover-bolts, applied: expected 2 figures in a list: pass 1, pass 2",
        "step grounds, reason: expected why the step was not done",
        "step pointr, key",
        "step pointer: expected an answer to step",
    ):
        assert fault in said.err, said.err


def test_what_is_off_keeps_the_visit_open_until_someone_says_what_was_done(shop):
    opened = shop("visit", "open", "Plain Twins", "--id", "V-77")
    assert opened.status == 0
    filled(
        printed(shop),
        'visit = "V-77"\nchecked_by = "Lou"',
        **{
            "flywheel-nut": 'result = "done"\napplied = [150]',
            "grounds": 'result = "done"\ncounted = 5\nout_of = 6',
            "kill-cord": 'result = "failed"\nreason = "runs on"',
        },
    )
    said = shop("card", "record", "TT-0017", "--from", "job.toml")
    assert said.status == 0
    assert said.err.count("off: ") == 3
    closing = shop("visit", "close", "V-77")
    assert closing.status == 1
    ids = re.findall(r'fleetlog answer (\S+) "', closing.err)
    assert len(ids) == 3
    for about in ids:
        assert shop("visit", "close", "V-77").status == 1
        assert shop("answer", about, "put right and seen again").status == 0
    assert shop("visit", "close", "V-77").status == 0
    flagged = json.loads(shop("evidence", "TT-0017", "--flagged", "--format", "json").out)
    assert {row["id"] for row in flagged} == set(ids)
    assert all(row["answer"] == "put right: put right and seen again (Tess, 2026-04-15)" for row in flagged)


def test_work_is_not_added_to_a_visit_that_is_over(shop):
    shop("visit", "open", "Plain Twins", "--id", "V-78")
    shop("visit", "close", "V-78")
    filled(printed(shop), 'visit = "V-78"')
    said = shop("card", "record", "TT-0017", "--from", "job.toml")
    assert said.status == 1
    assert "was closed on 2026-04-15" in said.err


def test_an_unknown_card_engine_or_revision_is_refused(shop):
    assert "nearest" in shop("card", "print", "belt and flywheel refitt", "TT-0017").err
    text = printed(shop)
    filled(text.replace("revision = 1", "revision = 7"))
    assert "no revision 7" in shop("card", "record", "TT-0017", "--from", "job.toml").err
    filled(text)
    assert "is of engine TT-0017, not of TT-0021" in shop("card", "record", "21", "--from", "job.toml").err

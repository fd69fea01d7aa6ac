"""where-fitted, superseded, term, advice, bulletin, join: what a person asks and records."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.test_recording import line_of


def rows(said):
    assert said.status == 0, said.err
    return json.loads(said.out)


def test_a_part_is_found_where_it_is_and_was_through_its_moves(marina):
    marina("fit", "19517", "timing belt", "--hours", "350.5", "--part", "TB-117", "--lot", "7")
    marina("--today", "2026-05-01", "move-item", "19517", "timing belt", "--to", "20125")
    found = rows(
        marina("--today", "2026-05-02", "where-fitted", "--part", "tb-117", "--lot", "7", "--format", "json")
    )
    assert [(r["state"], r["serial"]) for r in found] == [("now", "VK6-20125"), ("had", "VK6-19517")]
    assert found[0]["owner"] != found[1]["owner"]
    assert (found[1]["to_on"], found[1]["why_off"]) == ("2026-05-01", "transferred")
    assert rows(marina("where-fitted", "--part", "TB-117", "--lot", "8", "--format", "json")) == []


def test_a_part_that_rode_along_with_a_swapped_lower_unit_is_found_on_both_engines(marina):
    marina("fit", "18114", "propeller shaft seals", "--on", "2021-06-04", "--part", "PS-9", "--lot", "3")
    found = rows(marina("where-fitted", "--part", "PS-9", "--lot", "3", "--format", "json"))
    assert [(r["state"], r["serial"]) for r in found] == [("now", "VK6-20733"), ("had", "VK6-18114")]
    had = next(line for line in marina("where-fitted", "--part", "PS-9").out.splitlines() if "had it" in line)
    assert had.startswith(
        "had it until 2023-03-22, transferred  VK6-18114  propeller shaft seals  PS-9 lot 3  "
    )
    assert "has it now" in marina("where-fitted", "--part", "PS-9", "--now").out


def test_a_part_that_an_engine_came_by_unnamed_is_found_once_its_number_is_read(marina, tmp_path):
    (tmp_path / "seen").mkdir()
    (tmp_path / "seen" / "entries.csv").write_text(
        "serial,on,action,item,part_number,lot\nVK6-20733,2026-04-01,reused,propeller shaft seals,PS-9,3\n",
        encoding="utf-8",
    )
    assert marina("import", "seen").status == 0
    found = rows(marina("where-fitted", "--part", "PS-9", "--lot", "3", "--format", "json"))
    assert [(r["state"], r["serial"]) for r in found] == [
        ("now", "VK6-20733"),
        ("had", "VK6-18114"),
    ]
    marina("fit", "20733", "propeller shaft seals", "--on", "2026-04-10")
    found = rows(marina("where-fitted", "--part", "PS-9", "--format", "json"))
    assert {r["state"] for r in found} == {"had"}


def test_engines_that_have_the_part_of_a_lot_nobody_wrote_down_are_told_beside(marina):
    marina("fit", "19517", "timing belt", "--part", "TB-117", "--lot", "7")
    marina("fit", "19521", "timing belt", "--part", "TB-117")
    marina("fit", "20125", "timing belt", "--part", "TB-117", "--lot", "8")
    said = marina("where-fitted", "--part", "TB-117", "--lot", "7")
    assert "nobody wrote down of which lot it is on VK6-19521: it may be this one\n" in said.err
    written = marina("where-fitted", "--part", "TB-117", "--lot", "7", "--out", "notices")
    assert "on VK6-19521: it may be this one, and no page tells their owners\n" in written.err
    assert "no owner" not in written.err
    assert "VK6-19517" in said.out
    assert marina("where-fitted", "--part", "TB-117").err == ""


def test_superseded_numbers_are_one_part_unless_one_alone_is_meant(marina):
    marina("fit", "19517", "timing belt", "--part", "TB-117")
    marina("fit", "19521", "timing belt", "--part", "TB-118")
    assert marina("superseded", "add", "TB-117", "TB-118").status == 0
    both = rows(marina("where-fitted", "--part", "TB-118", "--format", "json"))
    assert {r["serial"] for r in both} == {"VK6-19517", "VK6-19521"}
    assert "to be ordered as TB-118" in marina("where-fitted", "--part", "TB-117").out
    alone = rows(marina("where-fitted", "--part", "TB-118", "--exact", "--format", "json"))
    assert {r["serial"] for r in alone} == {"VK6-19521"}
    assert "so it cannot replace it" in marina("superseded", "add", "TB-118", "tb-117").err
    assert marina("superseded", "add", "TB-117", "TB-118").status == 1
    assert marina("superseded", "withdraw", "TB-117", "TB-118", "--reason", "no").status == 0
    left = rows(marina("superseded", "list", "--format", "json"))
    assert "TB-117" not in {s["part_number"] for s in left}


def test_each_owner_who_has_a_part_gets_a_page_of_their_own_engines(marina, tmp_path):
    marina("fit", "19517", "timing belt", "--part", "TB-117", "--lot", "<7>")
    marina("fit", "20125", "timing belt", "--part", "TB-117", "--lot", "<7>")
    said = marina(
        "where-fitted", "--part", "TB-117", "--lot", "<7>", "--out", "notices", "--message", "Do not run it."
    )
    assert said.status == 0
    pages = {p.name: p.read_text(encoding="utf-8") for p in (tmp_path / "notices" / "owners").iterdir()}
    assert len(pages) + ("They want no reminders" in said.err) == 2
    for text in pages.values():
        assert "Do not run it." in text
        assert "lot &lt;7&gt;" in text
        assert ("VK6-19517" in text) != ("VK6-20125" in text)


def test_engines_with_the_part_whose_owner_nobody_knows_are_told(marina):
    marina("engine", "add", "VK6-99999", "--family", "V6 belt-cam")
    marina("fit", "VK6-99999", "timing belt", "--part", "TB-117")
    said = marina("where-fitted", "--part", "TB-117", "--out", "notices")
    assert "the log knows no owner to be told of VK6-99999\n" in said.err


def test_a_warranty_is_listed_with_its_end(marina):
    said = marina(
        "term", "add", "19517", "--on", "2022-06-20", "--months", "48", "--for-hours", "250",
        "--title", "emission parts",
    )  # fmt: skip
    assert said.status == 0, said.err
    [term] = rows(marina("term", "list", "19517", "--format", "json"))
    assert (term["ends_on"], term["state"], term["kind"]) == ("2026-06-20", "runs", "warranty")
    shown = marina("term", "list", "19517").out
    assert f"warranty, engine: emission parts  2026-06-20 or {term['ends_at_hours']} h" in shown
    assert "warranty of the engine (emission parts) ends 2026-06-20" in marina("history", "19517").out
    assert marina("term", "withdraw", term["term_id"], "--reason", "sold").status == 0
    assert rows(marina("term", "list", "19517", "--format", "json")) == []
    assert marina("term", "withdraw", term["term_id"], "--reason", "sold").status == 1


def test_the_reason_of_a_withdrawal_goes_out_and_comes_in_again(marina, tmp_path):
    marina("term", "add", "19517", "--on", "2022-06-20", "--months", "48")
    [term] = rows(marina("term", "list", "19517", "--format", "json"))
    assert "--reason" in marina("term", "withdraw", term["term_id"]).err
    assert marina("term", "withdraw", term["term_id"], "--reason", "sold without it").status == 0
    assert marina("export", "out").status == 0
    path = tmp_path / "out" / "terms.csv"
    said = path.read_text(encoding="utf-8")
    assert "sold without it" in said
    assert marina("import", "out").status == 0
    path.write_text(said.replace("sold without it", ""), encoding="utf-8")
    assert marina("import", "out").status == 0
    path.write_text(said.replace("sold without it", "another"), encoding="utf-8")
    assert "sold without it" in marina("import", "out").err


def test_the_owners_page_tells_what_was_advised_and_which_warranty_ends_soon(fleetlog, tmp_path):
    for words in (
        ("owner", "add", "Ann Reed", "--id", "ann"),
        ("boat", "add", "Gull", "--id", "gull", "--owner", "ann"),
        ("engine", "add", "AB-1", "--boat", "gull", "--from-new", "--in-service", "2022-06-20"),
        ("hours", "AB-1", "120", "--on", "2026-04-01"),
        ("term", "add", "AB-1", "--on", "2022-06-20", "--months", "48", "--for-hours", "250"),
        ("advice", "add", "AB-1", "new fuel hoses", "--how", "by telephone", "--answer", "declined"),
        ("swap", "AB-1", "lower-unit", "--prior-hours", "300"),
        ("report", "--out", "pages"),
    ):
        said = fleetlog(*words)
        assert said.status == 0, said.err
    [letter] = (tmp_path / "pages" / "owners").iterdir()
    told = " ".join(letter.read_text(encoding="utf-8").replace("\xa0", " ").split())
    assert "Before the warranty of the engine ends on 20 June 2026" in told
    assert "We advised on 15 April 2026 by telephone: new fuel hoses; you said no then" in told
    page = (tmp_path / "pages" / "engines" / "AB-1.html").read_text(encoding="utf-8").replace("\xa0", " ")
    for shown in ("Warranty of the engine", "New fuel hoses", "declined on", "Lower unit", "300.0 h"):
        assert shown in page
    assert "Ann Reed" not in page


def test_a_term_by_hours_whose_start_no_reading_tells_says_so(marina):
    marina("engine", "add", "VK6-99999", "--family", "V6 belt-cam")
    add = ("term", "add", "VK6-99999", "--on", "2026-04-01", "--for-hours", "100")
    unread = marina(*add).err
    assert "hours of 2026-04-01 are not known, and with no reading it has no end by hours" in unread
    marina("hours", "VK6-99999", "480", "--on", "2026-04-10")
    late = marina(*add).err
    assert "so those of the first reading count, 480.0 h on 2026-04-10, and it may end sooner" in late
    assert marina(*add, "--at-hours", "455").err == ""
    assert marina("term", "add", "VK6-99999", "--on", "2026-04-01", "--months", "12").err == ""
    assert marina("term", "add", "VK6-99999", "--for-hours", "100").err == ""


def test_a_repairs_term_stands_on_its_entry(marina):
    entry_id = marina("fit", "19517", "timing belt", "--on", "2026-04-01").out.split()[1].rstrip(":")
    assert marina("term", "add", "19517", "--entry", entry_id, "--months", "12").status == 0
    [term] = rows(marina("term", "list", "19517", "--format", "json"))
    assert (term["item"], term["starts_on"], term["ends_on"]) == ("timing belt", "2026-04-01", "2027-04-01")
    assert marina("term", "add", "19521", "--entry", entry_id, "--months", "12").status == 1
    assert "months, hours or both" in marina("term", "add", "19517").err


def test_declined_advice_stands_until_the_work_is_done(marina):
    said = marina(
        "advice", "add", "19517", "new fuel hoses", "--item", "fuel hose", "--how", "by telephone",
        "--answer", "declined", "--on", "2026-04-01",
    )  # fmt: skip
    assert said.status == 0, said.err
    [row] = rows(marina("advice", "list", "--engine", "19517", "--format", "json"))
    assert (row["answer"], row["how"], row["open"], row["by"]) == ("declined", "by telephone", True, "Tess")
    assert row["told_to"] == "Finlay Garstone"
    assert "advised 2026-04-01: new fuel hoses (declined)" in marina("history", "19517").out
    assert rows(marina("due", "--engine", "19517", "--all", "--item", "fuel hose", "--format", "json")) == []
    marina("fit", "19517", "fuel hose", "--new-item")
    assert rows(marina("advice", "list", "--engine", "19517", "--format", "json")) == []
    [done] = rows(marina("advice", "list", "--engine", "19517", "--all", "--format", "json"))
    assert (done["answer"], done["open"]) == ("done", False)


def test_an_answer_may_come_later(marina):
    marina("advice", "add", "19517", "new fuel hoses", "--how", "by e-mail", "--on", "2026-04-01")
    [row] = rows(marina("advice", "list", "--owner", "Garstone", "--format", "json"))
    assert row["answer"] is None
    assert marina("advice", "answer", row["advice_id"], "withdrawn", "--note", "sold").status == 0
    assert rows(marina("advice", "list", "--engine", "19517", "--format", "json")) == []
    again = marina("advice", "answer", row["advice_id"], "accepted")
    assert again.status == 1
    assert "is withdrawn already" in again.err
    assert marina("advice", "add", "19517", "  ").status == 1
    assert marina("advice", "answer", "n-nothing", "done").status == 1


BULLETIN = """
[[rule]]
key = "fuel-hose-check"
title = "Check the clip of the fuel hose"
item = "fuel hose clip"
action = "inspect"
once = true
issued_on = 2026-03-01
by = { on = 2026-05-15, hours = 2000 }
serials = ["VK6-19500..VK6-19599"]
consequence = "fire"
"""


def test_a_bulletin_says_who_is_affected_and_who_is_done(marina, tmp_path):
    marina("export", "out")
    path = tmp_path / "out" / "schedules" / "V6 belt-cam.toml"
    text = path.read_text(encoding="utf-8")
    revision = int(text.split("revision = ")[1].split()[0])
    text = text.replace(f"revision = {revision}", f"revision = {revision + 1}", 1) + BULLETIN
    path.write_text(text, encoding="utf-8", newline="\n")
    said = marina("import", "out")
    assert said.status == 0, said.err
    told = {b["bulletin"]: b for b in rows(marina("bulletin", "list", "--format", "json"))}
    assert told["fuel-hose-check"]["done"] == 0
    affected = rows(marina("bulletin", "show", "fuel-hose-check", "--format", "json"))
    serials = {r["serial"] for r in affected}
    assert {"VK6-19517", "VK6-19521"} <= serials
    assert all(s.startswith("VK6-195") for s in serials)
    line = line_of(marina, "VK6-19517", "fuel-hose-check")
    assert (line["state"], line["due_on"], line["due_hours"]) == ("due", "2026-05-15", 2000.0)
    assert "to be done once" in line["why"]
    assert marina("inspect", "19517", "fuel hose clip", "--note", "sound").status == 0
    left = rows(marina("bulletin", "show", "fuel-hose-check", "--open", "--format", "json"))
    assert "VK6-19517" not in {r["serial"] for r in left}
    lines = json.loads(marina("due", "--all", "--engine", "19517", "--format", "json").out)
    assert "fuel-hose-check" not in {li["rule"] for li in lines}
    assert marina("bulletin", "show", "nothing").status == 1


def engine_just_met(marina):
    marina("boat", "add", "Newcomer", "--id", "new", "--water", "salt")
    said = marina(
        "engine", "add", "VK6-77777", "--boat", "new", "--family", "V6 belt-cam", "--joined-used",
        "--in-service", "2019-05-01",
    )  # fmt: skip
    assert said.status == 0, said.err
    marina("hours", "77777", "640")


def test_an_engine_just_met_is_joined_from_a_form(marina, tmp_path):
    engine_just_met(marina)
    before = json.loads(marina("due", "--engine", "77777", "--format", "json").out)
    assert marina("join", "77777", "--template", "past.toml").status == 0
    form = (tmp_path / "past.toml").read_text(encoding="utf-8")
    belt_looked_at, belt_renewed = form.partition("timing-belt-inspect")[2].split("timing-belt-replace")
    assert 'answer = "unknown"    # done, unknown\n' in belt_looked_at
    assert 'answer = "unknown"    # done, original, unknown\n' in belt_renewed
    unknown = marina("join", "77777", "--from", "past.toml", "--dry-run").out
    assert unknown.startswith("Would record 0 entries of VK6-77777 as hearsay.\nAnswers: ")
    head, belt, rest = form.partition('rule = "timing-belt-replace"')
    rest = rest.replace('answer = "unknown"', 'answer = "done"\non = 2023-05-02\nhours = 310.5', 1)
    head, tensioner, tail = (head + belt + rest).partition('rule = "belt-tensioner-replace"')
    tail = tail.replace('answer = "unknown"', 'answer = "original"', 1)
    (tmp_path / "past.toml").write_text(head + tensioner + tail, encoding="utf-8")
    assert "Would record 2 entries" in marina("join", "77777", "--from", "past.toml", "--dry-run").out
    said = marina("join", "77777", "--from", "past.toml", "--source", "the service book")
    assert said.status == 0, said.err
    assert "1 done, 1 original" in said.out
    line = line_of(marina, "VK6-77777", "timing-belt-replace")
    assert (line["last_done_on"], line["last_done_hours"], line["due_hours"]) == ("2023-05-02", 310.5, 1310.5)
    original = line_of(marina, "VK6-77777", "belt-tensioner-replace")
    assert (original["last_done_on"], original["last_done_hours"]) == ("2019-05-01", 0.0)
    history = marina("history", "77777").out
    assert "hearsay, told on 2026-04-15: the service book" in history
    after = json.loads(marina("due", "--engine", "77777", "--format", "json").out)
    records = [sum(li["state"] == "no record" for li in lines) for lines in (before, after)]
    assert records[1] < records[0]
    assert marina("join", "77777", "--from", "past.toml").status == 1
    full = marina("join", "20417", "--template", "full.toml")
    assert "every line of its schedule has a record already" in full.out
    assert not Path("full.toml").exists()


def test_without_a_form_and_nobody_there_joining_says_what_to_do(marina):
    engine_just_met(marina)
    said = marina("join", "77777")
    assert said.status == 1
    assert "--template FILE" in said.err


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('answer = "perhaps"', "expected one of done, original, unknown"),
        ('answer = "done"', "the day it was done"),
        ('answer = "done"\non = 2027-01-01', "a day up to today"),
        ('answer = "original"\nhours = 3.5', "nothing, as the answer is original"),
        ('answer = "done"\non = 2024-01-01\nhours = 3.55', "at most one decimal"),
        ('answer = "unknown"\ncolour = "red"', "no such field"),
    ],
)
def test_a_form_with_something_wrong_is_refused_with_the_line(marina, tmp_path, line, said):
    engine_just_met(marina)
    text = f'serial = "VK6-77777"\n[[line]]\nrule = "timing-belt-replace"\n{line}\n'
    (tmp_path / "past.toml").write_text(text, encoding="utf-8")
    refused = marina("join", "77777", "--from", "past.toml")
    assert refused.status == 1
    assert said in refused.err


def test_answers_that_no_line_asks_for_are_refused(marina, tmp_path):
    engine_just_met(marina)
    for line, said in (
        ('rule = "no-such-rule"\nanswer = "unknown"', "no such line is without a record"),
        ('rule = "timing-belt-inspect"\nanswer = "original"', "only a part that is renewed can be"),
    ):
        (tmp_path / "past.toml").write_text(f'serial = "VK6-77777"\n[[line]]\n{line}\n', encoding="utf-8")
        refused = marina("join", "77777", "--from", "past.toml")
        assert refused.status == 1
        assert said in refused.err


def test_all_answers_that_cannot_be_recorded_are_told_at_once(marina, tmp_path):
    engine_just_met(marina)
    answers = {
        "timing-belt-inspect": "original",
        "no-such-rule": "unknown",
        "timing-belt-replace": "original",
    }
    text = "".join(f'[[line]]\nrule = "{rule}"\nanswer = "{said}"\n' for rule, said in answers.items())
    (tmp_path / "past.toml").write_text(f'serial = "VK6-77777"\n{text}', encoding="utf-8")
    said = marina("join", "77777", "--from", "past.toml")
    assert said.status == 1
    first, *problems = said.err.splitlines()
    assert first == "fleetlog: nothing was recorded, as 2 answers cannot be:"
    assert [line.partition(":")[0] for line in problems] == ["timing-belt-inspect", "no-such-rule"]


def test_an_original_part_wants_the_in_service_date_by_a_command_that_can_be_pasted(marina, tmp_path):
    marina("engine", "add", "VK6 88", "--family", "V6 belt-cam", "--joined-used")
    text = 'serial = "VK6 88"\n[[line]]\nrule = "timing-belt-replace"\nanswer = "original"\n'
    (tmp_path / "past.toml").write_text(text, encoding="utf-8")
    said = marina("join", "VK6 88", "--from", "past.toml").err
    assert "say it first: fleetlog engine change 'VK6 88' --in-service DATE" in said


def test_joining_asks_line_by_line_where_somebody_is_there(marina, monkeypatch):
    engine_just_met(marina)
    monkeypatch.setattr("fleetlog.cli.joining.somebody_there", lambda: True)
    asked = marina("join", "77777", stdin="").err
    assert "Where are the answers from?" in asked
    lines = json.loads(marina("due", "--all", "--engine", "77777", "--format", "json").out)
    answers = "the book\n" + "o\n" + "done\n2024-05-01\nfive hundred\n500,5\nlooked fine\n"
    said = marina("join", "77777", stdin=answers + "unknown\n" * len(lines))
    assert said.status == 0, said.err
    assert "Recorded 2 entries" in said.out
    assert "looked fine; hearsay, told on 2026-04-15: the book" in marina("history", "77777").out

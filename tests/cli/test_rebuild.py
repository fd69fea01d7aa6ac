"""fleetlog rebuild: the form written out, filled in, refused for what it leaves unsaid, recorded whole."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import pytest

from fleetlog.cli import rebuilding
from tests.store.said import statements

RENEWED = {
    "engine oil and filter",
    "timing belt",
    "belt tensioner",
    "spark plugs",
}


def template(twins) -> str:
    said = twins("rebuild", "TT-0017", "--scope", "powerhead", "--template", "form.toml")
    assert said.status == 0, said.err
    return Path("form.toml").read_text(encoding="utf-8")


def answered(text: str, answers: dict[str, str]) -> str:
    """The form with an answer to each item: as given, else looked at and left."""

    def answer(found: re.Match[str]) -> str:
        item = re.search(r'item = "(.+)"', found.group())
        assert item is not None
        given = answers.get(item.group(1), 'answer = "left"')
        return found.group().replace('answer = ""', given)

    return re.sub(r'\nitem = ".+"\n(?:position = ".+"\n)?answer = ""', answer, text)


def filled(text: str, **more: str) -> Path:
    answers = dict.fromkeys(RENEWED, 'answer = "renewed"\npart_number = "NV-1"')
    answers["cam cover gasket"] = 'answer = "reused"\nnote = "sealant at the corners"'
    answers |= more
    path = Path("form.toml")
    path.write_text(answered(text, answers), encoding="utf-8")
    return path


def due(fleetlog, rule, position=None):
    lines = json.loads(fleetlog("due", "--all", "--engine", "TT-0017", "--format", "json").out)
    return next((li for li in lines if li["rule"] == rule and li["position"] == position), None)


def test_the_template_lists_the_engines_own_items_and_is_a_form_of_its_own(twins):
    text = template(twins)
    form = tomllib.loads(text)
    assert form["serial"] == "TT-0017"
    assert form["scope"] == "powerhead"
    items = [(one["item"], one.get("position")) for one in form["item"]]
    assert ("timing belt", None) in items
    assert ("cam cover gasket", "bank 2") in items
    assert len(items) == len(set(items))
    assert all(one["answer"] == "" for one in form["item"])
    assert "fitted 2023-05-02" in text


def test_a_template_is_not_written_over_another_file(twins):
    template(twins)
    again = twins("rebuild", "TT-0017", "--scope", "powerhead", "--template", "form.toml")
    assert again.status == 1
    assert "left alone" in again.err


def test_a_form_left_as_it_was_is_refused_with_every_item_and_nothing_is_recorded(twins):
    template(twins)
    before = twins("history", "TT-0017", "--format", "json").out
    said = twins("rebuild", "TT-0017", "--from", "form.toml")
    assert said.status == 1
    assert "item timing belt, answer: expected one of renewed" in said.err
    assert "item cam cover gasket, bank 2, answer" in said.err
    assert twins("history", "TT-0017", "--format", "json").out == before


def test_an_item_taken_out_of_the_form_leaves_its_line_without_an_answer(twins):
    text = filled(template(twins)).read_text(encoding="utf-8")
    without = text.replace('[[item]]\nitem = "timing belt"\nanswer = "renewed"\npart_number = "NV-1"\n', "")
    assert without != text
    Path("form.toml").write_text(without, encoding="utf-8")
    said = twins("rebuild", "TT-0017", "--from", "form.toml")
    assert said.status == 1
    assert "Replace timing belt" in said.err
    assert "Replace belt tensioner" not in said.err
    assert "No rebuild is recorded" in twins("history", "TT-0017", "--rebuilds").out


def test_a_rebuild_reads_its_engine_as_often_however_many_items_it_has(twins):
    filled(template(twins))
    with statements() as said:
        assert twins("rebuild", "TT-0017", "--from", "form.toml").status == 0
    ledgers_read = sum(text.startswith("SELECT 'entries'") for text in said)
    assert ledgers_read == 3, "to record it, to show what was written, and for its due lines"


def test_a_whole_rebuild_resets_what_was_renewed_and_leaves_what_was_put_back(twins):
    plugs_before = due(twins, "spark-plugs-replace")
    filled(template(twins), **{"spark plugs": 'answer = "carried over"'})
    said = twins("rebuild", "TT-0017", "--from", "form.toml")
    assert said.status == 0, said.err
    assert "renewed: " in said.out
    assert "stays open" in said.out
    assert due(twins, "timing-belt-replace")["last_done_on"] == "2026-04-15"
    assert due(twins, "cam-cover-gasket-renew", "bank 1")["state"] == "next access"
    assert due(twins, "spark-plugs-replace")["due_on"] == plugs_before["due_on"]
    history = json.loads(twins("history", "TT-0017", "--format", "json").out)
    history = history[0] if isinstance(history, list) else history
    (rebuild,) = history["rebuilds"]
    notes = {(e["item"], e["action"]): e["note"] for e in rebuild["entries"]}
    assert notes["spark plugs", "reused"] == "carried over"
    assert notes["cam cover gasket", "reused"] == "sealant at the corners"
    assert notes["thermostat", "inspected"] == "looked at and left"
    assert {e["visit_id"] for e in rebuild["entries"]} == {rebuild["visit_id"]}


def test_an_item_of_a_rebuild_that_is_taken_back_is_told_to_count_as_renewed_all_the_same(twins):
    filled(template(twins))
    assert twins("rebuild", "TT-0017", "--from", "form.toml").status == 0
    history = json.loads(twins("history", "TT-0017", "--format", "json").out)
    history = history[0] if isinstance(history, list) else history
    (rebuild,) = history["rebuilds"]
    ids = {(e["item"], e["position"]): e["entry_id"] for e in rebuild["entries"]}
    taken_back = twins("void", ids["timing belt", None], "--reason", "it was the other engine's")
    assert (
        "counts as renewed with the powerhead rebuild of 2026-04-15, though no entry says so any more:"
        " Inspect timing belt, Replace timing belt; record what was done with it" in taken_back.err
    )
    assert f"take the rebuild back: fleetlog void {rebuild['entry_id']} --reason" in taken_back.err
    assert twins("void", rebuild["entry_id"], "--reason", "it was the other engine").err == ""


def test_the_items_of_a_rebuild_have_its_hours_and_not_those_of_the_run_that_followed(twins):
    text = filled(template(twins)).read_text(encoding="utf-8")
    text = text.replace('item = "thermostat"', 'item = "thermostat"\non = 2026-04-14')
    Path("form.toml").write_text("hours = 345.5\n" + text, encoding="utf-8")
    assert twins("rebuild", "TT-0017", "--from", "form.toml").status == 0
    assert twins("hours", "TT-0017", "348").status == 0
    assert due(twins, "timing-belt-replace")["last_done_hours"] == 345.5
    read = twins("reading", "list", "TT-0017", "--format", "csv").out.splitlines()
    assert [row.split(",")[1:5] for row in read if ",2026-" in row] == [
        ["2026-04-15", "345.5", "345.5", "accepted"],
        ["2026-04-15", "348.0", "348.0", "accepted"],
    ]


def test_a_figure_of_a_rebuild_that_is_held_is_told_with_both_ways_out(twins):
    text = filled(template(twins)).read_text(encoding="utf-8")
    Path("form.toml").write_text("hours = 99000\n" + text, encoding="utf-8")
    said = twins("rebuild", "TT-0017", "--from", "form.toml")
    assert said.err.startswith("fleetlog: note: TT-0017: 99000.0 h on 2026-04-15 is held, it is more than 24")
    assert "fleetlog reading withdraw TT-0017 --on 2026-04-15 --hours 99000.0 --reason WHY" in said.err


def test_an_item_that_was_left_keeps_its_line_where_it_stood(twins):
    before = due(twins, "timing-belt-replace")
    filled(template(twins), **{"timing belt": 'answer = "left"\nnote = "edges straight"'})
    assert twins("rebuild", "TT-0017", "--from", "form.toml").status == 0
    after = due(twins, "timing-belt-replace")
    assert (after["last_done_on"], after["due_hours"]) == (before["last_done_on"], before["due_hours"])
    assert due(twins, "timing-belt-inspect")["last_done_on"] == "2026-04-15"


def test_a_gasket_that_was_left_and_owed_nothing_owes_nothing_after_the_rebuild(twins):
    filled(template(twins), **{"cam cover gasket": 'answer = "left"'})
    assert twins("rebuild", "TT-0017", "--from", "form.toml").status == 0
    assert due(twins, "cam-cover-gasket-renew", "bank 1") is None


def test_a_dry_run_says_what_it_would_record_and_records_nothing(twins):
    filled(template(twins))
    said = twins("rebuild", "TT-0017", "--from", "form.toml", "--dry-run")
    assert said.status == 0
    assert said.out.startswith("Would record the powerhead rebuild of TT-0017")
    assert "No rebuild is recorded" in twins("history", "TT-0017", "--rebuilds").out
    assert twins("visit", "list").out.strip() == "No visit."


def test_a_rebuild_outside_the_open_visit_says_how_the_form_names_it(twins):
    twins("visit", "open", "Plain Twins", "--id", "V 2")
    text = filled(template(twins)).read_text(encoding="utf-8")
    put = """outside visit V 2, which is open since 2026-04-15: visit = "V 2" in the form puts work there"""
    dry = twins("rebuild", "TT-0017", "--from", "form.toml", "--dry-run")
    assert f"{put}; if" in dry.err
    said = twins("rebuild", "TT-0017", "--from", "form.toml")
    assert f"{put} (take this back first: fleetlog visit void v" in said.err
    (void,) = re.findall(r"visit void (v\w+)", said.err)
    assert twins("visit", "void", void, "--reason", "elsewhere").status == 0
    Path("form.toml").write_text('visit = "V 2"\n' + text, encoding="utf-8")
    there = twins("rebuild", "TT-0017", "--from", "form.toml")
    assert (there.status, "outside" in there.err) == (0, False)


EVIDENCE = """
[[torque]]
joint = "cam sprocket bolt, bank 1"
target = 49
low = 47
high = 51
applied = 40
unit = "lbf.ft"
{answer}

[[measurement]]
item = "cylinder bore"
position = "cylinder 3"
quantity = "diameter"
unit = "mm"
found = 89.12
left = 89.02
low = 89.0
high = 89.05

[[check]]
title = "grounds counted"
result = "done"
counted = 6
out_of = 6
checked_by = "Femke"
"""


def with_evidence(twins, answer: str, head: str = "") -> None:
    text = filled(template(twins)).read_text(encoding="utf-8")
    text = text.replace("# by = ", f"{head}\n# by = ", 1)
    Path("form.toml").write_text(text + EVIDENCE.format(answer=answer), encoding="utf-8")


def test_a_rebuild_is_not_closed_over_a_torque_outside_its_band(twins):
    with_evidence(twins, "", "closed_on = 2026-04-15")
    said = twins("rebuild", "TT-0017", "--from", "form.toml")
    assert said.status == 1
    assert said.err == (
        "fleetlog: nothing was recorded: the visit cannot be closed on 2026-04-15, as 1 point is off; say in"
        " the form what was done about each, as outcome and what, or leave out closed_on, so that the visit"
        " stays open:\ncam sprocket bolt, bank 1: 40 lbf·ft (54.2 N·m), band 47 to 51 lbf·ft\n"
    )
    assert "No rebuild is recorded" in twins("history", "TT-0017", "--rebuilds").out


def test_a_rebuild_is_closed_when_the_form_says_what_was_done_about_it(twins):
    with_evidence(
        twins, 'outcome = "put right"\nwhat = "drawn up again, 49"', "closed_on = 2026-04-15\nhours = 345.5"
    )
    said = twins("rebuild", "TT-0017", "--from", "form.toml")
    assert said.status == 0, said.err
    assert "the visit is closed" in said.out
    rows = json.loads(twins("evidence", "TT-0017", "--format", "json").out)
    torque = next(row for row in rows if row["kind"] == "torque")
    assert torque["newton_metres"] == pytest.approx(54.2327)
    assert torque["answer"].startswith("put right: drawn up again, 49 (Tess")
    bores = {row["how"].split()[0]: row["value"] for row in rows if row["kind"] == "measurement"}
    assert bores == {"found": 89.12, "left": 89.02}
    grounds = next(row for row in rows if row["kind"] == "check")
    assert (grounds["how"], grounds["checked_by"]) == ("done, 6 of 6", "Femke")


def test_a_form_with_several_faults_names_them_all(twins):
    head = 'closed_on = 2026-05-01\nhours = 12.34\nodd = 1\nvisit = "V\\n2"\nchecked_by = "Q\\nR"'
    with_evidence(twins, 'outcome = "fixed"', head)
    said = twins("rebuild", "TT-0017", "--from", "form.toml")
    assert said.status == 1
    for fault in (
        "closed_on",
        "hours",
        "odd: no such field",
        "torque 1, outcome",
        "visit: expected one line of at most 200 characters; found 'V\\n2'",
        "checked_by: expected one line",
    ):
        assert fault in said.err, fault


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"serial = ", "not readable as TOML"),
        (b'serial = "\xff"', "not UTF-8"),
        (b'serial = "TT-0021"\nscope = "powerhead"', "is of engine TT-0021, not of TT-0017"),
        (b'serial = "TT-0017"\nscope = "keel"', "scope: expected one of powerhead"),
    ],
)
def test_a_form_that_is_none_is_refused_in_plain_words(twins, content, expected):
    Path("form.toml").write_bytes(content)
    said = twins("rebuild", "TT-0017", "--from", "form.toml")
    assert said.status == 1
    assert expected in said.err
    assert twins("rebuild", "TT-0017", "--from", "nowhere.toml").status == 1


def test_a_scope_that_resets_nothing_and_a_rebuild_without_anybody_to_ask_are_refused(twins):
    said = twins("rebuild", "TT-0017", "--scope", "powerhead")
    assert said.status == 1
    assert "--template" in said.err
    assert twins("rebuild", "TT-0017").status == 2


def asked_words(twins):
    """The answers to what is asked of the items of a powerhead."""
    form = tomllib.loads(template(twins))
    words = ["", "", "345.5", "lost power", "", ""]
    for one in form["item"]:
        if one["item"] in RENEWED:
            words += ["ren", "NV-7", "", ""]
        elif one["item"] == "cam cover gasket":
            words += ["reused", "sealant at the corners"]
        else:
            words += ["left", ""]
    others = sum(line == "# [[item]]" for line in Path("form.toml").read_text(encoding="utf-8").splitlines())
    return words + ["n"] * others


def test_a_rebuild_asked_for_step_by_step_stays_open_where_something_is_off(twins, monkeypatch):
    """Asked whether the visit is over one would lose all answers by a yes."""
    monkeypatch.setattr(rebuilding, "somebody_there", lambda: True)
    words = asked_words(twins)
    words += ["", "bolt drilled out, thread sound", "failed", "half of it is in there still", "", "", "", "y"]
    said = twins("rebuild", "TT-0017", "--scope", "powerhead", stdin="\n".join(words) + "\n")
    assert said.status == 0, said.err
    assert "the visit stays open" in said.out
    assert "bolt drilled out, thread sound: failed (half of it is in there still)" in said.out + said.err


def test_a_rebuild_is_asked_for_step_by_step_and_confirmed(twins, monkeypatch):
    monkeypatch.setattr(rebuilding, "somebody_there", lambda: True)
    words = asked_words(twins)
    words += ["flywheel nut", "", "174", "much", "168", "180", "150", "oiled", "", "Femke"]
    words += ["drawn up again, 174", "", ""]
    words += ["key in its slot", "", "", "Femke", "", "y", "y"]
    said = twins("rebuild", "TT-0017", "--scope", "powerhead", stdin="\n".join(words) + "\n")
    assert said.status == 0, said.err
    assert "Recorded the powerhead rebuild of TT-0017" in said.out
    assert "the visit is closed" in said.out
    history = twins("history", "TT-0017", "--rebuilds").out
    assert "timing belt" in history
    assert due(twins, "timing-belt-replace")["last_done_hours"] is not None

"""What a rebuild has to say of the items whose rules it resets, and what counts as an answer."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlog.domain.card_text import card_from_toml
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.rebuild import (
    is_carried_over,
    is_left,
    is_put_back_used,
    lines_reset,
    outline,
    unanswered,
)
from fleetlog.domain.records import Engine, Entry, Reading
from fleetlog.domain.satisfaction import satisfaction, seen_on
from fleetlog.domain.schedule_text import schedule_from_toml

DAY = date(2026, 4, 15)
SCHEDULE, PROBLEMS = schedule_from_toml(
    "twin",
    """
name = "Twin"
revision = 1

[[rule]]
key = "belt-replace"
item = "belt"
action = "replace"
every = { months = 60 }
reset_by = ["powerhead"]
renews = ["belt-look", "tensioner-look"]

[[rule]]
key = "belt-look"
item = "belt"
action = "inspect"
every = { months = 12 }
reset_by = ["powerhead"]

[[rule]]
key = "tensioner-look"
item = "tensioner"
action = "inspect"
every = { months = 12 }
reset_by = ["powerhead"]

[[rule]]
key = "gasket"
item = "gasket"
action = "replace"
positions = ["bank 1", "bank 2"]
renew_when_disturbed = true
reset_by = ["powerhead"]

[[rule]]
key = "impeller"
item = "impeller"
action = "replace"
every = { months = 12 }
reset_by = ["lower unit"]
""",
)
assert SCHEDULE is not None, PROBLEMS


def entry(action: str, item: str, position: str | None = None, note: str | None = None) -> Entry:
    return Entry(
        f"e-{action}-{item}-{position}", "A", DAY, action, "v1", item=item, position=position, note=note
    )


def left(*entries: Entry, scope: str = "powerhead") -> list[str]:
    return [f"{r.key} {p}" if p else r.key for r, p in unanswered(SCHEDULE, scope, entries)]


def test_a_rebuild_without_a_word_leaves_every_line_it_resets():
    assert left() == ["belt-replace", "belt-look", "tensioner-look", "gasket bank 1", "gasket bank 2"]
    assert left(scope="lower unit") == ["impeller"]
    assert left(scope="top end") == []


@pytest.mark.parametrize(
    ("action", "open_lines"),
    [
        ("fitted", []),
        ("reused", ["tensioner-look"]),
        ("inspected", ["belt-replace", "tensioner-look"]),
        ("adjusted", ["belt-replace", "tensioner-look"]),
    ],
)
def test_a_rule_that_replaces_wants_to_hear_fitted_or_reused(action, open_lines):
    assert [line for line in left(entry(action, "BELT")) if "gasket" not in line] == open_lines


def test_an_answer_at_one_position_is_none_at_the_other_and_one_without_answers_both():
    assert "gasket bank 2" in left(entry("reused", "gasket", "Bank 1"))
    assert "gasket bank 1" not in left(entry("reused", "gasket", "Bank 1"))
    assert not any("gasket" in line for line in left(entry("inspected", "gasket")))


entries = st.builds(
    entry,
    st.sampled_from(["fitted", "reused", "inspected", "serviced"]),
    st.sampled_from(["belt", "tensioner", "gasket", "impeller"]),
    st.sampled_from([None, "bank 1", "bank 2"]),
)


@given(st.lists(entries, max_size=6), st.lists(entries, max_size=3))
def test_more_said_never_leaves_more_open(said, more):
    assert set(left(*said, *more)) <= set(left(*said))


@given(st.lists(entries, max_size=6, unique_by=lambda e: e.entry_id))
def test_a_line_that_was_answered_is_never_merely_counted_as_renewed(said):
    """Where the form was complete, no replacing line rests on the rebuild alone."""
    rebuilt = Entry("r", "A", DAY, "rebuilt", "v1", scope="powerhead")
    seen = seen_on(EngineLedger(Engine("A", in_service_on=date(2020, 1, 1)), (*said, rebuilt)), DAY)
    open_lines = {(rule.key, position) for rule, position in unanswered(SCHEDULE, "powerhead", said)}
    for rule, position in lines_reset(SCHEDULE, "powerhead"):
        if rule.action != "replace" or rule.renew_when_disturbed or (rule.key, position) in open_lines:
            continue
        done = satisfaction(seen, SCHEDULE, rule, position)
        assert all(d.entry.action != "rebuilt" for d in done.done)


def test_the_outline_knows_the_age_of_what_is_on_and_what_is_still_owed():
    fitted = Entry("e1", "A", date(2024, 4, 15), "fitted", None, 1000, item="belt", part_number="B-1")
    reused = Entry("e2", "A", date(2025, 1, 1), "reused", item="gasket", position="bank 1", note="sealant")
    other = Entry("e3", "A", date(2025, 1, 1), "fitted", item="starter")
    readings = (Reading("r", "A", DAY, 1500),)
    ledger = EngineLedger(Engine("A", in_service_on=date(2020, 1, 1)), (fitted, reused, other), readings)
    asked, others = outline(seen_on(ledger, DAY), SCHEDULE, "powerhead")
    belt, tensioner, *gaskets = asked
    assert (belt.age_tenths, belt.age_months, belt.fitted) == (500, 24, fitted)
    assert [rule.key for rule in belt.rules] == ["belt-replace", "belt-look"]
    assert tensioner.fitted is None
    assert [(g.position, g.is_owed) for g in gaskets] == [("bank 1", True), ("bank 2", False)]
    assert [(o.item, o.rules) for o in others] == [("starter", ())]


def test_the_words_of_a_note_say_what_kind_of_putting_back_it_was():
    used = entry("reused", "gasket", note="sealant at the corners")
    over = entry("reused", "dowels", note="carried over: all ten")
    stays = entry("reused", "belt", note="looked at and left")
    looked = entry("inspected", "belt", note="looked at and left: edges straight")
    assert [is_put_back_used(e) for e in (used, over, stays, looked)] == [True, False, False, False]
    assert [is_carried_over(e) for e in (used, over, stays, looked)] == [False, True, False, False]
    assert [is_left(e) for e in (used, over, stays, looked)] == [False, False, True, True]


# Work cards as texts

STEP = '[[step]]\nkey = "nut"\ntitle = "Tighten the nut"\n'
CARD = f'name = "Card"\nrevision = 1\n{STEP}'
NUT = f'{CARD}torque = {{ joint = "nut", '


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("name = ", "not readable as TOML"),
        (f"revision = 1\n{STEP}", "name: expected a text; it is missing"),
        (f'name = "C"\nrevision = 0\n{STEP}', "revision: expected a whole number, 1 or more; found 0"),
        ('name = "C"\nrevision = 1\n', "step: expected a list of tables"),
        (f"{CARD}{STEP}", "step 2 (nut), key: each step has a key of its own"),
        (f"{CARD}odd = 1\n", "step 1 (nut), odd: no such field"),
        (
            f'{CARD}torque = {{ joint = "n", unit = "kN" , passes = [{{ target = 1 }}] }}',
            "torque, unit: expected",
        ),
        (
            f'{CARD}torque = {{ joint = "n", unit = "N·m", passes = [] }}',
            "torque, passes: expected a list of",
        ),
        (
            f'{NUT}unit = "N·m", passes = [{{ target = 5, low = 6, high = 4 }}] }}',
            "torque, passes 1, high: expected 6 or more",
        ),
        (
            f'{CARD}count = {{ what = "grounds" }}\nmeasure = {{ item = "a", quantity = "b" }}',
            "torque, measure and count exclude each other",
        ),
        (
            f'{CARD}measure = {{ item = "a", quantity = "b", stage = "later" }}',
            "stage: expected one of found, left",
        ),
    ],
)
def test_what_is_wrong_with_a_card_is_said_with_its_step_and_field(text, problem):
    card, problems = card_from_toml("card", text)
    assert card is None
    assert any(problem in said for said in problems), problems


def test_a_sound_card_has_its_steps_under_their_headings_and_numbered_through():
    text = (
        CARD + 'part = "Off"\n' + STEP.replace("nut", "bolt") + 'part = "Off"\n' + STEP.replace("nut", "run")
    )
    card, problems = card_from_toml("card", text)
    assert card is not None, problems
    assert [(part, [n for n, _ in steps]) for part, steps in card.parts()] == [("Off", [1, 2]), (None, [3])]
    assert card.is_for(None)

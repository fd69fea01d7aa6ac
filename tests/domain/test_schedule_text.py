"""A service schedule is read from its text, and each bad field of it is one line that names it."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from fleetlog.domain.schedule import Deadline, Limits, PartNeed, Rule
from fleetlog.domain.schedule_text import schedule_from_toml

TOP = 'name = "Two-stroke, twin"\nrevision = 3\n'
GOOD = {"key": '"belt"', "item": '"timing belt"', "action": '"replace"', "every": "{ hours = 100 }"}


def table(fields: dict[str, str | None]) -> str:
    return "[[rule]]\n" + "".join(f"{k} = {v}\n" for k, v in {**GOOD, **fields}.items() if v is not None)


def problems_of(text: str) -> list[str]:
    schedule, problems = schedule_from_toml("twin", text)
    assert (schedule is None) == bool(problems)
    return problems


def only_rule(**fields: str | None) -> Rule:
    schedule, problems = schedule_from_toml("twin", TOP + table(fields))
    assert schedule is not None, problems
    [rule] = schedule.rules
    return rule


BAD_FIELDS = [
    ("item", None, "expected a text; it is missing"),
    ("item", '"  "', "expected a text that is not empty; found '  '"),
    ("item", "2024-01-01", "expected a text"),
    ("title", "3", "expected a text; found 3"),
    ("action", None, "it is missing"),
    ("action", '"paint"', "expected one of replace, inspect, adjust, service; found 'paint'"),
    ("action", '["replace"]', "expected one of replace"),
    ("positions", '"bank 1"', "expected a list of texts"),
    ("positions", '["bank 1", ""]', "expected a list of texts"),
    ("positions", '["bank 1", "Bank 1"]', "expected each position once"),
    ("every", None, "expected hours, months or both"),
    ("every", "{}", "expected hours, months or both"),
    ("every", "100", "expected hours, months or both"),
    ("every", "{ hours = 0 }", "hours: expected hours above 0, 1000000 at most; found 0"),
    ("every", "{ hours = 1e23 }", "hours: expected hours above 0"),
    ("every", "{ months = 1.5 }", "months: expected whole months, 1 to 1200; found 1.5"),
    ("every", "{ months = 99999 }", "months: expected whole months, 1 to 1200"),
    ("every", "{ days = 3 }", "days: no such field"),
    ("every", "{ hours = 5, days = 3 }", "days: no such field; there are: hours, months"),
    ("every", "{ hours = 5, months = 1.5 }", "months: expected whole months, 1 to 1200; found 1.5"),
    ("first", "20", "expected hours, months or both"),
    ("first", "{ hours = 0 }", "hours: expected hours above 0, 1000000 at most; found 0"),
    ("first", "{ hours = -1 }", "hours: expected hours above 0, 1000000 at most; found -1"),
    ("first", "{ hours = inf }", "hours: expected hours above 0"),
    ("first", "{ hours = nan }", "hours: expected hours above 0"),
    ("first", "{ hours = true }", "hours: expected hours above 0"),
    ("first", '{ hours = "20" }', "hours: expected hours above 0"),
    ("first", "{ months = 0 }", "months: expected whole months, 1 to 1200; found 0"),
    ("first", "{ weeks = 2 }", "weeks: no such field"),
    ("severe", "0.5", "expected a table such as { salt = 0.8 }"),
    ("severe", "{ mud = 0.5 }", "expected a water or a use"),
    ("severe", "{ salt = 0 }", "expected a factor above 0 and at most 1 for salt"),
    ("severe", "{ salt = 1.01 }", "expected a factor above 0 and at most 1 for salt"),
    ("severe", '{ salt = "half" }', "expected a factor above 0 and at most 1 for salt"),
    ("reset_by", '["gearbox"]', "expected a list of: powerhead, top end, lower unit"),
    ("reset_by", '"powerhead"', "expected a list of: powerhead, top end, lower unit"),
    ("renews", '["chain"]', "there is no rule chain"),
    ("renews", '["belt"]', "a rule does not renew itself"),
    ("renew_when_disturbed", '"yes"', "expected true or false"),
    ("access", "[]", "expected a text"),
    ("consequence", "1", "expected a text"),
    ("labour_hours", "-1", "expected hours, 0 or more"),
    ("labour_hours", '"long"', "expected hours, 0 or more"),
    ("parts", '"A-1"', "expected a list of { number, quantity }"),
    ("parts", '["A-1"]', "expected tables with number and quantity"),
    ("parts", "[{ quantity = 1 }]", "expected tables with number and quantity"),
    ("parts", '[{ number = "A-1", quantity = 0 }]', "expected tables with number and quantity"),
    ("colour", '"red"', "no such field"),
]


@pytest.mark.parametrize(("name", "value", "said"), BAD_FIELDS)
def test_a_bad_field_is_one_line_that_names_rule_and_field(name: str, value: str | None, said: str) -> None:
    [line] = problems_of(TOP + table({name: value}))
    assert line.startswith(f"rule 1 (belt), {name}")
    assert said in line
    assert "\n" not in line


@pytest.mark.parametrize(("value", "found"), [(None, "it is missing"), ("3", "found 3"), ('""', "found ''")])
def test_a_rule_without_a_usable_key_is_named_by_its_place(value: str | None, found: str) -> None:
    [line] = problems_of(TOP + table({}) + table({"key": value}))
    assert line.startswith("rule 2")
    assert line.endswith(found)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("revision = 1\n" + table({}), "name: expected a text; it is missing"),
        ('name = "S"\n' + table({}), "revision: expected a whole number, 1 or more"),
        ('name = "S"\nrevision = 0\n' + table({}), "revision: expected a whole number"),
        ('name = "S"\nrevision = true\n' + table({}), "revision: expected a whole number"),
        (TOP, "rule: expected [[rule]] tables; it is missing"),
        (TOP + "rule = 3", "rule: expected [[rule]] tables; found 3"),
        (TOP + "rule = [3]", "rule 1: expected a table"),
        (TOP + 'author = "Ann"\n' + table({}), "author: no such field"),
        (TOP + table({}) + table({}), "rule 2 (belt), key: each rule has a key of its own"),
        ("name = twin", "not readable as TOML"),
        ("name = " + "[" * 5000, "not readable as TOML"),
    ],
)
def test_what_is_wrong_with_the_file_is_one_line(text: str, said: str) -> None:
    [line] = problems_of(text)
    assert line.startswith(said)


@pytest.mark.parametrize(
    "fields",
    [
        {"season": '"before launch"'},
        {"renew_when_disturbed": "true"},
        {"season": '"before launch"', "renew_when_disturbed": "true", "every": None},
    ],
)
def test_only_one_way_to_be_due_can_be_given(fields: dict[str, str | None]) -> None:
    [line] = problems_of(TOP + table(fields))
    assert line == "rule 1 (belt): every, season, once and renew_when_disturbed exclude each other"


def test_renewing_when_disturbed_is_replacing() -> None:
    fields = {"renew_when_disturbed": "true", "every": None, "action": '"inspect"'}
    [line] = problems_of(TOP + table(fields))
    assert line.startswith("rule 1 (belt), action: expected replace, as the rule says renew_when_disturbed")


def test_everything_that_is_wrong_is_said_at_once() -> None:
    lines = problems_of(
        TOP + table({"action": '"paint"', "colour": '"red"'}) + table({"key": '"b"', "item": None})
    )
    assert [line.split(":")[0] for line in lines] == [
        "rule 1 (belt), action",
        "rule 1 (belt), colour",
        "rule 2 (b), item",
    ]


def test_a_long_value_is_shown_shortened() -> None:
    [line] = problems_of(TOP + table({"action": '"' + "x" * 500 + '"'}))
    assert len(line) < 150


@pytest.mark.parametrize(
    ("value", "found"),
    [
        ("2026-04-15", "found 2026-04-15"),
        ("07:32:00", "found 07:32:00"),
        ("true", "found true"),
        ("[2.5, 2026-04-15, []]", "found [2.5, 2026-04-15, []]"),
        ('{ hours = 2.5, why = "x" }', "found {hours = 2.5, why = 'x'}"),
    ],
)
def test_a_wrong_value_is_shown_as_the_file_has_it(value: str, found: str) -> None:
    [line] = problems_of(TOP + table({"title": value}))
    assert line.endswith(found)


def test_numbers_are_exact() -> None:
    rule = only_rule(
        every="{ hours = 33.33, months = 12 }",
        first="{ hours = 0.1 }",
        severe="{ salt = 0.1, hire = 1 }",
        labour_hours="3.5",
        parts='[{ number = "A-1", quantity = 0.3 }, { number = "B-2" }]',
    )
    assert rule.every == Limits(Fraction(3333, 10), 12)
    assert rule.first == Limits(1, None)
    assert rule.severe == (("salt", Decimal("0.1")), ("hire", Decimal(1)))
    assert rule.labour_hours == Decimal("3.5")
    assert rule.parts == (PartNeed("A-1", Decimal("0.3")), PartNeed("B-2", Decimal(1)))


def test_a_rule_without_a_title_is_called_by_its_key() -> None:
    assert only_rule().title == "belt"
    assert only_rule(title='"Renew the belt"').title == "Renew the belt"


def test_work_for_which_nothing_is_opened_has_the_access_none() -> None:
    assert [only_rule(access=said).opens for said in ('"none"', None, '"cowl off"')] == [
        None,
        None,
        "cowl off",
    ]


def test_rules_keep_their_places_and_know_who_renews_them() -> None:
    text = TOP + table({"renews": '["look"]'}) + table({"key": '"look"', "action": '"inspect"'})
    schedule, problems = schedule_from_toml("twin", text)
    assert schedule is not None, problems
    assert [(rule.key, rule.place) for rule in schedule.rules] == [("belt", 0), ("look", 1)]
    assert (schedule.name, schedule.title, schedule.revision) == ("twin", "Two-stroke, twin", 3)
    look = schedule.rule("look")
    assert look is not None
    assert [rule.key for rule in schedule.renewers_of(look)] == ["belt"]


def test_items_and_positions_are_listed_once_in_the_first_spelling() -> None:
    text = (
        TOP
        + table({"positions": '["Bank 1"]'})
        + table({"key": '"b"', "item": '"Timing Belt"', "positions": '["bank 1", "bank 2"]'})
        + table({"key": '"c"', "item": '"gasket"'})
    )
    schedule, problems = schedule_from_toml("twin", text)
    assert schedule is not None, problems
    assert schedule.items() == ["timing belt", "gasket"]
    assert [p.casefold() for p in schedule.positions_of("TIMING BELT")] == ["bank 1", "bank 2"]
    assert schedule.positions_of("gasket") == []


ONCE = {"every": None, "once": "true", "by": "{ on = 2026-09-01, hours = 500.5 }"}


def test_one_time_work_has_a_deadline_and_a_range_of_serial_numbers() -> None:
    rule = only_rule(**ONCE, issued_on="2026-03-01", serials='["AB1000..AB1999", "cd-7"]')
    assert rule.once
    assert rule.by == Deadline(date(2026, 9, 1), 5005)
    assert rule.issued_on == date(2026, 3, 1)
    asked = ("AB1000", "ab1999", "AB2000", "AB10000", "AC1500", "CD-7", "CD-70", "1500")
    assert [rule.is_for(serial) for serial in asked] == [True, True, False, False, False, True, False, False]
    assert only_rule().is_for("anything")


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({**ONCE, "by": None}, "by: expected a day, engine hours or both, as the work is to be done once"),
        ({**ONCE, "by": "{ on = '2026-09-01' }"}, "by, on: expected a day, such as 2026-09-01, without"),
        ({**ONCE, "by": "{ on = 2026-09-01T10:00:00 }"}, "by, on: expected a day, such as 2026-09-01"),
        ({**ONCE, "by": "{ hours = 0, on = 2026-09-01 }"}, "by, hours: expected engine hours above 0"),
        ({**ONCE, "by": "{ on = 2026-09-01, months = 3 }"}, "by, months: no such field"),
        ({**ONCE, "first": "{ hours = 20 }"}, "first: expected nothing, as the work is done once"),
        ({**ONCE, "severe": "{ salt = 0.5 }"}, "severe: expected nothing, as the work is done once"),
        ({"by": "{ hours = 5 }"}, "by: expected nothing, as only work with once = true has it"),
        ({"issued_on": "2026-03-01"}, "issued_on: expected nothing, as only work with once = true"),
        ({**ONCE, "serials": '["AB10..AC20"]'}, "serials: expected serial numbers, or ranges whose ends"),
        ({**ONCE, "serials": '["AB20..AB10"]'}, "serials: expected serial numbers, or ranges whose ends"),
        ({**ONCE, "serials": '["AB9..AB10"]'}, "serials: expected serial numbers, or ranges whose ends"),
    ],
)
def test_what_is_wrong_with_one_time_work_is_one_line(fields: dict[str, str | None], said: str) -> None:
    lines = problems_of(TOP + table(fields))
    assert any(line.startswith(f"rule 1 (belt), {said}") for line in lines), lines

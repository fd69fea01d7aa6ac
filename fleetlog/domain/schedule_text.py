"""Reads a service schedule from its TOML text, and says everything that is wrong with it at once."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from fleetlog.domain import words
from fleetlog.domain.bounds import MOST_HOURS, MOST_MONTHS
from fleetlog.domain.hours import tenths_from_hours
from fleetlog.domain.schedule import Condition, Deadline, Limits, PartNeed, Rule, Schedule
from fleetlog.domain.serials import SerialRange, serial_range_from_text
from fleetlog.domain.toml_table import TomlTable, is_number, read_toml


def schedule_from_toml(name: str, text: str) -> tuple[Schedule | None, list[str]]:
    """The schedule that a TOML text describes, and what is wrong with it; with problems there is no schedule.

    `name` is the stem of the file, by which engines name their schedule.
    """
    top, problems = read_toml(text)
    if top is None:
        return None, problems
    title = top.text("name", needed=True)
    revision = top.whole("revision", 1, needed=True)
    note = top.text("note")
    tables = top.take("rule", lambda v: isinstance(v, list), "[[rule]] tables", default=[], needed=True)
    top.refuse_the_rest()
    rules = [_rule(table, place, problems) for place, table in enumerate(tables)]
    known: set[str] = set()
    for place, rule in enumerate(rules):
        if rule.key in known:
            problems.append(
                f"rule {place + 1} ({rule.key}), key: each rule has a key of its own; this one stands twice"
            )
        known.add(rule.key)
    for place, rule in enumerate(rules):
        for renewed in rule.renews:
            if renewed not in known:
                problems.append(f"rule {place + 1} ({rule.key}), renews: there is no rule {renewed}")
            elif renewed == rule.key:
                problems.append(f"rule {place + 1} ({rule.key}), renews: a rule does not renew itself")
    if problems:
        return None, problems
    return Schedule(name, title or "", revision or 1, tuple(rules), note), []


def _rule(values: Any, place: int, problems: list[str]) -> Rule:
    where = f"rule {place + 1}"
    if not isinstance(values, dict):
        problems.append(f"{where}: expected a table")
        return Rule("", "", "", "replace", place)
    if isinstance(values.get("key"), str):
        where = f"{where} ({values['key']})"
    table = TomlTable(values, where, problems)
    key = table.text("key", needed=True) or ""
    item = table.text("item", needed=True) or ""
    rule = Rule(
        key=key,
        title=table.text("title") or key,
        item=item,
        action=table.word("action", words.RULE_ACTIONS, needed=True) or "replace",
        place=place,
        positions=table.texts("positions"),
        every=_limits(table, "every") or Limits(),
        first=_limits(table, "first"),
        season=table.word("season", words.SEASONS),
        severe=_severe(table),
        reset_by=table.texts("reset_by", words.REBUILD_SCOPES),
        renews=table.texts("renews"),
        renew_when_disturbed=table.flag("renew_when_disturbed"),
        assembly=table.text("assembly"),
        access=table.text("access"),
        labour_hours=table.number("labour_hours", "hours, 0 or more", lambda v: v >= 0),
        parts=_parts(table),
        consequence=table.text("consequence"),
        once=table.flag("once"),
        by=_deadline(table, "by"),
        issued_on=table.day("issued_on"),
        serials=_serials(table),
        condition=_condition(table),
    )
    table.refuse_the_rest()
    if len({words.name_key(p) for p in rule.positions}) < len(rule.positions):
        table.wrong("positions", "each position once")
    ways = (rule.every != Limits()) + (rule.season is not None) + rule.renew_when_disturbed + rule.once
    if ways == 0 and not (values.get("every") or values.get("season")):
        table.wrong("every", "hours, months or both (or season, once or renew_when_disturbed)")
    elif ways > 1:
        problems.append(f"{where}: every, season, once and renew_when_disturbed exclude each other")
    _check_once(table, rule)
    if rule.renew_when_disturbed and rule.action != "replace":
        table.wrong("action", "replace, as the rule says renew_when_disturbed")
    return rule


def _check_once(table: TomlTable, rule: Rule) -> None:
    if rule.once:
        if rule.by == Deadline():
            table.wrong("by", "a day, engine hours or both, as the work is to be done once")
        for key, given in (("first", rule.first is not None), ("severe", bool(rule.severe))):
            if given:
                table.wrong(key, "nothing, as the work is done once")
    else:
        for key, given in (("by", rule.by != Deadline()), ("issued_on", rule.issued_on is not None)):
            if given:
                table.wrong(key, "nothing, as only work with once = true has it")


def _serials(table: TomlTable) -> tuple[SerialRange, ...]:
    ranges = []
    for text in table.texts("serials"):
        try:
            ranges.append(serial_range_from_text(text))
        except ValueError:
            table.wrong(
                "serials",
                "serial numbers, or ranges whose ends begin alike and have as many digits, such as"
                f' ["AB1000..AB1999", "AB2417"], not {text!r}',
            )
    return tuple(ranges)


def _limits(outer: TomlTable, key: str) -> Limits | None:
    value = outer.take(
        key,
        lambda v: isinstance(v, dict),
        "hours, months or both, such as { hours = 100, months = 12 }",
        default=None,
    )
    if value is None or not value:
        return None
    table = TomlTable(value, outer.place(key), outer.problems)
    hours = table.number("hours", f"hours above 0, {MOST_HOURS} at most", lambda v: 0 < v <= MOST_HOURS)
    months = table.number(
        "months", f"whole months, 1 to {MOST_MONTHS}", lambda v: 1 <= v <= MOST_MONTHS and v == int(v)
    )
    table.refuse_the_rest()
    return Limits(
        None if hours is None else tenths_from_hours(hours), None if months is None else int(months)
    )


def _condition(outer: TomlTable) -> Condition | None:
    expected = 'a unit and at_least, at_most or spread, such as { unit = "% left", at_least = 50 }'
    value = outer.take("condition", lambda v: isinstance(v, dict), expected, default=None)
    if value is None:
        return None
    table = TomlTable(value, outer.place("condition"), outer.problems)
    unit = table.text("unit", needed=True)
    at_least = table.number("at_least", "a figure", lambda _: True)
    at_most = table.number("at_most", "a figure", lambda _: True)
    spread = table.number("spread", "percent, above 0 and at most 100", lambda v: 0 < v <= 100)
    table.refuse_the_rest()
    given = sum(figure is not None for figure in (at_least, at_most, spread))
    if given != 1:
        outer.wrong("condition", expected)
    if spread is not None and outer.texts("positions"):
        outer.wrong("condition", "no spread, as the rule has a line for each position")
    if unit is None or given != 1:
        return None
    return Condition(unit, at_least, at_most, spread)


def _deadline(outer: TomlTable, key: str) -> Deadline:
    expected = "a day, engine hours or both, such as { on = 2026-09-01, hours = 500 }"
    value = outer.take(key, lambda v: isinstance(v, dict), expected, default=None)
    if not value:
        return Deadline()
    table = TomlTable(value, outer.place(key), outer.problems)
    hours = table.number(
        "hours", f"engine hours above 0, {MOST_HOURS} at most", lambda v: 0 < v <= MOST_HOURS
    )
    on = table.day("on")
    table.refuse_the_rest()
    return Deadline(on, None if hours is None else tenths_from_hours(hours))


def _severe(table: TomlTable) -> tuple[tuple[str, Decimal], ...]:
    values = table.take("severe", lambda v: isinstance(v, dict), "a table such as { salt = 0.8 }", default={})
    choices = (*words.WATERS, *words.USES)
    factors = []
    for word, factor in values.items():
        if word not in choices:
            table.wrong("severe", f"a water or a use ({', '.join(choices)}), not {word}")
        elif not (is_number(factor) and 0 < Decimal(factor) <= 1):
            table.wrong("severe", f"a factor above 0 and at most 1 for {word}")
        else:
            factors.append((word, Decimal(factor)))
    return tuple(factors)


def _parts(table: TomlTable) -> tuple[PartNeed, ...]:
    parts = []
    for values in table.take(
        "parts", lambda v: isinstance(v, list), "a list of { number, quantity }", default=[]
    ):
        if not (
            isinstance(values, dict)
            and set(values) <= {"number", "quantity"}
            and isinstance(values.get("number"), str)
            and is_number(values.get("quantity", 1))
            and Decimal(values.get("quantity", 1)) > 0
        ):
            table.wrong("parts", 'tables with number and quantity, such as { number = "A-1", quantity = 1 }')
            continue
        parts.append(PartNeed(values["number"], Decimal(values.get("quantity", 1))))
    return tuple(parts)

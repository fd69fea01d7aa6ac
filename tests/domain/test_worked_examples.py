"""The examples of `worked_examples.txt`, worked by hand, hold as they are written there."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from fleetlog.domain.due import DueLine
from fleetlog.domain.hour_record import hour_record
from fleetlog.domain.hours import tenths_from_hours, tenths_from_text
from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.records import Boat, Deferral, Engine, Entry, Layup, Meter, Reading, Void
from fleetlog.domain.schedule import Deadline, Limits, Rule, Schedule
from fleetlog.domain.serials import serial_range_from_text
from tests.domain.lines import due_lines
from tests.domain.nasty_ledgers import Case
from tests.domain.second_reading import read_again
from tests.domain.two_readings import SteadyForecast, disagreements, hours

EXAMPLES = (Path(__file__).parent / "worked_examples.txt").read_text(encoding="utf-8")


@dataclass
class Example:
    """One example: its rows as ledger and schedule, and the lines it expects, as text."""

    title: str
    engine: dict[str, Any] = field(default_factory=dict)
    boat: Boat | None = None
    rules: list[Rule] = field(default_factory=list)
    rows: dict[str, list[Any]] = field(default_factory=dict)
    today: date = date.min
    expected: list[str] = field(default_factory=list)

    def add(self, kind: str, row: Any) -> None:
        self.rows.setdefault(kind, []).append(row)

    def case(self) -> Case:
        boats = {}
        if self.boat is not None:
            boats["B"] = BoatLedger(self.boat, layups=tuple(self.rows.pop("layups", ())))
        rows = {kind: tuple(found) for kind, found in self.rows.items()}
        ledger = EngineLedger(Engine("E1", **self.engine), boats=boats, **rows)
        return Case(ledger, Schedule("s", "S", 1, tuple(self.rules)), self.today)


def limits(text: str) -> Limits:
    """`100 h 12 mo`, either or both."""
    found = re.fullmatch(r"(?:([\d.]+) h)? ?(?:(\d+) mo)?", text)
    assert found, text
    return Limits(
        tenths_from_hours(Decimal(found[1])) if found[1] else None, int(found[2]) if found[2] else None
    )


def deadline(text: str) -> Deadline:
    """`2026-09-01 500 h`, either or both."""
    found = re.fullmatch(r"(\d{4}-\d\d-\d\d)? ?(?:([\d.]+) h)?", text)
    assert found, text
    on = date.fromisoformat(found[1]) if found[1] else None
    return Deadline(on, tenths_from_hours(Decimal(found[2])) if found[2] else None)


def split(line: str) -> list[str]:
    return [part.strip() for part in line.split("|")]


def facts(parts: list[str]) -> dict[str, str]:
    """Parts such as `at bank 1` by their first word; those of one word alone stand for themselves."""
    return {p.split(" ", 1)[0]: p.partition(" ")[2] for p in parts if p}


def read_engine(example: Example, parts: list[str]) -> None:
    for part in parts:
        if part.startswith("in service "):
            example.engine["in_service_on"] = date.fromisoformat(part.removeprefix("in service "))
        elif part.startswith("boat "):
            water, use = part.split()[1:]
            example.boat = Boat("B", None, "B", water=water, use=use)
            example.engine["boat_id"] = "B"
        elif part:
            known = {"new": ("logged_from_new", True), "no hour meter": ("hour_meter", False)}
            name, value = known[part]
            example.engine[name] = value


def read_rule(example: Example, head: str, parts: list[str]) -> None:
    action, item = head.split(" ", 1)
    told = facts(parts)
    factors = [pair.split() for pair in told.get("severe", "").split(", ") if pair]
    example.rules.append(
        Rule(
            key=head,
            title=head,
            item=item,
            action=action,
            place=len(example.rules),
            positions=tuple(told["at"].split(", ")) if "at" in told else (),
            every=limits(told.get("every", "")),
            first=limits(told["first"]) if "first" in told else None,
            season=told.get("season"),
            severe=tuple((word, Decimal(factor)) for word, factor in factors),
            reset_by=(told["reset"].removeprefix("by "),) if "reset" in told else (),
            renews=(told["renews"],) if "renews" in told else (),
            renew_when_disturbed="renew" in told,
            once="once" in told,
            by=deadline(told.get("once", "").removeprefix("by ")),
            issued_on=date.fromisoformat(told["issued"]) if "issued" in told else None,
            serials=(serial_range_from_text(told["serials"]),) if "serials" in told else (),
        )
    )


def read_row(example: Example, day: date, head: str, parts: list[str]) -> None:
    what, _, rest = head.partition(" ")
    told = facts(parts)
    n = sum(len(rows) for rows in example.rows.values())
    moment = datetime(day.year, day.month, day.day, 9, tzinfo=UTC)
    if what == "reading":
        shown, _, status = rest.partition(" ")
        example.add("readings", Reading(f"r{n}", "E1", day, tenths_from_text(shown), status=status or None))
    elif head == "meter changed":
        hours_then = tenths_from_text(told["engine"].removeprefix("hours "))
        example.add("meters", Meter("E1", day, hours_then, tenths_from_text(told.get("reads", "0"))))
    elif head == "laid up":
        example.add("layups", Layup("B", day, date.fromisoformat(told["to"]) if "to" in told else None))
    elif what == "deferred":
        until_on, until = date_and_hours(told["until"])
        tenths = None if until is None else int(until * 10)
        example.add(
            "deferrals",
            Deferral(f"d{n}", "E1", rest, "ann", moment, "busy", told.get("at"), until_on, tenths, n),
        )
    else:
        prior, again = limits(told.get("used", "")), limits(told.get("again", ""))
        example.add(
            "entries",
            Entry(
                f"e{n}",
                "E1",
                day,
                what,
                visit_id=told.get("visit"),
                meter_tenths=tenths_from_text(told["meter"]) if "meter" in told else None,
                scope=rest if what == "rebuilt" else None,
                item=None if what == "rebuilt" else rest,
                position=told.get("at"),
                condition="used" if "used" in told else None,
                prior_tenths=prior.tenths,  # type: ignore[arg-type]
                prior_months=prior.months,
                again_tenths=again.tenths,  # type: ignore[arg-type]
                again_months=again.months,
                reason=told.get("reason"),
                sequence=n,
            ),
        )
        if "voided" in told:
            example.add(
                "voids", Void(f"e{n}", datetime.fromisoformat(told["voided"] + "T12:00Z"), "ann", "wrong")
            )


def read_examples(text: str) -> list[Example]:
    examples: list[Example] = []
    for line in text.splitlines():
        head, *parts = split(line)
        if line.startswith("# "):
            examples.append(Example(line[2:]))
        elif not examples or not line.strip():
            continue
        elif line.startswith("= "):
            examples[-1].expected.append(line[2:])
        elif head == "engine":
            read_engine(examples[-1], parts)
        elif head.startswith("rule "):
            read_rule(examples[-1], head.removeprefix("rule "), parts)
        elif head.startswith("today "):
            examples[-1].today = date.fromisoformat(head.removeprefix("today "))
        else:
            read_row(examples[-1], date.fromisoformat(head), parts[0], parts[1:])
    return examples


def date_and_hours(text: str) -> tuple[date | None, Fraction | None]:
    """`2024-02-01 100 h`, `- 100 h`, `2024-02-01` or nothing."""
    on = hours_then = None
    words = text.removesuffix(" h").split()
    if words and words[0] not in ("-", "never"):
        if "-" in words[0]:
            on = date.fromisoformat(words[0])
        else:
            hours_then = Fraction(words[0])
    if len(words) > 1:
        hours_then = Fraction(words[1])
    return on, hours_then


def expected_line(text: str) -> dict[str, Any]:
    place, state, *parts = split(text)
    rule, _, position = place.partition(" @ ")
    told = facts(parts)
    return {
        "rule": rule,
        "position": position or None,
        "state": state,
        "last": date_and_hours(told.get("last", "")),
        "due": date_and_hours(told.get("due", "")),
        "deferred": date_and_hours(told.get("deferred", "")),
        "no entry says so": "no" in told,
    }


def found_line(line: DueLine) -> dict[str, Any]:
    deferral = line.deferral
    return {
        "rule": line.rule.key,
        "position": line.position,
        "state": line.state if line.state in ("overdue", "no record", "next access") else "open",
        "last": (line.last_done_on, hours(line.last_done_tenths)),
        "due": (line.due_on, hours(line.due_tenths)),
        "deferred": (None, None) if deferral is None else (deferral.until_on, hours(deferral.until_tenths)),
        "no entry says so": not line.standing.rebuild_says_so,
    }


@pytest.mark.parametrize("example", read_examples(EXAMPLES), ids=lambda e: e.title)
def test_the_example_holds(example: Example) -> None:
    case = example.case()
    record = hour_record(case.ledger, case.today)
    start = record.last.on if record.last else case.today
    lines = due_lines(case.ledger, case.schedule, case.today, SteadyForecast(start))
    expected = []
    for text in example.expected:
        if text.startswith("engine hours "):
            shown, on = text.removeprefix("engine hours ").split(" on ")
            assert record.last is not None
            assert (record.last.on.isoformat(), hours(record.last.tenths)) == (on, Fraction(shown))
        elif text.startswith("held "):
            shown, on = text.removeprefix("held ").split(" of ")
            assert [(h.on.isoformat(), hours(h.meter_tenths)) for h in record.held] == [(on, Fraction(shown))]
        elif text != "no lines":
            expected.append(expected_line(text))
    assert [found_line(line) for line in lines] == expected
    assert bool(record.held) == any(text.startswith("held ") for text in example.expected)


@pytest.mark.parametrize("example", read_examples(EXAMPLES), ids=lambda e: e.title)
def test_both_readings_agree_on_the_example(example: Example) -> None:
    case = example.case()
    assert not disagreements(case)
    assert read_again(case.ledger, case.schedule, case.today).lines or example.expected == ["no lines"]


def test_every_example_expects_something() -> None:
    examples = read_examples(EXAMPLES)
    assert len(examples) > 80
    assert all(example.expected and example.today > date.min for example in examples)

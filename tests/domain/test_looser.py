"""What a newer revision of a schedule lets wait longer."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from fleetlog.domain.looser import late_firsts, looser, looser_under
from fleetlog.domain.schedule import Deadline, Limits, Rule, Schedule
from fleetlog.domain.serials import SerialRange

BELT = Rule(
    "belt",
    "Replace belt",
    "timing belt",
    "replace",
    positions=("bank 1", "bank 2"),
    every=Limits(10000, 60),
    first=Limits(200, None),
    severe=(("salt", Decimal("0.5")),),
)
RECALL = Rule("recall", "Look at bolts", "bolts", "inspect", once=True, by=Deadline(date(2026, 9, 1), 5000))
SAID = "1000.0 h or 60 months, whichever comes first; first 20.0 h; salt × 0.5"


def said(was: Rule, *now: Rule) -> list[str]:
    return list(looser(Schedule("V6", "V6", 1, (was,)), Schedule("V6", "V6", 2, now)))


@pytest.mark.parametrize(
    ("now", "told"),
    [
        (
            {"every": Limits(10001, 60)},
            "1000.1 h or 60 months, whichever comes first; first 20.0 h; salt × 0.5",
        ),
        ({"every": Limits(10000, None)}, "1000.0 h; first 20.0 h; salt × 0.5"),
        ({"first": None}, "1000.0 h or 60 months, whichever comes first; salt × 0.5"),
        ({"severe": ()}, "1000.0 h or 60 months, whichever comes first; first 20.0 h"),
        ({"severe": (("salt", Decimal("0.6")),)}, SAID.replace("0.5", "0.6")),
        ({"every": Limits(), "season": "before launch"}, "before launch; first 20.0 h; salt × 0.5"),
    ],
)
def test_a_rule_that_leaves_more_time_is_told_with_both(now: dict[str, Any], told: str) -> None:
    assert said(BELT, replace(BELT, **now)) == [
        f"Replace belt (belt) may wait longer: {told} in place of {SAID}"
    ]


@pytest.mark.parametrize(
    "now",
    [
        {"every": Limits(9000, 48)},
        {"first": Limits(100, 3)},
        {"severe": (("salt", Decimal("0.5")), ("hire", Decimal("0.8")))},
        {"positions": ()},
        {"positions": ("Bank 2", "bank 1", "bank 3"), "title": "Renew belt"},
    ],
)
def test_a_rule_that_leaves_no_more_time_is_not_told(now: dict[str, Any]) -> None:
    assert said(BELT, replace(BELT, **now)) == []


def test_a_rule_or_a_place_that_is_gone_is_told() -> None:
    assert said(BELT) == ["Replace belt (belt) is gone: it falls due on no engine any more"]
    assert said(BELT, replace(BELT, positions=("bank 2",))) == ["Replace belt (belt) is gone at bank 1"]


def test_a_deadline_that_is_put_off_is_told() -> None:
    later = replace(RECALL, by=Deadline(date(2026, 10, 1), 5000))
    [told] = said(RECALL, later)
    assert told.endswith("may wait longer: by 2026-10-01; by 500.0 h in place of by 2026-09-01; by 500.0 h")


@pytest.mark.parametrize(
    ("every", "first", "is_told"),
    [
        (Limits(1000, 12), Limits(1001, None), True),
        (Limits(1000, 12), Limits(200, 13), True),
        (Limits(1000, 12), Limits(1000, 12), False),
        (Limits(1000, None), Limits(None, 60), False),
        (Limits(None, 12), Limits(9000, None), False),
        (Limits(1000, 12), None, False),
    ],
)
def test_a_first_interval_longer_than_the_regular_one_is_told(
    every: Limits, first: Limits | None, is_told: bool
) -> None:
    told = list(late_firsts(Schedule("V6", "V6", 1, (replace(BELT, every=every, first=first),))))
    assert len(told) == is_told
    assert all("the first interval is longer than the regular one" in said for said in told)


def test_an_engine_that_goes_to_another_schedule_is_told_what_it_loses_and_what_may_wait() -> None:
    recall = replace(RECALL, serials=(SerialRange("a", 1, 9),))
    v6 = Schedule("V6", "V6", 1, (BELT, recall))

    def of(serial: str, *rules: Rule) -> list[str]:
        return list(looser_under(v6, Schedule("I4", "I4", 1, rules), serial))

    gone = "falls due on A3 no more: Look at bolts"
    other = replace(BELT, key="cam-belt", title="Renew cam belt")
    assert of("A3", other) == [gone]
    assert of("B1", other) == []
    later = f"Replace belt (belt) may wait longer: {SAID.replace('1000.0', '2000.0')} in place of {SAID}"
    assert of("A3", replace(other, every=Limits(20000, 60))) == [later, gone]
    assert of("B1", replace(other, every=Limits(20000, 60)), other) == []
    assert of("A3") == ["falls due on A3 no more: Replace belt, Look at bolts"]

"""What the entries of one engine have to keep, and how a row that breaks it is named."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.ledger_rules import ledger_problems, taken_off_twice
from fleetlog.domain.problems import LedgerProblem
from fleetlog.domain.records import Deferral, Engine, Entry, Meter, Reading, Void
from fleetlog.domain.schedule import Limits, Rule, Schedule

SCHEDULE = Schedule(
    "s",
    "S",
    1,
    (
        Rule("belt", "Belt", "belt", "replace", positions=("bank 1", "bank 2"), every=Limits(1000)),
        Rule("pump", "Pump", "pump", "replace", every=Limits(1000)),
    ),
)
MOMENT = datetime(2024, 5, 1, 9, tzinfo=UTC)


def entry(entry_id: str, on: str, action: str, item: str = "pump", position: str | None = None) -> Entry:
    reason = "scheduled" if action == "removed" else None
    return Entry(entry_id, "E1", date.fromisoformat(on), action, item=item, position=position, reason=reason)


def problems(*entries: Entry, voided: str | None = None) -> list[LedgerProblem]:
    voids = () if voided is None else (Void(voided, MOMENT, "ann", "typed twice"),)
    numbered = tuple(replace(e, sequence=n) for n, e in enumerate(entries))
    return ledger_problems(EngineLedger(Engine("E1"), entries=numbered, voids=voids), SCHEDULE)


def deferred(rule: str, position: str | None = None) -> list[LedgerProblem]:
    deferral = Deferral("d1", "E1", rule, "ann", MOMENT, "busy", position, date(2024, 9, 1))
    return ledger_problems(EngineLedger(Engine("E1"), deferrals=(deferral,)), SCHEDULE)


def test_a_position_the_schedule_does_not_know_is_refused_with_those_it_does() -> None:
    [problem] = problems(entry("e1", "2024-05-01", "fitted", "Belt", "bank 3"))
    assert (problem.kind, problem.key, problem.field, problem.value) == (
        "entries",
        "e1",
        "position",
        "bank 3",
    )
    assert problem.expected == "a position of the Belt in schedule s: bank 1, bank 2"


def test_a_position_is_known_in_any_case_and_any_one_where_the_schedule_has_none() -> None:
    assert problems(entry("e1", "2024-05-01", "fitted", "BELT", "BANK 1")) == []
    assert problems(entry("e1", "2024-05-01", "fitted", "pump", "left")) == []
    assert problems(entry("e1", "2024-05-01", "fitted", "an item nobody schedules", "left")) == []


def test_a_second_one_fitted_there_on_that_date_is_refused() -> None:
    [problem] = problems(
        entry("e1", "2024-05-01", "fitted", "belt", "bank 1"),
        entry("e2", "2024-05-01", "fitted", "Belt", "Bank 1"),
    )
    assert (problem.key, problem.field) == ("e2", "item")
    assert "entry e1 says so already" in problem.expected
    assert "2024-05-01" in problem.expected


def test_at_another_place_or_on_another_date_it_is_not() -> None:
    assert (
        problems(
            entry("e1", "2024-05-01", "fitted", "belt", "bank 1"),
            entry("e2", "2024-05-01", "fitted", "belt", "bank 2"),
            entry("e3", "2024-05-02", "fitted", "belt", "bank 1"),
        )
        == []
    )


def test_a_voided_entry_breaks_nothing() -> None:
    twice = (entry("e1", "2024-05-01", "fitted"), entry("e2", "2024-05-01", "fitted"))
    assert len(problems(*twice)) == 1
    assert problems(*twice, voided="e1") == []


def off_twice(*entries: Entry, voided: str | None = None) -> list[LedgerProblem]:
    numbered = tuple(replace(e, sequence=n) for n, e in enumerate(entries))
    voids = () if voided is None else (Void(voided, MOMENT, "ann", "typed twice"),)
    return taken_off_twice(EngineLedger(Engine("E1"), entries=numbered, voids=voids))


def test_what_was_taken_off_and_comes_off_again_is_odd_and_breaks_no_rule() -> None:
    both = (entry("e1", "2024-05-01", "removed"), entry("e2", "2024-06-01", "removed"))
    assert problems(*both) == []
    assert off_twice(*both, voided="e1") == []
    [problem] = off_twice(*both)
    assert (problem.key, problem.field, problem.value) == ("e2", "action", "removed")
    assert "entry e1 took the pump off on 2024-05-01" in problem.expected


def test_fitted_or_put_back_in_between_it_can() -> None:
    for action in ("fitted", "reused"):
        assert (
            off_twice(
                entry("e1", "2024-05-01", "removed"),
                entry("e2", "2024-05-20", action),
                entry("e3", "2024-06-01", "removed"),
            )
            == []
        )


def test_taken_off_for_access_it_counts_as_put_back() -> None:
    access = replace(entry("e1", "2024-05-01", "removed"), reason="access")
    assert off_twice(access, entry("e2", "2024-06-01", "removed")) == []


def test_the_dates_decide_and_not_the_order_of_the_file() -> None:
    assert (
        off_twice(
            entry("e3", "2024-06-01", "removed"),
            entry("e2", "2024-05-20", "fitted"),
            entry("e1", "2024-05-01", "removed"),
        )
        == []
    )


def test_a_deferral_names_a_rule_and_a_position_of_the_schedule() -> None:
    assert deferred("belt") == deferred("belt", "Bank 1") == []
    [rule] = deferred("chain")
    assert (rule.kind, rule.key, rule.field, rule.value) == ("deferrals", "d1", "rule", "chain")
    assert rule.expected == "the key of a rule of schedule s"
    [position] = deferred("belt", "bank 3")
    assert (position.field, position.expected) == ("position", "a position of rule belt: bank 1, bank 2")


def test_without_a_schedule_only_the_entries_themselves_are_judged() -> None:
    entries = (
        entry("e1", "2024-05-01", "fitted", "belt", "x"),
        entry("e2", "2024-05-01", "fitted", "belt", "X"),
    )
    [problem] = ledger_problems(EngineLedger(Engine("E1"), entries=entries), None)
    assert problem.key == "e2"


def test_one_fitted_at_every_position_is_the_second_one_at_each() -> None:
    everywhere, at_one = (
        entry("e1", "2024-05-01", "fitted", "belt"),
        entry("e2", "2024-05-01", "fitted", "belt", "bank 2"),
    )
    [problem] = problems(everywhere, at_one)
    assert problem.key == "e2"
    assert "entry e1 says so already, at each position," in problem.expected
    [problem] = problems(at_one, everywhere)
    assert problem.key == "e1"
    assert problems(everywhere, replace(at_one, on=date(2024, 5, 2))) == []
    assert problems(replace(everywhere, item="pump"), replace(at_one, item="pump")) == []


@pytest.mark.parametrize(
    ("on", "refused"), [("2023-04-30", True), ("2023-05-01", False), ("2024-05-01", False)]
)
def test_work_long_before_the_engine_came_into_service_is_refused(on: str, refused: bool) -> None:
    engine = Engine("E1", in_service_on=date(2024, 5, 1))
    found = ledger_problems(EngineLedger(engine, entries=(entry("e1", on, "serviced"),)), SCHEDULE)
    assert [(p.field, p.value) for p in found] == ([("on", on)] if refused else [])
    assert all("came into service on 2024-05-01" in p.expected for p in found)


def test_figures_and_meters_of_long_before_the_engine_came_into_service_are_named_with_their_rows() -> None:
    engine = Engine("E1", in_service_on=date(2024, 5, 1))
    ledger = EngineLedger(
        engine,
        readings=(
            Reading("r1", "E1", date(1970, 1, 1), 7000),
            Reading("r2", "E1", date(1970, 1, 1), 7001, status="withdrawn"),
            Reading("r3", "E1", date(2023, 5, 1), 1),
        ),
        meters=(Meter("E1", date(1970, 1, 1), 0, 0), Meter("E1", date(2025, 1, 1), 9, 0)),
    )
    found = ledger_problems(ledger, None)
    assert [(p.kind, p.key, p.field) for p in found] == [
        ("readings", "r1", "on"),
        ("meters", ("E1", date(1970, 1, 1)), "fitted_on"),
    ]
    assert ledger_problems(replace(ledger, engine=Engine("E1")), None) == []

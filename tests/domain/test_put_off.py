"""What the shop put off is told where a list leaves it out, what is grave first."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

from fleetlog.domain.kept import ListedLine, listed_line
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.put_off import put_off_texts
from fleetlog.domain.records import Deferral, Engine
from fleetlog.domain.schedule import Limits, Rule, Schedule
from tests.domain.lines import due_lines
from tests.domain.two_readings import SteadyForecast

TODAY = date(2024, 6, 1)
NEW = Engine("E1", in_service_on=date(2023, 7, 1), logged_from_new=True)
PLUGS = Rule("plugs", "Plugs", "plugs", "replace", every=Limits(None, 12))
HOSE = replace(PLUGS, key="hose", title="Hose", item="hose", place=1)
BELT = Rule(
    "belt", "Belt", "belt", "replace", 2, ("port",), Limits(5000, 12), consequence="engine damage"
)  # fmt: skip


def put_off(rule: Rule, until_on: date | None, until_tenths: int | None = None) -> Deferral:
    at = datetime(2024, 5, 2, tzinfo=UTC)
    return Deferral(f"d-{rule.key}", "E1", rule.key, "ann", at, "busy", None, until_on, until_tenths)


def listed(*deferrals: Deferral, belt: Rule = BELT) -> list[ListedLine]:
    ledger = EngineLedger(NEW, deferrals=deferrals)
    schedule = Schedule("s", "S", 1, (PLUGS, HOSE, belt))
    forecast = SteadyForecast(date(2025, 1, 1))
    return [listed_line(line, "") for line in due_lines(ledger, schedule, TODAY, forecast)]


def test_where_nothing_was_put_off_nothing_is_told() -> None:
    assert put_off_texts(listed()) == []
    assert put_off_texts(listed(put_off(PLUGS, date(2024, 7, 15)))) == []


def test_what_is_grave_comes_first_and_then_what_is_likely_first() -> None:
    hose, plugs = put_off(HOSE, date(2024, 9, 1)), put_off(PLUGS, date(2024, 10, 1))
    assert put_off_texts(listed(plugs, hose)) == [
        "put off, and so not in this list: E1 'Hose' until 2024-09-01, E1 'Plugs' until 2024-10-01;"
        " what the schedule says: fleetlog why E1 hose; all: fleetlog due --all"
    ]
    belt = put_off(BELT, date(2025, 1, 1), 6000)
    assert put_off_texts(listed(plugs, hose, belt)) == [
        "put off, and so not in this list: E1 'Belt (port)' until 2025-01-01 or 600.0 h,"
        " E1 'Hose' until 2024-09-01, E1 'Plugs' until 2024-10-01;"
        " what the schedule says: fleetlog why E1 belt; all: fleetlog due --all"
    ]


def test_hours_alone_are_told_without_a_day() -> None:
    [told] = put_off_texts(listed(put_off(BELT, None, 6000), belt=replace(BELT, every=Limits(5000))))
    assert "E1 'Belt (port)' until 600.0 h;" in told

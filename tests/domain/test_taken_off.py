"""What came off with nothing put on since: no state of a line says so, so each line does."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from fleetlog.domain.explain import explain
from fleetlog.domain.history import history_of
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Engine, Entry, Reading
from fleetlog.domain.satisfaction import seen_on
from fleetlog.domain.schedule import Deadline, Limits, Rule, Schedule
from fleetlog.domain.serials import SerialRange
from fleetlog.domain.taken_off import off_of, off_texts, taken_off
from fleetlog.domain.travel import Home, homes_among
from tests.domain.lines import due_lines
from tests.domain.nasty_ledgers import nasty_case
from tests.domain.two_readings import SteadyForecast

TODAY = date(2024, 6, 1)
NEW = Engine("E1", in_service_on=date(2023, 1, 1), logged_from_new=True)
BELT = Rule("belt", "Belt", "belt", "replace", every=Limits(1000, 60), reset_by=("powerhead",))
LOOK = Rule("look", "Look at the belt", "belt", "inspect", every=Limits(None, 24))
KIT = Rule("kit", "Renew the kit", "kit", "replace", every=Limits(None, 60), renews=("belt",))
PUMP = Rule("pump", "Pump", "pump", "replace", every=Limits(1000, 60), assembly="lower unit")
ANODES = Rule("a", "A", "anode", "inspect", positions=("port", "starboard"), every=Limits(None, 24))


def done(on: str, action: str, item: str | None = "belt", **facts: object) -> Entry:
    return Entry(f"{on} {action}", "E1", date.fromisoformat(on), action, item=item, **facts)  # type: ignore[arg-type]


def off_days(*entries: Entry, rules: tuple[Rule, ...] = (BELT, LOOK)) -> list[str | None]:
    ledger = EngineLedger(NEW, entries=entries, readings=(Reading("r", "E1", date(2024, 5, 1), 300),))
    lines = due_lines(ledger, Schedule("s", "S", 1, rules), TODAY, SteadyForecast(date(2024, 5, 1)))
    return [line.standing.off.on.isoformat() if line.standing.off else None for line in lines]


FITTED, OFF = done("2024-02-01", "fitted"), done("2024-04-01", "removed", reason="failed")


@pytest.mark.parametrize("reason", ["scheduled", "failed", "worn", "transferred", None])
def test_what_came_off_is_told_on_every_line_of_the_item(reason: str | None) -> None:
    assert off_days(FITTED, replace(OFF, reason=reason)) == ["2024-04-01"] * 2


def test_the_original_that_came_off_is_told_too() -> None:
    assert off_days(OFF) == ["2024-04-01"] * 2


@pytest.mark.parametrize(
    "after",
    [
        done("2024-04-01", "fitted"),
        done("2024-05-01", "fitted", condition="used"),
        done("2024-05-01", "reused"),
        done("2024-05-01", "rebuilt", None, scope="powerhead"),
        done("2024-04-01", "rebuilt", None, scope="powerhead"),
    ],
)
def test_what_went_on_since_or_counts_as_renewed_ends_it(after: Entry) -> None:
    assert off_days(FITTED, OFF, after) == [None, None]


@pytest.mark.parametrize(
    ("facts", "told"),
    [
        ({}, ["belt"]),
        ({"state": "stored"}, ["belt"]),
        ({"state": "sold"}, []),
        ({"state": "scrapped"}, []),
        ({"in_service_on": date(2024, 6, 2)}, []),
    ],
)
def test_of_an_engine_without_lines_nothing_is_told(facts: dict[str, Any], told: list[str]) -> None:
    ledger = EngineLedger(replace(NEW, **facts), entries=(FITTED, OFF))
    schedule = Schedule("s", "S", 1, (BELT,))
    home = Home(ledger, schedule, TODAY)
    history = history_of(home, homes_among([home]), {}, with_voided=False)
    assert [item.item for item in taken_off(home.seen, schedule)] == told
    assert [item.item for item in history.taken_off] == told


@pytest.mark.parametrize(
    "other",
    [
        done("2024-05-01", "inspected"),
        done("2024-05-01", "fitted", "anode"),
        done("2024-05-01", "rebuilt", None, scope="lower unit"),
        done("2024-03-01", "rebuilt", None, scope="powerhead"),
    ],
)
def test_no_other_work_ends_it(other: Entry) -> None:
    assert off_days(FITTED, OFF, other) == ["2024-04-01"] * 2


def test_work_that_does_this_one_too_ends_it() -> None:
    assert off_days(FITTED, OFF, done("2024-05-01", "fitted", "kit"), rules=(BELT, KIT)) == [None, None]


def test_taken_off_for_access_it_counts_as_put_back() -> None:
    assert off_days(FITTED, replace(OFF, reason="access")) == [None, None]


def test_what_rides_on_an_assembly_that_came_off_is_told_until_it_is_done_anew() -> None:
    off = done("2024-04-01", "removed", "lower unit", reason="transferred")
    assert off_days(off, rules=(PUMP, BELT)) == ["2024-04-01", None]
    assert off_days(off, done("2024-04-01", "fitted", "lower unit"), rules=(PUMP,)) == [None]
    assert off_days(off, done("2024-05-01", "fitted", "pump"), rules=(PUMP,)) == [None]


@pytest.mark.parametrize("fitted_on", ["2024-02-01", "2024-04-01"])
def test_what_was_fitted_by_the_day_its_assembly_came_off_went_with_it(fitted_on: str) -> None:
    off = done("2024-04-01", "removed", "lower unit", reason="transferred")
    assert off_days(done(fitted_on, "fitted", "pump"), off, rules=(PUMP,)) == ["2024-04-01"]


@pytest.mark.parametrize(("first", "then"), [("pump", "lower unit"), ("lower unit", "pump")])
def test_of_an_item_and_its_assembly_the_one_that_came_off_last_is_told(first: str, then: str) -> None:
    entries = done("2024-03-01", "removed", first), done("2024-04-01", "removed", then)
    assert off_days(*entries, rules=(PUMP,)) == ["2024-04-01"]


def test_a_bulletin_tells_nothing_of_what_came_off() -> None:
    issued = date(2024, 3, 1)
    bulletin = Rule("b", "Look", "belt", "inspect", once=True, by=Deadline(TODAY), issued_on=issued)
    assert off_days(FITTED, OFF, rules=(BELT, bulletin)) == ["2024-04-01", None]


def test_work_on_the_day_but_of_another_visit_ends_nothing() -> None:
    off = replace(OFF, visit_id="v1")
    rebuilt = done("2024-04-01", "rebuilt", None, scope="powerhead", visit_id="v2")
    assert off_days(FITTED, off, rebuilt) == ["2024-04-01"] * 2


def test_what_was_fitted_and_taken_off_in_one_visit_is_off() -> None:
    fitted = done("2024-03-30", "fitted", visit_id="v1")
    assert off_days(fitted, replace(OFF, visit_id="v1")) == ["2024-04-01"] * 2


@pytest.mark.parametrize(
    "schedule",
    [
        None,
        Schedule("s", "S", 1, (KIT,)),
        Schedule("s", "S", 1, (KIT, replace(BELT, serials=(SerialRange("F", 1, 9),)))),
    ],
)
def test_of_what_the_schedule_has_no_work_for_on_this_engine_nothing_is_told(
    schedule: Schedule | None,
) -> None:
    assert taken_off(seen_on(EngineLedger(NEW, entries=(FITTED, OFF)), TODAY), schedule) == []


def test_of_several_positions_the_one_that_came_off_is_told() -> None:
    port = done("2024-04-01", "removed", "anode", position="port", reason="worn")
    assert off_days(port, rules=(ANODES,)) == ["2024-04-01", None]
    assert off_days(replace(port, position=None), rules=(ANODES,)) == ["2024-04-01"] * 2


def test_each_line_of_it_says_so_and_no_other_line() -> None:
    told = 0
    for seed in range(150):
        case = nasty_case(seed)
        for line in due_lines(case.ledger, case.schedule, case.today, SteadyForecast(case.today)):
            off = line.standing.off
            told += off is not None
            assert ("nothing put on since is on record" in explain(line)) == (off is not None)
    assert told > 5


def test_it_is_told_once_an_engine_and_day_with_the_way_out() -> None:
    day = date(2024, 4, 1)
    anodes = [("E 1", "anode", place, day) for place in (None, "port", "starboard")]
    assert off_texts([*anodes, ("E 1", "belt", None, day), ("E2", "belt", None, day)]) == [
        f"{what} came off on 2024-04-01 and nothing put on since is on record, so the lines count on from"
        f" before; what went on is recorded with fleetlog fit {fit} --on DATE --hours H"
        for what, fit in (("E 1: anode (port, starboard), belt", "'E 1' anode"), ("E2: belt", "E2 belt"))
    ]


def test_what_came_off_first_is_told_first() -> None:
    days = date(2024, 4, 2), date(2024, 4, 1)
    told = off_texts([("E1", "belt", None, days[0]), ("E2", "belt", None, days[1])])
    assert [text.split(":")[0] for text in told] == ["E2", "E1"]
    seen = seen_on(EngineLedger(NEW, entries=(FITTED, OFF)), TODAY)
    gone = taken_off(seen, Schedule("s", "S", 1, (BELT,)))
    assert list(off_of("E1", gone)) == [("E1", "belt", None, OFF.on)]

"""What is fitted where, since when, and how old it is."""

from __future__ import annotations

from datetime import date

import pytest

from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Engine, Entry, Reading
from fleetlog.domain.satisfaction import seen_on
from fleetlog.domain.schedule import Limits, Rule, Schedule
from fleetlog.domain.stints import TrackedItem, item_at, items_now, items_of

NEW = Engine("E1", in_service_on=date(2023, 1, 1), logged_from_new=True)
JOINED = Engine("E1", in_service_on=date(2023, 1, 1))
TODAY = date(2024, 7, 1)
BANKS = Schedule(
    "s", "S", 1, (Rule("b", "B", "belt", "replace", positions=("bank 1", "bank 2"), every=Limits(1000)),)
)


def done(on: str, action: str, **facts: object) -> Entry:
    sequence = facts.pop("sequence", 0)
    entry_id = f"{on} {action} {facts.get('position', '')}"
    return Entry(entry_id, "E1", date.fromisoformat(on), action, item="belt", sequence=sequence, **facts)  # type: ignore[arg-type]


def tracked(engine: Engine, *entries: Entry, schedule: Schedule | None = None) -> list[TrackedItem]:
    readings = (Reading("r1", "E1", date(2023, 7, 1), 500), Reading("r2", "E1", date(2024, 7, 1), 1500))
    return items_of(seen_on(EngineLedger(engine, entries=entries, readings=readings), TODAY), schedule)


def test_what_is_fitted_takes_off_what_sat_there_and_says_why() -> None:
    first, second = tracked(
        JOINED,
        done("2023-07-01", "fitted"),
        done("2024-07-01", "fitted", reason="failed"),
    )
    assert (first.is_on, second.is_on) == (False, True)
    [stint] = first.stints
    assert (stint.from_on, stint.to_on, stint.why_off) == (date(2023, 7, 1), date(2024, 7, 1), "failed")
    assert (stint.from_tenths, stint.to_tenths) == (500, 1500)
    assert (first.age_tenths(None), first.age_months(TODAY)) == (1000, 12)
    assert (second.age_tenths(1600), second.age_months(date(2024, 9, 1))) == (100, 2)


def test_without_a_reason_the_old_one_came_off_as_scheduled() -> None:
    first, _ = tracked(JOINED, done("2023-07-01", "fitted"), done("2024-07-01", "fitted"))
    assert first.stints[0].why_off == "scheduled"


def test_an_item_carries_the_age_it_came_with() -> None:
    used = done("2023-07-01", "fitted", condition="used", prior_tenths=250, prior_months=5)
    [item] = tracked(JOINED, used)
    assert (item.age_tenths(1500), item.age_months(TODAY)) == (1250, 17)


@pytest.mark.parametrize(
    ("prior_tenths", "prior_months", "age"), [(None, None, (None, None)), (0, None, (1000, None))]
)
def test_of_a_used_item_what_is_not_stated_is_not_known(
    prior_tenths: int | None, prior_months: int | None, age: tuple[int | None, int | None]
) -> None:
    used = done(
        "2023-07-01", "fitted", condition="used", prior_tenths=prior_tenths, prior_months=prior_months
    )
    [item] = tracked(JOINED, used)
    assert (item.age_tenths(1500), item.age_months(TODAY)) == age


def test_an_age_is_the_sum_of_the_times_it_was_fitted() -> None:
    [item] = tracked(
        JOINED,
        done("2023-07-01", "fitted", meter_tenths=500),
        done("2023-10-01", "removed", reason="scheduled", meter_tenths=700),
        done("2024-04-01", "reused", meter_tenths=900),
    )
    assert [(s.from_on, s.to_on) for s in item.stints] == [
        (date(2023, 7, 1), date(2023, 10, 1)),
        (date(2024, 4, 1), None),
    ]
    assert item.age_tenths(1500) == 200 + 600
    assert item.age_months(TODAY) == 3 + 3


def test_days_left_over_from_several_stints_add_up_to_months() -> None:
    [item] = tracked(
        JOINED,
        done("2023-07-01", "fitted"),
        done("2023-08-17", "removed", reason="scheduled"),
        done("2024-04-01", "reused"),
        done("2024-05-16", "removed", reason="scheduled", sequence=1),
    )
    assert item.age_months(TODAY) == 3


@pytest.mark.parametrize("on", ["2023-01-01", "2022-12-20"])
def test_what_a_new_engine_got_before_it_went_into_service_is_its_first(on: str) -> None:
    [item] = tracked(NEW, done(on, "fitted"))
    assert item.fitted is not None
    assert item.age_tenths(1500) == 1500
    taken_off = done(on, "removed", reason="scheduled")
    assert tracked(NEW, taken_off) == []


def test_taken_off_for_access_and_nothing_more_it_is_still_on() -> None:
    [item] = tracked(JOINED, done("2023-07-01", "fitted"), done("2023-10-01", "removed", reason="access"))
    assert item.is_on
    assert len(item.stints) == 1


def test_what_a_new_engine_came_with_counts_from_its_first_day() -> None:
    original, second = tracked(NEW, done("2024-07-01", "fitted", reason="worn"))
    assert original.fitted is None
    assert (original.age_tenths(None), original.age_months(TODAY)) == (1500, 18)
    assert original.stints[0].why_off == "worn"
    assert second.is_on


def test_of_what_a_used_engine_came_with_the_age_is_not_known() -> None:
    [original] = tracked(JOINED, done("2024-01-01", "removed", reason="failed"))
    assert not original.is_on
    assert (original.age_tenths(1500), original.age_months(TODAY)) == (None, None)


def test_without_an_hour_meter_only_the_months_are_known() -> None:
    no_meter = Engine("E1", in_service_on=date(2023, 1, 1), logged_from_new=True, hour_meter=False)
    original, second = tracked(no_meter, done("2024-01-01", "fitted"))
    assert (original.age_tenths(None), original.age_months(TODAY)) == (None, 12)
    assert (second.age_tenths(None), second.age_months(TODAY)) == (None, 6)


def test_fitted_without_a_position_is_fitted_at_every_place_the_schedule_knows() -> None:
    items = tracked(
        JOINED,
        done("2023-07-01", "fitted"),
        done("2024-01-01", "fitted", position="Bank 2", sequence=1),
        schedule=BANKS,
    )
    assert [(i.position and i.position.casefold(), i.is_on) for i in items] == [
        ("bank 1", True),
        ("bank 2", False),
        ("bank 2", True),
    ]


def test_items_are_found_by_kind_and_place_without_case() -> None:
    items = tracked(
        JOINED,
        done("2023-07-01", "fitted", position="bank 1"),
        done("2024-01-01", "fitted", position="BANK 1"),
        done("2024-01-01", "fitted", position="bank 2"),
    )
    found = item_at(items, "Belt", "Bank 1")
    assert found is not None
    assert found.stints[0].from_on == date(2024, 1, 1)
    assert item_at(items, "belt", "bank 3") is None
    assert item_at(items, "pump", None) is None


def test_only_what_is_fitted_now_is_on_the_list_of_today() -> None:
    entries = (done("2023-07-01", "fitted"), done("2024-01-01", "removed", reason="failed"))
    ledger = EngineLedger(JOINED, entries=entries)
    assert items_now(seen_on(ledger, date(2024, 1, 1)), None) == []
    [before] = items_now(seen_on(ledger, date(2023, 12, 31)), None)
    assert before.is_on

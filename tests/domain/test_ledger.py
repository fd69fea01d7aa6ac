"""What of a ledger is seen on a day: where the engine stood, whose it was, and what was said of it then."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.records import (
    Boat,
    Change,
    Engine,
    Entry,
    Mount,
    Ownership,
    Void,
    fact_from_text,
    fact_text,
)

BOATS = {key: BoatLedger(Boat(key, None, f"boat {key}")) for key in ("A", "B", "C")}
MOMENT = datetime(2024, 6, 1, 22, tzinfo=UTC)


def boat_on(ledger: EngineLedger, day: date) -> str | None:
    boat, _ = ledger.place_on(day)
    return None if boat is None else boat.boat.boat_id


def test_a_mount_wins_over_the_engines_own_row_and_ends_before_its_last_date() -> None:
    mounts = (Mount("E1", "A", date(2024, 1, 1), "port", date(2024, 3, 1)),)
    ledger = EngineLedger(Engine("E1", boat_id="C", position="centre"), mounts=mounts, boats=BOATS)
    assert boat_on(ledger, date(2023, 12, 31)) == "C"
    assert ledger.place_on(date(2024, 2, 29)) == (BOATS["A"], "port")
    assert ledger.place_on(date(2024, 3, 1)) == (BOATS["C"], "centre")


def test_of_two_mounts_that_cover_a_day_the_later_begun_holds() -> None:
    mounts = (Mount("E1", "B", date(2024, 2, 1)), Mount("E1", "A", date(2024, 1, 1)))
    ledger = EngineLedger(Engine("E1"), mounts=mounts, boats=BOATS)
    assert [boat_on(ledger, date(2024, m, 1)) for m in (1, 2)] == ["A", "B"]
    assert boat_on(ledger, date(2023, 12, 31)) is None


def test_a_replaced_fact_holds_for_the_days_before_it_was_replaced() -> None:
    changes = (
        Change("engine", "E1", "boat_id", "A", date(2024, 3, 1), MOMENT, "ann", 1),
        Change("engine", "E1", "boat_id", "B", date(2024, 5, 1), MOMENT, "ann", 2),
        Change("engine", "E1", "logged_from_new", "no", date(2024, 5, 1), MOMENT, "ann", 3),
    )
    ledger = EngineLedger(Engine("E1", boat_id="C", logged_from_new=True), changes=changes, boats=BOATS)
    days = (date(2024, 2, 29), date(2024, 3, 1), date(2024, 4, 30), date(2024, 5, 1))
    assert [boat_on(ledger, day) for day in days] == ["A", "B", "B", "C"]
    assert [ledger.engine_on(day).logged_from_new for day in days] == [False, False, False, True]


def test_owners_change_on_a_day_and_before_the_first_the_boats_own_row_holds() -> None:
    ownership = (Ownership("A", "second", date(2024, 6, 1)), Ownership("A", "first", date(2024, 1, 1)))
    boat = BoatLedger(Boat("A", "row", "boat A"), ownership=ownership)
    days = (date(2023, 12, 31), date(2024, 1, 1), date(2024, 5, 31), date(2024, 6, 1))
    assert [boat.owner_id_on(day) for day in days] == ["row", "first", "first", "second"]


def test_an_entry_stands_from_its_date_until_it_is_voided() -> None:
    entry = Entry("e1", "E1", date(2024, 5, 1), "fitted", item="belt")
    ledger = EngineLedger(Engine("E1"), entries=(entry,), voids=(Void("e1", MOMENT, "ann", "wrong"),))
    days = (date(2024, 4, 30), date(2024, 5, 1), date(2024, 5, 31), date(2024, 6, 1))
    assert [len(ledger.entries_on(day)) for day in days] == [0, 1, 1, 0]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("logged_from_new", True),
        ("hour_meter", False),
        ("in_service_on", date(2024, 2, 29)),
        ("in_service_on", None),
        ("model_year", 2019),
        ("family", "twin"),
        ("family", None),
    ],
)
def test_a_fact_kept_as_text_comes_back_as_it_was(field: str, value: object) -> None:
    assert fact_from_text(field, fact_text(value)) == value

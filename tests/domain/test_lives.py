"""Lives as the ledger tells them: how old an item grew, how it ended, and under what conditions."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from fleetlog.domain.conditions import Conditions
from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.lives import Age, ItemLife, lives_of
from fleetlog.domain.records import Boat, Change, Engine, Entry, Mount, Reading, Visit, Void
from fleetlog.domain.schedule import Limits, Rule, Schedule
from fleetlog.domain.travel import Home, Homes

NEW = Engine("E1", family="V6", in_service_on=date(2023, 1, 1), logged_from_new=True)
JOINED = Engine("E1", family="V6", in_service_on=date(2023, 1, 1))
TODAY = date(2025, 1, 1)
PUMP = Rule("pump", "Pump", "impeller", "replace", every=Limits(3000, 24), reset_by=("powerhead",))
PLUGS = Rule("plugs", "Plugs", "plug", "replace", 1, ("1", "2"), Limits(1000))
SCHEDULE = Schedule("V6", "V6", 1, (PUMP, PLUGS))
READINGS = tuple(
    Reading(f"r{day}", "E1", date.fromisoformat(day), tenths)
    for day, tenths in (("2023-07-01", 500), ("2024-01-01", 1000), ("2024-07-01", 1500), ("2025-01-01", 2000))
)


def done(on: str, action: str, item: str = "impeller", **facts: object) -> Entry:
    facts = {"serial": "E1", "entry_id": f"{on} {action} {item} {facts.get('position', '')}", **facts}
    return Entry(on=date.fromisoformat(on), action=action, item=item, **facts)  # type: ignore[arg-type]


def ledger_of(engine: Engine, *entries: Entry, **more: object) -> EngineLedger:
    rows = tuple(replace(e, sequence=n) for n, e in enumerate(entries))
    return EngineLedger(engine, **{"entries": rows, "readings": READINGS, **more})  # type: ignore[arg-type]


def lives(*ledgers: EngineLedger, item: str | None = "Impeller", today: date = TODAY) -> list[ItemLife]:
    homes = {led.engine.serial: Home(led, SCHEDULE, today) for led in ledgers}
    entries = [e for led in ledgers for e in led.entries_on(today)]
    taken = Homes(homes.get, lambda serial: [e for e in entries if e.from_serial == serial])
    return list(lives_of(taken, homes, item))


@pytest.mark.parametrize(
    ("reason", "ended"),
    [
        ("failed", "failed"),
        ("worn", "found worn"),
        ("scheduled", "sound"),
        (None, "sound"),
        ("access", "sound"),
        ("transferred", "sound"),
    ],
)
def test_failed_and_worn_end_a_life_and_any_other_reason_the_watching_of_it(reason: str, ended: str) -> None:
    first, _ = lives(ledger_of(NEW, done("2024-07-01", "fitted", reason=reason)))
    assert (first.ended, first.ended_on) == (ended, date(2024, 7, 1))
    assert first.age.hours == 150
    assert first.age.months == pytest.approx(18, abs=0.1)


def test_what_is_fitted_still_is_sound_so_far() -> None:
    _, second = lives(ledger_of(NEW, done("2024-01-01", "fitted", reason="failed", part_number="P-1")))
    assert (second.ended, second.ended_on, second.part_number) == ("sound", None, "P-1")
    assert (second.age.hours, second.entered) == (100, Age(0, 0))
    assert second.label == "impeller of E1, fitted 2024-01-01"


def test_what_was_fitted_before_the_first_reading_ran_hours_that_nobody_knows() -> None:
    first, second = lives(
        ledger_of(JOINED, done("2023-03-01", "fitted"), done("2024-01-01", "fitted", reason="failed"))
    )
    assert (first.ended, first.age.hours) == ("failed", None)
    assert first.age.months == pytest.approx(10, abs=0.1)
    assert second.age.hours == 100


def test_what_a_new_engine_came_with_is_a_life_though_nothing_was_ever_said_of_it() -> None:
    [life] = lives(ledger_of(NEW))
    assert (life.ended, life.age.hours, life.fitted_on) == ("sound", 200, None)
    assert [x.position for x in lives(ledger_of(NEW), item="plug")] == ["1", "2"]
    assert len(lives(ledger_of(NEW), item=None)) == 3


def test_of_what_a_used_engine_came_with_the_age_is_not_known() -> None:
    [life] = lives(ledger_of(JOINED))
    assert life.age == Age(None, None)


def test_identical_items_at_several_positions_are_several_lives() -> None:
    found = lives(
        ledger_of(NEW, done("2024-01-01", "fitted", "plug", position="1", reason="failed")), item="plug"
    )
    assert [(x.position, x.ended, x.age.hours) for x in found] == [
        ("1", "failed", 100),
        ("1", "sound", 100),
        ("2", "sound", 200),
    ]


def test_found_worn_lies_between_the_last_look_and_the_visit_that_found_it() -> None:
    entries = (
        done("2023-07-01", "inspected"),
        done("2024-01-01", "inspected", visit_id="v"),
        done("2024-01-02", "fitted", visit_id="v", reason="worn"),
    )
    first, _ = lives(ledger_of(NEW, *entries))
    assert (first.ended, first.last_sound.hours) == ("found worn", 50)
    assert first.age.hours == pytest.approx(100, abs=0.3)


def test_put_back_used_was_a_look_and_without_one_it_was_never_seen_sound() -> None:
    worn = done("2024-07-01", "fitted", reason="worn")
    first, _ = lives(ledger_of(NEW, done("2024-01-01", "reused"), worn))
    assert first.last_sound.hours == 100
    first, _ = lives(ledger_of(NEW, done("2024-01-01", "removed", reason="access"), worn))
    assert first.last_sound.hours == 100
    first, _ = lives(ledger_of(NEW, worn))
    assert first.last_sound.hours == 0


def test_used_it_enters_with_its_age_and_without_an_age_nothing_is_known() -> None:
    used = done("2024-01-01", "fitted", condition="used", prior_tenths=250, prior_months=5)
    [life] = lives(ledger_of(JOINED, used))
    assert life.entered == life.last_sound == Age(25, 5)
    assert life.age.hours == 125
    assert life.age.months == pytest.approx(17, abs=0.1)
    [life] = lives(ledger_of(JOINED, replace(used, prior_tenths=None, prior_months=None)))
    assert life.age == Age(None, None)


def test_stints_of_a_used_item_join_up_on_one_engine_and_across_two() -> None:
    other = replace(NEW, serial="E2")
    off = (done("2024-01-01", "fitted", reason="transferred"),)
    taken = done(
        "2024-07-01",
        "fitted",
        serial="E2",
        entry_id="t",
        condition="used",
        prior_tenths=1000,
        prior_months=12,
        from_serial="E1",
    )
    failed = done("2025-01-01", "fitted", serial="E2", entry_id="f", reason="failed")
    found = lives(ledger_of(NEW, *off), ledger_of(other, taken, failed))
    travelled = next(x for x in found if x.ended == "failed")
    assert (travelled.serial, travelled.entered, travelled.age.hours) == ("E2", Age(0, 0), 100 + 50)
    assert travelled.last_sound.hours == 100
    assert sum(x.age.hours or 0 for x in found) == 200 + 200

    entries = (done("2024-01-01", "removed", reason="scheduled"), done("2024-07-01", "reused"))
    [life] = lives(ledger_of(NEW, *entries))
    assert life.age.hours == 100 + 50


def test_a_failure_ends_a_life_even_if_the_item_is_put_back() -> None:
    entries = (done("2024-01-01", "removed", reason="failed"), done("2024-07-01", "reused"))
    [life] = lives(ledger_of(NEW, *entries))
    assert (life.ended, life.age.hours) == ("failed", 100)


def test_a_rebuild_that_says_nothing_of_the_item_ends_the_watching() -> None:
    rebuilt = Entry("b", "E1", date(2024, 1, 1), "rebuilt", scope="powerhead")
    failed = done("2024-07-01", "fitted", reason="failed")
    first, doubtful, _ = lives(ledger_of(NEW, rebuilt, failed))
    assert (first.ended, first.ended_on, first.age.hours) == ("sound", date(2024, 1, 1), 100)
    assert (doubtful.ended, doubtful.age.hours) == ("failed", None)
    assert doubtful.doubt == "nothing says whether it was renewed with the rebuild of 2024-01-01"
    looked_at = done("2024-01-01", "reused")
    first, _ = lives(ledger_of(NEW, rebuilt, looked_at, failed))
    assert (first.ended, first.age.hours) == ("failed", 150)


def test_what_sat_at_no_named_place_is_in_doubt_beside_others_that_have_one() -> None:
    entries = (
        done("2023-07-01", "inspected", "anode"),
        done("2024-01-01", "fitted", "anode", position="trim"),
    )
    doubts = {x.position: x.doubt for x in lives(ledger_of(NEW, *entries), item="anode")}
    assert doubts == {None: "nothing says at which position it sat", "trim": ""}


def test_water_and_use_are_those_of_the_time_and_not_of_today() -> None:
    lake = BoatLedger(Boat("B1", None, "Lake", water="fresh", use="private"))
    quay = BoatLedger(Boat("B2", None, "Quay", water="salt", use="hire"))
    mounts = (
        Mount("E1", "B1", date(2023, 1, 1), to_on=date(2024, 7, 1)),
        Mount("E1", "B2", date(2024, 7, 1)),
    )
    ledger = ledger_of(NEW, done("2024-08-01", "fitted"), mounts=mounts, boats={"B1": lake, "B2": quay})
    first, second = lives(ledger)
    assert first.conditions == Conditions("V6", "V6", "fresh", "private")
    assert second.conditions == Conditions("V6", "V6", "salt", "hire")


def test_of_a_boat_whose_use_changed_what_held_longest_counts() -> None:
    said = datetime(2024, 10, 1, tzinfo=UTC)
    change = Change("boats", "B1", "use", "private", date(2024, 10, 1), said, "Kim")
    boat = BoatLedger(Boat("B1", None, "Lake", use="hire"), changes=(change,))
    [life] = lives(ledger_of(replace(NEW, boat_id="B1"), boats={"B1": boat}))
    assert life.conditions.use == "private"
    [life] = lives(ledger_of(replace(NEW, boat_id="B9")))
    assert life.conditions == Conditions("V6", "V6", None, None)


def test_an_engine_that_was_sold_is_watched_no_longer() -> None:
    said = datetime(2024, 7, 1, tzinfo=UTC)
    sold = Change("engines", "E1", "state", "in service", date(2024, 7, 1), said, "Kim")
    [life] = lives(ledger_of(replace(NEW, state="sold"), changes=(sold,)))
    assert life.age.months == pytest.approx(18, abs=0.1)
    [unsaid] = lives(ledger_of(replace(NEW, state="sold")), today=date(2026, 1, 1))
    assert unsaid.age.months == pytest.approx(24, abs=0.1)


def test_without_an_hour_meter_ages_are_in_months_alone() -> None:
    first, _ = lives(ledger_of(replace(NEW, hour_meter=False), done("2024-01-01", "fitted", reason="failed")))
    assert first.age.hours is None
    assert first.age.months == pytest.approx(12, abs=0.1)


def test_voided_entries_and_days_to_come_are_not_seen() -> None:
    failed = done("2024-07-01", "fitted", reason="failed")
    void = Void(failed.entry_id, datetime(2024, 8, 1, tzinfo=UTC), "Kim", "wrong engine")
    [life] = lives(ledger_of(NEW, failed, voids=(void,)))
    assert life.ended == "sound"
    [life] = lives(ledger_of(NEW, failed), today=date(2024, 1, 1))
    assert (life.ended, life.age.hours) == ("sound", 100)
    assert lives(ledger_of(NEW), today=date(2022, 1, 1)) == []


def test_bulletins_are_no_items_of_their_own() -> None:
    once = replace(SCHEDULE, rules=(Rule("b", "B", "clamp", "replace", once=True),))
    ledger = ledger_of(NEW, visits={"v": Visit("v")})
    home = Home(ledger, once, TODAY)
    assert list(lives_of(Homes(lambda _: home, lambda _: []), ["E1"])) == []

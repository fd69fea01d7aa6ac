"""One engine's use as its ledger tells it, and that of the engine it replaced."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from random import Random

from fleetlog.domain.kept import days_alike, fact_days
from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.records import Boat, Change, Engine, Mount, Ownership
from fleetlog.domain.satisfaction import seen_on
from fleetlog.forecast import EngineUsage
from fleetlog.usecases.usage import usage_of
from tests.domain.nasty_ledgers import nasty_case


def use_on(ledger: EngineLedger, day: date) -> EngineUsage:
    return usage_of(ledger, seen_on(ledger, day))


def with_a_former_engine(seed: int) -> tuple[EngineLedger, date]:
    """A nasty ledger whose engine took the place of another one, as nasty, and the day it is looked at."""
    chance, case, other = Random(seed), nasty_case(seed), nasty_case(seed + 100_000)
    came = case.today - timedelta(days=chance.randint(0, 400))
    boats = dict(case.ledger.boats) or {"B": BoatLedger(Boat("B", None, "the boat"))}
    boat_id = sorted(boats)[0]
    stay = Mount("former", boat_id, came - timedelta(days=9_000), None, came - timedelta(days=2))
    former = replace(other.ledger, engine=replace(other.ledger.engine, serial="former"), mounts=(stay,))
    mounts = (Mount(case.ledger.engine.serial, boat_id, came),)
    return replace(case.ledger, mounts=mounts, boats=boats, replaced=(former,)), case.today


def test_what_is_told_of_its_use_is_the_same_on_every_day_between_two_facts() -> None:
    told = 0
    for seed in range(600):
        ledger, today = with_a_former_engine(seed)
        first, last = days_alike(fact_days(ledger, None), (), today)
        use = use_on(ledger, today)
        told += bool(use.replaced_readings)
        near_first, near_last = (
            max(first, today - timedelta(days=600)),
            min(last, today + timedelta(days=600)),
        )
        chance = Random(seed)
        for _ in range(3):
            day = near_first + timedelta(days=chance.randint(0, (near_last - near_first).days))
            assert use_on(ledger, day) == use, (seed, day)
        assert use_on(ledger, near_first) == use_on(ledger, near_last) == use, seed
    assert told > 100


MOMENT = datetime(2025, 1, 1, tzinfo=UTC)
BOATS = {key: BoatLedger(Boat(key, None, f"boat {key}", use="private")) for key in ("A", "B")}


def changed_on(*mounts: Mount, boats: dict[str, BoatLedger] = BOATS) -> date | None:
    return use_on(EngineLedger(Engine("E"), mounts=mounts, boats=boats), date(2026, 4, 1)).changed_on


def test_another_boat_is_a_change_and_the_same_one_again_is_none() -> None:
    first = Mount("E", "A", date(2020, 1, 1), None, date(2023, 1, 1))
    again = Mount("E", "A", date(2023, 3, 1))
    elsewhere = Mount("E", "B", date(2023, 1, 1), None, date(2023, 3, 1))
    assert changed_on(first) is None
    assert changed_on(first, again) is None
    assert changed_on(first, elsewhere, again) == date(2023, 3, 1)
    lent = Mount("E", "A", date(2024, 2, 1))
    assert changed_on(first, elsewhere, replace(again, to_on=date(2024, 1, 1)), lent) == date(2023, 3, 1)


def test_a_new_owner_and_a_new_use_are_changes() -> None:
    owned = Ownership("A", "second", date(2024, 6, 1))
    use = Change("boats", "A", "use", "hire", date(2025, 1, 1), MOMENT, "Kim", sequence=1)
    boat = replace(BOATS["A"], ownership=(owned,))
    stay = Mount("E", "A", date(2020, 1, 1))
    assert changed_on(stay, boats={"A": boat}) == date(2024, 6, 1)
    assert changed_on(stay, boats={"A": replace(boat, changes=(use,))}) == date(2025, 1, 1)


def test_an_engine_that_came_off_is_on_no_boat() -> None:
    on = date(2026, 4, 1)
    stay, gone = Mount("E", "A", date(2024, 1, 1)), Mount("E", "A", date(2024, 1, 1), None, date(2026, 3, 1))
    told = [use_on(EngineLedger(Engine("E"), mounts=(m,), boats=BOATS), on).is_on_boat for m in (stay, gone)]
    assert told == [True, False]

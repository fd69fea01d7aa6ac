"""Items and assemblies that go from engine to engine take their age along, and are never in two places."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from random import Random

import pytest

from fleetlog.domain.assemblies import AssemblyAge, assembly_ages
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.ledger_rules import ledger_problems
from fleetlog.domain.move import Move, write_move
from fleetlog.domain.records import Engine, Entry, Meter, Reading, Void
from fleetlog.domain.schedule import Limits, Rule, Schedule
from fleetlog.domain.swap import SaidOfItem, Swap, riding_items, write_swap
from fleetlog.domain.transfer import Written
from fleetlog.domain.travel import Home, Homes, age_on, in_two_places, item_taken, item_there, journey_of
from fleetlog.errors.travel import NothingToTake, NotThereToCarryOver
from tests.domain.lines import due_lines
from tests.domain.two_readings import SteadyForecast

START = date(2020, 1, 1)
EVERY = Limits(10000, 60)
SCHEDULE = Schedule(
    "s",
    "S",
    1,
    (
        Rule(
            "belt", "Belt", "belt", "replace", 0, every=EVERY, assembly="powerhead", reset_by=("powerhead",)
        ),
        Rule("belt-look", "Look", "belt", "inspect", 1, every=Limits(1000, 12), assembly="powerhead"),
        Rule("plugs", "Plugs", "plug", "replace", 2, ("1", "2"), EVERY, assembly="powerhead"),
        Rule("valves", "Valves", "valve clearance", "adjust", 3, every=EVERY, assembly="powerhead"),
        Rule("gasket", "Gasket", "gasket", "replace", 4, renew_when_disturbed=True, assembly="powerhead"),
        Rule("fogging", "Fogging", "fogging", "service", 5, season="before lay-up", assembly="powerhead"),
        Rule("impeller", "Impeller", "impeller", "replace", 6, every=EVERY, assembly="lower unit"),
        Rule("oil", "Oil", "oil", "replace", 7, every=EVERY, first=Limits(200, 3), reset_by=("powerhead",)),
    ),
)


class Yard:
    """Engines that run a fixed number of hours a day and are read now and then, and what is done to them."""

    def __init__(self, *, from_new: bool = True, rates: tuple[int, ...] = (10, 20, 40)) -> None:
        self.rates = {f"E{n}": rate for n, rate in enumerate(rates, 1)}
        self.ledgers = {
            serial: EngineLedger(Engine(serial, in_service_on=START, logged_from_new=from_new))
            for serial in self.rates
        }
        self.numbers = itertools.count(1)

    def new_id(self) -> str:
        return f"e{next(self.numbers)}"

    def hours(self, serial: str, day: date) -> int:
        return self.rates[serial] * (day - START).days

    def meter(self, serial: str, day: date) -> int:
        """What the meter shows: engine hours, less those before the meter was changed."""
        shown = self.hours(serial, day)
        for meter in self.ledgers[serial].meters:
            if meter.fitted_on <= day:
                shown = self.hours(serial, day) - meter.engine_tenths
        return shown

    def read(self, serial: str, day: date) -> None:
        ledger = self.ledgers[serial]
        reading = Reading(self.new_id(), serial, day, self.meter(serial, day))
        self.ledgers[serial] = replace(ledger, readings=(*ledger.readings, reading))

    def change_meter(self, serial: str, day: date) -> None:
        ledger = self.ledgers[serial]
        if any(m.fitted_on == day for m in ledger.meters):
            return
        meter = Meter(serial, day, self.hours(serial, day), sequence=len(ledger.meters))
        self.ledgers[serial] = replace(ledger, meters=(*ledger.meters, meter))

    def add(self, *entries: Entry) -> None:
        for entry in entries:
            ledger = self.ledgers[entry.serial]
            numbered = replace(entry, sequence=len(ledger.entries) + 1)
            self.ledgers[entry.serial] = replace(ledger, entries=(*ledger.entries, numbered))

    def fit(self, serial: str, item: str, day: date, **more: object) -> None:
        facts = {"condition": "new", "meter_tenths": self.meter(serial, day), **more}
        self.add(Entry(self.new_id(), serial, day, "fitted", item=item, **facts))  # type: ignore[arg-type]

    def home(self, serial: str, day: date) -> Home:
        return Home(self.ledgers[serial], SCHEDULE, day)

    def homes(self, day: date) -> Homes:
        def takings(serial: str) -> list[Entry]:
            return [
                e for led in self.ledgers.values() for e in led.entries_on(day) if e.from_serial == serial
            ]

        return Homes(lambda s: self.home(s, day) if s in self.ledgers else None, takings)

    def write(self, written: Written) -> Written:
        self.add(*written.on_giver, *written.on_taker)
        return written

    def swap(self, serial: str, day: date, giver: str | None = None, **said: object) -> Written:
        meters = {"meter_tenths": self.meter(serial, day)}
        if giver is not None:
            meters["giver_meter_tenths"] = self.meter(giver, day)
        swap = Swap("powerhead", day, **meters, **said)  # type: ignore[arg-type]
        from_home = None if giver is None else self.home(giver, day)
        return self.write(write_swap(self.home(serial, day), from_home, swap, self.new_id, None, None, ()))

    def move(self, giver: str, serial: str, item: str, day: date, **said: object) -> Written:
        meters = {"meter_tenths": self.meter(serial, day), "giver_meter_tenths": self.meter(giver, day)}
        homes = self.homes(day)
        gone = list(homes.taken(giver).values())
        from_home = homes.of(giver)
        assert from_home is not None
        move = Move(item, day, **meters, **said)  # type: ignore[arg-type]
        return self.write(write_move(from_home, self.home(serial, day), move, self.new_id, None, None, gone))

    def age(self, serial: str, item: str, day: date, position: str | None = None) -> tuple[int | None, ...]:
        home = self.home(serial, day)
        return age_on(home, item_there(home, item, position), day).known

    def powerhead(self, serial: str, day: date) -> AssemblyAge:
        home = self.homes(day).of(serial)
        assert home is not None
        return next(a for a in assembly_ages(self.homes(day), home) if a.assembly == "powerhead")

    def problems(self) -> list[object]:
        return [p for ledger in self.ledgers.values() for p in ledger_problems(ledger, SCHEDULE)]


def on(text: str) -> date:
    return date.fromisoformat(text)


def due(yard: Yard, serial: str, rule: str, day: date) -> list[tuple[date | None, object, str]]:
    lines = due_lines(yard.ledgers[serial], SCHEDULE, day, SteadyForecast(day), 0)
    return [(li.due_on, li.due_tenths, li.state) for li in lines if li.rule.key == rule]


def test_a_belts_hours_are_its_own_on_whichever_engine_it_ran() -> None:
    yard = Yard()
    yard.fit("E1", "belt", on("2020-02-01"))
    yard.move("E1", "E2", "belt", on("2020-05-11"))
    assert yard.age("E2", "belt", on("2020-05-11")) == (1000, 3)
    yard.read("E2", on("2020-07-10"))
    assert yard.age("E2", "belt", on("2020-07-10")) == (1000 + 60 * 20, 4)
    base = yard.hours("E2", on("2020-05-11"))
    assert due(yard, "E2", "belt", on("2020-07-10")) == [(on("2025-02-11"), base - 1000 + 10000, "later")]
    assert not item_there(yard.home("E1", on("2020-07-10")), "belt", None).is_on


def test_an_original_part_of_an_engine_logged_from_new_is_as_old_as_the_engine() -> None:
    yard = Yard()
    yard.move("E1", "E2", "belt", on("2020-04-10"))
    assert yard.ledgers["E2"].entries[-1].prior_tenths == 1000
    assert yard.ledgers["E2"].entries[-1].prior_months == 3


def test_the_age_of_a_part_that_nobody_recorded_is_not_known() -> None:
    yard = Yard(from_new=False)
    yard.move("E1", "E2", "belt", on("2020-04-10"))
    entry = yard.ledgers["E2"].entries[-1]
    assert (entry.condition, entry.prior_tenths, entry.prior_months) == ("used", None, None)
    assert due(yard, "E2", "belt", on("2020-05-01")) == [(None, None, "no record")]


def test_what_lies_on_the_shelf_goes_and_its_successor_stays() -> None:
    yard = Yard()
    yard.fit("E1", "belt", on("2020-02-01"))
    yard.fit("E1", "belt", on("2020-03-02"), reason="worn")
    written = yard.move("E1", "E2", "belt", on("2020-06-01"), is_shelved=True)
    assert written.on_giver == []
    assert yard.ledgers["E2"].entries[-1].prior_tenths == 300
    assert item_there(yard.home("E1", on("2020-06-01")), "belt", None).is_on
    written = yard.move("E1", "E3", "belt", on("2020-06-10"))
    assert written.on_taker[0].prior_tenths == 1000
    assert yard.problems() == []


def test_an_item_taken_without_its_removal_is_the_one_that_came_off_as_transferred() -> None:
    yard = Yard()
    yard.fit("E1", "belt", on("2020-02-01"))
    yard.fit("E1", "belt", on("2020-03-02"), reason="transferred")
    yard.read("E1", on("2020-06-01"))
    home = yard.home("E1", on("2020-06-01"))
    taken = item_taken(home, "belt", None, on("2020-06-01"), gone=[])
    assert age_on(home, taken, on("2020-06-01")).known == (300, 1)
    assert taken is not None
    next_one = item_taken(home, "belt", None, on("2020-06-01"), gone=[taken])
    assert age_on(home, next_one, on("2020-06-01")).known == (910, 2)


def test_an_assembly_takes_along_what_rides_on_it_and_leaves_what_is_carried_over() -> None:
    yard = Yard()
    yard.fit("E1", "belt", on("2020-02-01"))
    yard.fit("E2", "belt", on("2020-03-01"))
    yard.fit("E1", "impeller", on("2020-03-01"))
    written = yard.swap("E2", on("2020-05-11"), "E1", carried=(("plug", "2"), ("dowels", None)))
    removed = {(e.item, e.position) for e in written.on_giver}
    assert removed == {("powerhead", None), ("belt", None), ("plug", "1"), ("gasket", None)}
    assert {e.reason for e in written.on_giver} == {"transferred"}
    fitted = {(e.item, e.position): e for e in written.on_taker if e.action == "fitted"}
    assert set(fitted) == {*removed, ("valve clearance", None)}
    assert {e.condition for e in fitted.values()} == {"used"}
    assert {place for place, e in fitted.items() if e.from_serial == "E1"} == removed
    assert fitted["belt", None].prior_tenths == 1000
    assert fitted["powerhead", None].prior_tenths == 10 * (on("2020-05-11") - START).days
    reused = [(e.item, e.position, e.note) for e in written.on_taker if e.action == "reused"]
    carried = "carried over from the old powerhead"
    assert reused == [("plug", "2", carried), ("dowels", None, carried)]
    assert yard.age("E2", "plug", on("2020-05-11"), "2") == (yard.hours("E2", on("2020-05-11")), 4)
    assert yard.problems() == []
    assert all(e.action != "rebuilt" for e in written.on_taker)


def test_a_new_powerhead_restarts_its_lines_and_running_in_but_not_what_was_carried_over() -> None:
    yard = Yard()
    yard.fit("E2", "belt", on("2020-02-01"))
    before = due(yard, "E2", "belt", on("2020-06-01"))
    yard.swap("E2", on("2020-06-01"), carried=(("belt", None),))
    hours = yard.hours("E2", on("2020-06-01"))
    assert due(yard, "E2", "belt", on("2020-06-01")) == before
    assert due(yard, "E2", "plugs", on("2020-06-01")) == 2 * [(on("2025-06-01"), hours + 10000, "later")]
    assert due(yard, "E2", "oil", on("2020-06-01"))[0][1] == hours + 200
    age = yard.powerhead("E2", on("2020-06-01"))
    assert (age.new_tenths, age.new_months, age.rebuilt) == (0, 0, None)


def test_a_used_assembly_gives_its_stated_age_to_what_rides_on_it_unless_said_otherwise() -> None:
    yard = Yard()
    said = (SaidOfItem("belt", None, False), SaidOfItem("plug", "1", True, 500, 6))
    written = yard.swap("E2", on("2020-06-01"), is_used=True, prior_tenths=3000, prior_months=30, said=said)
    told = {(e.item, e.position): (e.condition, e.prior_tenths, e.prior_months) for e in written.on_taker}
    assert told == {
        ("powerhead", None): ("used", 3000, 30),
        ("belt", None): ("new", None, None),
        ("plug", "1"): ("used", 500, 6),
        ("plug", "2"): ("used", 3000, 30),
        ("valve clearance", None): ("used", 3000, 30),
        ("gasket", None): ("used", 3000, 30),
    }


def test_what_is_only_set_or_looked_at_gets_no_younger_by_a_swap() -> None:
    yard = Yard()
    yard.add(Entry("v", "E1", on("2020-02-01"), "adjusted", item="valve clearance", meter_tenths=310))
    yard.read("E1", on("2022-06-01"))
    [(there_on, there_tenths, _)] = due(yard, "E1", "valves", on("2022-06-01"))
    assert there_on is not None
    assert isinstance(there_tenths, int)
    yard.swap("E2", on("2022-06-01"), "E1")
    [(here_on, here_tenths, _)] = due(yard, "E2", "valves", on("2022-06-01"))
    assert here_on is not None
    assert isinstance(here_tenths, int)
    left = there_tenths - yard.hours("E1", on("2022-06-01"))
    assert here_on <= there_on
    assert here_tenths - yard.hours("E2", on("2022-06-01")) <= left
    outside = yard.swap("E3", on("2022-06-01"), is_used=True, prior_tenths=0)
    assert [e.again_months for e in outside.on_taker if e.item == "valve clearance"] == [1]


def test_a_gasket_that_the_giver_owes_is_owed_where_it_goes() -> None:
    yard = Yard()
    yard.add(Entry("g", "E1", on("2020-02-01"), "reused", item="gasket", note="sealant"))
    yard.swap("E2", on("2020-06-01"), "E1")
    assert [state for *_, state in due(yard, "E2", "gasket", on("2020-06-02"))] == ["next access"]
    yard.swap("E3", on("2020-06-01"))
    assert due(yard, "E3", "gasket", on("2020-06-02")) == []


def test_time_since_rebuild_follows_a_powerhead_from_engine_to_engine() -> None:
    yard = Yard()
    rebuilt = Entry("r", "E1", on("2020-03-01"), "rebuilt", scope="powerhead", meter_tenths=600)
    yard.add(rebuilt)
    yard.swap("E2", on("2020-05-10"), "E1")
    yard.read("E2", on("2020-06-09"))
    age = yard.powerhead("E2", on("2020-06-09"))
    assert (age.rebuilt_on_serial, age.rebuilt and age.rebuilt.entry_id) == ("E1", "r")
    assert (age.rebuild_tenths, age.rebuild_months) == (700 + 600, 2)
    assert (age.new_tenths, age.new_months) == (1300 + 600, 4)
    assert not yard.powerhead("E1", on("2020-06-09")).journey.legs[0].item.is_on
    exchange = yard.swap("E3", on("2020-06-09"), is_used=True, is_rebuilt=True, prior_tenths=9000)
    assert [e.scope for e in exchange.on_taker if e.action == "rebuilt"] == ["powerhead"]
    fresh = yard.powerhead("E3", on("2020-06-09"))
    assert (fresh.new_tenths, fresh.rebuild_tenths, fresh.rebuild_months) == (9000, 0, 0)


def test_season_work_and_bulletins_ride_on_nothing() -> None:
    items = [item for item, _ in riding_items(SCHEDULE, "Powerhead")]
    assert items == ["belt", "plug", "plug", "valve clearance", "gasket"]
    assert riding_items(None, "powerhead") == []


def test_a_removal_that_is_voided_brings_the_item_back_and_two_places_are_found() -> None:
    yard = Yard()
    yard.fit("E1", "belt", on("2020-02-01"))
    written = yard.move("E1", "E2", "belt", on("2020-05-11"))
    assert in_two_places(yard.homes(on("2020-06-01")), "E1") == []
    void = Void(written.on_giver[0].entry_id, datetime(2020, 5, 12, 9, tzinfo=UTC), "ann", "wrong")
    yard.ledgers["E1"] = replace(yard.ledgers["E1"], voids=(void,))
    [(entry, item)] = in_two_places(yard.homes(on("2020-06-01")), "E1")
    assert (entry.serial, item.item) == ("E2", "belt")


Deed = Callable[[Yard, Random, date], None]


def _fit_new(yard: Yard, chance: Random, day: date) -> None:
    item, place = chance.choice((("belt", None), ("plug", "1"), ("plug", "2"), ("impeller", None)))
    reason = chance.choice((None, "failed", "transferred"))
    yard.fit(chance.choice(list(yard.rates)), item, day, position=place, reason=reason)


def _move(yard: Yard, chance: Random, day: date) -> None:
    giver, taker = chance.sample(list(yard.rates), 2)
    item, places = chance.choice((("belt", (None,)), ("plug", ("1", "2")), ("impeller", (None,))))
    yard.move(giver, taker, item, day, from_position=chance.choice(places), to_position=chance.choice(places))


def _swap(yard: Yard, chance: Random, day: date) -> None:
    taker, giver = chance.sample(list(yard.rates), 2)
    carried = chance.choice(((), (("belt", None),), (("plug", "1"), ("dowels", None))))
    how = chance.randrange(3)
    if how == 0:
        yard.swap(taker, day, giver, carried=carried)
    elif how == 1:
        yard.swap(taker, day, carried=carried)
    else:
        yard.swap(taker, day, is_used=True, prior_tenths=1234, prior_months=20, carried=carried)


def _meter(yard: Yard, chance: Random, day: date) -> None:
    serial = chance.choice(list(yard.rates))
    chance.choice((yard.read, yard.change_meter))(serial, day)


DEEDS: tuple[Deed, ...] = (_fit_new, _move, _move, _swap, _meter)


@pytest.mark.parametrize("seed", range(60))
def test_through_random_swaps_moves_and_meter_changes_every_age_is_the_sum_of_its_stints(seed: int) -> None:
    chance = Random(seed)
    yard = Yard(from_new=chance.random() < 0.8)
    day = START
    for _ in range(14):
        day += timedelta(days=chance.randrange(1, 60))
        with suppress(NothingToTake, NotThereToCarryOver):
            chance.choice(DEEDS)(yard, chance, day)
    today = day + timedelta(days=10)
    totals = {serial: yard.hours(serial, today) for serial in yard.rates}
    for serial in yard.rates:
        yard.read(serial, today)
    homes = yard.homes(today)
    assert yard.problems() == []
    carriers: dict[int, list[str]] = {}
    for serial in yard.rates:
        home = homes.of(serial)
        assert home is not None
        # No move, swap or change of meter changes how long an engine has run.
        assert home.now_tenths == totals[serial]
        assert in_two_places(homes, serial) == []
        for item in home.items:
            journey = journey_of(homes, serial, item)
            first = journey.legs[0].item
            if item.is_on:
                carriers.setdefault(id(first), []).append(serial)
                last = journey.legs[-1].item
                assert last is item
                assert journey.age_tenths() == item.age_tenths(home.now_tenths)
                assert journey.age_months(today) == item.age_months(today)
            elif not journey.is_on:
                assert journey.age_tenths() is None or journey.age_tenths() == journey.legs[
                    -1
                ].item.age_tenths(None)
    assert all(len(serials) == 1 for serials in carriers.values())

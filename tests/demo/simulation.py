"""Lets the demo marina live day by day: boats run, break, are read, serviced, laid up and launched."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta

from tests.demo.engines import DemoEngine, read_schedules, trip_hours
from tests.demo.journal import Journal, Row
from tests.demo.marina import BOATS, I4, MODELS, START_ON, TODAY, TWIN, V6, BoatPlan
from tests.demo.season_plan import is_afloat, is_read_on, layups_of
from tests.demo.shop import Shop

FAMILIES = {"V": V6, "I": I4, "T": TWIN}
PLACES = {1: (None,), 2: ("port", "starboard"), 3: ("port", "centre", "starboard")}


@dataclass
class DemoBoat:
    """A boat with its engines and its winters."""

    number: int
    plan: BoatPlan
    joined_on: date
    engines: list[DemoEngine]
    layups: list[tuple[date, date]]
    chance: random.Random
    idle_until: date = START_ON
    serviced_on: date = START_ON
    year_factor: dict[int, float] = field(default_factory=dict)

    def factor(self, year: int) -> float:
        """How much more or less it is used in a year than usual."""
        if year not in self.year_factor:
            self.year_factor[year] = self.chance.uniform(0.72, 1.28)
        return self.year_factor[year]


class Marina:
    """The whole marina; `events` are what the hard cases ask for, by date."""

    def __init__(self) -> None:
        self.journal = Journal()
        self.shop = Shop(self.journal)
        self.schedules = read_schedules()
        self.boats: list[DemoBoat] = []
        self.engines: list[DemoEngine] = []
        self.events: dict[date, list[Callable[[date], None]]] = {}
        self._serials: dict[str, int] = {}
        self._taken = {serial for plan in BOATS for serial in plan.serials}
        for number, plan in enumerate(BOATS, start=1):
            self._join(number, plan)

    def engine(self, serial: str) -> DemoEngine:
        """The engine of that serial number."""
        return next(e for e in self.engines if e.serial == serial)

    def boat(self, name: str) -> DemoBoat:
        """The boat of that name."""
        return next(b for b in self.boats if b.plan.name == name)

    def at(self, day: str, event: Callable[[date], None]) -> None:
        """Has something happen on a day, before anything else."""
        self.events.setdefault(date.fromisoformat(day), []).append(event)

    def run(self) -> None:
        """Every day from the first to today."""
        day = START_ON
        while day <= TODAY:
            for event in self.events.get(day, ()):
                event(day)
            for boat in self.boats:
                if day >= boat.joined_on:
                    self._live(boat, day)
            day += timedelta(days=1)

    def _join(self, number: int, plan: BoatPlan) -> None:
        chance = random.Random(f"boat {plan.name}")
        kind, _, rest = plan.engines_from.partition(" ")
        if kind == "new":
            in_service_on = joined_on = date.fromisoformat(rest)
            tenths = 0
        else:
            first, second, hours = kind.split("/")
            in_service_on, joined_on, tenths = (
                date.fromisoformat(first),
                date.fromisoformat(second),
                int(hours) * 10,
            )
        main, _, auxiliary = plan.layout.partition("+")
        places = [*PLACES[len(main)], *(["auxiliary"] if auxiliary else [])]
        letters = main + auxiliary
        if auxiliary:
            places[0] = "main"
        engines = []
        for place, (letter, position) in enumerate(zip(letters, places, strict=True)):
            family = FAMILIES[letter]
            serial = plan.serials[place] if place < len(plan.serials) else self._serial(family, in_service_on)
            ran = tenths // 4 if position == "auxiliary" else tenths
            engine = DemoEngine(
                serial=serial,
                family=family,
                schedule=self.schedules[family],
                in_service_on=in_service_on,
                from_new=kind == "new",
                joined_on=joined_on,
                tenths=ran
                + (int(chance.uniform(-25, 60)) if ran and len(main) > 1 else 0)
                + (7 if ran else 0),
                position=position,
                model=MODELS[family][int(chance.random() * 2)],
                model_year=in_service_on.year - (in_service_on.month < 4),
                water=plan.water,
                use=plan.use,
                boat=number,
                keen=0.3 if position == "auxiliary" else chance.uniform(0.97, 1.03),
            )
            engine.fit_impeller()
            engines.append(engine)
        if len(main) > 1:
            for twin in engines[1 : len(main)]:
                twin.model = engines[0].model
        self.engines += engines
        self.boats.append(
            DemoBoat(number, plan, joined_on, engines, layups_of(plan, joined_on, chance), chance)
        )

    def _serial(self, family: str, in_service_on: date) -> str:
        """The next serial number of a family and year; twins follow each other."""
        before = self._serials.get(family, 0)
        self._serials[family] = before + 1
        years = in_service_on.year - 2012
        serial = {
            V6: f"VK6-{18003 + years * 290 + 4 * before:05d}",
            I4: f"ML4-{max(years - 3, 0) * 70 + 108 + 2 * before:04d}",
            TWIN: f"T2/{years * 60 + 2 * before + 1:04d}",
        }[family]
        return self._serial(family, in_service_on) if serial in self._taken else serial

    def _live(self, boat: DemoBoat, day: date) -> None:
        plan, shop = boat.plan, self.shop
        if day == boat.joined_on:
            self._first_visit(boat, day)
        afloat = is_afloat(boat.layups, day)
        hours = trip_hours(boat.chance, plan.use, plan.annual_hours * boat.factor(day.year), day)
        broken: DemoEngine | None = None
        trouble = boat.chance.random()
        for engine in boat.engines:
            if afloat and day > boat.idle_until and engine.state == "in service":
                engine.tenths += round(10 * hours * engine.keen * engine.chance.uniform(0.96, 1.04))
            if engine.tenths > engine.impeller_ends_at and hours and afloat and day > boat.idle_until:
                broken = engine
        if broken is not None:
            shop.impeller_failed(boat.number, broken, day)
            boat.idle_until = day + timedelta(days=4)
        elif hours and afloat and day > boat.idle_until and trouble < hours / 900 and (TODAY - day).days > 10:
            shop.other_breakdown(boat.number, boat.engines[int(trouble * 7919) % len(boat.engines)], day)
            boat.idle_until = day + timedelta(days=4)
        told = is_read_on(plan, boat.number, day)
        if told is not None and day > boat.joined_on:
            for engine in boat.engines:
                shop.reading(engine, day, *told)
        if day > boat.idle_until:
            self._visits(boat, day, told is not None)

    def _first_visit(self, boat: DemoBoat, day: date) -> None:
        if boat.engines[0].from_new:
            for engine in boat.engines:
                self.shop.reading(engine, day, "handed over new", None)
            return
        visit = self.shop.visit(
            boat.number,
            day,
            "booked service",
            note="First time here. What the owner's papers do not show was done.",
        )
        self.shop.work(visit, boat.engines, day, day + timedelta(days=300), 400)
        boat.serviced_on = day

    def _visits(self, boat: DemoBoat, day: date, was_read: bool) -> None:
        plan, shop = boat.plan, self.shop
        running_in = [e for e in boat.engines if self._first_service_near(e, day)]
        if running_in:
            visit = shop.visit(boat.number, day, "booked service", note="First service.")
            shop.work(visit, running_in, day, day + timedelta(days=25), 80)
            return
        for start, end in boat.layups:
            if day == start:
                self._lay_up(boat, day)
            if day == end - timedelta(days=1 + boat.number % 5):
                self._launch(boat, day)
        if not boat.layups and plan.use == "private" and (day.month, day.day) == (10, 6 + boat.number % 20):
            self._yearly(boat, day)
        asked = was_read or (plan.use in ("hire", "charter", "rescue") and day.day == 20)
        if asked and (day - boat.serviced_on).days > 20 and self._calls(boat, day):
            self._by_hours(boat, day)

    def _calls(self, boat: DemoBoat, day: date) -> bool:
        """Whether the owner brings it in between: by the hours run, private owners only for oil or a belt."""
        if boat.plan.use == "private":
            urgent = {"engine-oil-replace", "timing-belt-replace"}
            return any(rule.key in urgent for e in boat.engines for rule, _ in e.owed(day, 0, day))
        until = day + timedelta(days=20)
        return any(e.owed(until, boat.plan.annual_hours // 2 if e.metered else 0, day) for e in boat.engines)

    def _first_service_near(self, engine: DemoEngine, day: date) -> bool:
        line = engine.lines["engine-oil-replace", None]
        rule = engine.schedule.rule("engine-oil-replace")
        if rule is None or not line.running_in or line.base_on is None or rule.first is None:
            return False
        ran, limit = engine.tenths - line.base_tenths, rule.first.tenths or 0
        return ran >= limit * 0.9 or (day - line.base_on).days >= 30 * (rule.first.months or 0) - 8

    def _lay_up(self, boat: DemoBoat, day: date) -> None:
        plan = boat.plan
        if plan.habit == "self":
            return
        visit = self.shop.visit(
            boat.number,
            day,
            "booked service",
            closed_on=day + timedelta(days=boat.number % 3),
            note="Lay-up.",
        )
        if plan.habit in ("autumn", "hours") or (plan.habit == "late" and day.year < 2025):
            self._service(visit, boat, day)
        elif plan.habit == "late":
            visit["advised"] = "Yearly service is due: owner wants it left until spring, will call."
        self.shop.season(visit, boat.engines, day, "before lay-up")

    def _launch(self, boat: DemoBoat, day: date) -> None:
        plan = boat.plan
        visit = self.shop.visit(boat.number, day, "booked service", note="Before launch.")
        if plan.habit in ("spring", "self"):
            self._service(visit, boat, day)
        elif plan.habit != "late" or day.year < 2026:
            self.shop.work(
                visit, boat.engines, day, day + timedelta(days=75), min(plan.annual_hours * 3, 800)
            )
        if plan.habit != "self":
            self.shop.season(visit, boat.engines, day, "before launch")

    def _yearly(self, boat: DemoBoat, day: date) -> None:
        visit = self.shop.visit(boat.number, day, "booked service")
        self._service(visit, boat, day)

    def _service(self, visit: Row, boat: DemoBoat, day: date) -> None:
        """The yearly service: what comes due before the next; boats that run much are seen again before."""
        busy = boat.plan.use != "private"
        until = day + timedelta(days=200 if busy else 330)
        self.shop.work(visit, boat.engines, day, until, 400 if busy else boat.plan.annual_hours * 8)
        boat.serviced_on = day

    def _by_hours(self, boat: DemoBoat, day: date) -> None:
        visit = self.shop.visit(boat.number, day, "booked service", note="By the hours run.")
        self.shop.work(
            visit, boat.engines, day, day + timedelta(days=30), 300 if boat.plan.use != "private" else 50
        )
        boat.serviced_on = day

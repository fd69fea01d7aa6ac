"""Seeded small ledgers full of what seldom happens, and schedules to go with them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from random import Random

from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.ledger_rules import AHEAD_OF_SERVICE
from fleetlog.domain.months import add_months
from fleetlog.domain.records import (
    Boat,
    Change,
    Deferral,
    Engine,
    Entry,
    Layup,
    Meter,
    Mount,
    Reading,
    Void,
)
from fleetlog.domain.schedule import Deadline, Limits, Rule, Schedule
from fleetlog.domain.serials import SerialRange

ITEMS = ("timing belt", "Impeller", "gasket")
POSITIONS = ("bank 1", "bank 2")
SCOPES = ("powerhead", "top end", "lower unit")
ACTIONS = ("fitted", "removed", "reused", "inspected", "adjusted", "serviced", "rebuilt")
ODD_DAYS = (date(2024, 2, 29), date(2024, 1, 31), date(2023, 8, 31), date(2024, 3, 31), date(2023, 11, 30))


@dataclass(frozen=True)
class Case:
    """One engine's ledger, its schedule and the day it is looked at."""

    ledger: EngineLedger
    schedule: Schedule
    today: date


def nasty_case(seed: int) -> Case:
    """The case of a seed: always the same one."""
    return _Maker(Random(seed)).case()


class _Maker:
    def __init__(self, chance: Random) -> None:
        self.chance = chance
        # Half of the ledgers are narrow: one item, few rules and few days, so that corners are met often.
        self.narrow = chance.random() < 0.5
        self.items = ITEMS[:1] if self.narrow else ITEMS[:2]
        self.today = date(2024, 1, 1) + timedelta(days=chance.randrange(400))
        since = self.today - timedelta(days=chance.choice((10, 200, 500, 900)))
        if chance.random() < 0.25:  # so that limits in months end on the day itself
            since = add_months(self.today, -chance.choice((1, 3, 6, 7, 12, 24)))
        span = (self.today - since).days
        # Few days, so that things fall on the same one; some lie ahead.
        self.days = [
            since + timedelta(days=chance.randrange(span + 20))
            for _ in range(chance.randrange(1, 4 if self.narrow else 9))
        ]
        self.days += [d for d in ODD_DAYS if chance.random() < 0.25]
        self.days += [self.today] * (chance.random() < 0.3)
        self.since = since
        self.rate = chance.choice((0.0, 0.7, 5.0, 30.0))
        self.odd_meter = chance.choice((0.0, 0.0, 0.15, 0.4))

    def maybe(self, share: float) -> bool:
        return self.chance.random() < share

    def day(self) -> date:
        return self.chance.choice(self.days)

    def case(self) -> Case:
        c = self.chance
        known_since = self.maybe(0.8)
        new = known_since and self.maybe(0.5)
        in_service = c.choice((self.since, self.since, self.day())) if known_since else None
        entries = self.entries()
        if in_service is not None:  # the rules of the ledger allow no earlier work
            in_service = min([in_service, *(entry.on + AHEAD_OF_SERVICE for entry in entries)])
        engine = Engine(
            "E1",
            in_service_on=in_service,
            logged_from_new=new,
            hour_meter=self.maybe(0.85),
            boat_id=c.choice(("B1", "B2", None)),
            state=c.choice(("in service",) * 12 + ("laid by", "sold")),
        )
        schedule = self.schedule()
        meters = self.meters()
        ledger = EngineLedger(
            engine,
            entries=entries,
            readings=self.readings(entries),
            meters=meters,
            mounts=self.mounts(),
            voids=self.voids(entries),
            deferrals=self.deferrals(schedule),
            changes=self.changes(),
            boats={"B1": self.boat("B1"), "B2": self.boat("B2")},
        )
        return Case(ledger, schedule, self.today)

    # ------------------------------------------------------------ schedule

    def limits(self) -> Limits:
        tenths = self.chance.choice((1, 50, 200, 333, 1000, 5000))
        months = self.chance.choice((1, 3, 6, 7, 12, 24))
        kind = self.chance.randrange(4)
        return Limits(tenths if kind != 1 else None, months if kind != 2 else None)

    def schedule(self) -> Schedule:
        count = self.chance.randrange(1, 3 if self.narrow else 6)
        keys = [f"rule-{n}" for n in range(count)]
        return Schedule("s", "S", 1, tuple(self.rule(n, keys) for n in range(count)))

    def rule(self, place: int, keys: list[str]) -> Rule:
        c = self.chance
        kind = c.choice(("every", "every", "every", "season", "disturbed", "once"))
        severe = tuple(
            (word, Decimal(c.choice(("0.5", "0.8", "0.33", "1", "0.05"))))
            for word in ("salt", "brackish", "hire", "rescue")
            if self.maybe(0.4)
        )
        item = c.choice(self.items if self.maybe(0.9) else ITEMS)
        return Rule(
            key=keys[place],
            title=keys[place],
            item=c.choice((item, item.upper())),
            action="replace"
            if kind == "disturbed"
            else c.choice(("replace", "replace", "inspect", "adjust", "service")),
            place=place,
            positions=c.choice(((), POSITIONS, POSITIONS, POSITIONS[1:], ("Bank 1",))),
            every=self.limits() if kind == "every" else Limits(),
            first=self.limits() if kind == "every" and self.maybe(0.5) else None,
            season=c.choice(("before lay-up", "before launch")) if kind == "season" else None,
            severe=severe,
            reset_by=tuple(s for s in SCOPES if self.maybe(0.45)),
            renews=tuple(k for k in keys if k != keys[place] and self.maybe(0.3)),
            renew_when_disturbed=kind == "disturbed",
            once=kind == "once",
            by=self.deadline() if kind == "once" else Deadline(),
            issued_on=self.day() if kind == "once" and self.maybe(0.7) else None,
            serials=(SerialRange("e", 2, 3), SerialRange("e1"))[: c.choice((1, 2))]
            if self.maybe(0.1)
            else (),
        )

    def deadline(self) -> Deadline:
        limits = self.limits()
        on = None if limits.months is None else add_months(self.since, limits.months)
        return Deadline(on, limits.tenths)

    # ------------------------------------------------------------ what was done

    def meter_on(self, day: date) -> int:
        """A figure near what the engine would have run by then, now and then far off."""
        run = int(max(0, (day - self.since).days) * self.rate) + self.chance.choice((0, 0, 0, 3, 40))
        if self.maybe(self.odd_meter):
            run = max(0, run + self.chance.choice((-300, -20, 480, 490, 5000)))
        return run

    def entries(self) -> tuple[Entry, ...]:
        c = self.chance
        made: list[Entry] = []
        figures = {d: self.meter_on(d) for d in self.days}
        for n in range(c.choice((0, 2, 4, 8, 12))):
            day = self.day()
            action = c.choice((*ACTIONS, "fitted", "rebuilt", "reused"))
            item = None if action == "rebuilt" else c.choice(self.items if self.maybe(0.9) else ITEMS)
            position = (
                None
                if action == "rebuilt"
                else c.choice((None, "bank 1", "Bank 2", "bank 1", "BANK 1", "bank 3"))
            )
            meter = c.choice((None, None, figures[day], self.meter_on(day)))
            used = action == "fitted" and self.maybe(0.4)
            again = action not in ("rebuilt", "removed") and self.maybe(0.25)
            made.append(
                Entry(
                    f"e{n}",
                    "E1",
                    day,
                    action,
                    visit_id=c.choice((None, None, "v1", "v2", "v1", f"v-{day}")),
                    meter_tenths=meter,
                    scope=c.choice(SCOPES) if action == "rebuilt" else None,
                    item=item,
                    position=position,
                    condition=("used" if used else c.choice((None, "new"))) if action == "fitted" else None,
                    prior_tenths=c.choice((None, 0, 25, 400))
                    if used or (action == "fitted" and self.maybe(0.1))
                    else None,
                    prior_months=c.choice((None, 0, 1, 13))
                    if used or (action == "fitted" and self.maybe(0.1))
                    else None,
                    reason=c.choice(("scheduled", "failed", "access", "access"))
                    if action == "removed"
                    else None,
                    again_tenths=c.choice((None, 10, 300)) if again else None,
                    again_months=c.choice((None, 1, 5)) if again else None,
                    sequence=n,
                )
            )
        return tuple(made)

    def moment(self, day: date) -> datetime:
        return datetime(day.year, day.month, day.day, self.chance.randrange(24), 30, tzinfo=UTC)

    def voids(self, entries: tuple[Entry, ...]) -> tuple[Void, ...]:
        return tuple(
            Void(
                e.entry_id,
                self.moment(self.today + timedelta(days=self.chance.choice((-5, 0, 1)))),
                "ann",
                "wrong",
            )
            for e in entries
            if self.maybe(0.12)
        )

    def deferrals(self, schedule: Schedule) -> tuple[Deferral, ...]:
        c = self.chance
        made = []
        for n in range(c.choice((0, 0, 1, 3, 5))):
            rule = c.choice(schedule.rules)
            until_on = c.choice((None, self.day(), self.today + timedelta(days=c.randrange(-20, 60))))
            until = c.choice((None, 100, 3000)) if until_on is not None else c.choice((100, 3000))
            made.append(
                Deferral(
                    f"d{n}",
                    "E1",
                    rule.key,
                    "ann",
                    self.moment(self.day()),
                    "busy",
                    position=c.choice((None, None, None, *(rule.positions or POSITIONS))),
                    until_on=until_on,
                    until_tenths=until,
                    sequence=n,
                )
            )
        return tuple(made)

    # ------------------------------------------------------------ meter

    def readings(self, entries: tuple[Entry, ...]) -> tuple[Reading, ...]:
        c = self.chance
        made: list[Reading] = []
        figured = [e for e in entries if e.meter_tenths is not None]
        for n in range(c.choice((0, 1, 3, 6))):
            day = self.day()
            shown = self.meter_on(day)
            if figured and self.maybe(0.35):
                spoken_for = c.choice(figured)
                day, shown = spoken_for.on, spoken_for.meter_tenths or 0
            status = c.choice((None, None, None, "confirmed", "withdrawn"))
            made.append(Reading(f"r{n}", "E1", day, shown, status=status, sequence=n))
        return tuple(made)

    def meters(self) -> tuple[Meter, ...]:
        c = self.chance
        days = sorted({self.day() for _ in range(c.choice((0, 0, 0, 1, 2)))})
        return tuple(
            Meter("E1", d, self.meter_on(d), c.choice((0, 0, 15, self.meter_on(d))), sequence=n)
            for n, d in enumerate(days)
        )

    # ------------------------------------------------------------ boats

    def mounts(self) -> tuple[Mount, ...]:
        made = []
        start = self.since
        for _ in range(self.chance.choice((0, 0, 1, 2))):
            end = start + timedelta(days=self.chance.randrange(1, 400))
            end = self.chance.choice((end, end, self.today, self.today + timedelta(days=1)))
            if end <= start:
                break
            made.append(Mount("E1", self.chance.choice(("B1", "B2")), start, "port", end))
            start = end
        if made and self.maybe(0.4):
            made[-1] = Mount("E1", made[-1].boat_id, made[-1].from_on, "port", None)
        return tuple(made)

    def boat(self, boat_id: str) -> BoatLedger:
        c = self.chance
        layups = []
        if self.maybe(0.3):  # work half way between two lay-ups, or on the day of one
            middle, apart = self.day(), timedelta(days=c.randrange(40))
            layups = [Layup(boat_id, middle - apart, middle), Layup(boat_id, middle + apart)]
        boat = Boat(
            boat_id,
            None,
            boat_id,
            water=c.choice((None, "fresh", "salt", "brackish")),
            use=c.choice((None, "private", "hire", "rescue")),
        )
        for _ in range(c.choice((0, 1, 2, 3))):
            start = c.choice((self.day(), self.today + timedelta(days=c.randrange(-700, 200))))
            end = start + timedelta(days=c.randrange(10, 150))
            layups.append(Layup(boat_id, start, c.choice((None, end, end, self.today))))
        changed = Change(
            "boat",
            boat_id,
            "water",
            "salt",
            self.today + timedelta(days=c.choice((-1, 0, 1))),
            datetime(2024, 6, 1, tzinfo=UTC),
            "ann",
        )
        return BoatLedger(boat, layups=tuple(layups), changes=(changed,) if self.maybe(0.2) else ())

    def changes(self) -> tuple[Change, ...]:
        c = self.chance
        fields = (("boat_id", "B1"), ("state", "sold"), ("boat_id", None), ("hour_meter", "no"))
        if not self.maybe(0.1):
            return ()
        field, was = c.choice(fields)
        until = self.today + timedelta(days=c.choice((-1, 0, 1)))
        return (Change("engine", "E1", field, was, until, datetime(2024, 6, 1, tzinfo=UTC), "ann"),)

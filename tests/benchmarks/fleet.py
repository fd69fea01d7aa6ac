"""Makes fleets of any size for benchmarks: thirty readings and fifteen rules an engine, seeded."""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Boat, Engine, Entry, Layup, Owner, Ownership, Reading, Visit
from fleetlog.domain.schedule import ScheduleText

TODAY = date(2026, 4, 15)
READINGS = 30
RULES = 15
SCHEDULES = 6
BEGIN = date(2021, 4, 1)


def schedule_text(number: int) -> str:
    """A schedule of fifteen rules: yearly, by the hour, two positions, one season, one when disturbed."""
    lines = [f'name = "family {number}"', "revision = 1", ""]
    for rule in range(RULES):
        lines += ["[[rule]]", f'key = "rule-{rule}"', f'title = "Work {rule}"', f'item = "item {rule}"']
        if rule == 13:
            lines += ['action = "service"', 'season = "before lay-up"']
        elif rule == 14:
            lines += ['action = "replace"', "renew_when_disturbed = true"]
        else:
            action = ("replace", "inspect", "service")[rule % 3]
            hours, months = 300 * (1 + rule % 4) + 10 * number, 24 * (1 + rule % 3)
            lines += [f'action = "{action}"', f"every = {{ hours = {hours}, months = {months} }}"]
            lines += ["severe = { salt = 0.8, hire = 0.5 }"] if rule % 2 else []
        lines += ['access = "cowl off"', 'parts = [{ number = "P-1", quantity = 1 }]', ""]
    return "\n".join(lines)


def a_fleet(engines: int, seed: int = 1) -> Batch:
    """A fleet whose ids are stable; an owner has two boats and a boat has one engine or two."""
    chance = Random(seed)
    batch = Batch(schedules=[ScheduleText(f"F{n}", 1, schedule_text(n)) for n in range(SCHEDULES)])
    boats = 0
    while len(batch.engines) < engines:
        boat_id, owner_id = f"B{boats:06}", f"O{boats // 2:06}"
        if boats % 2 == 0:
            batch.owners.append(
                Owner(owner_id, f"Owner {boats // 2}", f"o{boats // 2}@example.org", remind_by="email")
            )
        water, use = (
            chance.choice(("fresh", "salt", "brackish")),
            chance.choice(("private", "private", "hire")),
        )
        batch.boats.append(Boat(boat_id, owner_id, f"Boat {boats}", water=water, use=use))
        batch.ownership.append(Ownership(boat_id, owner_id, BEGIN))
        batch.layups += [
            Layup(boat_id, date(year, 11, 1), date(year + 1, 3, 20)) for year in range(2021, 2026)
        ]
        boats += 1
        for position in ("port", "starboard")[: chance.choice((1, 2))]:
            if len(batch.engines) < engines:
                _add_engine(batch, chance, boat_id, position, use)
    return batch


def _add_engine(batch: Batch, chance: Random, boat_id: str, position: str, use: str) -> None:
    number = len(batch.engines)
    serial = f"S{number:07}"
    family = f"F{number % SCHEDULES}"
    batch.engines.append(
        Engine(serial, "maker", "model", family, 2021, BEGIN, True, boat_id=boat_id, position=position)
    )
    a_day = chance.lognormvariate(0.7 if use == "hire" else 0.0, 0.6)  # tenths of an hour
    tenths, day = 0, BEGIN
    shown = []
    for reading in range(READINGS):
        gap = chance.randrange(45, 75)
        day += timedelta(days=gap)
        tenths += int(gap * a_day * (0.1 if day.month < 4 or day.month > 10 else 1.6))
        shown.append((day, tenths))
        batch.readings.append(Reading(f"R{number}-{reading}", serial, day, tenths, "dock", by="Kim"))
    for visit in range(4):
        on, hours = shown[6 + 6 * visit + chance.randrange(5)]
        visit_id = f"V{number}-{visit}"
        batch.visits.append(Visit(visit_id, boat_id, on, on, "booked service"))
        for rule in chance.sample(range(RULES), 5):
            action = ("fitted", "inspected", "serviced")[rule % 3] if rule != 14 else "reused"
            batch.entries.append(
                Entry(
                    f"E{number}-{visit}-{rule}",
                    serial,
                    on,
                    action,
                    visit_id,
                    hours,
                    item=f"item {rule}",
                    by="Kim",
                )
            )

"""Short ways to make the diary's values in tests: days count from Monday 2 March 2026."""

from __future__ import annotations

from datetime import date, timedelta

from fleetlog.diary.plan import WorkLimit
from fleetlog.diary.shop import ClockSpan, Place, Risk, Shop, Technician, VisitRequest
from fleetlog.diary.work import OwedWork
from fleetlog.domain.schedule import PartNeed

MONDAY = date(2026, 3, 2)
LITTLE = WorkLimit(moves_a_visit=150, rounds_a_visit=15)


def day(number: int) -> date:
    """The day so many days after the Monday."""
    return MONDAY + timedelta(days=number)


def job(title: str = "Replace timing belt", **changes: object) -> OwedWork:
    """A job on engine E1 of boat B1, due on the tenth day."""
    values: dict[str, object] = {
        "serial": "E1",
        "boat_id": "B1",
        "owner_id": "O1",
        "rule": title.lower().replace(" ", "-"),
        "title": title,
        "item": title.lower().split(" ", 1)[-1],
        "position": None,
        "state": "due",
        "due_on": day(10),
        "early_on": day(6),
        "likely_on": day(10),
        "late_on": day(10),
        "access": None,
        "labour_tenths": 10,
        "parts": (PartNeed("P-1", 1),),
        "consequence": None,
        "season": None,
        "interval_days": 365,
    }
    return OwedWork(**{**values, **changes})  # type: ignore[arg-type]


def visit(visit_id: str, tenths: int = 20, due: int | None = 2, **changes: object) -> VisitRequest:
    """A visit of its own boat, one line due on the day given."""
    values: dict[str, object] = {
        "visit_id": visit_id,
        "boat_id": f"boat of {visit_id}",
        "owner_id": "O1",
        "tenths": tenths,
        "risks": () if due is None else (Risk(20, due_on=day(due)),),
    }
    return VisitRequest(**{**values, **changes})  # type: ignore[arg-type]


def shop(technicians: int = 1, bays: int = 1, hours: int = 8, lifts_per_day: int | None = None) -> Shop:
    """Technicians and bays alike, on five days from eight o'clock."""
    week = (ClockSpan(80, 80 + 10 * hours),) * 5 + (None, None)
    return Shop(
        technicians=tuple(Technician(f"T{number}", week=week) for number in range(1, technicians + 1)),
        places=tuple(Place(f"bay {number}", week=week) for number in range(1, bays + 1)),
        lifts_per_day=lifts_per_day,
    )

"""A small marina's diary for tests of its pages: visits booked, proposed and without a day, and the rest."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from fleetlog.diary.estimate import Estimate, PartPrice
from fleetlog.diary.load import MonthLoad
from fleetlog.diary.shop import AFLOAT, ClockSpan, Closure, Place, Shop, Technician
from fleetlog.diary.work import DateSpan
from fleetlog.reports.diary.data import (
    BOOKED,
    NO_DAY,
    PLANNED,
    DiaryData,
    PageFitOut,
    PageJob,
    PagePart,
    PageVisit,
)
from tests.reports.marina import small_fleet

HOSTILE = "<script>alert(\"1\")</script> & 'Sons'"


def diary_data(name: str = HOSTILE) -> DiaryData:
    """The diary of the small fleet's day, its boats and owners called by a hostile name."""
    fleet = small_fleet()
    today = fleet.today
    monday = today - timedelta(days=today.weekday()) + timedelta(weeks=1)
    week = (ClockSpan(80, 160),) * 5 + (None, None)
    shop = Shop(
        (Technician(f"Kim {name}", week=week), Technician("Lou", week=(None,) * 7)),
        (Place("bay 1", week=week), Place("berth", AFLOAT, week)),
        closures=(Closure(DateSpan(monday + timedelta(days=4), monday + timedelta(days=4)), "a holiday"),),
    )
    job = PageJob("TB-0007", f"Replace timing belt {name}", "bank 1", "port", "overdue", "flywheel off")
    parts = (
        PagePart("P-1", Decimal("1.50"), "on the shelf", None),
        PagePart("P-2", Decimal(1), "to order", monday),
    )

    def visit(key: str, state: str, on: date | None, start: int | None) -> PageVisit:
        return PageVisit(
            key, state, "B1", f"Boat {name}", f"Owner {name}", "555-0100", "A 1", on, start, 25,
            shop.technicians[0].name, "bay 1", (job,), parts, (("belt refit", "TB-0007"),),
        )  # fmt: skip

    booked = visit("b1", BOOKED, today, 80)
    no_day = PageVisit(
        "b3", NO_DAY, "B1", f"Boat {name}", "", "", "", None, None, 90, "", "", (job,),
        why_not=f"takes too long {name}", remedy="a longer day",
    )  # fmt: skip
    boats: dict[str, list] = {}
    for engine in fleet.engines:
        if engine.facts.boat is not None:
            boats.setdefault(engine.facts.boat.boat_id, []).append(engine)
    return DiaryData(
        today=today,
        shop_name=f"Workshop {name}",
        shop=shop,
        currency="EUR",
        rate_per_hour=Decimal(80),
        plan=("Planned today.",),
        visits=(booked, visit("b2", PLANNED, monday, None), no_day),
        waiting=((f"Boat {name}", job),),
        fit_outs=(PageFitOut(f"Boat {name}", monday, True, (job,)),),
        load=(
            MonthLoad(date(2026, 4, 1), 900, 100, 800, 900),
            MonthLoad(date(2026, 5, 1), 300, 0, 800, 600),
            MonthLoad(date(2026, 6, 1), 10, 0, 0, 0),
        ),
        estimates=[
            (
                booked,
                Estimate("b1", 25, Decimal("200.00"), (PartPrice("P-1", 1, None),), Decimal(200), ("P-1",)),
            )
        ],
        boats=boats,
        part_names={"p-1": "timing belt"},
    )

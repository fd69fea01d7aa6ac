"""Hard cases of the demo marina that turn on the work: voids, deferrals, findings, advice, odd winters."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from tests.demo.journal import hours_cell
from tests.demo.marina import boat_id
from tests.demo.simulation import Marina

ILSE, TOMASZ, FEMKE = "Ilse Darrow", "Tomasz Brinkel", "Femke Aldous"


def plan_work_cases(marina: Marina) -> None:
    """Puts each of these cases on its day."""
    _second_thoughts(marina)
    _findings(marina)
    _winters(marina)


def _second_thoughts(marina: Marina) -> None:
    shop, add = marina.shop, marina.journal.add

    def wrong_entry(day: date) -> None:
        # ML4-0266 (Maré Mansa): written as a new belt where it was only looked at; voided and replaced.
        engine = marina.engine("ML4-0266")
        visit = shop.visit(engine.boat, day, "survey", note="Looked over for the insurer.")
        meter = engine.meter()
        assert meter is not None
        wrong = add(
            "entries",
            visit=visit,
            serial=engine.serial,
            on=day,
            meter=hours_cell(meter),
            action="fitted",
            item="timing belt",
            part_number="NV-3101",
            by=TOMASZ,
        )
        right = shop.entry(
            visit,
            engine,
            day,
            "inspected",
            "timing belt",
            note="no cracks, teeth sound",
            by=TOMASZ,
            checked_by=FEMKE,
        )
        add(
            "voids",
            entry_id=wrong,
            voided_at="2024-06-19T07:52:00Z",
            by=FEMKE,
            replaced_by=right,
            reason="belt was inspected, not renewed; no belt left the shelf that week",
        )

    def deferred(day: date) -> None:
        # ML4-0552 (Bel Indugio, port): the belt put off to the autumn, with the reason.
        engine = marina.boat("Bel Indugio").engines[0]
        add(
            "deferrals",
            deferral_id="D-00001",
            serial=engine.serial,
            rule="timing-belt-replace",
            until_on=date(2026, 10, 31),
            by=ILSE,
            at=f"{day}T09:30:00Z",
            reason="belt seen and sound, few hours run; owner abroad until October",
        )
        engine.held_back.add("timing-belt-replace")

    def deferred_by_hours(day: date) -> None:
        # ML4-0674 (Tidewren Six): spark plugs put off by hours until the fleet is ashore.
        engine = marina.boat("Tidewren Six").engines[0]
        add(
            "deferrals",
            deferral_id="D-00002",
            serial=engine.serial,
            rule="spark-plugs-replace",
            by=FEMKE,
            until_hours=hours_cell(engine.tenths + 2500),
            until_on=date(2026, 11, 15),
            at=f"{day}T15:05:00Z",
            reason="plugs looked at, gaps good; together with the belt in November",
        )
        engine.held_back.add("spark-plugs-replace")

    marina.at("2024-06-18", wrong_entry)
    marina.at("2026-03-24", deferred)
    marina.at("2026-04-02", deferred_by_hours)


def _findings(marina: Marina) -> None:
    shop = marina.shop

    def frayed(day: date) -> None:
        # VK6-20902 (Contrapunto, port): the next look at the belt is brought closer.
        engine = marina.engine("VK6-20902")
        visit = shop.visit(
            engine.boat,
            day,
            "booked service",
            closed_on=day + timedelta(days=1),
            note="Both belts looked at, at the owner's wish.",
        )
        shop.entry(
            visit,
            engine,
            day,
            "inspected",
            "timing belt",
            again_hours="15.0",
            by=ILSE,
            checked_by=TOMASZ,
            note="lower edge frayed over 2 mm, pulley edge smoothed; look again in 15 h",
        )
        engine.held_back.add("timing-belt-inspect")
        twin = marina.engine("VK6-20903")
        shop.entry(
            visit, twin, day, "inspected", "timing belt", note="edges straight", by=ILSE, checked_by=TOMASZ
        )

    def declined(day: date) -> None:
        # VK6-20701 (Pilgrim's Excuse): advised and declined.
        boat = marina.boat("Pilgrim's Excuse")
        visit = shop.visit(
            boat.number,
            day,
            "survey",
            note="Looked over before the insurance was renewed.",
            advised="Steering cable should be renewed before next season. Owner told on the phone, declined.",
        )
        shop.entry(
            visit,
            boat.engines[0],
            day,
            "inspected",
            "steering linkage",
            again_months=9,
            by=FEMKE,
            note="cable stiff near full lock, still safe",
            checked_by=ILSE,
        )

    def bulletin(day: date) -> None:
        # The six engines of the Skarvik boats, VK6-20733 and on: a one-time look at a clamp.
        for name in ("Skarvik Runa", "Skarvik Tora", "Skarvik Liv"):
            boat = marina.boat(name)
            visit = shop.visit(
                boat.number, day, "bulletin", note="Bulletin 24-03: clamp of the fuel rail's return hose."
            )
            for engine in boat.engines:
                shop.entry(
                    visit,
                    engine,
                    day,
                    "inspected",
                    "fuel hose clamp",
                    note="the right kind, tight",
                    by=TOMASZ,
                )

    def compression(day: date) -> None:
        # VK6-20105, VK6-20109 (Fjellrev): compression measured for a buyer who then did not buy.
        boat = marina.boat("Fjellrev")
        visit = shop.visit(boat.number, day, "survey", note="For a buyer.")
        for engine, low in zip(boat.engines, (176, 181), strict=True):
            shop.entry(
                visit,
                engine,
                day,
                "inspected",
                "compression",
                measured=low,
                unit="psi",
                by=ILSE,
                note=f"lowest of six, spread {184 - low} psi, throttle open, warm",
            )

    def cover_gasket(day: date) -> None:
        # ML4-0322 (Tidewren Five): the cam cover came off for a leak and its gasket went back on with
        # sealant; the thermostat cover gasket of T2/0685 (Pinch of Thyme) was put back as well.
        for name, item, note in (
            (
                "Tidewren Five",
                "cam cover gasket",
                "put back with sealant at the corners, no new one on the shelf",
            ),
            ("Pinch of Thyme", "thermostat cover gasket", "put back with a smear of sealant"),
        ):
            engine = marina.boat(name).engines[0]
            visit = shop.visit(
                engine.boat,
                day,
                "breakdown",
                complaint="Oil or water on the cowl's inside.",
                cause="Cover bolts loose.",
                correction="Cover off, faces cleaned, bolts in two passes.",
            )
            shop.entry(visit, engine, day, "reused", item, note=note, by=FEMKE)

    def still_open(day: date) -> None:
        # T2/0751 (Gnat) is in the shop: its visit is not closed.
        boat = marina.boat("Gnat")
        visit = shop.visit(
            boat.number,
            day,
            "breakdown",
            closed_on=None,
            complaint="Idles badly, smells of petrol.",
            note="Carburettor off, waiting for a float needle.",
        )
        shop.entry(
            visit, boat.engines[0], day, "inspected", "spark plugs", note="both wet and black", by=TOMASZ
        )

    def left_undone(boat: str, place: int, *rules: str) -> Callable[[date], None]:
        def happen(_: date) -> None:
            marina.boat(boat).engines[place].held_back |= set(rules)

        return happen

    # Single jobs that were forgotten or left: the fuel filter of ML4-0266 (Maré Mansa), an impeller of
    # Third Opinion (VK6-20637), the oil of T2/0541 (Tidewren Seven), spark plugs of VK6-20125 (Skuggi).
    marina.at("2023-09-01", left_undone("Maré Mansa", 0, "fuel-filter-replace"))
    marina.at("2024-03-01", left_undone("Third Opinion", 1, "impeller-replace"))
    marina.at("2025-08-02", left_undone("Tidewren Seven", 0, "engine-oil-replace", "gear-oil-replace"))
    marina.at("2022-08-01", left_undone("Skuggi", 0, "spark-plugs-replace"))
    marina.at("2025-10-02", frayed)
    marina.at("2025-09-16", declined)
    marina.at("2024-03-05", bulletin)
    marina.at("2025-06-17", compression)
    marina.at("2025-08-26", cover_gasket)
    marina.at("2026-04-13", still_open)


def _winters(marina: Marina) -> None:
    # ML4-0442 (Bramble Ann), its owner abroad: laid up from one autumn to the spring after the next.
    boat = marina.boat("Bramble Ann")
    kept = [w for w in boat.layups if w[0].year not in (2023, 2024)]
    boat.layups = sorted([*kept, (date(2023, 10, 7), date(2025, 5, 10))])
    # T2/0685 (Pinch of Thyme), ML4-0364 and T2/0377 (Iskrica) have no lay-up on record.
    for name in ("Pinch of Thyme", "Iskrica"):
        marina.boat(name).layups = []


def open_winters(marina: Marina) -> None:
    """Lay-ups as they are written down: one without an end, and three planned for the next winter."""
    for boat in marina.boats:
        for start, end in boat.layups:
            # T2/0441 (Duckling) is laid up until further notice.
            unknown = boat.plan.name == "Duckling" and start.year == 2025
            marina.journal.add(
                "layups", boat_id=boat_id(boat.number), **{"from": start, "to": None if unknown else end}
            )
    for name, start in (
        ("Ravenna's Delay", "2026-10-10"),
        ("Havkat", "2026-10-17"),
        ("Tidewren One", "2026-11-02"),
    ):
        marina.journal.add(
            "layups", boat_id=boat_id(marina.boat(name).number), **{"from": date.fromisoformat(start)}
        )

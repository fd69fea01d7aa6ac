"""The rebuild of the demo marina: VK6-20417 (Kittiwhistle), powerhead, over ten days of one winter."""

from __future__ import annotations

from datetime import date, timedelta

from tests.demo.evidence import add_rebuild_evidence
from tests.demo.simulation import Marina

ILSE, TOMASZ, FEMKE = "Ilse Darrow", "Tomasz Brinkel", "Femke Aldous"


def plan_rebuild(marina: Marina) -> None:
    """Puts the breakdown that led to it, and the rebuild itself, on their days."""
    shop = marina.shop

    def breakdown(day: date) -> None:
        engine = marina.engine("VK6-20417")
        visit = shop.visit(
            engine.boat,
            day,
            "breakdown",
            complaint="Lost power off the point, knocking, shut down. Towed in.",
            cause="Bank 1 ran hot after a hose came off: low compression on cylinder 3, bearing noise.",
            correction="Laid up early. Powerhead rebuild booked for February.",
        )
        shop.entry(
            visit,
            engine,
            day,
            "inspected",
            "compression",
            measured=96,
            unit="psi",
            by=ILSE,
            checked_by=FEMKE,
            note="cyl 1-6: 168 171 96 172 170 173 psi",
        )

    def rebuild(day: date) -> None:
        # VK6-20417: new timing belt, cam sprockets and tensioner; both cam cover gaskets put back with
        # sealant at the corners; the lower unit cover gasket came off for access.
        engine = marina.engine("VK6-20417")
        last = day + timedelta(days=9)
        visit = shop.visit(
            engine.boat,
            day,
            "booked service",
            closed_on=last,
            complaint="Rebuild after the breakdown in September.",
            cause="Piston 3 picked up, its main bearing worn.",
            correction="Powerhead rebuilt with a new block half, started and looked over on the stand.",
            advised="Cam cover gaskets were put back used: new ones at the next access. Back after 20 h.",
            note="Carried over: dowels, sensors, harness, starter motor, flywheel, stator.",
        )

        def entry(
            days: int, action: str, item: str | None, note: str, by: str = ILSE, **cells: object
        ) -> None:
            shop.entry(visit, engine, day + timedelta(days=days), action, item, note=note, by=by, **cells)

        entry(
            1, "removed", "lower unit cover gasket", "off to get at the drive shaft", TOMASZ, reason="access"
        )
        entry(
            1,
            "fitted",
            "water pump impeller",
            "renewed while the lower unit is off",
            TOMASZ,
            part_number="NV-4410A",
            lot="24Q1",
        )
        for bank, bolt in (("bank 1", "49 lbf·ft (66.4 N·m)"), ("bank 2", "49 lbf·ft (66.4 N·m)")):
            entry(
                5,
                "fitted",
                "head gasket",
                "steel, dry; bolts in three passes",
                part_number="NV-3301",
                position=bank,
            )
            entry(
                6,
                "fitted",
                "cam sprocket",
                f"cam held on its flats, bolt {bolt}",
                part_number="NV-3120",
                lot="23Q4",
                position=bank,
                reason="worn",
                checked_by=FEMKE,
            )
        entry(
            6,
            "fitted",
            "belt tensioner",
            "43 lbf·ft (58.3 N·m)",
            part_number="NV-3112",
            lot="23Q4",
            checked_by=FEMKE,
        )
        entry(
            7,
            "fitted",
            "timing belt",
            "marks on their points, turned over twice by hand in running direction, marks seen again",
            part_number="NV-3105",
            lot="23Q4",
            reason="scheduled",
            checked_by=FEMKE,
        )
        entry(
            7,
            "inspected",
            "flywheel",
            "key in its slot; nut 174 lbf·ft (235.9 N·m), threads oiled; pointer at TDC",
            checked_by=FEMKE,
        )
        for bank in ("bank 1", "bank 2"):
            entry(
                8,
                "reused",
                "cam cover gasket",
                "sealant at the four corners; bolts 5.8 lbf·ft (7.9 N·m) in two passes, the gasket settles",
                position=bank,
            )
        entry(8, "inspected", "grounds", "all seen and tight", measured="6", unit="of 6", checked_by=TOMASZ)
        entry(9, "fitted", "engine oil and filter", "running-in oil", part_number="NV-2201")
        entry(
            9,
            "inspected",
            "compression",
            "cyl 1-6: 186 185 187 186 184 186 psi",
            measured="184",
            unit="psi",
            checked_by=FEMKE,
        )
        entry(
            9,
            "rebuilt",
            None,
            "figures invented; plugs and thermostats new with it",
            scope="powerhead",
            checked_by=FEMKE,
        )
        add_rebuild_evidence(marina.journal, visit, engine.serial, last)
        engine.rebuilt("powerhead", last)
        engine.fit_impeller()

    marina.at("2023-09-16", breakdown)
    marina.at("2024-02-05", rebuild)
    kittiwhistle = marina.boat("Kittiwhistle")
    kittiwhistle.layups = [
        (date(2023, 9, 17), end) if start.year == 2023 else (start, end) for start, end in kittiwhistle.layups
    ]

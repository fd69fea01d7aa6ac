"""A lower unit that went from one engine of the demo marina to another, and pictures on two visits."""

from __future__ import annotations

from datetime import date
from hashlib import sha256

from fleetlog.domain.months import whole_months_between
from tests.demo.drawings import CAM_MARKS, CRACK, GEAR_CASE, drawing
from tests.demo.journal import Row, hours_cell
from tests.demo.simulation import Marina

ILSE, TOMASZ, FEMKE = "Ilse Darrow", "Tomasz Brinkel", "Femke Aldous"

DONOR, TAKER = "VK6-18114", "VK6-20733"


def plan_swap(marina: Marina) -> None:
    """Puts the stripping of the donor and the swap on their days, and pictures on two visits."""
    shop, add_picture = marina.shop, _pictures(marina)

    def comes_off(day: date) -> None:
        # VK6-18114: scrapped, its lower unit is kept on the shelf with what rides on it.
        donor = marina.engine(DONOR)
        visit = shop.visit(donor.boat, day, "booked service", note="Lower unit taken off and kept, sound.")
        for item, position in (
            ("lower unit", None),
            ("water pump impeller", None),
            ("propeller shaft seals", None),
            ("anode", "gearcase"),
            ("anode", "trim tab"),
        ):
            shop.entry(visit, donor, day, "removed", item, position=position, reason="transferred", by=TOMASZ)

    def goes_on(day: date) -> None:
        # VK6-20733 (Skarvik Runa, port): the gear case cracked on a rock; the shelf's lower unit goes on.
        donor, engine = marina.engine(DONOR), marina.engine(TAKER)
        assert donor.in_service_on is not None
        visit = shop.visit(
            engine.boat,
            day,
            "breakdown",
            complaint="Hit a rock off the point, clunk in gear, oil on the water.",
            cause="Gear case of the port engine cracked along the lower edge.",
            correction=f"Lower unit of {DONOR} fitted, with a new impeller, new oil and new anodes.",
        )

        def entry(action: str, item: str, note: str | None = None, **cells: object) -> None:
            shop.entry(
                visit, engine, day, action, item, note=note, by=TOMASZ, **{"checked_by": FEMKE, **cells}
            )

        taken = {"condition": "used", "from_serial": DONOR, "reason": "failed"}
        entry(
            "fitted",
            "lower unit",
            "from the shelf, shift checked in all three positions",
            prior_hours=hours_cell(donor.tenths),
            prior_months=whole_months_between(donor.in_service_on, date(2023, 3, 22)),
            **taken,
        )
        entry("fitted", "propeller shaft seals", "hold 70 kPa for five minutes", **taken)
        entry("fitted", "water pump impeller", "renewed on the way", part_number="NV-4410A", lot="25Q3")
        entry("fitted", "gear oil", "filled from below", part_number="NV-0631")
        entry("fitted", "lower unit cover gasket", part_number="NV-4433", lot="25Q2")
        for position in ("gearcase", "trim tab"):
            entry("fitted", "anode", position=position, part_number="NV-4707", lot="25Q1", reason="worn")
        engine.anode_left |= {"gearcase": 100.0, "trim tab": 100.0}
        add_picture(
            visit, day, "gear case as found.png", GEAR_CASE + CRACK, engine.serial, "arrow: where it cracked"
        )

    def belt_seen(day: date) -> None:
        rebuilt = next(v for v in marina.journal.rows["visits"] if "bearing worn" in (v.get("cause") or ""))
        add_picture(
            rebuilt, day, "marks before the covers.png", CAM_MARKS, None, "cams and crank on their marks"
        )

    marina.at("2023-03-22", comes_off)
    marina.at("2025-08-21", goes_on)
    marina.at("2024-02-12", belt_seen)


def _pictures(marina: Marina):  # type: ignore[no-untyped-def]
    def add(
        visit: Row, day: date, name: str, lines: list[list[tuple[int, int]]], serial: str | None, note: str
    ) -> None:
        content = drawing(lines)
        digest = sha256(content).hexdigest()
        marina.journal.papers[f"{digest}.png"] = content
        marina.journal.add(
            "papers", visit=visit, serial=serial, sha256=digest, media_type="image/png",
            size_bytes=len(content), name=name, taken_on=day, note=note, by=TOMASZ,
        )  # fmt: skip

    return add

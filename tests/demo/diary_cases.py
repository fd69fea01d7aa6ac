"""What the demo marina's owners wish for, and the parts on its shelf and on order, in the spring of the demo.

The shop itself is written by hand and stands in demo_fleet/shop.
"""

from __future__ import annotations

from datetime import date

from tests.demo.engines import SCHEDULES_FOLDER
from tests.demo.journal import Journal
from tests.demo.marina import BOATS, TODAY, boat_id, owner_id

SHOP_FOLDER = SCHEDULES_FOLDER.parent / "shop"

COUNTED_ON = date(2026, 4, 13)
SHELF = (("NV-0610", 60), ("NV-2201", 12), ("NV-0631", 8), ("NV-2275", 20), ("NV-4410A", 2), ("NV-5006", 12))


def add_diary(journal: Journal) -> None:
    """Four wishes, a count of the shelf, and two orders of which one is late."""
    boats = {plan.name: boat_id(number) for number, plan in enumerate(BOATS, start=1)}
    add = journal.add
    add("wishes", wish_id="W-001", boat_id=boats["Lady Garstone"], not_before_on=date(2026, 4, 27),
        told_on=date(2026, 4, 2), note="abroad until then", by="Femke Aldous")  # fmt: skip
    add("wishes", wish_id="W-002", boat_id=boats["Blauwe Bank"], weekdays="mon tue",
        told_on=date(2026, 3, 30), note="no trips on these days", by="Femke Aldous")  # fmt: skip
    add("wishes", wish_id="W-003", owner_id=owner_id(1), not_in_from_on=date(2026, 5, 13),
        not_in_to_on=date(2026, 5, 17), told_on=date(2026, 4, 8), by="Jory Pellam")  # fmt: skip
    add("wishes", wish_id="W-004", boat_id=boats["Byssus"], not_after_on=date(2026, 5, 8),
        told_on=date(2026, 4, 9), note="leaves for the north", by="Jory Pellam")  # fmt: skip
    for number, amount in SHELF:
        add("part_moves", move_id=f"S-{number}", part_number=number, move="counted", amount=amount,
            on=COUNTED_ON, by="Jory Pellam")  # fmt: skip
    add("part_moves", move_id="P-001", part_number="NV-3105", move="ordered", amount=3,
        on=date(2026, 4, 9), expected_on=date(2026, 4, 23), by="Femke Aldous")  # fmt: skip
    add("part_moves", move_id="P-002", part_number="NV-4418", move="ordered", amount=6,
        on=date(2026, 4, 1), expected_on=date(2026, 4, 10), note="asked", by="Femke Aldous")  # fmt: skip
    assert all(row["on"] <= TODAY for row in journal.rows["part_moves"])

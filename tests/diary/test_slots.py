"""Free time on a day, around what is booked."""

from __future__ import annotations

from dataclasses import replace

from fleetlog.diary.shop import AFLOAT, BAY, BookedVisit
from fleetlog.diary.slots import Slot, first_slot
from tests.diary.builders import day, shop


def booked(start, tenths, technician="T1", place="bay 1"):
    return BookedVisit(f"b{start}", "B", day(0), place, technician, start, tenths)


def test_the_first_free_stretch_is_between_the_booked_ones():
    taken = [booked(80, 20), booked(120, 20)]
    assert first_slot(shop(), taken, day(0), 20) == Slot("T1", "bay 1", 100)
    assert first_slot(shop(), taken, day(0), 25) is None


def test_a_technician_in_another_bay_is_as_busy():
    assert first_slot(shop(1, 2), [booked(80, 60, place="bay 2")], day(0), 20) == Slot("T1", "bay 1", 140)
    assert first_slot(shop(2, 2), [booked(80, 60)], day(0), 20) == Slot("T2", "bay 2", 80)


def test_skills_and_kinds_of_place_count_unless_somebody_is_named():
    the_shop = shop(2)
    able = replace(the_shop.technicians[1], skills=frozenset({"gearbox"}))
    the_shop = replace(the_shop, technicians=(the_shop.technicians[0], able))
    assert first_slot(the_shop, [], day(0), 10, frozenset({"gearbox"}), frozenset({BAY})).technician == "T2"
    assert first_slot(the_shop, [], day(0), 10, place_kinds=frozenset({AFLOAT})) is None
    assert first_slot(the_shop, [], day(0), 10, frozenset({"gearbox"}), technician="T1").technician == "T1"


def test_nobody_is_free_on_a_day_off():
    assert first_slot(shop(), [], day(5), 10) is None

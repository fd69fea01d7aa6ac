"""What a visit on a day may be, to the last tenth of an hour and the last day."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fleetlog.diary.plan import PlannedVisit
from fleetlog.diary.rules import booking_problems, broken_rules
from fleetlog.diary.shop import AFLOAT, BookedVisit, Closure, Wishes
from fleetlog.diary.work import DateSpan
from tests.diary.builders import day, shop, visit

SHOP = shop(technicians=2, bays=2)
MINE = BookedVisit("a", "B1", day(1), "bay 1", "T1", 80, 20)
OTHER = BookedVisit("b", "B2", day(1), "bay 2", "T2", 80, 20)


def broken(*visits, the_shop=SHOP, **asked):
    requests = {"a": visit("a", **asked)} if asked else {}
    return [(found.rule, found.visit_ids) for found in broken_rules(visits, requests, the_shop)]


def test_visits_that_share_nothing_break_no_rule():
    assert broken(MINE, OTHER) == []


@pytest.mark.parametrize(
    ("from_tenths", "tenths", "fits"),
    [(80, 80, True), (79, 20, False), (80, 81, False), (140, 20, True), (141, 20, False), (240, 1, False)],
)
def test_a_visit_fills_the_hours_of_its_technician_and_place_and_no_more(from_tenths, tenths, fits):
    found = broken(replace(MINE, from_tenths=from_tenths, tenths=tenths))
    assert found == ([] if fits else [("technician", ("a",)), ("place", ("a",))])


@pytest.mark.parametrize(
    ("rule", "changes"), [("technician", {"technician": "X"}), ("place", {"place": "X"})]
)
def test_who_and_where_are_of_the_shop(rule, changes):
    assert broken(replace(MINE, **changes)) == [(rule, ("a",))]


def test_nobody_works_on_a_day_without_hours():
    assert broken(replace(MINE, on=day(5))) == [("technician", ("a",)), ("place", ("a",))]


@pytest.mark.parametrize(
    ("first", "last", "is_in"), [(0, 0, False), (0, 1, True), (1, 2, True), (2, 2, False)]
)
def test_a_span_holds_from_its_first_day_to_its_last(first, last, is_in):
    span = DateSpan(day(first), day(last))
    one, two = SHOP.technicians
    bay, other_bay = SHOP.places
    for rule, the_shop in (
        ("closure", replace(SHOP, closures=(Closure(span),))),
        ("technician", replace(SHOP, technicians=(replace(one, away=(span,)), two))),
        ("place", replace(SHOP, places=(replace(bay, closed=(span,)), other_bay))),
    ):
        assert broken(MINE, the_shop=the_shop) == ([(rule, ("a",))] if is_in else [])
    assert broken(MINE, wishes=Wishes(not_in=(span,))) == ([("wishes", ("a",))] if is_in else [])


@pytest.mark.parametrize(
    ("rule", "asked"),
    [
        ("wishes", {"wishes": Wishes(not_before_on=day(2))}),
        ("wishes", {"wishes": Wishes(not_after_on=day(0))}),
        ("parts", {"parts_on": day(2)}),
        ("skills", {"skills": frozenset({"gearbox"})}),
        ("place", {"place_kinds": frozenset({AFLOAT})}),
    ],
)
def test_what_is_asked_for_is_kept(rule, asked):
    assert broken(MINE, OTHER, **asked) == [(rule, ("a",))]


def test_the_first_and_the_last_day_that_suit_do():
    wishes = Wishes(not_before_on=MINE.on, not_after_on=MINE.on)
    able = tuple(replace(one, skills=frozenset({"gearbox", "fuel"})) for one in SHOP.technicians)
    skilled = replace(SHOP, technicians=able)
    asked = {"wishes": wishes, "parts_on": MINE.on, "skills": frozenset({"gearbox"})}
    assert broken(MINE, the_shop=skilled, **asked) == []


@pytest.mark.parametrize(
    ("rule", "shared"),
    [("place", {"place": "bay 1"}), ("technician", {"technician": "T1"}), ("boat", {"boat_id": "B1"})],
)
def test_two_visits_at_once_need_each_their_own(rule, shared):
    other = replace(OTHER, **shared)
    assert broken(MINE, other) == [(rule, ("a", "b"))]
    assert broken(MINE, replace(other, from_tenths=99)) == [(rule, ("a", "b"))]
    assert broken(MINE, replace(other, from_tenths=100)) == []
    assert broken(replace(MINE, from_tenths=100), other) == []
    assert broken(MINE, replace(other, on=day(2))) == []


def test_lifts_of_one_day_are_counted_together():
    one_lift = replace(SHOP, lifts_per_day=1)
    lifted = replace(MINE, lifts=1), replace(OTHER, lifts=1)
    assert broken(*lifted) == []
    assert broken(lifted[0], OTHER, the_shop=one_lift) == []
    ashore = replace(OTHER, visit_id="c", boat_id="B3", from_tenths=100)
    assert broken(*lifted, ashore, the_shop=one_lift) == [("lifts", ("a", "b"))]
    assert broken(lifted[0], replace(lifted[1], on=day(2)), the_shop=one_lift) == []


def test_lifts_of_a_planned_visit_are_those_asked_for():
    planned = PlannedVisit("a", MINE.boat_id, MINE.on, MINE.place, MINE.technician, 80, 20, points=0)
    lifted, one_lift = replace(OTHER, lifts=1), replace(SHOP, lifts_per_day=1)
    assert broken(planned, lifted, the_shop=one_lift) == []
    assert broken(planned, lifted, the_shop=one_lift, lifts=0) == []
    assert broken(planned, lifted, the_shop=one_lift, lifts=1) == [("lifts", ("a", "b"))]


def test_the_earliest_day_is_told_first():
    late, early = replace(MINE, place="nowhere", on=day(2)), replace(OTHER, place="nowhere")
    assert broken(late, early) == [("place", ("b",)), ("place", ("a",))]


@pytest.mark.parametrize(
    ("first", "last", "is_told"), [(1, 1, True), (0, 0, False), (2, 3, False), (0, 2, True)]
)
def test_bookings_of_a_period_are_judged_from_its_first_day_to_its_last(first, last, is_told):
    misplaced = replace(MINE, place="nowhere")
    told = ("a: the shop has no place nowhere; release or move it",) if is_told else ()
    assert booking_problems([misplaced, OTHER], SHOP, day(first), day(last)) == told

"""The checker finds each kind of violation in a plan that was sound before it was spoiled."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fleetlog.diary.plan import plan_diary
from fleetlog.diary.shop import AFLOAT, BookedVisit, Closure, Wishes
from fleetlog.diary.verify import verify_plan
from fleetlog.diary.work import DateSpan
from tests.diary.builders import LITTLE, MONDAY, day, shop, visit

REQUESTS = [visit("a", 30, due=0, boat_id="B1"), visit("b", 30, due=0, boat_id="B2")]
SHOP = shop(technicians=2, bays=2)
PLAN = plan_diary(REQUESTS, [], SHOP, MONDAY, day(4), limit=LITTLE)


def rules(plan=PLAN, requests=REQUESTS, booked=(), the_shop=SHOP):
    return {violation.rule for violation in verify_plan(plan, requests, booked, the_shop)}


def spoiled(**changes):
    first, *rest = PLAN.visits
    return replace(PLAN, visits=(replace(first, **changes), *rest))


def asked(**changes):
    by_id = {request.visit_id: request for request in REQUESTS}
    first = PLAN.visits[0].visit_id
    return [replace(by_id.pop(first), **changes), *by_id.values()]


def test_the_plan_is_sound_to_begin_with():
    assert rules() == set()
    assert len(PLAN.visits) == 2


@pytest.mark.parametrize(
    ("rule", "changes"),
    [
        ("period", {"on": day(7)}),
        ("technician", {"on": day(5)}),
        ("technician", {"technician": PLAN.visits[1].technician}),
        ("technician", {"technician": "nobody"}),
        ("place", {"place": PLAN.visits[1].place}),
        ("place", {"place": "nowhere"}),
        ("place", {"from_tenths": 140}),
        ("boat", {"boat_id": PLAN.visits[1].boat_id}),
        ("as asked", {"tenths": 29}),
        ("asked for", {"visit_id": "c"}),
        ("answered", {"visit_id": "c"}),
    ],
)
def test_a_spoiled_visit_is_found(rule, changes):
    assert rule in rules(spoiled(**changes))


@pytest.mark.parametrize(
    ("rule", "changes"),
    [
        ("skills", {"skills": frozenset({"gearbox"})}),
        ("place", {"place_kinds": frozenset({AFLOAT})}),
        ("wishes", {"wishes": Wishes(not_before_on=day(1))}),
        ("wishes", {"wishes": Wishes(not_after_on=day(-1))}),
        ("wishes", {"wishes": Wishes(not_in=(DateSpan(day(0), day(0)),))}),
        ("parts", {"parts_on": day(1)}),
    ],
)
def test_what_the_visit_needs_and_does_not_get_is_found(rule, changes):
    assert rules(requests=asked(**changes)) == {rule}


def test_what_the_shop_cannot_do_is_found():
    shut = replace(SHOP, closures=(Closure(DateSpan(day(0), day(0))),))
    assert rules(the_shop=shut) == {"closure"}
    away = tuple(replace(person, away=(DateSpan(day(0), day(0)),)) for person in SHOP.technicians)
    assert rules(the_shop=replace(SHOP, technicians=away)) == {"technician"}
    closed = tuple(replace(place, closed=(DateSpan(day(0), day(0)),)) for place in SHOP.places)
    assert rules(the_shop=replace(SHOP, places=closed)) == {"place"}
    lifted = [replace(request, lifts=1) for request in REQUESTS]
    assert rules(requests=lifted, the_shop=replace(SHOP, lifts_per_day=1)) == {"lifts"}


def test_a_booked_visit_in_the_way_is_found():
    one = PLAN.visits[0]
    booked = BookedVisit("x", "B9", one.on, one.place, "T9", one.from_tenths + 29, 10)
    assert rules(booked=[booked]) == {"place"}
    assert rules(booked=[replace(booked, from_tenths=one.from_tenths + 30)]) == set()


def test_a_visit_answered_twice_and_points_below_the_bound_are_found():
    assert "once" in rules(replace(PLAN, visits=(*PLAN.visits, PLAN.visits[0])))
    assert rules(replace(PLAN, bound_points=PLAN.points + 1)) == {"bound"}

"""The plan: sound by the independent checker, as good as brute force where that is possible, repeatable."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetlog.diary.lanes import lane_bound
from fleetlog.diary.model import build_model
from fleetlog.diary.packing import DayPacker
from fleetlog.diary.plan import plan_diary
from fleetlog.diary.pooled import relax
from fleetlog.diary.risk import PlanWeights
from fleetlog.diary.shop import (
    AFLOAT,
    BAY,
    BookedVisit,
    ClockSpan,
    Closure,
    Place,
    Shop,
    Technician,
    Wishes,
)
from fleetlog.diary.verify import verify_plan
from fleetlog.diary.work import DateSpan
from fleetlog.errors.diary import PlanPeriodReversed, VisitNamedTwice
from tests.diary.builders import LITTLE, MONDAY, day, shop, visit


def planned(requests, the_shop, booked=(), to=4, **more):
    """A plan of the first days, found sound by the checker."""
    plan = plan_diary(requests, booked, the_shop, MONDAY, day(to), limit=LITTLE, **more)
    assert verify_plan(plan, requests, booked, the_shop) == ()
    return plan


def days_of(plan):
    return {done.visit_id: (done.on - MONDAY).days for done in plan.visits}


def test_what_is_due_first_is_done_first_when_there_is_room_for_one_a_day():
    plan = planned([visit("late", 60, due=1), visit("soon", 60, due=0)], shop())
    assert days_of(plan) == {"soon": 0, "late": 1}
    assert plan.points == plan.bound_points == 0
    assert plan.gap_share == 0.0
    assert not plan.cut_short


def test_engine_damage_goes_before_a_nuisance():
    grave, light = visit("grave", 60, due=-1), visit("light", 60, due=-1)
    heavier = replace(grave, risks=(replace(grave.risks[0], weight=100),))
    assert days_of(planned([light, heavier], shop())) == {"grave": 0, "light": 1}


def test_the_forecast_counts_by_its_distribution_and_not_its_middle():
    sure = visit("sure", 60, due=None)
    sure = replace(sure, risks=(replace(visit("x").risks[0], due_on=None, early_on=day(1), likely_on=day(3),
                                        late_on=day(30)),))  # fmt: skip
    open_ended = replace(sure, visit_id="open", boat_id="b2",
                         risks=(replace(sure.risks[0], early_on=day(3), late_on=day(3)),))  # fmt: skip
    filler = [visit(f"fill{n}", 60, due=n) for n in range(3)]
    plan = planned([sure, open_ended, *filler], shop(), to=8)
    assert days_of(plan)["open"] <= 3


def test_life_is_not_wasted_without_need():
    request = visit("belt", 20, due=4)
    request = replace(request, risks=(replace(request.risks[0], interval_days=100, value_tenths=20),))
    assert days_of(planned([request], shop())) == {"belt": 4}


def test_a_boat_comes_once_for_two_visits():
    one = visit("a", 20, due=1, boat_id="B1")
    two = visit("b", 20, due=3, boat_id="B1")
    value = {"interval_days": 365, "value_tenths": 20}
    requests = [replace(r, risks=(replace(r.risks[0], **value),)) for r in (one, two)]
    plan = planned(requests, shop(technicians=2, bays=2))
    assert len({done.on for done in plan.visits}) == 1


def test_a_boat_joins_its_booked_visit():
    booked = BookedVisit("booked", "B1", day(3), "bay 1", "T1", 80, 20)
    plan = planned([visit("more", 20, due=4, boat_id="B1")], shop(), [booked])
    assert days_of(plan) == {"more": 3}
    assert plan.visits[0].from_tenths >= 100


def test_a_visit_keeps_its_day_of_the_last_plan_unless_it_pays_to_move():
    kept = visit("kept", 20, due=4, previous_on=day(2))
    assert days_of(planned([kept], shop())) == {"kept": 2}
    pressing = visit("pressing", 20, due=0, previous_on=day(4))
    plan = planned([replace(pressing, risks=(replace(pressing.risks[0], weight=100),))], shop())
    assert days_of(plan) == {"pressing": 0}
    assert plan.visits[0].moved_from_on == day(4)


def test_wishes_parts_and_best_times_are_kept():
    requests = [
        visit("not before", due=0, wishes=Wishes(not_before_on=day(2))),
        visit("not after", due=9, wishes=Wishes(not_after_on=day(1))),
        visit("not in", due=0, wishes=Wishes(not_in=(DateSpan(day(0), day(2)),))),
        visit("parts", due=0, parts_on=day(3)),
        visit("wednesday", due=9, wishes=Wishes(weekdays=frozenset({2}))),
        visit("best", due=9, wishes=Wishes(best=(DateSpan(day(3), day(3)),))),
    ]
    found = days_of(planned(requests, shop(technicians=2, bays=2)))
    assert found["not before"] == 2
    assert found["not after"] <= 1
    assert found["not in"] == 3
    assert found["parts"] == 3
    assert found["wednesday"] == 2
    assert found["best"] == 3


def test_skills_places_and_lifts_are_respected():
    the_shop = Shop(
        technicians=(Technician("plain"), Technician("able", frozenset({"powerhead"}))),
        places=(Place("bay"), Place("berth", AFLOAT)),
        lifts_per_day=1,
    )
    requests = [
        visit("rebuild", 60, due=0, skills=frozenset({"powerhead"}), lifts=1),
        visit("afloat", 60, due=0, place_kinds=frozenset({AFLOAT})),
        visit("either", 10, due=0, place_kinds=frozenset({BAY, AFLOAT})),
        visit("lifted", 10, due=0, lifts=1),
    ]
    plan = planned(requests, the_shop)
    by_id = {done.visit_id: done for done in plan.visits}
    assert by_id["rebuild"].technician == "able"
    assert by_id["afloat"].place == "berth"
    assert by_id["rebuild"].on != by_id["lifted"].on


def test_technicians_who_start_late_are_not_put_on_early():
    the_shop = Shop(
        technicians=(Technician("late", week=(ClockSpan(120, 180),) * 7),),
        places=(Place("bay", week=(ClockSpan(80, 160),) * 7),),
    )
    plan = planned([visit("a", 20), visit("b", 20), visit("c", 10)], the_shop, to=0)
    assert sorted(done.from_tenths for done in plan.visits)[0] >= 120
    assert len(plan.visits) == 2


@pytest.mark.parametrize(
    ("request_", "the_shop", "words"),
    [
        (visit("v", 90), shop(), "no day has more than 8.0 h for it; divide it"),
        (visit("v", 0), shop(), "has no labour time; state its hours"),
        (visit("v"), shop(technicians=0), "the shop has no technician; add one"),
        (visit("v"), shop(bays=0), "the shop has no bay; add one"),
        (visit("v"), shop(hours=0), "no technician and place are open on any day"),
        (visit("v", skills=frozenset({"gearbox"})), shop(), "no technician can do gearbox"),
        (visit("v", place_kinds=frozenset({AFLOAT})), shop(), "the shop has no afloat"),
        (visit("v", lifts=2), shop(lifts_per_day=1), "needs 2 lifts, and a day has 1"),
        (visit("v", parts_on=day(9)), shop(), "its parts come on 2026-03-11 only"),
        (visit("v", wishes=Wishes(not_before_on=day(3), not_after_on=day(1))), shop(), "which contradict"),
        (visit("v", wishes=Wishes(not_before_on=day(9))), shop(), "not before 2026-03-11"),
        (visit("v", wishes=Wishes(not_after_on=day(-1))), shop(), "no open day is left by 2026-03-01"),
        (visit("v", wishes=Wishes(not_in=(DateSpan(day(0), day(9)),))), shop(), "leaves no open day"),
        (
            visit("v"),
            replace(shop(), closures=(Closure(DateSpan(day(-5), day(20)), "winter break"),)),
            "the shop is closed (winter break, 2026-02-25 to 2026-03-22)",
        ),
    ],
)
def test_what_cannot_be_planned_gets_a_sentence(request_, the_shop, words):
    plan = planned([request_], the_shop)
    assert words in plan.unplanned[0].why
    assert plan.unplanned[0].remedy is None


def test_the_rest_is_planned_when_some_cannot_be():
    requests = [visit("too long", 90), visit("fine"), visit("unclear", 0)]
    plan = planned(requests, shop())
    assert days_of(plan).keys() == {"fine"}
    assert {left.visit_id for left in plan.unplanned} == {"too long", "unclear"}


def test_an_empty_list_makes_an_empty_plan():
    plan = planned([], shop())
    assert (plan.visits, plan.unplanned, plan.points, plan.bound_points) == ((), (), 0, 0)


def test_a_full_diary_says_what_would_make_room():
    requests = [visit(f"v{n}", 80, due=0) for n in range(2)]
    plan = planned(requests, shop(technicians=1, bays=1), to=0)
    (left,) = plan.unplanned
    assert "full with more pressing work (it takes 8.0 h)" in left.why
    assert left.remedy == "another technician-day and another bay on 2026-03-02 (week 10)"
    (left,) = planned(requests, shop(technicians=1, bays=2), to=0).unplanned
    assert left.remedy == "another technician-day on 2026-03-02 (week 10)"
    (left,) = planned(requests, shop(technicians=2, bays=1), to=0).unplanned
    assert left.remedy == "another bay on 2026-03-02 (week 10)"


def test_less_than_another_person_is_asked_for_where_that_is_enough():
    requests = [visit("a", 80, due=0), visit("b", 10, due=0)]
    (left,) = planned(requests, shop(), to=0).unplanned
    assert left.remedy == "an hour longer on 2026-03-02 (week 10)"
    lifted = [visit("a", 10, due=0, lifts=1), visit("b", 10, due=0, lifts=1)]
    (left,) = planned(lifted, shop(lifts_per_day=1), to=0).unplanned
    assert left.remedy == "1 more on the lift on 2026-03-02 (week 10)"
    booked = BookedVisit("booked", "B9", MONDAY, "bay 1", "T1", 80, 80)
    (left,) = planned([visit("a", 60)], shop(), [booked], to=0).unplanned
    assert left.remedy == "the booked visit booked on 2026-03-02 (week 10) released or moved"


def test_booked_visits_that_the_shop_cannot_hold_are_said():
    the_shop = replace(shop(), closures=(Closure(DateSpan(day(1), day(1)), "holiday"),))
    booked = [
        BookedVisit("closed", "B1", day(1), "bay 1", "T1", 80, 20),
        BookedVisit("nobody", "B2", day(2), "bay 1", "T9", 80, 20),
        BookedVisit("long", "B3", day(3), "bay 1", "T1", 150, 20),
        BookedVisit("twice", "B4", day(3), "bay 1", "T1", 140, 20),
        BookedVisit("weekend", "B5", day(5), "bay 1", "T1", 80, 20),
    ]
    findings = " ".join(planned([visit("v")], the_shop, booked, to=6).findings)
    for words in (
        "closed: the shop is closed on 2026-03-03 (holiday); release or move it",
        "no technician T9",
        "from 15:00 to 17:00, outside the hours of bay 1",
        "bay 1 is needed twice at once",
        "weekend: T1 has no hours on a Saturday",
    ):
        assert words in findings


def test_a_period_that_ends_before_it_begins_is_refused():
    with pytest.raises(PlanPeriodReversed, match="give the earlier day first"):
        plan_diary([], [], shop(), day(1), day(0))


def test_a_visit_named_twice_is_refused():
    with pytest.raises(VisitNamedTwice, match="visit v is there twice"):
        plan_diary([visit("v"), visit("v")], [], shop(), day(0), day(1))


def test_time_that_is_up_at_once_still_gives_a_sound_plan_and_says_so():
    requests = [visit(f"v{n}", 30, due=n % 5) for n in range(12)]
    plan = planned(requests, shop(2, 2), seconds_left=lambda: 0.0)
    assert plan.cut_short
    assert len(plan.visits) == 12
    assert plan.points >= plan.bound_points


def test_the_same_input_seed_and_limit_give_the_same_plan_in_any_order():
    requests = [visit(f"v{n:02}", 10 + 7 * n % 50, due=n % 5) for n in range(24)]
    first = planned(requests, shop(2, 2), seed=3)
    assert planned(list(reversed(requests)), shop(2, 2), seed=3) == first
    assert planned(requests, shop(2, 2), seed=3, seconds_left=lambda: 1000.0) == first


def brute_force(requests, the_shop, to, booked=()):
    """The least points over every way to put the visits on days, trips included."""
    weights = PlanWeights()
    model = build_model(requests, booked, the_shop, MONDAY, day(to), weights)
    packers = [DayPacker(requests, booked, the_shop, on) for on in model.days]
    best = None
    choices = [
        [number for number in range(model.no_day) if model.permitted[v, number]] + [model.no_day]
        for v in range(len(requests))
    ]
    for days in itertools.product(*choices):
        points = sum(
            int(model.unplanned_points[v] if on == model.no_day else model.points[v, on])
            for v, on in enumerate(days)
        )
        for boat in {request.boat_id for request in requests}:
            trips = {on for on, r in zip(days, requests, strict=True) if r.boat_id == boat} - {model.no_day}
            points += weights.trip_points * max(0, len(trips) - 1)
        if (best is None or points < best) and all(
            packers[number].layout([v for v, on in enumerate(days) if on == number]) is not None
            for number in range(model.no_day)
        ):
            best = points
    return best


small_visits = st.lists(
    st.tuples(
        st.integers(5, 85),
        st.integers(-2, 6),
        st.sampled_from([1, 20, 100]),
        st.sampled_from(["B1", "B2", "B3", "B4"]),
        st.integers(0, 1),
        st.sampled_from([None, 0, 1, 2]),
    ),
    min_size=1,
    max_size=5,
)


def small_requests(drawn):
    found = []
    for number, (tenths, due, weight, boat, lifts, before) in enumerate(drawn):
        request = visit(f"v{number}", tenths, due=due, boat_id=boat, lifts=lifts)
        wishes = Wishes(not_before_on=None if before is None else day(before))
        found.append(replace(request, risks=(replace(request.risks[0], weight=weight),), wishes=wishes))
    return found


@settings(max_examples=25, deadline=None)
@given(small_visits, st.integers(1, 2), st.integers(1, 2))
def test_small_plans_are_as_good_as_brute_force(drawn, technicians, bays):
    requests = small_requests(drawn)
    the_shop = shop(technicians, bays, lifts_per_day=1)
    plan = planned(requests, the_shop, to=2)
    best = brute_force(requests, the_shop, 2)
    assert plan.bound_points <= best == plan.points


@settings(max_examples=40, deadline=None)
@given(small_visits, small_visits, st.integers(0, 3), st.integers(0, 3), st.integers(80, 150))
def test_every_plan_is_sound_around_what_is_booked(drawn, more, technicians, bays, start):
    requests = small_requests([*drawn, *more])
    booked = [BookedVisit("booked", "B1", day(1), "bay 1", "T1", start, 25, lifts=1)]
    plan = planned(requests, shop(technicians, bays, lifts_per_day=2), booked, to=3)
    assert len(plan.visits) + len(plan.unplanned) == len(requests)


def test_exchanges_find_what_single_moves_do_not():
    """Three days of eight hours hold 5 + 3 each; put as 5 + 2 + 1 there is no room, and no move makes any."""
    sizes = [50, 50, 50, 30, 30, 20, 10]
    requests = [visit(f"v{number}", tenths, due=2) for number, tenths in enumerate(sizes)]
    extra = [visit(f"x{number}", 80, due=9) for number in range(2)]
    plan = planned([*requests, *extra], shop(), to=4)
    assert len(plan.visits) == 9
    assert plan.unplanned == ()


def test_what_a_day_has_room_for_is_known_for_each_kind_of_visit():
    able = frozenset({"powerhead"})
    the_shop = Shop((Technician("plain"), Technician("able", able)), (Place("bay"), Place("berth", AFLOAT)))
    requests = [
        visit("long", 50),
        visit("able", 20, skills=able),
        visit("afloat", 20, skills=able, place_kinds=frozenset({AFLOAT})),
    ]
    packer = DayPacker(requests, [], the_shop, MONDAY)
    assert packer.rooms([], []) == [80, 80, 80]
    rooms = packer.rooms([0, 1], [])
    assert max(rooms) <= 80
    assert rooms[packer.kind_of(0)] == 10, "the bay has 5 + 2 of its 8 hours taken"
    assert packer.rooms([0, 1], [0])[packer.kind_of(0)] == 60
    two_lanes = DayPacker([visit("a", 50), visit("b", 30), visit("c", 40)], [], shop(2, 2), MONDAY)
    assert two_lanes.rooms([0, 1, 2], []) == [40], "a and b share one lane, so the other has room for 4 h"


def test_a_bound_that_knows_whole_visits_is_nearer_than_the_pooled_one():
    """Five visits of 3 h fit into twice 8 h as hours, but a bay's day holds two of them."""
    requests = [visit(f"v{number}", 30, due=-1) for number in range(5)]
    the_shop = shop(2, 2)
    model = build_model(requests, [], the_shop, MONDAY, day(0), PlanWeights())
    packers = [DayPacker(requests, [], the_shop, on) for on in model.days]
    pooled = relax(model, None)
    better = lane_bound(model, packers, pooled.value, pooled.prices, 60, lambda: False)
    best = brute_force(requests, the_shop, 0)
    assert pooled.value < better <= best
    assert lane_bound(model, packers, pooled.value, pooled.prices, 60, lambda: True) == pooled.value

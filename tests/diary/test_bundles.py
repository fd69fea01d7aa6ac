"""Work bundled into visits: what joins, why, how long it takes and when it makes sense."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from fleetlog.diary.access import AccessTime, labour_tenths
from fleetlog.diary.bundles import BundleTerms, bundle_work
from fleetlog.diary.estimate import estimate
from fleetlog.diary.supply import Arrival, Supply, allot_parts
from fleetlog.domain.schedule import PartNeed
from tests.diary.builders import MONDAY, day, job

ACCESS = {
    "cowl off": AccessTime(3),
    "flywheel off": AccessTime(12, includes=("cowl off",)),
}
TERMS = BundleTerms(horizon_to_on=day(30), access_times=ACCESS)


def test_a_flywheel_comes_off_once_for_belt_and_tensioner():
    belt = job("Replace timing belt", access="flywheel off", labour_tenths=35)
    tensioner = job("Replace tensioner", access="flywheel off", labour_tenths=25)
    (bundle,) = bundle_work([belt, tensioner], MONDAY, TERMS).bundles
    assert bundle.labour_tenths == 35 + 25 - 15


def test_an_access_that_includes_another_opens_it_as_well():
    belt = job(access="flywheel off", labour_tenths=35)
    plugs = job("Replace plugs", access="cowl off", labour_tenths=8)
    assert labour_tenths([belt, plugs], ACCESS) == 35 + 8 - 3


def test_two_engines_are_opened_twice():
    belt = job(access="flywheel off", labour_tenths=35)
    assert labour_tenths([belt, replace(belt, serial="E2")], ACCESS) == 70


def test_an_access_without_a_stated_time_saves_nothing():
    belt = job(access="lower unit off", labour_tenths=35)
    assert labour_tenths([belt, belt], ACCESS) == 70


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["E1", "E2"]),
            st.sampled_from([None, "cowl off", "flywheel off", "elsewhere"]),
            st.integers(0, 60),
        ),
        min_size=1,
        max_size=8,
    )
)
def test_jobs_together_take_no_longer_than_apart_and_no_less_than_the_longest(jobs):
    work = [job(serial=serial, access=access, labour_tenths=tenths) for serial, access, tenths in jobs]
    together = labour_tenths(work, ACCESS)
    assert max(line.labour_tenths for line in work) <= together <= sum(line.labour_tenths for line in work)


def test_what_comes_up_soon_joins_where_its_access_is_open_anyway():
    belt = job(access="flywheel off")
    stator = job("Inspect stator", access="flywheel off", state="later", likely_on=day(80), due_on=day(90))
    impeller = job("Replace impeller", access="lower unit off", state="later", likely_on=day(80))
    (bundle,) = bundle_work([belt, stator, impeller], MONDAY, TERMS).bundles
    assert [(line.work.title, line.owed) for line in bundle.lines] == [
        ("Replace timing belt", True),
        ("Inspect stator", False),
    ]
    assert "flywheel off for “Replace timing belt” anyway" in bundle.lines[1].why


def test_what_comes_up_late_does_not_join():
    stator = job("Inspect stator", access="flywheel off", state="later", likely_on=day(121))
    (bundle,) = bundle_work([job(access="flywheel off"), stator], MONDAY, TERMS).bundles
    assert len(bundle.lines) == 1


def test_both_engines_of_a_twin_are_done_together():
    belt = job()
    other = replace(belt, serial="E2", state="later", likely_on=day(60), due_on=day(70))
    (bundle,) = bundle_work([belt, other], MONDAY, TERMS).bundles
    assert "other engine E1" in bundle.lines[1].why


def test_a_gasket_put_back_used_joins_only_what_opens_it():
    gasket = job("Renew gasket", state="next access", access="flywheel off", likely_on=None, due_on=None)
    alone = bundle_work([gasket], MONDAY, TERMS)
    assert alone.bundles == ()
    assert [line.why for line in alone.waiting] == ["was put back used; waits until flywheel off"]
    joined = bundle_work([job(access="flywheel off"), gasket], MONDAY, TERMS)
    assert joined.waiting == ()
    assert joined.bundles[0].lines[1].owed


def test_every_owed_state_makes_a_visit_and_later_makes_none():
    states = ["overdue", "no record", "needs a reading", "due"]
    for state in states:
        line = job(state=state, likely_on=None, due_on=None, early_on=None, late_on=None)
        assert len(bundle_work([line], MONDAY, TERMS).bundles) == 1, state
    assert bundle_work([job(state="later", likely_on=day(40))], MONDAY, TERMS).bundles == ()


def test_the_sensible_days_waste_little_and_come_before_the_early_date():
    (bundle,) = bundle_work([job(likely_on=day(60), early_on=day(50), interval_days=100)], MONDAY,
                            replace(TERMS, horizon_to_on=day(70))).bundles  # fmt: skip
    assert (bundle.first_sensible_on, bundle.last_sensible_on) == (day(50), day(50))
    (bundle,) = bundle_work([job(likely_on=day(60), early_on=day(58), interval_days=100)], MONDAY,
                            replace(TERMS, horizon_to_on=day(70))).bundles  # fmt: skip
    assert (bundle.first_sensible_on, bundle.last_sensible_on) == (day(50), day(58))


def test_overdue_work_is_sensible_today():
    overdue = job(state="overdue", due_on=day(-9), early_on=day(-9), likely_on=day(-9), late_on=day(-9))
    (bundle,) = bundle_work([overdue], MONDAY, TERMS).bundles
    assert bundle.first_sensible_on == bundle.last_sensible_on == MONDAY


def test_a_long_visit_is_divided_but_not_within_a_strip_down():
    work = [
        job("Replace belt", access="flywheel off", labour_tenths=40),
        job("Replace tensioner", access="flywheel off", labour_tenths=40),
        job("Replace impeller", access="lower unit off", labour_tenths=40),
        job("Change oil", labour_tenths=10),
    ]
    bundles = bundle_work(work, MONDAY, replace(TERMS, longest_visit_tenths=70)).bundles
    assert sorted(bundle.bundle_id for bundle in bundles) == ["B1", "B1/2"]
    assert all(bundle.labour_tenths <= 70 for bundle in bundles)
    titles = [{line.work.title for line in bundle.lines} for bundle in bundles]
    assert any({"Replace belt", "Replace tensioner"} <= together for together in titles)
    assert sum(len(together) for together in titles) == 4


@given(st.permutations(list(range(5))))
def test_the_order_of_the_work_changes_no_hours_or_days(order):
    def odd_under_the_flywheel(number):
        access = "flywheel off" if number % 2 else None
        return job(f"Replace part {number}", access=access, labour_tenths=30, early_on=day(number + 2))

    (bundle,) = bundle_work([odd_under_the_flywheel(number) for number in order], MONDAY, TERMS).bundles
    assert bundle.labour_tenths == 5 * 30 - 15
    assert (bundle.first_sensible_on, bundle.last_sensible_on) == (MONDAY, day(2))
    assert bundle.parts == (PartNeed("P-1", 5),)


def test_parts_go_to_the_more_pressing_bundle_first():
    first = job(boat_id="B1", early_on=day(1))
    second = job(boat_id="B2", early_on=day(3))
    third = job(boat_id="B3", early_on=day(5))
    bundles = bundle_work([third, second, first], MONDAY, TERMS).bundles
    supply = Supply({"P-1": 1}, (Arrival("P-1", 1, day(4)),), {"P-1": 21})
    ready = allot_parts(bundles, supply, MONDAY)
    assert [ready[boat].ready_on for boat in ("B1", "B2", "B3")] == [MONDAY, day(4), day(21)]
    assert [wait.to_order for wait in ready["B3"].waits] == [True]
    assert not ready["B2"].waits[0].to_order


def test_an_estimate_adds_labour_and_prices_and_says_what_has_none():
    parts = (PartNeed("P-1", 2), PartNeed("P-2", 1))
    (bundle,) = bundle_work([job(labour_tenths=35, parts=parts)], MONDAY, TERMS).bundles
    told = estimate(bundle, Decimal("88.50"), {"P-1": Decimal("12.345")})
    assert told.labour_amount == Decimal("309.75")
    assert told.about_amount == Decimal("309.75") + Decimal("24.69")
    assert told.unpriced == ("P-2",)


def test_a_parts_arrival_in_the_past_counts_from_today():
    (bundle,) = bundle_work([job()], MONDAY, TERMS).bundles
    late = Supply(arrivals=(Arrival("P-1", 1, MONDAY - timedelta(days=3)),))
    assert allot_parts([bundle], late, MONDAY)["B1"].ready_on == MONDAY


def lay_up(on, **more):
    dates = {"due_on": on, "early_on": on, "likely_on": on, "late_on": on, "interval_days": None}
    return job("Flush fuel system", season="before lay-up", access="cowl off", **{**dates, **more})


def test_work_before_a_lay_up_that_is_weeks_off_is_not_done_with_what_cannot_wait():
    oil = job(
        "Change oil", state="overdue", due_on=day(-3), likely_on=day(-3), early_on=None, access="cowl off"
    )
    belt = job("Replace belt", due_on=day(28), early_on=day(20), likely_on=day(28), late_on=day(28))
    gasket = job("Renew gasket", state="next access", access="cowl off", likely_on=None, due_on=None)
    found = bundle_work([lay_up(day(25)), oil, belt, gasket], MONDAY, TERMS)
    titles = {b.bundle_id: [line.work.title for line in b.lines] for b in found.bundles}
    assert titles == {"B1": ["Change oil", "Renew gasket"], "B1/2": ["Flush fuel system", "Replace belt"]}
    assert (found.bundles[1].first_sensible_on, found.waiting) == (day(20), ())


def test_work_before_a_lay_up_is_done_with_the_rest_where_it_is_near_or_nothing_presses():
    oil = job("Change oil", state="overdue", due_on=day(-3), likely_on=day(-3), early_on=None)
    assert len(bundle_work([lay_up(day(14)), oil], MONDAY, TERMS).bundles) == 1
    later = job("Replace belt", due_on=day(28), early_on=day(20), likely_on=day(28), late_on=day(28))
    assert len(bundle_work([lay_up(day(25)), later], MONDAY, TERMS).bundles) == 1
    overdue = lay_up(day(-5), state="overdue")
    assert len(bundle_work([overdue, oil], MONDAY, TERMS).bundles) == 1

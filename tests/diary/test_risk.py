"""The chance of being overdue and the life wasted, by the forecast's dates."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlog.diary.bundles import BundleLine, BundleTerms, bundle_work
from fleetlog.diary.requests import RequestTerms, request_visit, risk_of
from fleetlog.diary.risk import PlanWeights, chance_reached, visit_points
from fleetlog.diary.shop import AFLOAT, BAY, Risk
from tests.diary.builders import MONDAY, day, job, visit


def chances(risk, *numbers):
    return chance_reached(risk, np.array([day(n).toordinal() for n in numbers], dtype=float))


def test_the_forecasts_dates_are_its_tenth_half_and_nine_tenths():
    risk = Risk(1, early_on=day(10), likely_on=day(20), late_on=day(40))
    assert chances(risk, 10, 15, 20, 40) == pytest.approx([0.1, 0.3, 0.5, 0.9])
    assert chances(risk, 7, 45, 60) == pytest.approx([0.0, 1.0, 1.0])


def test_the_calendars_limit_is_certain():
    risk = Risk(1, due_on=day(30), early_on=day(10), likely_on=day(20), late_on=day(30))
    assert chances(risk, 29, 30) == pytest.approx([0.86, 1.0])
    assert chances(Risk(1, due_on=day(3)), 2, 3) == pytest.approx([0.0, 1.0])
    assert chances(Risk(1), 0, 900) == pytest.approx([0.0, 0.0])


@given(st.lists(st.integers(-30, 90), min_size=3, max_size=3), st.none() | st.integers(-30, 90))
def test_the_chance_never_falls_and_stays_a_chance(marks, due):
    early, likely, late = sorted(marks)
    risk = Risk(1, None if due is None else day(due), day(early), day(likely), day(late))
    found = chances(risk, *range(-60, 160))
    assert (np.diff(found) >= 0).all()
    assert 0.0 <= found[0] <= found[-1] == 1.0


def test_each_day_overdue_costs_the_weight_once():
    late, waste = visit_points(visit("v", due=2), MONDAY, 6, PlanWeights())
    assert late.tolist() == [0, 0, 0, 20, 40, 60]
    assert not waste.any()


def test_what_is_overdue_already_counts_from_the_first_day_of_the_plan():
    late, _ = visit_points(visit("v", due=-100), MONDAY, 3, PlanWeights())
    assert late.tolist() == [20, 40, 60]


def test_doing_a_job_a_tenth_of_its_interval_early_wastes_a_tenth():
    request = visit("v", due=None, risks=(Risk(0, due_on=day(10), interval_days=100, value_tenths=20),))
    _, waste = visit_points(request, MONDAY, 12, PlanWeights(waste_points=300))
    assert waste[0] == pytest.approx(300 * 0.1 * 2)
    assert waste[10:].tolist() == [0.0, 0.0]


def test_no_more_than_the_whole_interval_is_wasted():
    request = visit("v", due=None, risks=(Risk(0, due_on=day(500), interval_days=100, value_tenths=10),))
    _, waste = visit_points(request, MONDAY, 2, PlanWeights(waste_points=300))
    assert waste.tolist() == [300.0, 300.0]


def test_work_before_a_lay_up_is_wasted_where_it_is_done_long_before():
    winterise = job("Flush", season="before lay-up", due_on=day(40), early_on=day(40), likely_on=day(40),
                    late_on=day(40), interval_days=None, labour_tenths=3)  # fmt: skip
    risk = risk_of(BundleLine(winterise, "due", owed=True), MONDAY, RequestTerms())
    _, waste = visit_points(visit("v", due=None, risks=(risk,)), MONDAY, 41, PlanWeights(waste_points=300))
    assert (waste[0], waste[40]) == (300, 0)
    assert waste[33] == 150
    launch = replace(winterise, season="before launch")
    risk = risk_of(BundleLine(launch, "due", owed=True), MONDAY, RequestTerms())
    assert visit_points(visit("v", due=None, risks=(risk,)), MONDAY, 1, PlanWeights())[1].tolist() == [0]


def test_a_bundle_asks_for_the_skills_places_and_weights_of_its_jobs():
    work = [
        job("Replace belt", consequence="engine damage", access="flywheel off"),
        job("Replace anode", access="lower unit off", state="no record", likely_on=None, due_on=None),
        job("Renew gasket", access="flywheel off", state="next access", likely_on=None, due_on=None),
    ]
    (bundle,) = bundle_work(work, MONDAY, BundleTerms(day(30))).bundles
    terms = RequestTerms(
        consequence_points={"engine damage": 100},
        skills_by_item={"belt": frozenset({"timing"})},
        places_by_access={"flywheel off": frozenset({BAY, AFLOAT})},
        lifts=1,
    )
    request = request_visit(bundle, MONDAY, terms, None, parts_on=day(3), previous_on=day(4))
    assert (request.skills, request.place_kinds, request.lifts) == ({"timing"}, {BAY}, 1)
    assert [risk.weight for risk in request.risks] == [100, 20, 0]
    assert request.risks[1].due_on == MONDAY
    assert (request.parts_on, request.previous_on) == (day(3), day(4))

"""Work that waits for parts of other work: what is left out, what comes by itself, what waits together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

import pytest

from fleetlog.diary.access import AccessTime
from fleetlog.diary.bundles import BundleTerms, Bundling, bundle_work
from fleetlog.diary.held_up import divide_held_up
from fleetlog.diary.requests import RequestTerms
from fleetlog.diary.supply import Supply, allot_parts
from fleetlog.diary.work import OwedWork
from fleetlog.domain.schedule import PartNeed
from tests.diary.builders import MONDAY, day, job

TERMS = BundleTerms(horizon_to_on=day(30), access_times={"cowl off": AccessTime(1)})
ASKED = RequestTerms(consequence_points={"fire": 60, "engine damage": 60, "corrosion": 5})
HERE = (PartNeed("HERE", 1),)
FAR = (PartNeed("FAR", 1),)
SUPPLY = Supply({"HERE": 99}, lead_days={"FAR": 14})


def divided(work: Sequence[OwedWork], not_before: Mapping[str, date] | None = None) -> Bundling:
    together = bundle_work(work, MONDAY, TERMS)
    ready = allot_parts(together.bundles, SUPPLY, MONDAY)
    return divide_held_up(together, ready, not_before or {}, MONDAY, TERMS, ASKED)


def titles(found: Bundling) -> dict[str, list[str]]:
    return {bundle.bundle_id: [line.work.title for line in bundle.lines] for bundle in found.bundles}


def overdue(title: str, **more: object) -> OwedWork:
    dates = {"state": "overdue", "due_on": day(-20), "early_on": None, "likely_on": day(-20), "late_on": None}
    return job(title, **{"parts": HERE, "access": "cowl off", **dates, **more})


RIDES = job("Renew thermostat", parts=FAR, access="cowl off", state="later", due_on=None, early_on=day(60),
            likely_on=day(70), late_on=day(80))  # fmt: skip


def test_what_only_rides_along_holds_up_nothing_that_is_overdue():
    found = divided([overdue("Change oil"), RIDES])
    assert titles(found) == {"B1": ["Change oil"]}
    assert allot_parts(found.bundles, SUPPLY, MONDAY)["B1"].ready_on == MONDAY


def test_what_only_rides_along_may_wait_where_waiting_costs_less_than_a_trip():
    assert titles(divided([overdue("Look at anode", consequence="corrosion"), RIDES])) == {
        "B1": ["Look at anode", "Renew thermostat"]
    }


def test_what_is_grave_and_overdue_comes_first_and_the_rest_when_its_parts_are_there():
    hose, belt = overdue("Check fuel hose", consequence="fire"), overdue("Replace belt", parts=FAR)
    plugs = job("Replace plugs", parts=HERE, access="cowl off", state="later", due_on=None, likely_on=day(60))
    found = divided([hose, belt, plugs])
    assert titles(found) == {"B1": ["Check fuel hose", "Replace plugs"], "B1/2": ["Replace belt"]}
    ready = allot_parts(found.bundles, SUPPLY, MONDAY)
    assert (ready["B1"].ready_on, ready["B1/2"].ready_on) == (MONDAY, day(14))


@pytest.mark.parametrize(
    ("first", "rest"),
    [
        (overdue("Change oil"), overdue("Replace belt", parts=FAR)),
        (overdue("Check hose", consequence="fire", state="due"), overdue("Replace belt", parts=FAR)),
        (
            overdue("Inspect belt", item="belt", consequence="engine damage"),
            overdue("Replace belt", parts=FAR, item="Belt"),
        ),
        (overdue("Check hose", consequence="fire", parts=FAR), overdue("Change oil")),
    ],
)
def test_a_boat_comes_once_where_that_is_not_so(first: OwedWork, rest: OwedWork):
    assert len(divided([first, rest]).bundles) == 1


def test_a_boat_ashore_or_away_comes_once():
    work = [overdue("Check fuel hose", consequence="fire"), overdue("Replace belt", parts=FAR)]
    assert len(divided(work, {"B1": day(14)}).bundles) == 1
    assert len(divided(work, {"B1": day(2)}).bundles) == 2


def test_what_opens_the_access_of_a_part_put_back_used_waits_with_it():
    hose = overdue("Check fuel hose", consequence="fire")
    gasket = job(
        "Renew gasket", state="next access", parts=FAR, access="Cowl off", due_on=None, likely_on=None
    )
    found = divided([hose, gasket, overdue("Grease linkage", access=None, parts=FAR)])
    assert titles(found) == {"B1": ["Check fuel hose", "Grease linkage", "Renew gasket"]}
    assert not found.waiting


def test_a_part_put_back_used_that_any_visit_of_its_engine_renews_goes_with_the_one_that_comes_later():
    hose = overdue("Check fuel hose", consequence="fire", serial="E1")
    belt = overdue("Replace belt", parts=FAR, serial="E2")
    gasket = job(
        "Renew gasket", serial="E2", state="next access", access=None, due_on=None, likely_on=None, parts=HERE
    )
    found = divided([hose, belt, gasket])
    assert titles(found) == {"B1": ["Check fuel hose"], "B1/2": ["Replace belt", "Renew gasket"]}
    assert not found.waiting


def test_a_flywheel_comes_off_once_though_one_part_is_there_before_the_other():
    belt = overdue("Replace belt", consequence="engine damage", access="flywheel off")
    tensioner = overdue("Replace tensioner", parts=FAR, access="Flywheel off")
    assert len(divided([belt, tensioner, overdue("Change oil")]).bundles) == 1
    hose = overdue("Check fuel hose", consequence="fire")
    assert titles(divided([belt, tensioner, hose])) == {
        "B1": ["Check fuel hose"],
        "B1/2": ["Replace belt", "Replace tensioner"],
    }


def test_every_line_is_in_one_visit_only_and_parts_are_served_to_what_is_owed_first():
    scarce = Supply({"S": 1}, lead_days={"S": 20})
    first = overdue("Change oil", parts=(PartNeed("S", 1),))
    rides = job(
        "Renew filter",
        parts=(PartNeed("S", 1),),
        access="cowl off",
        state="later",
        due_on=None,
        likely_on=day(70),
    )
    together = bundle_work([rides, first], MONDAY, TERMS)
    ready = allot_parts(together.bundles, scarce, MONDAY)
    found = divide_held_up(together, ready, {}, MONDAY, TERMS, ASKED)
    assert titles(found) == {"B1": ["Change oil"]}

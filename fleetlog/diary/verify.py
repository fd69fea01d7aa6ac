"""An independent check of a plan: every rule it breaks, found from the plan and the shop alone.

It shares no code with the planner beyond the values both are given, so that a mistake of one is not
hidden by the same mistake in the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations

from fleetlog.diary.plan import Plan, PlannedVisit
from fleetlog.diary.shop import BookedVisit, ClockSpan, Shop, VisitRequest
from fleetlog.diary.work import DateSpan


@dataclass(frozen=True, slots=True)
class Violation:
    """One rule broken: its name, the visits concerned, and a sentence."""

    rule: str
    visit_ids: tuple[str, ...]
    text: str


def verify_plan(
    plan: Plan, requests: Sequence[VisitRequest], booked: Sequence[BookedVisit], shop: Shop
) -> tuple[Violation, ...]:
    """Every violated constraint; none for a sound plan. Booked visits are not judged among themselves."""
    found: list[Violation] = []

    def broken(rule: str, visit_ids: Iterable[str], text: str) -> None:
        found.append(Violation(rule, tuple(visit_ids), text))

    asked = {request.visit_id: request for request in requests}
    answered = [visit.visit_id for visit in plan.visits] + [visit.visit_id for visit in plan.unplanned]
    for visit_id in sorted(set(answered)):
        if answered.count(visit_id) > 1:
            broken("once", [visit_id], f"{visit_id} is answered {answered.count(visit_id)} times")
        if visit_id not in asked:
            broken("asked for", [visit_id], f"{visit_id} was not asked for")
    for visit_id in sorted(set(asked) - set(answered)):
        broken("answered", [visit_id], f"{visit_id} has neither a day nor a reason")
    for visit in plan.visits:
        if visit.visit_id in asked:
            for rule, text in _of_one(visit, asked[visit.visit_id], plan, shop):
                broken(rule, [visit.visit_id], text)
    held: list[PlannedVisit | BookedVisit] = [*plan.visits, *booked]
    by_day: dict[date, list[PlannedVisit | BookedVisit]] = {}
    for each in held:
        by_day.setdefault(each.on, []).append(each)
    for on, visits in sorted(by_day.items()):
        for one, other in combinations(visits, 2):
            if isinstance(one, BookedVisit) and isinstance(other, BookedVisit):
                continue
            starts = max(one.from_tenths, other.from_tenths)
            ends = min(one.from_tenths + one.tenths, other.from_tenths + other.tenths)
            if starts >= ends:
                continue
            for rule, mine, theirs in (
                ("place", one.place, other.place),
                ("technician", one.technician, other.technician),
                ("boat", one.boat_id, other.boat_id),
            ):
                if mine == theirs:
                    broken(rule, [one.visit_id, other.visit_id], f"{mine} is needed twice at once on {on}")
        planned = [v.visit_id for v in visits if isinstance(v, PlannedVisit)]
        lifts = sum(asked[visit_id].lifts for visit_id in planned if visit_id in asked)
        fixed = sum(v.lifts for v in visits if isinstance(v, BookedVisit))
        if shop.lifts_per_day is not None and lifts and lifts + fixed > shop.lifts_per_day:
            broken(
                "lifts",
                [v.visit_id for v in visits],
                f"{lifts + fixed} lifts on {on}, and a day has {shop.lifts_per_day}",
            )
    if plan.points < plan.bound_points:
        broken("bound", [], f"the plan's {plan.points} points are below its bound of {plan.bound_points}")
    return tuple(found)


def _of_one(visit: PlannedVisit, request: VisitRequest, plan: Plan, shop: Shop) -> Iterable[tuple[str, str]]:
    on, wishes = visit.on, request.wishes
    if not plan.from_on <= on <= plan.to_on:
        yield "period", f"{on} is not in the plan's days"
    if visit.tenths != request.tenths or visit.boat_id != request.boat_id:
        yield "as asked", "its length or boat is not what was asked for"
    if _inside([closure.span for closure in shop.closures], on):
        yield "closure", f"the shop is closed on {on}"
    people = [person for person in shop.technicians if person.name == visit.technician]
    if not people:
        yield "technician", f"nobody is called {visit.technician}"
    for person in people:
        if not request.skills.issubset(person.skills):
            yield "skills", f"{person.name} lacks {', '.join(sorted(request.skills - person.skills))}"
        if _inside(person.away, on):
            yield "technician", f"{person.name} is away on {on}"
        if not _during(visit, person.week[on.weekday()]):
            yield "technician", f"{person.name} does not work then on {on}"
    places = [place for place in shop.places if place.name == visit.place]
    if not places:
        yield "place", f"no place is called {visit.place}"
    for place in places:
        if place.kind not in request.place_kinds:
            yield "place", f"{place.name} is no {' or '.join(sorted(request.place_kinds))}"
        if _inside(place.closed, on):
            yield "place", f"{place.name} is closed on {on}"
        if not _during(visit, place.week[on.weekday()]):
            yield "place", f"{place.name} is not open then on {on}"
    if wishes.not_before_on is not None and on < wishes.not_before_on:
        yield "wishes", f"{on} is before {wishes.not_before_on}"
    if wishes.not_after_on is not None and on > wishes.not_after_on:
        yield "wishes", f"{on} is after {wishes.not_after_on}"
    if _inside(wishes.not_in, on):
        yield "wishes", f"{on} is in a time the owner ruled out"
    if request.parts_on is not None and on < request.parts_on:
        yield "parts", f"its parts come on {request.parts_on} only"


def _inside(spans: Iterable[DateSpan], on: date) -> bool:
    return any(span.from_on <= on and on <= span.to_on for span in spans)


def _during(visit: PlannedVisit, span: ClockSpan | None) -> bool:
    if span is None:
        return False
    return span.from_tenths <= visit.from_tenths and visit.from_tenths + visit.tenths <= span.to_tenths

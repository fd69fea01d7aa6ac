"""An independent check of a plan: every rule it breaks, found from the plan and the shop alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from fleetlog.diary.plan import Plan
from fleetlog.diary.rules import Violation, broken_rules
from fleetlog.diary.shop import BookedVisit, Shop, VisitRequest
from fleetlog.errors import counted


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
            broken("once", [visit_id], f"{visit_id} is answered {counted(answered.count(visit_id), 'time')}")
        if visit_id not in asked:
            broken("asked for", [visit_id], f"{visit_id} was not asked for")
    for visit_id in sorted(set(asked) - set(answered)):
        broken("answered", [visit_id], f"{visit_id} has neither a day nor a reason")
    for visit in plan.visits:
        request = asked.get(visit.visit_id)
        if not plan.from_on <= visit.on <= plan.to_on:
            broken("period", [visit.visit_id], f"{visit.on} is not in the plan's days")
        if request is not None and (visit.tenths, visit.boat_id) != (request.tenths, request.boat_id):
            broken("as asked", [visit.visit_id], "its length or boat is not what was asked for")
    held = {visit.visit_id for visit in booked}
    found += [
        violation
        for violation in broken_rules([*plan.visits, *booked], asked, shop)
        if not held.issuperset(violation.visit_ids)
    ]
    if plan.points < plan.bound_points:
        broken("bound", [], f"the plan's {plan.points} points are below its bound of {plan.bound_points}")
    return tuple(found)

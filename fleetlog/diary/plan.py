"""The plan: visits on days with their technician, place and time, how good it is, and what doesn't fit.

The days are pooled over places and technicians with packing cuts and relaxed (the lower bound); visits are
filled in by the relaxation, annealed, and exchanged between all days at once. Nothing here reads a clock:
what limits the work is counted, and a caller may add a guard that says how many seconds are left.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from fleetlog.diary.assignment import Assignment, fill
from fleetlog.diary.exact import best_of_few
from fleetlog.diary.exchange import improve_by_exchanges
from fleetlog.diary.lanes import lane_bound
from fleetlog.diary.model import Model, build_model
from fleetlog.diary.packing import DayPacker
from fleetlog.diary.polish import anneal
from fleetlog.diary.pooled import Relaxation, relax
from fleetlog.diary.risk import PlanWeights
from fleetlog.diary.rules import booking_problems
from fleetlog.diary.shop import BookedVisit, Shop, VisitRequest
from fleetlog.diary.unplanned import UnplannedVisit, explain_unplanned
from fleetlog.domain.bounds import MOST_PLAN_DAYS
from fleetlog.errors.diary import PlanPeriodReversed, PlanPeriodTooLong, VisitNamedTwice


@dataclass(frozen=True, slots=True)
class WorkLimit:
    """How much work a plan may take; the same input, seed and limit give the same plan.

    A handful of visits is solved exactly. Else the annealing makes `moves_a_visit` moves for each visit, and
    then as many rounds of exchanges between all days are made as `rounds_a_visit` times the visits. Before
    either, the bound is improved in `bound_rounds` rounds.
    """

    moves_a_visit: int = 100
    rounds_a_visit: int = 12
    bound_rounds: int = 60


@dataclass(frozen=True, slots=True)
class PlannedVisit:
    """A visit on its day, from a time in tenths of an hour since midnight; `moved_from_on`: its last day."""

    visit_id: str
    boat_id: str
    on: date
    place: str
    technician: str
    from_tenths: int
    tenths: int
    points: int
    moved_from_on: date | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """Visits with and without a day. Every plan of the same requests costs at least `bound_points`.

    `gap_share` is (points − bound) / bound, None where the bound is 0 and the points are not.
    `cut_short` says that the guard's time was up before the work limit: another run may then differ.
    `findings` are sentences about the booked visits that don't agree with the shop.
    """

    from_on: date
    to_on: date
    visits: tuple[PlannedVisit, ...]
    unplanned: tuple[UnplannedVisit, ...]
    findings: tuple[str, ...]
    points: int
    bound_points: int
    gap_share: float | None
    cut_short: bool
    seed: int


def plan_diary(
    requests: Sequence[VisitRequest],
    booked: Sequence[BookedVisit],
    shop: Shop,
    from_on: date,
    to_on: date,
    limit: WorkLimit | None = None,
    seed: int = 1,
    seconds_left: Callable[[], float] | None = None,
) -> Plan:
    """Put the requests on the days from `from_on` to `to_on`, both included, around the booked visits.

    `seconds_left` is a guard: when it falls to 0 the best plan so far is returned, marked as cut short.
    Raises PlanPeriodReversed, PlanPeriodTooLong and VisitNamedTwice; whatever else is wrong with a request
    or the shop leaves visits without a day, each with its sentence, and plans the rest.
    """
    limit = limit or WorkLimit()
    if from_on > to_on:
        raise PlanPeriodReversed(from_on, to_on)
    if (to_on - from_on).days >= MOST_PLAN_DAYS:
        raise PlanPeriodTooLong((to_on - from_on).days + 1, MOST_PLAN_DAYS)
    named: set[str] = set()
    for visit_id in [request.visit_id for request in requests] + [visit.visit_id for visit in booked]:
        if visit_id in named:
            raise VisitNamedTwice(visit_id)
        named.add(visit_id)
    ordered = sorted(requests, key=lambda request: request.visit_id)
    model = build_model(ordered, booked, shop, from_on, to_on, PlanWeights())
    packers = [DayPacker(ordered, booked, shop, day) for day in model.days]
    assignment = Assignment(model, packers)
    relaxation = relax(model, None if seconds_left is None else seconds_left())
    bound = _bound(model, relaxation, packers, limit.bound_rounds, seconds_left)
    cut_short = _search(assignment, relaxation, bound, limit, seed, seconds_left) or relaxation is None
    visits = _planned(assignment)
    points = assignment.total_points()
    return Plan(
        from_on=from_on,
        to_on=to_on,
        visits=visits,
        unplanned=explain_unplanned(assignment, booked, shop),
        findings=booking_problems(booked, shop, from_on, to_on),
        points=points,
        bound_points=bound,
        gap_share=(points - bound) / bound if bound else (0.0 if points == 0 else None),
        cut_short=cut_short,
        seed=seed,
    )


def _bound(
    model: Model,
    relaxation: Relaxation | None,
    packers: Sequence[DayPacker],
    rounds: int,
    seconds_left: Callable[[], float] | None,
) -> int:
    """No plan costs less: the relaxation, made better lane by lane, else each visit at its cheapest."""
    if relaxation is not None:
        value = lane_bound(
            model,
            packers,
            relaxation.value,
            relaxation.prices,
            rounds,
            lambda: seconds_left is not None and seconds_left() <= 0,
        )
        return math.ceil(value - 1e-6 * max(1.0, value))  # points are whole; a solver may be off a little
    allowed = np.where(model.permitted, model.points, model.unplanned_points[:, None])
    cheapest = np.minimum(allowed.min(axis=1, initial=np.iinfo(np.int64).max), model.unplanned_points)
    return int(cheapest.sum())


EXCHANGE_WARMTH = 0.3
"""The noise of the first exchanges, against the warmth of the annealing."""

CANDIDATE_DAYS = 12
"""Of each visit's days, so many with the least reduced costs are tried."""


def _search(
    assignment: Assignment,
    relaxation: Relaxation | None,
    bound: int,
    limit: WorkLimit,
    seed: int,
    seconds_left: Callable[[], float] | None,
) -> bool:
    """Improve the assignment until it meets the bound or the limit; True if the guard's time was up first."""
    model = assignment.model
    movable = [visit for visit in range(len(model.requests)) if visit not in model.refusals]
    if not movable:
        return False
    own = np.where(model.permitted, model.points, np.inf)
    guide = own if relaxation is None else relaxation.reduced
    share = np.zeros_like(own) if relaxation is None else relaxation.shares
    candidates: list[list[int]] = []
    preferred: list[list[int]] = []
    for visit in range(len(model.requests)):
        days = np.nonzero(model.permitted[visit])[0]
        by_guide = days[np.lexsort((own[visit, days], guide[visit, days]))]
        candidates.append([*(int(day) for day in by_guide[:CANDIDATE_DAYS]), model.no_day])
        by_share = days[np.lexsort((own[visit, days], -np.round(share[visit, days], 6)))]
        preferred.append([int(day) for day in by_share])
    order = sorted(movable, key=lambda v: (-round(float(share[v].max()), 6), -model.requests[v].tenths, v))
    fill(assignment, preferred, order)
    chance = random.Random(seed)
    if best_of_few(assignment, movable):
        return False
    warmth = _warmth(model, movable)

    def is_time_up() -> bool:
        return seconds_left is not None and seconds_left() <= 0

    if assignment.total_points() <= bound:
        return False
    moves = limit.moves_a_visit * len(movable)
    if anneal(assignment, candidates, movable, moves, warmth, chance, is_time_up):
        return True
    fill(assignment, preferred, order)
    rounds = limit.rounds_a_visit * len(movable)
    noise = EXCHANGE_WARMTH * warmth
    if improve_by_exchanges(assignment, movable, rounds, noise, chance, is_time_up):
        return True
    fill(assignment, preferred, order)
    return False


def _warmth(model: Model, movable: Sequence[int]) -> float:
    """Points that a visit's day typically differs by from the next one: where the annealing starts."""
    spans = [np.ptp(model.points[visit][model.permitted[visit]]) for visit in movable]
    return max(1.0, 2.0 * float(np.mean(spans)) / max(1, len(model.days)))


def _planned(assignment: Assignment) -> tuple[PlannedVisit, ...]:
    model = assignment.model
    found = []
    for day, on in enumerate(model.days):
        slots = assignment.packers[day].layout(assignment.visits_on[day])
        while slots is None:  # the quick test of a day promises a layout that the search did not reach
            dearest = min(
                assignment.visits_on[day],
                key=lambda v: assignment.points[v][model.no_day] - assignment.points[v][day],
            )
            assignment.move(dearest, model.no_day)
            slots = assignment.packers[day].layout(assignment.visits_on[day])
        for slot in slots:
            request = model.requests[slot.visit]
            place, technician = assignment.packers[day].names(slot)
            found.append(
                PlannedVisit(
                    visit_id=request.visit_id,
                    boat_id=request.boat_id,
                    on=on,
                    place=place,
                    technician=technician,
                    from_tenths=slot.from_tenths,
                    tenths=request.tenths,
                    points=assignment.points[slot.visit][day],
                    moved_from_on=request.previous_on if request.previous_on not in (None, on) else None,
                )
            )
    return tuple(sorted(found, key=lambda v: (v.on, v.from_tenths, v.place, v.visit_id)))

"""The best assignment of a few visits, found by trying all that can still be better than the best so far."""

from __future__ import annotations

from collections.abc import Sequence

from fleetlog.diary.assignment import Assignment

MOST_VISITS = 8
MOST_NODES = 20_000
"""Partial assignments looked at before the search is given up: about a second."""


def best_of_few(assignment: Assignment, movable: Sequence[int]) -> bool:
    """Leave the assignment at its best; False where there are too many visits or ways to try them all.

    Branch and bound over the visits, each on its permitted days from the cheapest on; what the remaining
    visits cost at least is their cheapest day. Where it is given up the assignment is as it was.
    """
    if len(movable) > MOST_VISITS:
        return False
    before = list(assignment.day_of)
    no_day = assignment.model.no_day
    days = {
        visit: sorted(
            (day for day in range(no_day + 1) if assignment.permitted[visit][day]),
            key=lambda day, visit=visit: (assignment.points[visit][day], day),  # type: ignore[misc]
        )
        for visit in movable
    }
    order = sorted(movable, key=lambda visit: (len(days[visit]), visit))
    rest = [0] * (len(order) + 1)
    for place in range(len(order) - 1, -1, -1):
        rest[place] = rest[place + 1] + assignment.points[order[place]][days[order[place]][0]]
    best_points, best = assignment.total_points(), before
    for visit in order:
        assignment.move(visit, no_day)
    fixed = sum(
        assignment.points[visit][day]
        for visit, day in enumerate(assignment.day_of)
        if visit not in set(movable)
    )
    nodes = 0

    def descend(place: int, own: int) -> bool:
        nonlocal best_points, best, nodes
        nodes += 1
        if nodes > MOST_NODES:
            return False
        if own + rest[place] + assignment.trip_points(order[:place]) >= best_points:
            return True
        if place == len(order):
            best_points, best = own + assignment.trip_points(order), list(assignment.day_of)
            return True
        visit = order[place]
        for day in days[visit]:
            is_free = day == no_day or (
                assignment.has_room(day, visit) and assignment.packs(day, [*assignment.visits_on[day], visit])
            )
            if is_free:
                assignment.move(visit, day)
                whole = descend(place + 1, own + assignment.points[visit][day])
                assignment.move(visit, no_day)
                if not whole:
                    return False
        return True

    found = descend(0, fixed)
    assignment.restore(best if found else before)
    return found

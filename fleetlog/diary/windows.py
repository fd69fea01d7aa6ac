"""Improving an assignment window by window: the visits of a few days put anew by the integer solver."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence

import numpy as np

from fleetlog.diary.assignment import Assignment
from fleetlog.diary.polish import change_fits
from fleetlog.diary.pooled import solve_window

TIGHTENINGS = 3
"""How often a day that can't be laid out is tried again with less than it was given."""


def improve_by_windows(
    assignment: Assignment,
    movable: Sequence[int],
    windows: int,
    visits_a_window: int,
    nodes: int,
    chance: random.Random,
    seconds_left: Callable[[], float] | None,
) -> bool:
    """Solve `windows` windows of neighbouring days, about `visits_a_window` visits each; True if time was up.

    The assignment is changed in place, only ever for the better.
    """
    length = assignment.model.no_day
    if length == 0 or not movable:
        return False
    may_move = set(movable)
    order: list[int] = []
    for _ in range(windows):
        if seconds_left is not None and seconds_left() <= 0:
            return True
        if not order:
            order = list(range(length))
            chance.shuffle(order)
        days = _days_around(assignment, order.pop(), visits_a_window)
        left_out = [visit for visit in assignment.visits_on[length] if visit in may_move]
        if len(left_out) > visits_a_window // 6:
            left_out = sorted(chance.sample(left_out, visits_a_window // 6))
        visits = [visit for day in days for visit in assignment.visits_on[day] if visit in may_move]
        if _solve(assignment, days, visits + left_out, nodes, seconds_left):
            return True
    return False


def _days_around(assignment: Assignment, middle: int, visits_wanted: int) -> list[int]:
    days = [middle]
    low, high = middle - 1, middle + 1
    while sum(len(assignment.visits_on[day]) for day in days) < visits_wanted:
        if high < assignment.model.no_day:
            days.append(high)
            high += 1
        elif low >= 0:
            days.append(low)
            low -= 1
        else:
            break
    return sorted(days)


def _solve(
    assignment: Assignment,
    days: Sequence[int],
    visits: Sequence[int],
    nodes: int,
    seconds_left: Callable[[], float] | None,
) -> bool:
    """Solve one window and take over what is better; True if the time was up."""
    if len(visits) < 2:
        return False
    model = assignment.model
    columns = [*days, model.no_day]
    shares = model.shares[:, list(visits)]
    room = model.capacity[:, list(days)].copy()
    points = np.array([[assignment.points[v][day] for day in columns] for v in visits], dtype=np.int64)
    for row, visit in enumerate(visits):
        if assignment.is_on_shared_boat(visit):
            for column, day in enumerate(columns):
                points[row, column] += assignment.trip_points([visit], {visit: day})
    allowed = np.array([[assignment.permitted[v][day] for day in columns] for v in visits], dtype=bool)
    below = sum(int(points[row, columns.index(assignment.day_of[v])]) for row, v in enumerate(visits))
    for _ in range(1 + TIGHTENINGS):
        left = None if seconds_left is None else seconds_left()
        chosen, time_is_up = solve_window(points, allowed, shares, room, below, nodes, left)
        if chosen is None:
            return time_is_up
        to = {visit: columns[int(column)] for visit, column in zip(visits, chosen, strict=True)}
        changed = {visit: day for visit, day in to.items() if day != assignment.day_of[visit]}
        rise = sum(
            assignment.points[visit][day] - assignment.points[visit][assignment.day_of[visit]]
            for visit, day in changed.items()
        )
        rise += assignment.trip_points(changed, changed) - assignment.trip_points(changed)
        if rise >= 0:
            return time_is_up
        if change_fits(assignment, changed):
            for visit, day in changed.items():
                assignment.move(visit, day)
            return time_is_up
        if time_is_up or not len(shares):
            return time_is_up
        for column, day in enumerate(days):
            there = [row for row, visit in enumerate(visits) if to[visit] == day]
            if not assignment.packs(day, [visits[row] for row in there]):
                room[0, column] = sum(int(shares[0, row]) for row in there) - 1
    return False

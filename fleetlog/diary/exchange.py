"""Improving an assignment by large exchanges: units of work leave their days, and all are put anew at best.

From most days a visit, or two or three that fit one after another, is taken out as a unit. Which unit goes
to which day (or none) is then an assignment problem, solved exactly however many days take part (after
R. K. Ahuja, Ö. Ergun, J. B. Orlin, A. P. Punnen, A survey of very large-scale neighborhood search techniques,
Discrete Applied Mathematics 123 (2002), 75–102). Noise on the points, less with each round, keeps the search
from ending at the first plan that no exchange betters.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment

from fleetlog.diary.assignment import Assignment

GROUP_SHARE = 0.5
"""So many of the units hold more than one visit, where they fit one after another."""
STAY_SHARE = 0.3
"""So many of the days with room for more keep what they have, and may only receive."""
PAIR_SHARE = 0.7
"""So many of those with more than one are drawn as two, the others as three."""
NEVER_POINTS = 1e12
"""Stands for a day that a unit cannot have."""
GUARD_EVERY_ROUNDS = 16


def improve_by_exchanges(
    assignment: Assignment,
    movable: Sequence[int],
    rounds: int,
    warmth: float,
    chance: random.Random,
    is_time_up: Callable[[], bool],
) -> bool:
    """Improve the assignment in place and leave it at the best found; True if the time was up first.

    `warmth` is the mean of the noise, in points, in the first round. At most one visit of a boat that has
    others moves in a round, so that the points of trips are exact.
    """
    if not movable or not assignment.model.days:
        return False
    exchange = _Exchange(assignment, movable, chance)
    current = best = assignment.total_points()
    best_days = list(assignment.day_of)
    stopped = False
    for number in range(rounds):
        if number % GUARD_EVERY_ROUNDS == 0 and is_time_up():
            stopped = True
            break
        current += exchange.one_round(warmth * (1 - number / rounds) ** 2)
        if current < best:
            best, best_days = current, list(assignment.day_of)
    assignment.restore(best_days)
    return stopped


class _Exchange:
    """What stays the same from round to round: points and shares as arrays, by visit and day."""

    def __init__(self, assignment: Assignment, movable: Sequence[int], chance: random.Random) -> None:
        model = assignment.model
        count = len(model.requests)
        self._assignment = assignment
        self._chance = chance
        self._noise = np.random.default_rng(chance.getrandbits(32))
        self._boats = [request.boat_id for request in model.requests]
        self._shared = [assignment.is_on_shared_boat(visit) for visit in range(count)]
        self._fixed = set(range(count)) - set(movable)
        self._is_plain = not self._fixed and not any(self._shared)
        self._tenths = [request.tenths for request in model.requests]
        self._kinds = [assignment.packers[0].kind_of(visit) for visit in range(count)]
        self._least_tenths = min(self._tenths[visit] for visit in movable)
        self._tenths_array, self._kinds_array = np.array(self._tenths), np.array(self._kinds)
        self._capacity = np.array(assignment.capacity[: model.no_day]).T
        self._points = np.column_stack(
            [np.where(model.permitted, model.points, NEVER_POINTS), model.unplanned_points]
        ).astype(float)

    def one_round(self, warmth: float) -> int:
        """Take units out, put them anew, and return by how many points the assignment changed."""
        assignment, no_day = self._assignment, self._assignment.model.no_day
        units, rooms = self._units()
        if not units:
            return 0
        count, rows = len(units), np.arange(len(units))
        flat = np.array([visit for unit in units for visit in unit])
        starts = np.cumsum([0, *(len(unit) for unit in units[:-1])])
        sources = np.array([assignment.day_of[unit[0]] for unit in units])
        points = np.add.reduceat(self._points[flat], starts, axis=0)
        for row, unit in enumerate(units):
            if self._shared[unit[0]]:
                points[row] += assignment.trip_points_by_day(unit[0])
        totals = np.add.reduceat(self._tenths_array[flat], starts)
        suits = totals[:, None] <= rooms[self._kinds_array[flat[starts]]]
        planned = np.nonzero(sources < no_day)[0]
        takes = np.add.reduceat(assignment.model.shares[:, flat], starts, axis=1)
        left = self._capacity - np.array(assignment.used[:no_day]).T
        left[:, sources[planned]] += takes[:, planned]
        for needed, there in zip(takes, left, strict=True):
            suits &= needed[:, None] <= there
        suits[planned, sources[planned]] = True
        noisy = points[:, :no_day] + warmth * self._noise.standard_exponential(suits.shape)
        costs = np.full((count, no_day + count), NEVER_POINTS)
        costs[:, :no_day] = np.where(suits, noisy, NEVER_POINTS)
        costs[rows, no_day + rows] = points[:, no_day]
        chosen = np.minimum(linear_sum_assignment(costs)[1], no_day)
        moves = [
            (unit, source, target)
            for unit, source, target in zip(units, sources.tolist(), chosen.tolist(), strict=True)
            if source != target
        ]
        return sum(self._carried_out(chain) for chain in _chains(moves, no_day))

    def _units(self) -> tuple[list[list[int]], NDArray[np.int64]]:
        """The units that leave their days, and the room that each kind of visit then has, by kind and day."""
        assignment, tenths, kinds = self._assignment, self._tenths, self._kinds
        no_day = assignment.model.no_day
        units: list[list[int]] = []
        rooms = []
        moving_boats: set[str] = set()
        for day in range(no_day):
            packer, visits = assignment.packers[day], assignment.visits_on[day]
            room = packer.rooms(visits, []) if self._chance.random() < STAY_SHARE else []
            if max(room, default=0) >= self._least_tenths:
                rooms.append(room)
                continue
            unit = self._drawn(visits, moving_boats, GROUP_SHARE)
            room = packer.rooms(visits, unit)
            if len(unit) > 1 and sum(tenths[visit] for visit in unit) > room[kinds[unit[0]]]:
                unit = unit[:1]
                room = packer.rooms(visits, unit)
            rooms.append(room)
            if unit:
                units.append(unit)
        left = list(assignment.visits_on[no_day])
        while unit := self._drawn(left, moving_boats, GROUP_SHARE / 2):
            left = [visit for visit in left if visit not in unit]
            units.append(unit)
        return units, np.array(rooms, dtype=np.int64).T

    def _drawn(self, visits: Sequence[int], moving_boats: set[str], group_share: float) -> list[int]:
        """A visit drawn from those that may leave, maybe with others of its kind; none where none may.

        A visit of a boat that has others leaves alone, and its boat is noted as moving.
        """
        draw = self._chance.random
        free = visits
        if not self._is_plain:
            free = [v for v in visits if v not in self._fixed and self._boats[v] not in moving_boats]
        if not free:
            return []
        first = free[int(draw() * len(free))]
        if self._shared[first]:
            moving_boats.add(self._boats[first])
            return [first]
        if len(free) == 1 or draw() >= group_share:
            return [first]
        unit = [first]
        for _ in range(1 if draw() < PAIR_SHARE else 2):
            other = free[int(draw() * len(free))]
            if other not in unit and self._kinds[other] == self._kinds[first] and not self._shared[other]:
                unit.append(other)
        return unit

    def _carried_out(self, chain: Sequence[tuple[list[int], int, int]]) -> int:
        """Make the moves of a chain if every day they touch can be laid out; the change in points."""
        assignment = self._assignment
        changed = {visit: target for unit, _, target in chain for visit in unit}
        for day in {target for _, _, target in chain}:
            after = [visit for visit in assignment.visits_on[day] if visit not in changed]
            after += [visit for visit, target in changed.items() if target == day]
            if not assignment.packs(day, after):
                return 0
        rise = sum(
            assignment.points[visit][day] - assignment.points[visit][assignment.day_of[visit]]
            for visit, day in changed.items()
        )
        rise += assignment.trip_points(changed, changed) - assignment.trip_points(changed)
        for visit, day in changed.items():
            assignment.move(visit, day)
        return rise


def _chains(
    moves: Sequence[tuple[list[int], int, int]], no_day: int
) -> list[list[tuple[list[int], int, int]]]:
    """The moves sorted into chains that touch no common day, so that each can be made without the others."""
    by_source = {source: move for move in moves if (source := move[1]) != no_day}
    targets = {target for _, _, target in moves if target != no_day}
    begins = [move for move in moves if move[1] == no_day or move[1] not in targets]
    chains = []
    seen: set[int] = set()
    for begin in [*begins, *moves]:
        chain = []
        move: tuple[list[int], int, int] | None = begin
        while move is not None and id(move) not in seen:
            seen.add(id(move))
            chain.append(move)
            move = by_source.get(move[2])
        if chain:
            chains.append(chain)
    return chains

"""Annealing of an assignment by moves, exchanges and chains of three; seeded, and counted in moves."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence

from fleetlog.diary.assignment import Assignment

GUARD_EVERY_MOVES = 4096


def anneal(
    assignment: Assignment,
    candidates: Sequence[Sequence[int]],
    movable: Sequence[int],
    moves: int,
    warmth: float,
    chance: random.Random,
    is_time_up: Callable[[], bool],
) -> bool:
    """Improve the assignment in place and leave it at the best found; True if the time was up first.

    `candidates` are the days worth trying, by visit. A worsening of `warmth` points is accepted with chance
    1/e in the beginning and a sixtieth of it in the end (S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi,
    Optimization by simulated annealing, Science 220 (1983), 671–680).
    """
    if not movable:
        return False
    draw = chance.random
    day_of, visits_on, points = assignment.day_of, assignment.visits_on, assignment.points
    permitted = assignment.permitted
    shared = [assignment.is_on_shared_boat(visit) for visit in range(len(day_of))]
    current = best = assignment.total_points()
    best_days = list(day_of)
    count = len(movable)
    temperature = warmth
    cooling = (1 / 60) ** (GUARD_EVERY_MOVES / max(moves, GUARD_EVERY_MOVES))
    stopped = False
    for number in range(moves):
        if number % GUARD_EVERY_MOVES == 0 and number:
            temperature *= cooling
            if is_time_up():
                stopped = True
                break
        visit = movable[int(draw() * count)]
        days = candidates[visit]
        target = days[int(draw() * len(days))]
        source = day_of[visit]
        if target == source:
            continue
        bearable = -temperature * math.log(draw() + 1e-300)
        rise = points[visit][target] - points[visit][source]
        if shared[visit] and draw() < 0.5:
            changed = _boats_exchanged(assignment, visit, target)
            rise = sum(points[one][day] - points[one][day_of[one]] for one, day in changed.items())
            if not all(permitted[one][day] for one, day in changed.items()):
                continue
        elif assignment.has_room(target, visit):
            changed = {visit: target}
        else:
            there = visits_on[target]
            if not there:
                continue
            other = there[int(draw() * len(there))]
            away = source
            if draw() < 0.3:
                others = candidates[other]
                away = others[int(draw() * len(others))]
                if away == target:
                    continue
            elif not permitted[other][away]:
                continue
            changed = {visit: target, other: away}
            rise += points[other][away] - points[other][target]
            if rise > bearable and not (shared[visit] or shared[other]):
                continue
            if len(there) > 1 and draw() < 0.3:
                third = there[int(draw() * len(there))]
                if third != other and permitted[third][source]:
                    changed[third] = source
                    rise += points[third][source] - points[third][target]
        if any(shared[one] for one in changed):
            rise += assignment.trip_points(changed, changed) - assignment.trip_points(changed)
        if rise > bearable or not change_fits(assignment, changed):
            continue
        for one, day in changed.items():
            assignment.move(one, day)
        current += rise
        if current < best:
            best = current
            best_days = list(day_of)
    assignment.restore(best_days)
    return stopped


def _boats_exchanged(assignment: Assignment, visit: int, target: int) -> dict[int, int]:
    """The boat's visits of one day moved to another and, without room there, those there moved back."""
    source = assignment.day_of[visit]
    boat = assignment.model.requests[visit].boat_id
    requests = assignment.model.requests
    changed = {one: target for one in assignment.visits_on[source] if requests[one].boat_id == boat}
    if target != assignment.model.no_day and not change_fits(assignment, changed):
        changed |= {one: source for one in assignment.visits_on[target] if requests[one].boat_id != boat}
    return changed


def change_fits(assignment: Assignment, changed: dict[int, int]) -> bool:
    """Do all days that receive a visit still have room and a layout, with every change made at once?"""
    for day in set(changed.values()):
        if day == assignment.model.no_day:
            continue
        after = [visit for visit in assignment.visits_on[day] if changed.get(visit, day) == day]
        after += [visit for visit, to in changed.items() if to == day and assignment.day_of[visit] != day]
        capacity = assignment.capacity[day]
        used = [0] * len(capacity)
        for visit in after:
            for row, share in assignment.shares[visit]:
                used[row] += share
        if any(taken > room for taken, room in zip(used, capacity, strict=True)):
            return False
        if not assignment.packs(day, after):
            return False
    return True

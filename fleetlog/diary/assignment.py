"""Visits put on days: the current state of a search, its points, and whether its days can be laid out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from fleetlog.diary.model import Model
from fleetlog.diary.packing import DayPacker


class Assignment:
    """Which visit is on which day; every day it holds has a layout. Day `model.no_day` is no day."""

    def __init__(self, model: Model, packers: Sequence[DayPacker]) -> None:
        self.model = model
        self.packers = packers
        count, length = model.permitted.shape
        self.day_of = [model.no_day] * count
        self.visits_on: list[list[int]] = [[] for _ in range(length)] + [list(range(count))]
        self.used = [[0] * len(model.shares) for _ in range(length + 1)]
        self.shares = [
            [
                (row, int(model.shares[row, visit]))
                for row in range(len(model.shares))
                if model.shares[row, visit]
            ]
            for visit in range(count)
        ]
        unlimited = int(model.shares.sum()) + 1
        self.capacity = [
            [int(model.capacity[row, day]) for row in range(len(model.shares))] for day in range(length)
        ] + [[unlimited] * len(model.shares)]
        self.points = [
            [int(value) for value in model.points[visit]] + [int(model.unplanned_points[visit])]
            for visit in range(count)
        ]
        self.permitted = [
            [bool(value) for value in model.permitted[visit]] + [True] for visit in range(count)
        ]
        self._boats = [request.boat_id for request in model.requests]
        self.shared_boats = frozenset(
            boat for boat in self._boats if self._boats.count(boat) > 1 or boat in model.booked_days_of_boat
        )
        self._visits_of_boat: dict[str, list[int]] = {}
        for visit, boat in enumerate(self._boats):
            self._visits_of_boat.setdefault(boat, []).append(visit)

    def is_on_shared_boat(self, visit: int) -> bool:
        """Has the visit's boat other visits, so that trips depend on more than this one's day?"""
        return self._boats[visit] in self.shared_boats

    def trip_points(self, visits: Iterable[int], days: dict[int, int] | None = None) -> int:
        """Points of the trips of these visits' boats, with some visits on other days than they are."""
        total = 0
        for boat in {self._boats[visit] for visit in visits} & self.shared_boats:
            trips = set(self.model.booked_days_of_boat.get(boat, ()))
            for visit in self._visits_of_boat[boat]:
                day = self.day_of[visit] if days is None or visit not in days else days[visit]
                if day != self.model.no_day:
                    trips.add(day)
            total += self.model.trip_points * max(0, len(trips) - 1)
        return total

    def trip_points_by_day(self, visit: int) -> list[int]:
        """Points of the trips of the visit's boat with this visit on each day, and on none."""
        boat, no_day = self._boats[visit], self.model.no_day
        trips = set(self.model.booked_days_of_boat.get(boat, ()))
        trips |= {self.day_of[other] for other in self._visits_of_boat[boat] if other != visit}
        trips.discard(no_day)
        more = len(trips) * self.model.trip_points
        same = max(0, more - self.model.trip_points)
        return [same if day in trips or day == no_day else more for day in range(no_day + 1)]

    def total_points(self) -> int:
        """The points of the whole: those of each visit's day, and of the trips."""
        own = sum(points[day] for points, day in zip(self.points, self.day_of, strict=True))
        return own + self.trip_points(range(len(self.day_of)))

    def has_room(self, day: int, visit: int) -> bool:
        """Do the day's pooled resources leave room for one more visit? No day has room for all."""
        used, capacity = self.used[day], self.capacity[day]
        return all(used[row] + share <= capacity[row] for row, share in self.shares[visit])

    def packs(self, day: int, visits: Sequence[int]) -> bool:
        """Can the day be laid out with exactly these visits?"""
        return day == self.model.no_day or self.packers[day].fits(visits)

    def move(self, visit: int, day: int) -> None:
        """Put a visit on another day, unchecked."""
        old = self.day_of[visit]
        self.visits_on[old].remove(visit)
        self.visits_on[day].append(visit)
        used_old, used_new = self.used[old], self.used[day]
        for row, share in self.shares[visit]:
            used_old[row] -= share
            used_new[row] += share
        self.day_of[visit] = day

    def restore(self, days: Sequence[int]) -> None:
        """Go back to an assignment seen before."""
        for visit, day in enumerate(days):
            if self.day_of[visit] != day:
                self.move(visit, day)


def fill(assignment: Assignment, preferred: Sequence[Sequence[int]], order: Sequence[int]) -> None:
    """Put each visit without a day, in the given order, on the first of its preferred days with room."""
    no_day = assignment.model.no_day
    for visit in order:
        if assignment.day_of[visit] != no_day:
            continue
        for day in preferred[visit]:
            if (
                day != no_day
                and assignment.has_room(day, visit)
                and assignment.packs(day, [*assignment.visits_on[day], visit])
            ):
                assignment.move(visit, day)
                break

"""The planning problem in arrays: permitted days, points by visit and day, and what a day's visits share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from fleetlog.diary.permitted import permitted_days
from fleetlog.diary.risk import PlanWeights, visit_points
from fleetlog.diary.shop import BookedVisit, Shop, VisitRequest

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Model:
    """One planning problem.

    `points` is by visit and day, `unplanned_points` by visit. `shares` by resource and visit is what a visit
    takes of a resource pooled over the day, `capacity` by resource and day what there is of it (both whole
    numbers). Column `len(days)` stands, where days are indexed, for no day. `refusals` holds, by visit, why
    no day at all is permitted.
    """

    requests: tuple[VisitRequest, ...]
    days: tuple[date, ...]
    permitted: Bools
    points: Ints
    unplanned_points: Ints
    shares: Ints
    capacity: Ints
    refusals: Mapping[int, str]
    trip_points: int
    booked_days_of_boat: Mapping[str, frozenset[int]]

    @property
    def no_day(self) -> int:
        """The index that stands for no day."""
        return len(self.days)


def build_model(
    requests: Sequence[VisitRequest],
    booked: Sequence[BookedVisit],
    shop: Shop,
    from_on: date,
    to_on: date,
    weights: PlanWeights,
) -> Model:
    """The problem of putting the requests on the days from `from_on` to `to_on`, both included."""
    length = (to_on - from_on).days + 1
    every_day = [from_on + timedelta(days=number) for number in range(length)]
    open_numbers = [
        number
        for number, day in enumerate(every_day)
        if any(shop.technician_time(technician, day) for technician in shop.technicians)
        and any(shop.place_time(place, day) for place in shop.places)
    ]
    days = tuple(every_day[number] for number in open_numbers)
    permitted = np.zeros((len(requests), len(days)), dtype=bool)
    points = np.zeros((len(requests), len(days)), dtype=np.int64)
    unplanned = np.zeros(len(requests), dtype=np.int64)
    refusals = {}
    for visit, request in enumerate(requests):
        found = permitted_days(request, shop, days, from_on, to_on)
        if isinstance(found, str):
            refusals[visit] = found
        else:
            permitted[visit] = found
        points[visit], unplanned[visit] = _points(request, from_on, length, open_numbers, days, weights)
    shares, capacity = _pooled_resources(requests, booked, shop, days)
    booked_days: dict[str, set[int]] = {}
    for visit_booked in booked:
        if visit_booked.on in days:
            booked_days.setdefault(visit_booked.boat_id, set()).add(days.index(visit_booked.on))
    return Model(
        requests=tuple(requests),
        days=days,
        permitted=permitted,
        points=points,
        unplanned_points=unplanned,
        shares=shares,
        capacity=capacity,
        refusals=refusals,
        trip_points=weights.trip_points,
        booked_days_of_boat={boat: frozenset(numbers) for boat, numbers in booked_days.items()},
    )


def _points(
    request: VisitRequest,
    from_on: date,
    length: int,
    open_numbers: Sequence[int],
    days: Sequence[date],
    weights: PlanWeights,
) -> tuple[Ints, int]:
    late, waste = visit_points(request, from_on, length + weights.unplanned_wait_days, weights)
    total = (late + waste)[list(open_numbers)]
    wishes = request.wishes
    for number, day in enumerate(days):
        if wishes.weekdays and day.weekday() not in wishes.weekdays:
            total[number] += weights.weekday_points
        if wishes.best and not any(span.holds(day) for span in wishes.best):
            total[number] += weights.best_points
        if request.previous_on is not None and day != request.previous_on:
            total[number] += weights.change_points
    rounded = np.rint(total).astype(np.int64)
    dearest = int(rounded.max()) if len(rounded) else 0
    return rounded, max(dearest, round(float(late[-1]))) + weights.unplanned_points


def _pooled_resources(
    requests: Sequence[VisitRequest], booked: Sequence[BookedVisit], shop: Shop, days: Sequence[date]
) -> tuple[Ints, Ints]:
    """What every possible day must keep to, pooled over like resources; each is a necessary condition.

    Hours of the places of each set of kinds asked for, and of the technicians with each set of skills asked
    for; lifts; and, for either kind of hours, a packing cut: of visits longer than half of the longest day
    of one place (or technician) each holds one for itself, of exactly half two hold one.
    """
    shares: list[list[int]] = []
    capacity: list[list[int]] = []

    def add(spans: list[list[int]], needs: list[bool], taken: list[list[int]]) -> None:
        """A pool: by day the lengths of its members' spans, who draws on it, and what is booked by day."""
        sizes = [request.tenths if need else 0 for request, need in zip(requests, needs, strict=True)]
        shares.append(sizes)
        capacity.append([sum(a) - sum(b) for a, b in zip(spans, taken, strict=True)])
        longest = max((length for lengths in spans for length in lengths), default=0)
        halves = [_halves(size, longest) for size in sizes]
        if any(halves):
            shares.append(halves)
            capacity.append(
                [
                    2 * len(a) - sum(_halves(size, longest) for size in b)
                    for a, b in zip(spans, taken, strict=True)
                ]
            )

    place_kind = {place.name: place.kind for place in shop.places}
    for kinds in sorted({request.place_kinds for request in requests}, key=sorted):
        add(
            [
                [
                    span.tenths
                    for place in shop.places
                    if place.kind in kinds and (span := shop.place_time(place, day))
                ]
                for day in days
            ],
            [request.place_kinds <= kinds for request in requests],
            [[b.tenths for b in booked if b.on == day and place_kind.get(b.place) in kinds] for day in days],
        )
    skills_of = {technician.name: technician.skills for technician in shop.technicians}
    for skills in sorted({request.skills for request in requests}, key=sorted):
        add(
            [
                [
                    span.tenths
                    for technician in shop.technicians
                    if technician.skills >= skills and (span := shop.technician_time(technician, day))
                ]
                for day in days
            ],
            [request.skills >= skills for request in requests],
            [
                [
                    b.tenths
                    for b in booked
                    if b.on == day and b.technician in skills_of and skills_of[b.technician] >= skills
                ]
                for day in days
            ],
        )
    if shop.lifts_per_day is not None:
        shares.append([request.lifts for request in requests])
        capacity.append([shop.lifts_per_day - sum(b.lifts for b in booked if b.on == day) for day in days])
    return _without_idle(
        np.array(shares, dtype=np.int64).reshape(len(shares), len(requests)),
        np.maximum(0, np.array(capacity, dtype=np.int64).reshape(len(capacity), len(days))),
    )


def _halves(size: int, longest: int) -> int:
    return 2 if 2 * size > longest else 1 if size and 2 * size == longest else 0


def _without_idle(shares: Ints, capacity: Ints) -> tuple[Ints, Ints]:
    """Leave out resources that can't run short and those that another one covers."""
    kept: list[int] = []
    for row in range(len(shares)):
        if shares[row].sum() <= capacity[row].min(initial=np.iinfo(np.int64).max):
            continue
        if any(
            (shares[other] >= shares[row]).all() and (capacity[other] <= capacity[row]).all()
            for other in range(len(shares))
            if other in kept or other > row
        ):
            continue
        kept.append(row)
    return shares[kept], capacity[kept]

"""What a day costs a visit: the chance of being overdue by the forecast's distribution, and wasted life."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from fleetlog.diary.shop import Risk, VisitRequest

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PlanWeights:
    """What the plan weighs, in points; a day overdue costs the points of the line's own `Risk.weight`.

    `waste_points`: giving up the whole interval of one hour's labour. `trip_points`: each day a boat comes
    beyond its first. `change_points`: a visit on another day than in the last plan. `weekday_points` and
    `best_points`: a day the owner doesn't prefer, or outside the boat's best time. `unplanned_points`: a
    visit left without a day, on top of what waiting `unplanned_wait_days` after the plan's end costs.
    """

    waste_points: int = 300
    trip_points: int = 200
    change_points: int = 100
    weekday_points: int = 20
    best_points: int = 60
    unplanned_points: int = 500
    unplanned_wait_days: int = 30


def chance_reached(risk: Risk, days: Floats) -> Floats:
    """The chance that the limit is reached on or before each day (as ordinals), between 0 and 1.

    Through the forecast's dates at 10, 50 and 90 %, straight between them; the tails run on at the slope
    beside them, and at the calendar's limit, where there is one, the chance is 1. Without a forecast it
    steps from 0 to 1 at the calendar's limit; without that too it is 0.
    """
    due = None if risk.due_on is None else float(risk.due_on.toordinal())
    if risk.likely_on is None:
        return np.zeros_like(days) if due is None else (days >= due).astype(float)
    likely = risk.likely_on.toordinal()
    early = min(likely, (risk.early_on or risk.likely_on).toordinal())
    late = max(likely, (risk.late_on or risk.likely_on).toordinal())
    marks = [early - (likely - early) / 4, early, likely, late, late + (late - likely) / 4]
    chances = [0.0, 0.1, 0.5, 0.9, 1.0]
    points = dict(zip(marks, chances, strict=True))  # of equal marks the highest chance stays
    reached = np.interp(days, list(points), list(points.values()), left=0.0, right=1.0)
    return reached if due is None else np.where(days >= due, 1.0, reached)


def visit_points(
    request: VisitRequest, from_on: date, length_days: int, weights: PlanWeights
) -> tuple[Floats, Floats]:
    """Points of lateness and of wasted life for each of `length_days` days from `from_on`, unrounded.

    Lateness on a day is the sum, over the days from the plan's first to it, of the chance of being overdue
    on each (the limit lies before it), times the line's weight: the expected days overdue. What was overdue
    before the plan began is past and is not counted. Wasted life is the expected share of the interval that
    is left on the day, at most all of it, by the hours of labour.
    """
    first = from_on.toordinal()
    days = np.arange(first, first + length_days, dtype=float)
    late = np.zeros(length_days)
    waste = np.zeros(length_days)
    for risk in request.risks:
        late += risk.weight * np.cumsum(chance_reached(risk, days - 1))
        if risk.interval_days and risk.value_tenths:
            left = _expected_days_left(risk, days)
            share = np.minimum(1.0, left / risk.interval_days)
            waste += weights.waste_points * share * risk.value_tenths / 10
    return late, waste


def _expected_days_left(risk: Risk, days: Floats) -> Floats:
    marks: Sequence[date | None] = (risk.due_on, risk.late_on, risk.likely_on)
    last = max((mark.toordinal() for mark in marks if mark is not None), default=int(days[0]))
    last += (last - min(last, int(days[0]))) // 4 + 1
    every = np.arange(days[0], max(last, days[-1]) + 1)
    open_still = 1.0 - chance_reached(risk, every)
    if not open_still[-1] < 1.0:
        return np.zeros_like(days)
    return np.cumsum(open_still[::-1])[::-1][: len(days)]

"""On which days a visit may be done at all and, where there is none, the sentence that says why."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from fleetlog.diary.shop import Shop, VisitRequest
from fleetlog.domain.hours import hours_text
from fleetlog.errors import counted


def longest_stretch_tenths(request: VisitRequest, shop: Shop, day: date) -> int:
    """The longest time on a day that a suitable technician and a suitable place have in common."""
    longest = 0
    for technician in shop.technicians:
        works = shop.technician_time(technician, day) if technician.skills >= request.skills else None
        if works is None:
            continue
        for place in shop.places:
            is_open = shop.place_time(place, day) if place.kind in request.place_kinds else None
            if is_open is not None:
                longest = max(longest, works.common_tenths(is_open))
    return longest


def permitted_days(
    request: VisitRequest, shop: Shop, days: Sequence[date], from_on: date, to_on: date
) -> NDArray[np.bool_] | str:
    """Which of the open days are permitted or, if none is, one sentence: what is wrong and what to do.

    Booked visits are left out of account here: they make a day full, not forbidden.
    """
    problem = _problem_of_request(request, shop)
    if problem:
        return problem
    if not days:
        return _nothing_open(shop, from_on, to_on)
    stretches = np.array([longest_stretch_tenths(request, shop, day) for day in days])
    wishes = request.wishes
    steps: list[tuple[Callable[[date], bool], str]] = []
    if wishes.not_before_on is not None:
        earliest_on = wishes.not_before_on
        steps.append(
            (
                lambda day: day >= earliest_on,
                f"the owner wishes it not before {earliest_on}; plan further ahead",
            )
        )
    if request.parts_on is not None:
        parts_on = request.parts_on
        steps.append(
            (
                lambda day: day >= parts_on,
                f"its parts come on {parts_on} only; get them sooner or plan further ahead",
            )
        )
    if wishes.not_after_on is not None:
        latest_on = wishes.not_after_on
        steps.append(
            (
                lambda day: day <= latest_on,
                f"no open day is left by {latest_on}, the last one the owner wishes; ask for a later one",
            )
        )
    if wishes.not_in:
        spans = " and ".join(f"{span.from_on} to {span.to_on}" for span in wishes.not_in)
        steps.append(
            (
                lambda day: not any(span.holds(day) for span in wishes.not_in),
                f"the owner wishes it not in {spans}, and that leaves no open day; ask for one",
            )
        )
    permitted = stretches > 0
    if not permitted.any():
        return "no suitable technician and place are there on the same day; look at their weeks and absences"
    permitted = stretches >= request.tenths
    if not permitted.any():
        return (
            f"takes {hours_text(request.tenths)} h, and no day has more than"
            f" {hours_text(int(stretches.max()))} h for it; divide it or allow a longer day"
        )
    for is_allowed, sentence in steps:
        permitted = permitted & np.array([is_allowed(day) for day in days])
        if not permitted.any():
            return sentence
    return permitted


def _problem_of_request(request: VisitRequest, shop: Shop) -> str | None:
    wishes = request.wishes
    if request.tenths <= 0:
        return "has no labour time; state its hours"
    if not shop.technicians:
        return "the shop has no technician; add one"
    if not any(technician.skills >= request.skills for technician in shop.technicians):
        return f"no technician can do {' and '.join(sorted(request.skills))}; add the skill or the technician"
    if not any(place.kind in request.place_kinds for place in shop.places):
        return f"the shop has no {' or '.join(sorted(request.place_kinds))}; add one"
    if shop.lifts_per_day is not None and request.lifts > shop.lifts_per_day:
        return f"needs {counted(request.lifts, 'lift')}, and a day has {shop.lifts_per_day}; allow more"
    if (
        wishes.not_before_on is not None
        and wishes.not_after_on is not None
        and wishes.not_before_on > wishes.not_after_on
    ):
        return (
            f"the owner wishes it not before {wishes.not_before_on} and not after {wishes.not_after_on}, "
            "which contradict; ask which holds"
        )
    return None


def _nothing_open(shop: Shop, from_on: date, to_on: date) -> str:
    closed = [
        closure for closure in shop.closures if closure.span.holds(from_on) or closure.span.holds(to_on)
    ]
    if closed:
        whole = closed[0]
        return (
            f"the shop is closed ({whole.why}, {whole.span.from_on} to {whole.span.to_on}) "
            f"and has no open day from {from_on} to {to_on}; plan further ahead"
        )
    return f"no technician and place are open on any day from {from_on} to {to_on}; look at their weeks"

"""What if: the shop changed as a few words say, and one plan held against another; nothing is stored."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from fleetlog.diary.plan import Plan
from fleetlog.diary.shop import AFLOAT, BAY, EIGHT_HOURS, ClockSpan, Closure, Place, Shop, Technician
from fleetlog.diary.work import DateSpan
from fleetlog.domain.bounds import day_from_text
from fleetlog.errors.diary import WhatIfNotUnderstood, WhatIfTooMany

FORMS = "technician +1, bay +1, afloat -1, lifts +2, hours +1, closed 2026-04-03 to 2026-04-06"
"""One example of each form of a change; a closure may also name a single day."""

_COUNTED = re.compile(r"(technician|bay|afloat|lifts|hours)s?\s*([+-]\s*\d{1,2})", re.ASCII)
_CLOSED = re.compile(r"closed\s+(\d{4}-\d\d-\d\d)(?:\s+to\s+(\d{4}-\d\d-\d\d))?", re.ASCII)


def change_shop(shop: Shop, text: str) -> Shop:
    """The shop with one change, in one of the forms of `FORMS`.

    Another technician has all skills of the shop and the longest hours of each weekday; another place is
    open as long as the longest. Those taken away are the last. `hours` lengthens (or shortens) every
    working day at its end. Raises WhatIfNotUnderstood and WhatIfTooMany.
    """
    words = text.strip().lower()
    if match := _CLOSED.fullmatch(words):
        try:
            from_on = day_from_text(match[1])
            to_on = day_from_text(match[2] or match[1])
        except ValueError:
            raise WhatIfNotUnderstood(text, FORMS) from None
        if from_on > to_on:
            raise WhatIfNotUnderstood(text, FORMS)
        return replace(shop, closures=(*shop.closures, Closure(DateSpan(from_on, to_on), "closed to try it")))
    match = _COUNTED.fullmatch(words)
    if not match:
        raise WhatIfNotUnderstood(text, FORMS)
    what, count = match[1], int(match[2].replace(" ", ""))
    if what == "technician":
        return replace(shop, technicians=_technicians(shop, count))
    if what == "lifts":
        there = shop.lifts_per_day
        if there is not None and there + count < 0:
            raise WhatIfTooMany("the lifts per day", -count, there)
        return replace(shop, lifts_per_day=None if there is None else there + count)
    if what == "hours":
        return replace(
            shop,
            technicians=tuple(replace(t, week=_longer(t.week, 10 * count)) for t in shop.technicians),
            places=tuple(replace(p, week=_longer(p.week, 10 * count)) for p in shop.places),
        )
    return replace(shop, places=_places(shop, BAY if what == "bay" else AFLOAT, count))


def _technicians(shop: Shop, count: int) -> tuple[Technician, ...]:
    there = shop.technicians
    if count < 0:
        if -count > len(there):
            raise WhatIfTooMany("the technicians", -count, len(there))
        return there[:count]
    skills: frozenset[str] = frozenset().union(*(technician.skills for technician in there))
    week = _widest([technician.week for technician in there] or [place.week for place in shop.places])
    taken = {technician.name for technician in there}
    names = (f"technician to try {number}" for number in range(1, len(there) + count + 1))
    return (
        *there,
        *(Technician(name, skills, week) for name in [n for n in names if n not in taken][:count]),
    )


def _places(shop: Shop, kind: str, count: int) -> tuple[Place, ...]:
    alike = [place for place in shop.places if place.kind == kind]
    if count < 0:
        if -count > len(alike):
            raise WhatIfTooMany(f"the places of kind {kind}", -count, len(alike))
        gone = {place.name for place in alike[count:]}
        return tuple(place for place in shop.places if place.name not in gone)
    weeks = [place.week for place in alike or shop.places]
    week = _widest(weeks or [technician.week for technician in shop.technicians])
    taken = {place.name for place in shop.places}
    names = (f"{kind} to try {number}" for number in range(1, len(taken) + count + 1))
    return (*shop.places, *(Place(name, kind, week) for name in [n for n in names if n not in taken][:count]))


def _widest(weeks: Iterable[tuple[ClockSpan | None, ...]]) -> tuple[ClockSpan | None, ...]:
    widest: list[ClockSpan | None] = [None] * 7
    for week in weeks:
        for weekday, span in enumerate(week):
            best = widest[weekday]
            if span is not None and (best is None or span.tenths > best.tenths):
                widest[weekday] = span
    return tuple(widest) if any(widest) else (EIGHT_HOURS,) * 5 + (None, None)


def _longer(week: tuple[ClockSpan | None, ...], tenths: int) -> tuple[ClockSpan | None, ...]:
    longer: list[ClockSpan | None] = []
    for span in week:
        if span is None or span.tenths + tenths <= 0:
            longer.append(None)
        else:
            longer.append(ClockSpan(span.from_tenths, min(240, span.to_tenths + tenths)))
    return tuple(longer)


@dataclass(frozen=True, slots=True)
class PlanDifference:
    """What a second plan does otherwise than a first; points below 0 are an improvement."""

    points: int
    now_planned: tuple[str, ...]
    no_longer_planned: tuple[str, ...]
    moved: tuple[tuple[str, date, date], ...]


def compare_plans(first: Plan, second: Plan) -> PlanDifference:
    """Visits by id: those that gain a day, lose it, or move (id, day before, day after)."""
    before = {visit.visit_id: visit.on for visit in first.visits}
    after = {visit.visit_id: visit.on for visit in second.visits}
    return PlanDifference(
        points=second.points - first.points,
        now_planned=tuple(sorted(after.keys() - before.keys())),
        no_longer_planned=tuple(sorted(before.keys() - after.keys())),
        moved=tuple(
            (visit_id, before[visit_id], after[visit_id])
            for visit_id in sorted(before.keys() & after.keys())
            if before[visit_id] != after[visit_id]
        ),
    )

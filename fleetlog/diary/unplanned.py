"""Why a visit has no day, and what would give it one: a technician, place, lift or hour more."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from fleetlog.diary.assignment import Assignment
from fleetlog.diary.packing import DayPacker
from fleetlog.diary.shop import BookedVisit, ClockSpan, Place, Shop, Technician, VisitRequest
from fleetlog.domain.hours import hours_text

REMEDY_DAYS = 10
"""Of a visit's permitted days, so many are tried for a remedy, the cheapest first."""


@dataclass(frozen=True, slots=True)
class UnplannedVisit:
    """A visit without a day: why, and what would make it fit (None where `why` says what to do)."""

    visit_id: str
    boat_id: str
    why: str
    remedy: str | None
    points: int


def explain_unplanned(
    assignment: Assignment, booked: Sequence[BookedVisit], shop: Shop
) -> tuple[UnplannedVisit, ...]:
    """For each visit without a day the reason and, where the days are full, the least that would make room.

    A remedy is tried by itself: two visits may name the same one, and then it serves one of them.
    """
    model = assignment.model
    found = []
    for visit in sorted(assignment.visits_on[model.no_day]):
        request = model.requests[visit]
        why = model.refusals.get(visit)
        remedy = None
        if why is None:
            days = [day for day in range(model.no_day) if assignment.permitted[visit][day]]
            why = (
                f"its {len(days)} possible days from {model.days[days[0]]} to {model.days[days[-1]]}"
                f" are full with more pressing work (it takes {hours_text(request.tenths)} h)"
            )
            by_points = sorted(days, key=lambda day: (assignment.points[visit][day], day))
            remedy = _remedy(assignment, visit, by_points[:REMEDY_DAYS], booked, shop)
        found.append(
            UnplannedVisit(
                request.visit_id, request.boat_id, why, remedy, assignment.points[visit][model.no_day]
            )
        )
    return tuple(found)


def _remedy(
    assignment: Assignment, visit: int, days: Sequence[int], booked: Sequence[BookedVisit], shop: Shop
) -> str | None:
    """The first of the changes, smallest first, that makes room on one of the days."""
    model = assignment.model
    request = model.requests[visit]
    for kind in range(CHANGES):
        for day in days:
            on = model.days[day]
            visits = [*assignment.visits_on[day], visit]
            requests = [model.requests[v] for v in visits]
            for number, changed, kept, sentence in _changes(request, booked, shop, on):
                if number != kind:
                    continue
                packer = DayPacker(requests, kept, changed, on)
                if packer.layout(range(len(requests))) is not None:
                    return sentence
    return None


CHANGES = 7


def _changes(
    request: VisitRequest, booked: Sequence[BookedVisit], shop: Shop, on: date
) -> Iterator[tuple[int, Shop, Sequence[BookedVisit], str]]:
    """What could be changed on a day: its rank, the shop and bookings after it, and its sentence."""
    when = f"on {on} (week {on.isocalendar().week})"
    yield 0, shop, booked, f"room {when}: plan again with a larger work limit"
    if shop.lifts_per_day is not None and request.lifts:
        more_lifts = replace(shop, lifts_per_day=shop.lifts_per_day + request.lifts)
        yield 1, more_lifts, booked, f"{request.lifts} more on the lift {when}"
    longer = replace(
        shop,
        technicians=tuple(replace(t, week=_later(t.week)) for t in shop.technicians),
        places=tuple(replace(p, week=_later(p.week)) for p in shop.places),
    )
    yield 2, longer, booked, f"an hour longer {when}"
    for visit in booked:
        if visit.on == on:
            rest = [other for other in booked if other.visit_id != visit.visit_id]
            yield 3, shop, rest, f"the booked visit {visit.visit_id} {when} released or moved"
    spans = [span for place in shop.places if (span := shop.place_time(place, on))]
    spans += [span for technician in shop.technicians if (span := shop.technician_time(technician, on))]
    if not spans:
        return
    whole = (ClockSpan(min(s.from_tenths for s in spans), max(s.to_tenths for s in spans)),) * 7
    person = Technician("another technician", request.skills, whole)
    place = Place("another place", min(request.place_kinds), whole)
    skills = f" for {' and '.join(sorted(request.skills))}" if request.skills else ""
    one_more_person = replace(shop, technicians=(*shop.technicians, person))
    one_more_place = replace(shop, places=(*shop.places, place))
    yield 4, one_more_person, booked, f"another technician-day{skills} {when}"
    yield 5, one_more_place, booked, f"another {place.kind} {when}"
    both = replace(one_more_person, places=one_more_place.places)
    yield 6, both, booked, f"another technician-day{skills} and another {place.kind} {when}"


def _later(week: tuple[ClockSpan | None, ...]) -> tuple[ClockSpan | None, ...]:
    return tuple(None if span is None else ClockSpan(span.from_tenths, span.to_tenths + 10) for span in week)

"""The rules that a visit on a day keeps to, asked of plans, of bookings and of what is to be booked.

They share no code with the search for a plan beyond the values both are given, so that a mistake of one is
not hidden by the same mistake in the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from typing import Protocol

from fleetlog.diary.shop import BookedVisit, ClockSpan, Shop, VisitRequest, Week
from fleetlog.diary.work import DateSpan
from fleetlog.domain.diary_records import clock_text
from fleetlog.errors import counted


@dataclass(frozen=True, slots=True)
class Violation:
    """One rule broken: its name, the visits concerned, and a sentence."""

    rule: str
    visit_ids: tuple[str, ...]
    text: str


class VisitOnDay(Protocol):
    """A visit with its day, time, technician and place, planned or booked."""

    @property
    def visit_id(self) -> str: ...
    @property
    def boat_id(self) -> str: ...
    @property
    def on(self) -> date: ...
    @property
    def place(self) -> str: ...
    @property
    def technician(self) -> str: ...
    @property
    def from_tenths(self) -> int: ...
    @property
    def tenths(self) -> int: ...


def broken_rules(
    visits: Iterable[VisitOnDay], asked: Mapping[str, VisitRequest], shop: Shop
) -> Iterator[Violation]:
    """Every rule that visits break by themselves, in pairs, or together on a day, the earliest day first.

    Skills, kinds of place, wishes and parts are those of the request of the same id in `asked`; a visit
    without one is judged by its day and time alone. Lifts are the booking's own, else the request's.
    """
    by_day: dict[date, list[VisitOnDay]] = {}
    for visit in visits:
        by_day.setdefault(visit.on, []).append(visit)
    for on, there in sorted(by_day.items()):
        for visit in there:
            for rule, text in _of_one(visit, asked.get(visit.visit_id), shop):
                yield Violation(rule, (visit.visit_id,), text)
        for one, other in combinations(there, 2):
            for rule, text in _of_two(one, other):
                yield Violation(rule, (one.visit_id, other.visit_id), text)
        lifts = {visit.visit_id: _lifts(visit, asked) for visit in there}
        if shop.lifts_per_day is not None and sum(lifts.values()) > shop.lifts_per_day:
            yield Violation(
                "lifts",
                tuple(visit_id for visit_id, count in lifts.items() if count),
                f"{counted(sum(lifts.values()), 'lift')} on {on}, and a day has {shop.lifts_per_day}",
            )


def booking_problems(
    booked: Sequence[BookedVisit], shop: Shop, from_on: date, to_on: date
) -> tuple[str, ...]:
    """One sentence for each rule that the booked visits of a period break by their day and time."""
    in_period = [visit for visit in booked if from_on <= visit.on <= to_on]
    return tuple(
        f"{' and '.join(broken.visit_ids)}: {broken.text}; release or move it"
        for broken in broken_rules(in_period, {}, shop)
    )


def _lifts(visit: VisitOnDay, asked: Mapping[str, VisitRequest]) -> int:
    if isinstance(visit, BookedVisit):
        return visit.lifts
    request = asked.get(visit.visit_id)
    return request.lifts if request else 0


def _of_two(one: VisitOnDay, other: VisitOnDay) -> Iterator[tuple[str, str]]:
    starts = max(one.from_tenths, other.from_tenths)
    ends = min(one.from_tenths + one.tenths, other.from_tenths + other.tenths)
    if starts >= ends:
        return
    when = f"on {one.on} from {clock_text(starts)} to {clock_text(ends)}"
    for rule, mine, theirs in (
        ("place", one.place, other.place),
        ("technician", one.technician, other.technician),
        ("boat", one.boat_id, other.boat_id),
    ):
        if mine == theirs:
            yield rule, f"{mine} is needed twice at once {when}, by {one.visit_id} and {other.visit_id}"


def _of_one(visit: VisitOnDay, request: VisitRequest | None, shop: Shop) -> Iterator[tuple[str, str]]:
    on = visit.on
    for closure in shop.closures:
        if _inside([closure.span], on):
            yield "closure", f"the shop is closed on {on} ({closure.why})"
    people = [person for person in shop.technicians if person.name == visit.technician]
    if not people:
        yield "technician", f"the shop has no technician {visit.technician}"
    for person in people:
        if request is not None and not request.skills.issubset(person.skills):
            yield "skills", f"{person.name} lacks {', '.join(sorted(request.skills - person.skills))}"
        yield from _times("technician", person.name, "is away", person.week, person.away, visit)
    places = [place for place in shop.places if place.name == visit.place]
    if not places:
        yield "place", f"the shop has no place {visit.place}"
    for place in places:
        if request is not None and place.kind not in request.place_kinds:
            yield "place", f"{place.name} is no {' or '.join(sorted(request.place_kinds))}"
        yield from _times("place", place.name, "is closed", place.week, place.closed, visit)
    if request is not None:
        yield from _asked_for(on, request)


def _times(
    rule: str, name: str, absent: str, week: Week, off: Iterable[DateSpan], visit: VisitOnDay
) -> Iterator[tuple[str, str]]:
    span: ClockSpan | None = week[visit.on.weekday()]
    if _inside(off, visit.on):
        yield rule, f"{name} {absent} on {visit.on}"
    if span is None or span.tenths == 0:
        yield rule, f"{name} has no hours on a {visit.on:%A} ({visit.on})"
    elif not (span.from_tenths <= visit.from_tenths and visit.from_tenths + visit.tenths <= span.to_tenths):
        end = visit.from_tenths + visit.tenths
        to = clock_text(end) if end <= 24 * 10 else "after midnight"
        yield (
            rule,
            f"it runs from {clock_text(visit.from_tenths)} to {to}, outside the hours of {name} on {visit.on}"
            f" ({clock_text(span.from_tenths)} to {clock_text(span.to_tenths)})",
        )


def _asked_for(on: date, request: VisitRequest) -> Iterator[tuple[str, str]]:
    wishes = request.wishes
    if wishes.not_before_on is not None and on < wishes.not_before_on:
        yield "wishes", f"the owner wishes it not before {wishes.not_before_on}"
    if wishes.not_after_on is not None and on > wishes.not_after_on:
        yield "wishes", f"the owner wishes it not after {wishes.not_after_on}"
    for span in wishes.not_in:
        if _inside([span], on):
            yield "wishes", f"the owner wishes it not in {span.from_on} to {span.to_on}"
    if request.parts_on is not None and on < request.parts_on:
        yield "parts", f"its parts come on {request.parts_on} only"


def _inside(spans: Iterable[DateSpan], on: date) -> bool:
    return any(span.from_on <= on and on <= span.to_on for span in spans)

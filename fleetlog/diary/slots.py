"""Free time on one day: the first stretch that a technician and a place have in common beside the booked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from fleetlog.diary.shop import BookedVisit, Shop


@dataclass(frozen=True, slots=True)
class Slot:
    """Who, where, and from when, in tenths of an hour since midnight."""

    technician: str
    place: str
    from_tenths: int


def first_slot(
    shop: Shop,
    booked: Iterable[BookedVisit],
    on: date,
    tenths: int,
    skills: frozenset[str] = frozenset(),
    place_kinds: frozenset[str] | None = None,
    technician: str | None = None,
    place: str | None = None,
    boat_id: str | None = None,
) -> Slot | None:
    """The earliest free stretch of a day, of the people and places that will do; None where there is none.

    A technician or a place that is named is taken whatever its skills or kind. While the boat is elsewhere
    in the shop it is not free either.
    """
    taken = [visit for visit in booked if visit.on == on]
    best: Slot | None = None
    for person in shop.technicians:
        if person.name != technician if technician else not person.skills >= skills:
            continue
        works = shop.technician_time(person, on)
        for bay in shop.places:
            suits = bay.name == place if place else place_kinds is None or bay.kind in place_kinds
            is_open = shop.place_time(bay, on) if suits else None
            if works is None or is_open is None:
                continue
            start = max(works.from_tenths, is_open.from_tenths)
            end = min(works.to_tenths, is_open.to_tenths)
            busy = sorted(
                (v.from_tenths, v.from_tenths + v.tenths)
                for v in taken
                if v.technician == person.name or v.place == bay.name or v.boat_id == boat_id
            )
            found = _gap(start, end, busy, tenths)
            if found is not None and (best is None or found < best.from_tenths):
                best = Slot(person.name, bay.name, found)
    return best


def _gap(start: int, end: int, busy: Sequence[tuple[int, int]], tenths: int) -> int | None:
    for from_tenths, to_tenths in busy:
        if start + tenths <= from_tenths:
            break
        start = max(start, to_tenths)
    return start if start + tenths <= end else None

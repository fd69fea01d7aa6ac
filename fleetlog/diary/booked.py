"""The visits already booked, held against the shop: they stay, but what doesn't agree is said."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from fleetlog.diary.shop import BookedVisit, Shop


def booking_problems(
    booked: Sequence[BookedVisit], shop: Shop, from_on: date, to_on: date
) -> tuple[str, ...]:
    """One sentence for each booked visit of the period that the shop, as it is, cannot hold."""
    technicians = {technician.name: technician for technician in shop.technicians}
    places = {place.name: place for place in shop.places}
    found = []
    in_period = sorted(
        (visit for visit in booked if from_on <= visit.on <= to_on), key=lambda v: (v.on, v.visit_id)
    )
    for number, visit in enumerate(in_period):
        name = f"visit {visit.visit_id}, booked on {visit.on}"
        if closure := shop.closure_on(visit.on):
            found.append(f"{name}: the shop is closed ({closure.why}); release it or open the day")
            continue
        for what, known, span in (
            (
                f"technician {visit.technician}",
                visit.technician in technicians,
                shop.technician_time(technicians[visit.technician], visit.on)
                if visit.technician in technicians
                else None,
            ),
            (
                f"place {visit.place}",
                visit.place in places,
                shop.place_time(places[visit.place], visit.on) if visit.place in places else None,
            ),
        ):
            if not known:
                found.append(f"{name}: {what} is not known; release it or add them")
            elif span is None:
                found.append(f"{name}: {what} is not available on that day; release it or change the day")
            elif visit.from_tenths < span.from_tenths or visit.from_tenths + visit.tenths > span.to_tenths:
                found.append(f"{name}: runs outside the hours of {what}; release it or change its time")
        for other in in_period[:number]:
            if (
                other.on == visit.on
                and other.from_tenths < visit.from_tenths + visit.tenths
                and visit.from_tenths < other.from_tenths + other.tenths
                and (other.technician == visit.technician or other.place == visit.place)
            ):
                found.append(f"{name}: shares its time with visit {other.visit_id}; release one of them")
    return tuple(found)

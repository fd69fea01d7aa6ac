"""What of the diary waits for a person: bookings that are past or break a rule, a plan that holds no more."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from fleetlog.diary.rules import broken_rules
from fleetlog.diary.shop import BookedVisit
from fleetlog.domain.bookings import BookingState, bookings_of
from fleetlog.domain.diary_records import jobs_from_text
from fleetlog.errors.diary import ShopInLogUnreadable
from fleetlog.store.reader import Reader
from fleetlog.usecases.diary.latest import latest_plan
from fleetlog.usecases.diary.placing import Placing
from fleetlog.usecases.diary.setup import unknown_to_schedules
from fleetlog.usecases.diary.work import booked_visits, past_bookings


def diary_remarks(reader: Reader, today: date) -> list[str]:
    """One sentence for each open booking that is past or breaks a rule by now, and one for the latest plan.

    They are judged by the newest shop and today's wishes, and by the rules that plans are checked by. A log
    without a shop has nothing to say.
    """
    bookings = bookings_of(reader.rows("bookings"), today)
    if not reader.rows("shop"):
        return []
    try:
        placing = Placing(reader, bookings, today)
    except ShopInLogUnreadable as error:
        return [str(error)]
    boats = reader.boats()
    open_ones = [booking for booking in bookings if booking.is_open]
    said = past_bookings(bookings, boats, today) + unknown_to_schedules(placing.setup, reader.schedules())
    to_come = [booking for booking in open_ones if booking.on >= today]
    held = booked_visits(placing.setup.shop, to_come)
    asked = {
        (name := f"booking {b.booking_id}"): placing.request(name, b.boat_id, b.on, b.tenths, b.jobs)
        for b in to_come
    }
    reasons = {f"booking {b.booking_id}": b.reason for b in to_come}
    for broken in broken_rules(held, asked, placing.setup.shop):
        agreed = [reason for visit_id in broken.visit_ids if (reason := reasons.get(visit_id))]
        words = f" (agreed: {'; '.join(agreed)})" if agreed else ""
        said.append(f"{' and '.join(broken.visit_ids)}: {broken.text}{words}; move or release it")
    return said + _of_plan(reader, placing, bookings, held, today)


def _of_plan(
    reader: Reader,
    placing: Placing,
    bookings: Sequence[BookingState],
    held: Sequence[BookedVisit],
    today: date,
) -> list[str]:
    """What the visits to come of the latest plan break, in one sentence for all; and what is in none."""
    latest = latest_plan(reader, bookings, today)
    if latest is None:
        return []
    proposed: dict[str, BookedVisit] = {}
    asked = {}
    for visit, on in latest.to_come(today):
        jobs = jobs_from_text(visit.jobs)
        proposed[visit.visit] = BookedVisit(
            visit.visit, visit.boat_id, on, visit.place or "", visit.technician or "",
            visit.from_tenths or 0, visit.tenths, visit.lifts or 0,
        )  # fmt: skip
        asked[visit.visit] = placing.request(visit.visit, visit.boat_id, on, visit.tenths, jobs)
    broken = [
        found
        for found in broken_rules([*held, *proposed.values()], asked, placing.setup.shop)
        if proposed.keys() & set(found.visit_ids)
    ]
    if not broken:
        return latest.said
    count = len(proposed.keys() & {visit_id for found in broken for visit_id in found.visit_ids})
    return [
        f"plan {latest.plan.plan_id}: {count} of its visits no longer hold, the first since {broken[0].text};"
        " plan again: fleetlog diary plan",
        *latest.said,
    ]

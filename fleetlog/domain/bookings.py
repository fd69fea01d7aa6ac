"""What is agreed on a day: the bookings as their rows left them, and the wishes that hold."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime

from fleetlog.domain.diary_records import BOOKED, DONE, Booking, Job, JobKey, Wish, jobs_from_text
from fleetlog.domain.values import value_class


@value_class(frozen=True, slots=True)
class BookingState:
    """A booking as its latest row left it.

    `change` is what that row said: booked, released or done. `sequence` counts the changes after the first;
    `booked_at` is the moment of the first row. `from_tenths` is None where no hour was set.
    """

    booking_id: str
    boat_id: str
    on: date
    from_tenths: int | None
    tenths: int
    technician: str
    place: str
    lifts: int
    jobs: tuple[Job, ...]
    change: str
    sequence: int
    booked_at: datetime
    changed_at: datetime
    by: str
    visit_id: str | None = None
    reason: str | None = None

    @property
    def is_open(self) -> bool:
        """Whether it is agreed and still to be done."""
        return self.change == BOOKED


def bookings_of(rows: Iterable[Booking], today: date) -> list[BookingState]:
    """Every booking as it stands on a day, by day and time; rows made after that day are not seen."""
    states: dict[str, BookingState] = {}
    for row in rows:
        if row.at.date() > today:
            continue
        before = states.get(row.booking_id)
        if row.change == BOOKED:
            states[row.booking_id] = _agreed(row, before)
        elif before is not None:
            states[row.booking_id] = replace(
                before,
                change=row.change,
                sequence=before.sequence + 1,
                changed_at=row.at,
                by=row.by,
                visit_id=row.visit_id or before.visit_id,
                reason=row.reason,
            )
    return sorted(states.values(), key=lambda s: (s.on, s.from_tenths or 0, s.booking_id))


def _agreed(row: Booking, before: BookingState | None) -> BookingState:
    if row.boat_id is None or row.on is None or row.tenths is None or not row.technician or not row.place:
        raise ValueError(f"booking {row.booking_id} says too little")
    return BookingState(
        row.booking_id,
        row.boat_id,
        row.on,
        row.from_tenths,
        row.tenths,
        row.technician,
        row.place,
        row.lifts or 0,
        jobs_from_text(row.jobs),
        row.change,
        0 if before is None else before.sequence + 1,
        row.at if before is None else before.booked_at,
        row.at,
        row.by,
        reason=row.reason,
    )


def jobs_held(bookings: Iterable[BookingState]) -> frozenset[JobKey]:
    """The keys of the jobs of open bookings: they are to be done then, and no plan takes them."""
    return frozenset(job.key for booking in bookings if booking.is_open for job in booking.jobs)


def jobs_done_since(bookings: Iterable[BookingState], at: datetime) -> frozenset[JobKey]:
    """The keys of the jobs of bookings that were done after a moment: a plan of then has them no longer."""
    done = (b for b in bookings if b.change == DONE and b.changed_at > at)
    return frozenset(job.key for booking in done for job in booking.jobs)


def wishes_on(wishes: Iterable[Wish], today: date) -> list[Wish]:
    """The wishes that hold on a day."""
    return [
        wish
        for wish in wishes
        if (wish.told_on is None or wish.told_on <= today)
        and (wish.withdrawn_on is None or wish.withdrawn_on > today)
    ]

"""Bookings: a planned visit agreed with its owner, moved, or released; each change a row of its own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from fleetlog.domain.batch import Batch
from fleetlog.domain.bookings import BookingState, bookings_of
from fleetlog.domain.diary_records import BOOKED, RELEASED, Booking, DiaryVisit, jobs_from_text, jobs_text
from fleetlog.domain.nearest import nearest
from fleetlog.domain.records import name_of
from fleetlog.domain.words import name_key
from fleetlog.errors.diary import BookedAlready, BookingEnded, NoPlan, NotInPlan
from fleetlog.errors.naming import Ambiguous, NotKnown
from fleetlog.errors.recording import NothingToChange
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.diary.latest import latest_plan
from fleetlog.usecases.diary.placing import Agreement, Placing
from fleetlog.usecases.finding import find_boat
from fleetlog.usecases.occasion import Occasion, new_id


@dataclass(frozen=True, slots=True)
class Booked:
    """A booking as it was written, and the rules that it breaks since it was wanted anyway."""

    row: Booking
    against: Sequence[str]


@again_if_lost
def book_visit(log: Log, occasion: Occasion, typed: str, agreed: Agreement) -> Booked:
    """Agree a visit of the latest plan (by its name or its boat's), or any of a boat with a day and hours.

    Raises NotInPlan, BookedAlready, NoFreeTime, SlotNotFree, NotKnown and what `find_boat` raises.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        writer.alone_with("bookings")
        bookings = bookings_of(writer.rows("bookings"), occasion.today)
        latest = latest_plan(writer, bookings, occasion.today)
        visits = [*latest.visits, *latest.booked] if latest else []
        visit = _find_visit(writer, visits, typed)
        row = Booking(
            new_id("c"), new_id("b"), BOOKED, occasion.said_at, occasion.by, reason=agreed.reason,
            on=agreed.on, tenths=agreed.tenths,
        )  # fmt: skip
        if visit is None:
            if agreed.on is None or agreed.tenths is None:
                if latest is None:
                    raise NoPlan()
                raise NotInPlan(typed, None)
            row = replace(row, boat_id=find_boat(writer, typed).boat_id)
        else:
            wanted = {job.key for job in jobs_from_text(visit.jobs)}
            for state in bookings:
                if state.is_open and any(job.key in wanted for job in state.jobs):
                    raise BookedAlready(typed, state.booking_id, state.on)
            if agreed.on is None and visit.on is None:
                raise NotInPlan(typed, visit.why_not)
            row = _of_plan(row, visit)
        row, against = Placing(writer, bookings, occasion.today).placed(row, agreed)
        writer.add(Batch(bookings=[row]))
        return Booked(row, against)


def _of_plan(row: Booking, visit: DiaryVisit) -> Booking:
    """The row with what a visit of a plan says: its time, person and place only where it keeps the day."""
    row = replace(
        row, boat_id=visit.boat_id, on=row.on or visit.on, tenths=row.tenths or visit.tenths,
        lifts=visit.lifts or 0, jobs=visit.jobs,
    )  # fmt: skip
    if row.on != visit.on:
        return row
    return replace(row, from_tenths=visit.from_tenths, technician=visit.technician, place=visit.place)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A visit of the plan that was not booked, and the first rule that it would break by now."""

    boat: str
    on: date
    why: str


@again_if_lost
def book_all(log: Log, occasion: Occasion, to_on: date | None) -> tuple[list[Booking], list[LeftOut]]:
    """Agree every visit of the latest plan up to a day; those booked already are left alone.

    Gives the bookings, and the visits that no longer fit beside what came since the plan was made.
    Raises NoPlan or NoShop.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        writer.alone_with("bookings")
        bookings = bookings_of(writer.rows("bookings"), occasion.today)
        latest = latest_plan(writer, bookings, occasion.today)
        if latest is None:
            raise NoPlan()
        placing = Placing(writer, bookings, occasion.today)
        boats = writer.boats()
        rows: list[Booking] = []
        left: list[LeftOut] = []
        for visit, on in latest.to_come(occasion.today):
            if to_on is not None and on > to_on:
                continue
            row = _of_plan(Booking(new_id("c"), new_id("b"), BOOKED, occasion.said_at, occasion.by), visit)
            problems = placing.problems(row)
            if problems:
                left.append(LeftOut(name_of(boats, visit.boat_id), on, problems[0]))
                continue
            placing.hold(row)
            rows.append(row)
        if rows:
            writer.add(Batch(bookings=rows))
        return rows, left


@again_if_lost
def move_booking(log: Log, occasion: Occasion, booking: str, agreed: Agreement) -> Booked:
    """Agree another day, time or place.

    One without an hour keeps none unless one is said. Raises NotKnown, BookingEnded, NothingToChange,
    NoFreeTime, SlotNotFree.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        writer.alone_with("bookings")
        state = needed_booking(writer, occasion, booking)
        if replace(agreed, anyway=False, reason=None) == Agreement():
            raise NothingToChange("booking", state.booking_id)
        moved_day = agreed.on is not None and agreed.on != state.on
        row = Booking(
            new_id("c"), state.booking_id, BOOKED, occasion.said_at, occasion.by, state.boat_id,
            agreed.on or state.on, None if moved_day else state.from_tenths, agreed.tenths or state.tenths,
            None if moved_day else state.technician, None if moved_day else state.place, state.lifts,
            jobs_text(state.jobs), reason=agreed.reason,
        )  # fmt: skip
        if state.from_tenths is None and agreed.from_tenths is None:
            agreed = replace(agreed, all_day=True)
        bookings = bookings_of(writer.rows("bookings"), occasion.today)
        row, against = Placing(writer, bookings, occasion.today).placed(row, agreed)
        writer.add(Batch(bookings=[row]))
        return Booked(row, against)


@again_if_lost
def release_booking(log: Log, occasion: Occasion, booking: str, reason: str | None) -> BookingState:
    """Give a booking up: its work is planned anew. Raises NotKnown or BookingEnded."""
    with log.writing(occasion.by, occasion.at) as writer:
        writer.alone_with("bookings")
        state = needed_booking(writer, occasion, booking)
        row = Booking(new_id("c"), state.booking_id, RELEASED, occasion.said_at, occasion.by, reason=reason)
        writer.add(Batch(bookings=[row]))
        return state


def _find_visit(reader: Reader, visits: Sequence[DiaryVisit], typed: str) -> DiaryVisit | None:
    wanted = name_key(typed)
    by_name = [visit for visit in visits if name_key(visit.visit) == wanted]
    if by_name:
        return by_name[0]
    boat = find_boat(reader, typed)
    return next((visit for visit in visits if visit.boat_id == boat.boat_id), None)


def needed_booking(reader: Reader, occasion: Occasion, typed: str) -> BookingState:
    """The booking of an id, or the only open one of a boat, as it stands today.

    Raises NotKnown, Ambiguous, or BookingEnded where it was released or done.
    """
    states = {s.booking_id: s for s in bookings_of(reader.rows("bookings"), occasion.today)}
    state = states.get(typed) or _open_booking_of_boat(reader, typed, states)
    if not state.is_open:
        raise BookingEnded(state.booking_id, state.change, state.changed_at.date())
    return state


def _open_booking_of_boat(reader: Reader, typed: str, states: Mapping[str, BookingState]) -> BookingState:
    unknown = NotKnown("booking", typed, nearest(typed, states), "fleetlog diary show lists them")
    try:
        boat = find_boat(reader, typed)
    except NotKnown:
        raise unknown from None
    found = [s for s in states.values() if s.is_open and s.boat_id == boat.boat_id]
    if not found:
        raise unknown
    if len(found) > 1:
        raise Ambiguous("booking", typed, [f"{s.booking_id} of {s.on}" for s in found])
    return found[0]

"""Bookings: a planned visit agreed with its owner, moved, released, or done; each change a row of its own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from fleetlog.diary.booked import booking_problems
from fleetlog.diary.requests import RequestTerms
from fleetlog.diary.shop import BAY, BookedVisit, Shop
from fleetlog.diary.slots import first_slot
from fleetlog.domain.batch import Batch
from fleetlog.domain.bookings import BookingState, bookings_of
from fleetlog.domain.diary_records import (
    BOOKED,
    DONE,
    RELEASED,
    Booking,
    DiaryPlan,
    DiaryVisit,
    Job,
    clock_text,
    jobs_from_text,
    jobs_text,
)
from fleetlog.domain.hours import hours_text
from fleetlog.domain.nearest import nearest
from fleetlog.domain.records import Boat, Visit
from fleetlog.domain.schedule import Rule
from fleetlog.domain.words import name_key
from fleetlog.errors import (
    AlreadyThere,
    BookedAlready,
    BookingEnded,
    NoFreeTime,
    NoPlan,
    NotInPlan,
    NotInTheFuture,
    NotKnown,
    SlotNotFree,
)
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.diary_cards import cards_for, cards_of_log, rule_of_job
from fleetlog.usecases.diary_planning import latest_plan
from fleetlog.usecases.diary_work import booked_visits, needed_shop
from fleetlog.usecases.finding import find_boat
from fleetlog.usecases.occasion import Occasion, new_id


@dataclass(frozen=True, slots=True)
class Agreement:
    """What is agreed of a visit; what is None is taken from the plan, or found free."""

    on: date | None = None
    from_tenths: int | None = None
    tenths: int | None = None
    technician: str | None = None
    place: str | None = None
    all_day: bool = False
    anyway: bool = False
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class Diary:
    """The latest plan and the bookings, with the names of boats."""

    plan: DiaryPlan | None
    visits: Sequence[DiaryVisit]
    bookings: Sequence[BookingState]
    boats: Mapping[str, Boat]


def look_at_diary(log: Log, occasion: Occasion) -> Diary:
    """The latest plan and every booking as of today."""
    with log.reading() as reader:
        latest = latest_plan(reader, occasion.today)
        return Diary(
            latest[0] if latest else None,
            latest[1] if latest else [],
            bookings_of(reader.rows("bookings"), occasion.today),
            reader.boats(),
        )


def diary_rows(
    diary: Diary, from_on: date | None, to_on: date | None, *, ended: bool
) -> list[dict[str, Any]]:
    """One row a visit: booked ones, then planned ones that are not booked, those without a day last."""
    taken = {job.key for b in diary.bookings if b.is_open for job in b.jobs}
    rows = [_booking_row(b, diary.boats) for b in diary.bookings if b.is_open or ended]
    for visit in diary.visits:
        jobs = jobs_from_text(visit.jobs)
        if not jobs or not all(job.key in taken for job in jobs):
            rows.append(_visit_row(visit, jobs, diary.boats))
    rows = [r for r in rows if r["on"] is None or _within(r["on"], from_on, to_on)]
    rows.sort(key=lambda r: (r["on"] or "9999", r["from"] or "", r["visit"]))
    return rows


def _within(on: str, from_on: date | None, to_on: date | None) -> bool:
    day = date.fromisoformat(on)
    return (from_on is None or day >= from_on) and (to_on is None or day <= to_on)


def _booking_row(booking: BookingState, boats: Mapping[str, Boat]) -> dict[str, Any]:
    return {
        "state": booking.change,
        "visit": booking.booking_id,
        "boat": boats[booking.boat_id].name if booking.boat_id in boats else booking.boat_id,
        "boat_id": booking.boat_id,
        "on": booking.on.isoformat(),
        "from": None if booking.from_tenths is None else clock_text(booking.from_tenths),
        "hours": booking.tenths / 10,
        "technician": booking.technician,
        "place": booking.place,
        "jobs": len(booking.jobs),
        "first_on": None,
        "last_on": None,
        "changes": booking.sequence,
        "by": booking.by,
        "why": booking.reason,
        "remedy": None,
        "lines": [_job_row(job) for job in booking.jobs],
    }


def _visit_row(visit: DiaryVisit, jobs: Sequence[Job], boats: Mapping[str, Boat]) -> dict[str, Any]:
    return {
        "state": "planned" if visit.on else "no day",
        "visit": visit.visit,
        "boat": boats[visit.boat_id].name if visit.boat_id in boats else visit.boat_id,
        "boat_id": visit.boat_id,
        "on": visit.on.isoformat() if visit.on else None,
        "from": None if visit.from_tenths is None else clock_text(visit.from_tenths),
        "hours": visit.tenths / 10,
        "technician": visit.technician,
        "place": visit.place,
        "jobs": len(jobs),
        "first_on": visit.first_on.isoformat() if visit.first_on else None,
        "last_on": visit.last_on.isoformat() if visit.last_on else None,
        "changes": None,
        "by": None,
        "why": visit.why_not,
        "remedy": visit.remedy,
        "lines": [_job_row(job) for job in jobs],
    }


def _job_row(job: Job) -> dict[str, Any]:
    return {
        "serial": job.serial,
        "rule": job.rule,
        "position": job.position,
        "why": job.why,
        "owed": job.owed,
    }


@again_if_lost
def book_visit(log: Log, occasion: Occasion, typed: str, agreed: Agreement) -> Booking:
    """Agree a visit of the latest plan (by its name or its boat's), or any of a boat with a day and hours.

    Raises NotInPlan, BookedAlready, NoFreeTime, SlotNotFree and what `find_boat` raises.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        latest = latest_plan(writer, occasion.today)
        visit = _find_visit(writer, latest[1] if latest else [], typed)
        if visit is None:
            if agreed.on is None or agreed.tenths is None:
                if latest is None:
                    raise NoPlan()
                raise NotInPlan(typed, None)
            boat_id, jobs, tenths, lifts = find_boat(writer, typed).boat_id, None, agreed.tenths, 0
        else:
            boat_id, jobs, lifts = visit.boat_id, visit.jobs, visit.lifts or 0
            tenths = agreed.tenths or visit.tenths
            wanted = {job.key for job in jobs_from_text(jobs)}
            for state in bookings_of(writer.rows("bookings"), occasion.today):
                if state.is_open and any(job.key in wanted for job in state.jobs):
                    raise BookedAlready(typed, state.booking_id, state.on)
            if agreed.on is None and visit.on is None:
                raise NotInPlan(typed, visit.why_not)
        row = Booking(
            new_id("c"), new_id("b"), BOOKED, occasion.said_at, occasion.by, boat_id,
            agreed.on or (visit.on if visit else None), tenths=tenths, lifts=lifts, jobs=jobs,
            reason=agreed.reason,
        )  # fmt: skip
        keeps_day = visit is not None and row.on == visit.on
        if keeps_day and visit is not None:
            row = replace(row, from_tenths=visit.from_tenths, technician=visit.technician, place=visit.place)
        row = _placed(writer, occasion, row, agreed)
        writer.add(Batch(bookings=[row]))
        return row


@again_if_lost
def book_all(log: Log, occasion: Occasion, to_on: date | None) -> tuple[list[Booking], int]:
    """Agree every visit of the latest plan up to a day; those booked already are left alone.

    Gives the bookings, and how many visits no longer fit beside what was booked since the plan was made.
    Raises NoPlan or NoShop.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        latest = latest_plan(writer, occasion.today)
        if latest is None:
            raise NoPlan()
        open_jobs = {
            job.key
            for b in bookings_of(writer.rows("bookings"), occasion.today)
            if b.is_open
            for job in b.jobs
        }
        rows = [
            Booking(
                new_id("c"),
                new_id("b"),
                BOOKED,
                occasion.said_at,
                occasion.by,
                visit.boat_id,
                visit.on,
                visit.from_tenths,
                visit.tenths,
                visit.technician,
                visit.place,
                visit.lifts or 0,
                visit.jobs,
            )
            for visit in latest[1]
            if visit.on is not None
            and visit.on >= occasion.today
            and (to_on is None or visit.on <= to_on)
            and not any(job.key in open_jobs for job in jobs_from_text(visit.jobs))
        ]
        shop = needed_shop(writer).shop
        states = bookings_of(writer.rows("bookings"), occasion.today)
        taken = booked_visits(shop, states)
        fitting = []
        for row in rows:
            mine = _as_booked(row)
            if not _problems(shop, taken, mine):
                fitting.append(row)
                taken.append(mine)
        if fitting:
            writer.add(Batch(bookings=fitting))
        return fitting, len(rows) - len(fitting)


@again_if_lost
def move_booking(log: Log, occasion: Occasion, booking_id: str, agreed: Agreement) -> Booking:
    """Agree another day, time or place. Raises NotKnown, BookingEnded, NoFreeTime, SlotNotFree."""
    with log.writing(occasion.by, occasion.at) as writer:
        state = _needed(writer, occasion, booking_id)
        moved_day = agreed.on is not None and agreed.on != state.on
        row = Booking(
            new_id("c"), booking_id, BOOKED, occasion.said_at, occasion.by, state.boat_id,
            agreed.on or state.on, None if moved_day else state.from_tenths, agreed.tenths or state.tenths,
            None if moved_day else state.technician, None if moved_day else state.place, state.lifts,
            jobs_text(state.jobs), reason=agreed.reason,
        )  # fmt: skip
        row = _placed(writer, occasion, row, agreed)
        writer.add(Batch(bookings=[row]))
        return row


@again_if_lost
def release_booking(log: Log, occasion: Occasion, booking_id: str, reason: str | None) -> BookingState:
    """Give a booking up: its work is planned anew. Raises NotKnown or BookingEnded."""
    with log.writing(occasion.by, occasion.at) as writer:
        state = _needed(writer, occasion, booking_id)
        row = Booking(new_id("c"), booking_id, RELEASED, occasion.said_at, occasion.by, reason=reason)
        writer.add(Batch(bookings=[row]))
        return state


@dataclass(frozen=True, slots=True)
class DoneVisit:
    """The visit that a booking became: the jobs to be recorded, and the work cards for its engines."""

    visit: Visit
    booking: BookingState
    rules: Sequence[tuple[Job, Rule | None]]
    cards: Sequence[tuple[str, str]]


@again_if_lost
def booking_done(
    log: Log, occasion: Occasion, booking_id: str, on: date | None, visit_id: str | None
) -> DoneVisit:
    """The boat has come: makes the visit that the work is recorded in, and names its work cards.

    Raises NotKnown, BookingEnded, NotInTheFuture, AlreadyThere.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        state = _needed(writer, occasion, booking_id)
        opened_on = on or min(state.on, occasion.today)
        if opened_on > occasion.today:
            raise NotInTheFuture("a visit", opened_on, occasion.today)
        visit = Visit(visit_id or new_id("v"), state.boat_id, opened_on, why="booked service")
        if writer.existing("visits", [visit.visit_id]):
            raise AlreadyThere("visit", visit.visit_id)
        row = Booking(new_id("c"), booking_id, DONE, occasion.said_at, occasion.by, visit_id=visit.visit_id)
        writer.add(Batch(visits=[visit], bookings=[row]))
        schedules, engines = writer.schedules(), writer.engines()
        rules = [(job, rule_of_job(job, engines, schedules)) for job in state.jobs]
        cards = cards_for(state.jobs, engines, schedules, cards_of_log(writer))
        return DoneVisit(visit, state, rules, cards)


def _find_visit(reader: Reader, visits: Sequence[DiaryVisit], typed: str) -> DiaryVisit | None:
    wanted = name_key(typed)
    by_name = [visit for visit in visits if name_key(visit.visit) == wanted]
    if by_name:
        return by_name[0]
    boat = find_boat(reader, typed)
    return next((visit for visit in visits if visit.boat_id == boat.boat_id), None)


def _needed(reader: Reader, occasion: Occasion, booking_id: str) -> BookingState:
    states = {s.booking_id: s for s in bookings_of(reader.rows("bookings"), occasion.today)}
    state = states.get(booking_id)
    if state is None:
        near = nearest(booking_id, states)
        raise NotKnown("booking", booking_id, near, "fleetlog diary show lists them")
    if not state.is_open:
        raise BookingEnded(booking_id, state.change, state.changed_at.date())
    return state


def _placed(reader: Reader, occasion: Occasion, row: Booking, agreed: Agreement) -> Booking:
    """The row with technician, place and time, as said or as they are free, held against the shop."""
    setup = needed_shop(reader)
    others = [
        b
        for b in bookings_of(reader.rows("bookings"), occasion.today)
        if b.is_open and b.booking_id != row.booking_id
    ]
    taken = booked_visits(setup.shop, others)
    on, tenths = row.on, row.tenths
    assert on is not None
    assert tenths is not None
    technician = agreed.technician or row.technician
    place = agreed.place or row.place
    start = agreed.from_tenths if agreed.from_tenths is not None else row.from_tenths
    if agreed.tenths and row.from_tenths is not None and agreed.from_tenths is None:
        start = row.from_tenths
    if technician is None or place is None or start is None:
        skills, kinds = _asked(reader, row, setup.terms)
        slot = first_slot(setup.shop, taken, on, tenths, skills, kinds, technician, place)
        if slot is None and not (agreed.anyway and technician and place):
            raise NoFreeTime(on, hours_text(tenths))
        if slot is not None:
            technician, place = slot.technician, slot.place
            start = slot.from_tenths if start is None else start
    row = replace(row, technician=technician, place=place, from_tenths=None if agreed.all_day else start)
    if not agreed.anyway and not agreed.all_day and start is not None:
        problems = _problems(setup.shop, taken, _as_booked(row))
        if problems:
            raise SlotNotFree([text.replace("visit wanted, booked", "this visit,") for text in problems])
    return row


def _as_booked(row: Booking) -> BookedVisit:
    """A row that says all of what is agreed, as the planner takes it."""
    assert row.on is not None
    assert row.tenths is not None
    return BookedVisit(
        "wanted",
        row.boat_id or "",
        row.on,
        row.place or "",
        row.technician or "",
        row.from_tenths or 0,
        row.tenths,
        row.lifts or 0,
    )


def _problems(shop: Shop, taken: Sequence[BookedVisit], mine: BookedVisit) -> list[str]:
    """What is wrong with a visit that is to be booked beside others, in sentences."""
    return [t for t in booking_problems([*taken, mine], shop, mine.on, mine.on) if "visit wanted" in t]


def _asked(reader: Reader, row: Booking, terms: RequestTerms) -> tuple[frozenset[str], frozenset[str] | None]:
    """The skills and kinds of place that the jobs of a booking ask for."""
    jobs = jobs_from_text(row.jobs)
    if not jobs:
        return frozenset(), None
    engines, schedules = reader.engines(), reader.schedules()
    skills: frozenset[str] = frozenset()
    places: frozenset[str] | None = None
    for job in jobs:
        rule = rule_of_job(job, engines, schedules)
        if rule is None:
            continue
        skills |= terms.skills_by_item.get(rule.item, frozenset())
        access = None if rule.access in (None, "none") else rule.access
        kinds = terms.places_by_access.get(access, frozenset({BAY}))
        places = kinds if places is None else places & kinds
    return skills, places or (frozenset({BAY}) if places is not None else None)

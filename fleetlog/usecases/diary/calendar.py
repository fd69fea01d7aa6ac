"""The bookings as a calendar: for the shop, for one technician, for one owner."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from fleetlog.domain.bookings import BookingState, bookings_of
from fleetlog.domain.diary_records import RELEASED, DiaryVisit, Job, jobs_from_text
from fleetlog.domain.records import Boat, Engine, name_of
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.words import with_position
from fleetlog.errors.diary import CalendarNotWritten, TimeZoneNotKnown
from fleetlog.exchange.calendar_file import (
    CANCELLED,
    CONFIRMED,
    TENTATIVE,
    CalendarVisit,
    calendar_text,
    proposal_uid,
    visit_uid,
)
from fleetlog.reports.whole_files import write_whole
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.diary.cards import rule_of_job
from fleetlog.usecases.diary.latest import LatestPlan, latest_plan
from fleetlog.usecases.diary.work import named_in_shop, needed_shop
from fleetlog.usecases.finding import find_owner
from fleetlog.usecases.occasion import Occasion


@dataclass(frozen=True, slots=True)
class _Register:
    """What visits are told by."""

    boats: Mapping[str, Boat]
    engines: Mapping[str, Engine]
    schedules: Mapping[str, Schedule]
    for_owner: bool


def make_calendar(
    log: Log,
    occasion: Occasion,
    out: Path,
    technician: str | None = None,
    owner: str | None = None,
    *,
    with_plan: bool = False,
) -> int:
    """Write the calendar of the shop, of one technician or of one owner's boats; how many visits are in it.

    Visits that were released are in it as cancelled, so that a calendar that has them takes them out. With
    the plan, what it proposes is tentative, and what an earlier one proposed and it does not is cancelled.
    Raises NoShop, TimeZoneNotKnown, NotKnown or CalendarNotWritten.
    """
    with log.reading() as reader:
        setup = needed_shop(reader)
        if setup.time_zone is None:
            raise TimeZoneNotKnown
        changes = reader.rows("bookings")
        bookings = bookings_of(changes, occasion.today)
        register = _Register(reader.boats(), reader.engines(), reader.schedules(), owner is not None)
        plans = {p.plan_id: p for p in reader.rows("plans") if p.at.date() <= occasion.today}
        latest = latest_plan(reader, bookings, occasion.today)
        proposed = [v for v in reader.rows("plan_visits") if v.plan_id in plans] if with_plan else []
        name = setup.name
        if technician is not None:
            wanted = named_in_shop(
                "technician",
                technician,
                {t.name for t in setup.shop.technicians} | {b.technician for b in bookings},
            )
            bookings = [b for b in bookings if b.technician == wanted]
            proposed = [v for v in proposed if v.technician == wanted]
            name = f"{setup.name}: {wanted}"
        elif owner is not None:
            found = find_owner(reader, owner)
            own = _boats_of(reader, found.owner_id, occasion)
            bookings = [b for b in bookings if b.boat_id in own]
            proposed = [v for v in proposed if v.boat_id in own]
            name = f"{setup.name}: {found.name}"
    visits = [_visit(booking, register) for booking in bookings]
    if latest is not None:
        visits += _proposals(
            proposed, list(plans), latest, len(changes), setup.name, occasion.today, register
        )
    hand_out(out, calendar_text(name, visits, setup.time_zone))
    return len(visits)


def _boats_of(reader: Reader, owner_id: str, occasion: Occasion) -> set[str]:
    return {
        boat_id
        for boat_id, ledger in reader.boat_ledgers().items()
        if ledger.owner_id_on(occasion.today) == owner_id
    }


def _proposals(
    visits: Sequence[DiaryVisit],
    plans: Sequence[str],
    latest: LatestPlan,
    changes: int,
    shop: str,
    today: date,
    register: _Register,
) -> list[CalendarVisit]:
    """The days proposed from today on: those of the latest plan, and as cancelled those it gave up.

    `plans` are all in the order in which they were made, `visits` theirs. What becomes of a proposal changes
    with a plan or with one of the `changes` of bookings: together they are its SEQUENCE.
    """
    sequence = len(plans) + changes
    made = {plan_id: number for number, plan_id in enumerate(plans)}
    in_order = sorted(visits, key=lambda visit: made[visit.plan_id])
    standing = {(visit.plan_id, visit.visit) for visit in latest.visits}
    last_proposed = {v.visit: v for v in in_order if v.on is not None and v.on >= today}
    found = []
    for visit in last_proposed.values():
        assert visit.on is not None
        jobs = jobs_from_text(visit.jobs)
        boat = name_of(register.boats, visit.boat_id)
        found.append(
            CalendarVisit(
                uid=proposal_uid(shop, visit.visit),
                sequence=sequence,
                changed_at=latest.plan.at,
                on=visit.on,
                from_tenths=None if register.for_owner else visit.from_tenths,
                tenths=visit.tenths,
                summary=f"Proposed: engine service of {boat}" if register.for_owner else f"{boat} (proposed)",
                description=_job_lines(jobs, register, visit.technician),
                location="" if register.for_owner else visit.place or "",
                status=TENTATIVE if (visit.plan_id, visit.visit) in standing else CANCELLED,
            )
        )
    return found


def _visit(booking: BookingState, register: _Register) -> CalendarVisit:
    name = name_of(register.boats, booking.boat_id)
    return CalendarVisit(
        uid=visit_uid(booking.booking_id, booking.booked_at),
        sequence=booking.sequence,
        changed_at=booking.changed_at,
        on=booking.on,
        from_tenths=booking.from_tenths,
        tenths=booking.tenths,
        summary=f"Engine service: {name}" if register.for_owner else name,
        description=_job_lines(booking.jobs, register, f"{booking.technician}, booking {booking.booking_id}"),
        location=booking.place,
        status=CANCELLED if booking.change == RELEASED else CONFIRMED,
    )


def _job_lines(jobs: Iterable[Job], register: _Register, for_shop: str | None) -> str:
    """The jobs of a visit, a line each, with a last line that is not for owners."""
    lines = []
    for job in jobs:
        rule = rule_of_job(job, register.engines, register.schedules)
        lines.append(f"{job.serial}: {with_position(rule.title if rule else job.rule, job.position)}")
    if for_shop and not register.for_owner:
        lines.append(for_shop)
    return "\n".join(lines)


def hand_out(path: Path, content: bytes) -> None:
    """Write a file for others whole or not at all. Raises CalendarNotWritten."""
    try:
        write_whole(path, content)
    except OSError as error:
        raise CalendarNotWritten(path, error.strerror or str(error)) from None

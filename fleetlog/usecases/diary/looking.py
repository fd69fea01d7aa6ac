"""Looks at the diary: what is booked and what is planned, one row a visit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from fleetlog.domain.bookings import BookingState, bookings_of
from fleetlog.domain.diary_records import DiaryVisit, Job, clock_text, jobs_from_text
from fleetlog.domain.records import Boat, name_of
from fleetlog.errors import counted
from fleetlog.store.log import Log
from fleetlog.usecases.diary.latest import LatestPlan, latest_plan
from fleetlog.usecases.diary.work import past_bookings
from fleetlog.usecases.occasion import Occasion

PLANNED = "planned"
"""The state of a visit that has a day in the latest plan and is not booked."""


@dataclass(frozen=True, slots=True)
class Diary:
    """The latest plan and the bookings, with the names of boats."""

    latest: LatestPlan | None
    bookings: Sequence[BookingState]
    boats: Mapping[str, Boat]


def look_at_diary(log: Log, occasion: Occasion) -> Diary:
    """The latest plan and every booking as of today."""
    with log.reading() as reader:
        bookings = bookings_of(reader.rows("bookings"), occasion.today)
        return Diary(latest_plan(reader, bookings, occasion.today), bookings, reader.boats())


def diary_rows(
    diary: Diary, from_on: date | None, to_on: date | None, *, ended: bool
) -> list[dict[str, Any]]:
    """One row a visit: booked ones, then planned ones that still stand, those without a day last."""
    rows = [_booking_row(b, diary.boats) for b in diary.bookings if b.is_open or ended]
    for visit in diary.latest.visits if diary.latest else ():
        rows.append(_visit_row(visit, jobs_from_text(visit.jobs), diary.boats))
    rows = [r for r in rows if r["on"] is None or _within(r["on"], from_on, to_on)]
    rows.sort(key=lambda r: (r["on"] or date.max, r["from"] or "", r["visit"]))
    return rows


def what_wants_planning(diary: Diary, today: date) -> list[str]:
    """A sentence for each booking that is past and open still, for days proposed that are, for jobs left."""
    said = past_bookings(diary.bookings, diary.boats, today)
    if diary.latest is None:
        return said
    past = sum(visit.on is not None and visit.on < today for visit in diary.latest.visits)
    if past:
        said.append(
            f"{counted(past, 'visit was', 'visits were')} proposed on {diary.latest.plan.at.date()} for days"
            " that are past, and not booked; plan again: fleetlog diary plan"
        )
    return said + diary.latest.said


def _within(day: date, from_on: date | None, to_on: date | None) -> bool:
    return (from_on is None or day >= from_on) and (to_on is None or day <= to_on)


def _booking_row(booking: BookingState, boats: Mapping[str, Boat]) -> dict[str, Any]:
    return {
        "state": booking.change,
        "visit": booking.booking_id,
        "boat": name_of(boats, booking.boat_id),
        "boat_id": booking.boat_id,
        "on": booking.on,
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
        "state": PLANNED if visit.on else "no day",
        "visit": visit.visit,
        "boat": name_of(boats, visit.boat_id),
        "boat_id": visit.boat_id,
        "on": visit.on,
        "from": None if visit.from_tenths is None else clock_text(visit.from_tenths),
        "hours": visit.tenths / 10,
        "technician": visit.technician,
        "place": visit.place,
        "jobs": len(jobs),
        "first_on": visit.first_on,
        "last_on": visit.last_on,
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

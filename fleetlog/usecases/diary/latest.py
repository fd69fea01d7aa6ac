"""The plan that was made last, and which of its visits still stand beside what is booked and done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fleetlog.domain.bookings import BookingState, jobs_done_since, jobs_held
from fleetlog.domain.diary_records import DiaryPlan, DiaryVisit, Job, jobs_from_text
from fleetlog.errors import counted
from fleetlog.store.reader import Reader


@dataclass(frozen=True, slots=True)
class LatestPlan:
    """A plan with its visits by day and time, those without a day last.

    `visits` still stand. One of which any job is booked, or was done in a booking since, stands no longer:
    its day, its hours and its parts were for all of it. `booked` are those with a job in an open booking;
    `rest` the jobs of visits that stand no longer which are in no booking, and in no visit until the next
    plan.
    """

    plan: DiaryPlan
    visits: Sequence[DiaryVisit]
    booked: Sequence[DiaryVisit]
    rest: Sequence[Job]

    def to_come(self, today: date) -> list[tuple[DiaryVisit, date]]:
        """The visits that still stand, with a day from today on."""
        return [(visit, visit.on) for visit in self.visits if visit.on is not None and visit.on >= today]

    @property
    def said(self) -> list[str]:
        """A sentence on the jobs that are in no visit, if there are any."""
        if not self.rest:
            return []
        return [
            f"{counted(len(self.rest), 'job is', 'jobs are')} in no visit of the plan of"
            f" {self.plan.at.date()} any more, since others of the same visit are booked or done; plan again:"
            " fleetlog diary plan"
        ]


def latest_plan(reader: Reader, bookings: Sequence[BookingState], today: date) -> LatestPlan | None:
    """The plan made last by the end of a day, beside all bookings as of it; None where there is none."""
    plans: list[DiaryPlan] = [plan for plan in reader.rows("plans") if plan.at.date() <= today]
    if not plans:
        return None
    latest = plans[-1]
    held, done = jobs_held(bookings), jobs_done_since(bookings, latest.at)
    visits: list[DiaryVisit] = [v for v in reader.rows("plan_visits") if v.plan_id == latest.plan_id]
    visits.sort(key=lambda v: (v.on or date.max, v.from_tenths or 0, v.visit))
    standing, booked, rest = [], [], []
    for visit in visits:
        jobs = jobs_from_text(visit.jobs)
        left = [job for job in jobs if job.key not in held and job.key not in done]
        if len(left) == len(jobs):
            standing.append(visit)
            continue
        rest += left
        if any(job.key in held for job in jobs):
            booked.append(visit)
    return LatestPlan(latest, standing, booked, rest)

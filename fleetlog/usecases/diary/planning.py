"""Plans the diary: work bundled into visits, visits put on days, the plan checked and kept."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from fleetlog.diary.bundles import Bundle, BundleTerms, Bundling, bundle_work
from fleetlog.diary.held_up import divide_held_up
from fleetlog.diary.plan import Plan, WorkLimit, plan_diary
from fleetlog.diary.requests import request_visit
from fleetlog.diary.shop import Shop, VisitRequest
from fleetlog.diary.supply import PartsReady, allot_parts
from fleetlog.diary.verify import verify_plan
from fleetlog.diary.whatif import PlanDifference, change_shop, compare_plans
from fleetlog.domain.batch import Batch
from fleetlog.domain.bounds import YEARS
from fleetlog.domain.diary_records import DiaryPlan, DiaryVisit, Job, jobs_text
from fleetlog.errors.diary import PlanBeyondCalendar, PlanNotSound
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.diary.latest import latest_plan
from fleetlog.usecases.diary.work import (
    DiaryState,
    booked_visits,
    diary_state,
    needed_shop,
    supply_of,
    wishes_kept,
    wishes_of,
    wishes_told,
)
from fleetlog.usecases.occasion import Occasion, new_id


@dataclass(frozen=True, slots=True)
class PlanQuestion:
    """What is to be planned: the days (today and as far as the shop plans, where not said), and how hard."""

    from_on: date | None = None
    to_on: date | None = None
    seed: int = 1
    limit: WorkLimit | None = None
    seconds_left: Callable[[], float] | None = None


@dataclass(frozen=True, slots=True)
class PlannedDiary:
    """A plan with what it was made from. `plan_id` is None where it was not kept."""

    state: DiaryState
    bundling: Bundling
    parts: dict[str, PartsReady]
    requests: tuple[VisitRequest, ...]
    plan: Plan
    plan_id: str | None = None

    def bundle(self, visit_id: str) -> Bundle:
        """The bundle of a visit."""
        return next(b for b in self.bundling.bundles if b.bundle_id == visit_id)


def period(question: PlanQuestion, today: date, plan_days: int) -> tuple[date, date]:
    """The days to be planned, both included; days that are past are not planned any more.

    Raises PlanBeyondCalendar.
    """
    from_on = max(question.from_on or today, today)
    to_on = question.to_on or from_on + timedelta(days=plan_days - 1)
    if to_on.year not in YEARS:
        raise PlanBeyondCalendar(from_on, to_on, YEARS[-1])
    return from_on, to_on


@again_if_lost
def make_plan(log: Log, occasion: Occasion, question: PlanQuestion) -> PlannedDiary:
    """Plan, check the plan, and keep it.

    Raises NoShop, PlanPeriodReversed, PlanPeriodTooLong, PlanBeyondCalendar or PlanNotSound.
    """
    with log.reading() as reader:
        planned = _planned(reader, occasion, question)
    kept = _kept(planned, occasion)
    with log.writing(occasion.by, occasion.at) as writer:
        writer.add(kept)
    return replace(planned, plan_id=kept.plans[0].plan_id)


def try_plan(
    log: Log, occasion: Occasion, question: PlanQuestion, changes: Sequence[str]
) -> tuple[PlannedDiary, PlannedDiary, PlanDifference]:
    """The plan as things are, the plan with the shop changed, and what is otherwise; nothing is kept."""
    with log.reading() as reader:
        now = _planned(reader, occasion, question)
    shop = now.state.setup.shop
    for change in changes:
        shop = change_shop(shop, change)
    plan = _solved(now.requests, now.state, shop, now.plan.from_on, now.plan.to_on, question)
    return now, replace(now, plan=plan), compare_plans(now.plan, plan)


def bundled(state: DiaryState, to_on: date) -> tuple[Bundling, dict[str, PartsReady]]:
    """The work of all boats as visits, and when the parts of each are there."""
    setup = state.setup
    longest = [
        min(t.tenths, p.tenths)
        for technician in setup.shop.technicians
        for place in setup.shop.places
        for t, p in zip(technician.week, place.week, strict=True)
        if t is not None and p is not None
    ]
    terms = BundleTerms(
        horizon_to_on=to_on,
        ride_along_days=setup.ride_along_days,
        longest_visit_tenths=max(longest, default=None),
        access_times=setup.access_times,
    )
    together, supply = bundle_work(state.work, state.today, terms), supply_of(state)
    ready = allot_parts(together.bundles, supply, state.today)
    not_before = {bundle.boat_id: _no_harm_before(state, bundle.boat_id) for bundle in together.bundles}
    bundling = divide_held_up(together, ready, not_before, state.today, terms, setup.terms)
    return bundling, dict(allot_parts(bundling.bundles, supply, state.today))


def _no_harm_before(state: DiaryState, boat_id: str) -> date:
    """The day before which it harms no boat that its work waits: it lies ashore, or is away by its wishes."""
    days = [state.today]
    for lay_up in state.layups.get(boat_id, ()):
        launch_on = lay_up.to_on or date.max
        if lay_up.from_on <= state.today <= launch_on:
            days.append(launch_on)
    wished = wishes_kept(wishes_told(state.wishes, boat_id, state.owner_of.get(boat_id))).not_before_on
    return max(days if wished is None else [*days, wished])


def _planned(reader: Reader, occasion: Occasion, question: PlanQuestion) -> PlannedDiary:
    from_on, to_on = period(question, occasion.today, needed_shop(reader).plan_days)
    state = diary_state(reader, occasion.today, max(to_on, occasion.today))
    before = latest_plan(reader, state.bookings, occasion.today)
    previous = {} if before is None else {visit.visit: visit.on for visit in before.visits}
    bundling, parts = bundled(state, to_on)
    requests = tuple(
        request_visit(
            bundle,
            occasion.today,
            state.setup.terms,
            wishes_of(state, bundle.boat_id, from_on, to_on),
            parts[bundle.bundle_id].ready_on,
            previous.get(bundle.bundle_id),
        )
        for bundle in bundling.bundles
    )
    plan = _solved(requests, state, state.setup.shop, from_on, to_on, question)
    return PlannedDiary(state, bundling, parts, requests, plan)


def _solved(
    requests: tuple[VisitRequest, ...],
    state: DiaryState,
    shop: Shop,
    from_on: date,
    to_on: date,
    question: PlanQuestion,
) -> Plan:
    booked = booked_visits(shop, state.open_bookings)
    plan = plan_diary(
        requests,
        booked,
        shop,
        from_on,
        to_on,
        limit=question.limit,
        seed=question.seed,
        seconds_left=question.seconds_left,
    )
    violations = verify_plan(plan, requests, booked, shop)
    if violations:
        raise PlanNotSound([violation.text for violation in violations])
    return plan


def jobs_of(bundle: Bundle) -> tuple[Job, ...]:
    """The lines of a bundle as they are kept."""
    return tuple(
        Job(line.work.serial, line.work.rule, line.work.position, line.why, line.owed)
        for line in bundle.lines
    )


def _kept(planned: PlannedDiary, occasion: Occasion) -> Batch:
    plan = planned.plan
    header = DiaryPlan(
        new_id("p"),
        occasion.said_at,
        occasion.by,
        plan.from_on,
        plan.to_on,
        planned.state.setup.revision,
        plan.seed,
        plan.points,
        plan.bound_points,
        plan.cut_short,
    )
    put = {visit.visit_id: visit for visit in plan.visits}
    left = {visit.visit_id: visit for visit in plan.unplanned}
    visits = []
    for bundle, request in zip(planned.bundling.bundles, planned.requests, strict=True):
        visit, without = put.get(bundle.bundle_id), left.get(bundle.bundle_id)
        visits.append(
            DiaryVisit(
                plan_id=header.plan_id,
                visit=bundle.bundle_id,
                boat_id=bundle.boat_id,
                tenths=bundle.labour_tenths,
                on=visit.on if visit else None,
                from_tenths=visit.from_tenths if visit else None,
                technician=visit.technician if visit else None,
                place=visit.place if visit else None,
                first_on=bundle.first_sensible_on,
                last_on=bundle.last_sensible_on,
                lifts=request.lifts,
                why_not=without.why if without else None,
                remedy=without.remedy if without else None,
                jobs=jobs_text(jobs_of(bundle)),
            )
        )
    return Batch(plans=[header], plan_visits=visits)

"""Writes the diary's pages: the weeks, the load, a sheet a boat for the dock, day sheets, estimates."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from fleetlog.diary.bundles import Bundle
from fleetlog.diary.estimate import estimate
from fleetlog.diary.season import fit_out_list
from fleetlog.diary.supply import PartsReady, allot_parts
from fleetlog.diary.work import OwedWork, total_parts
from fleetlog.domain.card import Card
from fleetlog.domain.diary_records import DiaryVisit, Job, jobs_from_text
from fleetlog.domain.fleet import EngineState
from fleetlog.domain.parts import names_of
from fleetlog.domain.records import Engine
from fleetlog.domain.schedule import PartNeed, Schedule
from fleetlog.errors.reports import DiaryFolderHoldsReports
from fleetlog.reports.context import ReportContext
from fleetlog.reports.diary.data import (
    BOOKED,
    NO_DAY,
    PLANNED,
    DiaryData,
    PageFitOut,
    PageJob,
    PagePart,
    PageVisit,
)
from fleetlog.reports.diary.rendering import render_diary
from fleetlog.reports.standing_by import off_views
from fleetlog.reports.words import capital, counted, day_text, days_told
from fleetlog.reports.writing import write_pages
from fleetlog.store.log import Log
from fleetlog.usecases.diary.cards import cards_for, cards_of_log, rule_of_job
from fleetlog.usecases.diary.latest import LatestPlan, latest_plan
from fleetlog.usecases.diary.outlook import ON_THE_SHELF, diary_today, load_of, part_lines
from fleetlog.usecases.diary.planning import bundled
from fleetlog.usecases.diary.work import DiaryState, supply_of
from fleetlog.usecases.occasion import Occasion

MONTHS_OF_LOAD = 9


@dataclass(frozen=True, slots=True)
class _Register:
    """What the jobs of visits are looked up in."""

    engines: Mapping[str, Engine]
    schedules: Mapping[str, Schedule]
    cards: Mapping[str, Card]


def make_diary_pages(log: Log, occasion: Occasion, out: Path, context: ReportContext) -> list[Path]:
    """Write every page of the diary into a folder of its own; returns their paths, the first page first.

    Raises NoShop, DiaryFolderHoldsReports and what `write_pages` raises.
    """
    if (out / "due.html").exists():
        raise DiaryFolderHoldsReports(out)
    return write_pages(render_diary(diary_data(log, occasion), context), out)


def diary_data(log: Log, occasion: Occasion) -> DiaryData:
    """All that the pages show, as known today. Raises NoShop."""
    with log.reading() as reader:
        state = diary_today(reader, occasion)
        latest = latest_plan(reader, state.bookings, occasion.today)
        part_names = names_of(reader.parts())
        register = _Register(reader.engines(), reader.schedules(), cards_of_log(reader))
    setup = state.setup
    visits = _visits(state, latest.visits if latest else [], register)
    to_on = latest.plan.to_on if latest else occasion.today
    waiting = bundled(state, max(to_on, occasion.today))[0].waiting
    bundles = {visit.name: bundle for visit, bundle in visits}
    ready = allot_parts([bundle for _, bundle in visits], supply_of(state), state.today)
    pages = tuple(replace(visit, parts=_parts(state, bundle, ready)) for visit, bundle in visits)
    return DiaryData(
        today=state.today,
        shop_name=setup.name,
        shop=setup.shop,
        currency=setup.currency,
        rate_per_hour=setup.rate_per_hour,
        plan=_plan_sentences(latest, pages, state),
        visits=pages,
        waiting=tuple(
            (state.boat_name(line.work.boat_id), _owed_job(state, line.work, line.why)) for line in waiting
        ),
        fit_outs=tuple(
            PageFitOut(
                state.boat_name(out.boat_id),
                out.launch_on,
                out.launch_assumed,
                tuple(_owed_job(state, line.work, line.why) for line in out.lines),
            )
            for out in fit_out_list(state.work, state.layups, state.today)
        ),
        load=load_of(state, MONTHS_OF_LOAD),
        estimates=[
            (visit, estimate(bundles[visit.name], setup.rate_per_hour, setup.prices))
            for visit in pages
            if setup.rate_per_hour is not None and visit.jobs
        ],
        boats=_engines_by_boat(state),
        part_names=part_names,
    )


def _plan_sentences(
    latest: LatestPlan | None, visits: Sequence[PageVisit], state: DiaryState
) -> tuple[str, ...]:
    aside = [
        f"Off engine {engine.serial}, and nothing put on since is on record: {'; '.join(views)}."
        for engine in state.fleet.engines
        if (views := off_views(engine))
    ]
    aside += [days_told(f"{capital(past)}.") for past in state.past]
    if latest is None:
        return ("There is no plan yet: fleetlog diary plan makes one.", *aside)
    plan = latest.plan
    aside += [days_told(f"{capital(left)}.") for left in latest.said]
    by_state = Counter(visit.state for visit in visits)
    said = [
        f"Planned on {day_text(plan.at.date())} by {plan.by}, for {day_text(plan.from_on)}"
        f" to {day_text(plan.to_on)}: {counted(by_state[BOOKED], 'visit')} booked,"
        f" {by_state[PLANNED]} proposed, {by_state[NO_DAY] or 'none'} without a day."
    ]
    if plan.bound_points and plan.points >= plan.bound_points:
        gap = 100 * (plan.points - plan.bound_points) / plan.bound_points
        said.append(f"No plan can be better than this one by more than {gap:.1f} %.")
    if plan.cut_short:
        said.append("The time limit cut it short; another run may differ.")
    if state.without_boat:
        owed = counted(state.without_boat, "owed job")
        said.append(f"On engines without a boat, and so in no visit: {owed}.")
    return (*said, *aside)


def _visits(
    state: DiaryState, planned: Iterable[DiaryVisit], register: _Register
) -> list[tuple[PageVisit, Bundle]]:
    """The booked and planned visits to come, by day, each with its bundle for parts and estimates."""
    found: list[tuple[PageVisit, Bundle]] = []
    for booking in state.open_bookings:
        if booking.on >= state.today:
            page = _page_visit(
                state, register, f"booking {booking.booking_id}", BOOKED, booking.boat_id, booking.jobs,
                booking.tenths, booking.on, booking.from_tenths, booking.technician, booking.place,
            )  # fmt: skip
            found.append((page, _bundle(state, register, page, booking.jobs)))
    for visit in planned:
        if visit.on and visit.on < state.today:
            continue
        jobs = jobs_from_text(visit.jobs)
        page = _page_visit(
            state, register, visit.visit, PLANNED if visit.on else NO_DAY, visit.boat_id, jobs, visit.tenths,
            visit.on, visit.from_tenths, visit.technician or "", visit.place or "",
        )  # fmt: skip
        page = replace(page, last_on=visit.last_on, why_not=_told(visit.why_not), remedy=_told(visit.remedy))
        found.append((page, _bundle(state, register, page, jobs)))
    found.sort(key=lambda pair: (pair[0].on or date.max, pair[0].from_tenths or 0, pair[0].name))
    return found


def _page_visit(
    state: DiaryState,
    register: _Register,
    name: str,
    word: str,
    boat_id: str,
    jobs: Sequence[Job],
    tenths: int,
    on: date | None,
    from_tenths: int | None,
    technician: str,
    place: str,
) -> PageVisit:
    boat, owner = state.boats.get(boat_id), state.owner(boat_id)
    return PageVisit(
        name,
        word,
        boat_id,
        state.boat_name(boat_id),
        owner.name if owner else "",
        (owner.phone or "") if owner else "",
        (boat.berth or "") if boat else "",
        on,
        from_tenths,
        tenths,
        technician,
        place,
        tuple(_job(register, job) for job in jobs),
        cards=tuple(cards_for(jobs, register.engines, register.schedules, register.cards)),
    )


def _job(register: _Register, job: Job) -> PageJob:
    rule = rule_of_job(job, register.engines, register.schedules)
    engine = register.engines.get(job.serial)
    access = rule.opens if rule else None
    title = rule.title if rule else job.rule
    return PageJob(
        job.serial, title, job.position, engine.position if engine else None, days_told(job.why), access
    )


def _told(text: str | None) -> str | None:
    return None if text is None else days_told(text)


def _owed_job(state: DiaryState, work: OwedWork, why: str) -> PageJob:
    line = state.lines.get((work.serial, work.rule, work.position))
    engine_position = line.facts.position if line else None
    return PageJob(work.serial, work.title, work.position, engine_position, days_told(why), work.access)


def _bundle(state: DiaryState, register: _Register, page: PageVisit, jobs: Sequence[Job]) -> Bundle:
    """The visit as the planner's parts and estimates take it: its labour and the parts of its jobs."""
    needs = [
        PartNeed(state.numbers.of(part.number), part.quantity)
        for job in jobs
        if (rule := rule_of_job(job, register.engines, register.schedules))
        for part in rule.parts
    ]
    on = page.on or state.today
    return Bundle(page.name, page.boat_id, "", (), page.tenths, total_parts(needs), on, on)


def _parts(state: DiaryState, bundle: Bundle, ready: Mapping[str, PartsReady]) -> tuple[PagePart, ...]:
    return tuple(
        PagePart(part.part_number, part.amount, part.source, None if part.source == ON_THE_SHELF else part.on)
        for part in part_lines(state, bundle, ready)
    )


def _engines_by_boat(state: DiaryState) -> dict[str, list[EngineState]]:
    found: dict[str, list[EngineState]] = {}
    for engine in state.fleet.engines:
        boat = engine.facts.boat
        if boat is not None and engine.lines:
            found.setdefault(boat.boat_id, []).append(engine)
    return found

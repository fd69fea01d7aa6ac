"""Commands of the diary that plan, try and show: plan, show."""

from __future__ import annotations

import time
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import DAY, Between, examples, format_option
from fleetlog.cli.output import remark, show, show_json
from fleetlog.errors import counted

if TYPE_CHECKING:
    from fleetlog.diary.whatif import PlanDifference
    from fleetlog.usecases.diary.planning import PlannedDiary

WORK_LIMITS = {"quick": (100, 2), "usual": (100, 12), "thorough": (300, 80)}
"""Moves of the annealing and rounds of exchanges for each visit, of the three work limits."""

VISIT_COLUMNS = [
    ("state", "State"),
    ("on", "Day"),
    ("from", "From"),
    ("hours", "Hours"),
    ("technician", "Technician"),
    ("place", "Place"),
    ("boat", "Boat"),
    ("visit", "Visit"),
    ("jobs", "Jobs"),
    ("why", "Why"),
]
_NOTHING = "Nothing is booked or planned on these days; fleetlog diary plan proposes visits."


@click.command(
    "plan",
    epilog=examples(
        "diary plan",
        "diary plan --from 2026-03-02 --to 2026-05-29",
        "diary plan --try 'technician +1' --try 'hours +1'",
    ),
)
@click.option("--from", "from_on", type=DAY, help="The first day.  [default: today]")
@click.option("--to", "to_on", type=DAY, help="The last day.  [default: as far as the shop plans]")
@click.option(
    "--try",
    "changes",
    multiple=True,
    metavar="CHANGE",
    help="What if: 'technician +1', 'bay +1', 'lifts +2', 'hours +1', 'closed 2026-04-03 to 2026-04-06'."
    " Nothing is kept.",
)
@click.option("--seed", type=click.IntRange(0, 999_999), default=1, show_default=True, help="Of the search.")
@click.option(
    "--work-limit",
    type=click.Choice(list(WORK_LIMITS)),
    default="usual",
    show_default=True,
    help="How much work goes into it; the same limit and seed give the same plan.",
)
@click.option(
    "--time-limit",
    type=Between(0, 3600),
    default=30.0,
    show_default=True,
    metavar="SECONDS",
    help="A guard: a plan that it cuts short says so.",
)
@format_option
@pass_desk
def plan_command(
    desk: Desk,
    from_on: date | None,
    to_on: date | None,
    changes: tuple[str, ...],
    seed: int,
    work_limit: str,
    time_limit: float,
    shape: str,
) -> None:
    """Bundle the work that is owed into visits, and put them on days.

    Booked visits stay where they are, and the visits of the last plan move only
    where it pays. The plan is checked against the shop and kept.
    """
    from fleetlog.diary.plan import WorkLimit
    from fleetlog.usecases.diary.planning import PlanQuestion, make_plan, try_plan

    moves, rounds = WORK_LIMITS[work_limit]
    started = time.monotonic()
    question = PlanQuestion(
        from_on,
        to_on,
        seed,
        WorkLimit(moves_a_visit=moves, rounds_a_visit=rounds),
        lambda: time_limit - (time.monotonic() - started),
    )
    if changes:
        started = time.monotonic()
        now, tried, difference = try_plan(desk.log, desk.occasion, question, changes)
        _show_try(now, tried, difference, changes, shape)
        return
    _show_plan(make_plan(desk.log, desk.occasion, question), shape)


def _visit_rows(planned: PlannedDiary) -> list[dict[str, Any]]:
    from fleetlog.domain.diary_records import clock_text

    rows = []
    for visit in planned.plan.visits:
        bundle = planned.bundle(visit.visit_id)
        rows.append(
            {
                "state": "planned",
                "visit": visit.visit_id,
                "boat": planned.state.boat_name(visit.boat_id),
                "on": visit.on,
                "from": clock_text(visit.from_tenths),
                "hours": visit.tenths / 10,
                "technician": visit.technician,
                "place": visit.place,
                "jobs": len(bundle.lines),
                "first_on": bundle.first_sensible_on,
                "last_on": bundle.last_sensible_on,
                "why": f"moved from {visit.moved_from_on}" if visit.moved_from_on else None,
                "remedy": None,
            }
        )
    for left in planned.plan.unplanned:
        bundle = planned.bundle(left.visit_id)
        rows.append(
            {
                "state": "no day",
                "visit": left.visit_id,
                "boat": planned.state.boat_name(left.boat_id),
                "on": None,
                "from": None,
                "hours": bundle.labour_tenths / 10,
                "technician": None,
                "place": None,
                "jobs": len(bundle.lines),
                "first_on": bundle.first_sensible_on,
                "last_on": bundle.last_sensible_on,
                "why": left.why,
                "remedy": left.remedy,
            }
        )
    return rows


def _plan_object(planned: PlannedDiary) -> dict[str, Any]:
    plan = planned.plan
    return {
        "plan_id": planned.plan_id,
        "from_on": plan.from_on,
        "to_on": plan.to_on,
        "seed": plan.seed,
        "points": plan.points,
        "bound_points": plan.bound_points,
        "gap_share": plan.gap_share,
        "cut_short": plan.cut_short,
        "findings": list(plan.findings),
        "waiting": [
            {
                "serial": line.work.serial,
                "rule": line.work.rule,
                "position": line.work.position,
                "why": line.why,
            }
            for line in planned.bundling.waiting
        ],
        "without_boat": planned.state.without_boat,
        "taken_off": list(planned.state.off),
        "past_bookings": list(planned.state.past),
        "visits": _visit_rows(planned),
    }


def _show_plan(planned: PlannedDiary, shape: str) -> None:
    if shape == "json":
        show_json(_plan_object(planned))
        return
    rows = _visit_rows(planned)
    show(rows, VISIT_COLUMNS, shape, "No visit is to be planned.")
    if shape == "table":
        for line in plan_words(planned):
            click.echo(line)


def plan_words(planned: PlannedDiary) -> list[str]:
    """What is to be said below a plan: how good it is, what has no day, what waits, what is left out."""
    plan = planned.plan
    gap = "" if plan.gap_share is None else f", {100 * plan.gap_share:.1f} % above the best bound"
    count = len(plan.visits)
    said = ["", f"{counted(count, 'visit')} from {plan.from_on} to {plan.to_on}{gap}."]
    if plan.cut_short:
        said.append("The time limit cut it short: another run may differ; give more with --time-limit.")
    for left in plan.unplanned:
        remedy = f" What would help: {left.remedy}." if left.remedy else ""
        said.append(
            f"No day for {planned.state.boat_name(left.boat_id)} ({left.visit_id}): {left.why}.{remedy}"
        )
    said += plan.findings
    waiting = len(planned.bundling.waiting)
    if waiting:
        said.append(f"{waiting} used parts wait for their next access (fleetlog due shows them).")
    if planned.state.without_boat:
        said.append(f"{planned.state.without_boat} owed jobs are on engines without a boat, and in no visit.")
    said += [*planned.state.past, *planned.state.off]
    if planned.plan_id:
        said.append(f"Kept as plan {planned.plan_id}; fleetlog diary book BOAT agrees a visit.")
    return said


def _show_try(
    now: PlannedDiary, tried: PlannedDiary, difference: PlanDifference, changes: tuple[str, ...], shape: str
) -> None:
    if shape == "json":
        show_json(
            {
                "changes": list(changes),
                "now": _plan_object(now),
                "tried": _plan_object(tried),
                "points": difference.points,
                "now_planned": list(difference.now_planned),
                "no_longer_planned": list(difference.no_longer_planned),
                "moved": difference.moved,
            }
        )
        return
    if shape == "csv":
        show(_visit_rows(tried), VISIT_COLUMNS, shape)
        return
    click.echo(f"With {', '.join(changes)} (nothing was kept):")
    click.echo(f"  points (risk, waste, trips): {now.plan.points} now, {tried.plan.points} then")
    click.echo(f"  visits without a day: {len(now.plan.unplanned)} now, {len(tried.plan.unplanned)} then")
    for visit_id in difference.now_planned:
        on = next(v.on for v in tried.plan.visits if v.visit_id == visit_id)
        click.echo(f"  gains a day: {tried.state.boat_name(tried.bundle(visit_id).boat_id)}, {on}")
    for visit_id in difference.no_longer_planned:
        click.echo(f"  loses its day: {tried.state.boat_name(tried.bundle(visit_id).boat_id)}")
    click.echo(f"  visits on another day: {len(difference.moved)}")


@click.command("show", epilog=examples("diary show", "diary show --from 2026-04-20 --to 2026-04-24"))
@click.option("--from", "from_on", type=DAY, help="From this day on.")
@click.option("--to", "to_on", type=DAY, help="Up to this day.")
@click.option("--ended", is_flag=True, help="With bookings that were released or are done.")
@click.option("--jobs", "with_jobs", is_flag=True, help="With every job and why it is in its visit.")
@format_option
@pass_desk
def show_command(
    desk: Desk, from_on: date | None, to_on: date | None, ended: bool, with_jobs: bool, shape: str
) -> None:
    """What is booked and what is planned, day by day."""
    from fleetlog.usecases.diary.looking import diary_rows, look_at_diary, what_wants_planning

    diary = look_at_diary(desk.log, desk.occasion)
    for said in what_wants_planning(diary, desk.today):
        remark(said)
    rows = diary_rows(diary, from_on, to_on, ended=ended)
    if shape == "json":
        show(rows, VISIT_COLUMNS, shape)
        return
    if not with_jobs:
        show([{k: v for k, v in r.items() if k != "lines"} for r in rows], VISIT_COLUMNS, shape, _NOTHING)
        return
    jobs = [{**{k: r[k] for k in ("on", "boat", "visit")}, **line} for r in rows for line in r["lines"]]
    columns = [("on", "Day"), ("boat", "Boat"), ("visit", "Visit"), ("serial", "Engine"), ("rule", "Job"),
               ("position", "Position"), ("why", "Why")]  # fmt: skip
    show(jobs, columns, shape, _NOTHING)

"""Commands of the shop's diary: plan, show, book, move, release, done."""

from __future__ import annotations

import time
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import DAY, FORMATS, HOURS, examples, format_option
from fleetlog.cli.output import show, show_object

if TYPE_CHECKING:
    from fleetlog.diary.whatif import PlanDifference
    from fleetlog.usecases.diary_planning import PlannedDiary

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


class Clock(click.ParamType):  # type: ignore[type-arg]  # generic in newer clicks only
    """A time of day, kept as tenths of an hour since midnight."""

    name = "HH:MM"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        from fleetlog.domain.diary_records import clock_from_text

        if isinstance(value, int):
            return value
        try:
            return clock_from_text(value)
        except ValueError:
            self.fail(f"{value!r} is not a time of day; write it as HH:MM, such as 08:30", param, ctx)


CLOCK = Clock()


class DiaryCommands(click.Group):
    """The diary's commands; those that write files are in a module of their own, loaded when called."""

    OUTGOING = ("calendar", "pages")
    SHOP = ("shop", "wish", "load", "parts", "estimate", "fit-out")

    def list_commands(self, ctx: click.Context) -> list[str]:
        return [*self.commands, *self.SHOP, *self.OUTGOING]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name in self.OUTGOING:
            from fleetlog.cli import diary_out

            return diary_out.COMMANDS[cmd_name]
        if cmd_name in self.SHOP:
            from fleetlog.cli import diary_shop

            return diary_shop.COMMANDS[cmd_name]
        return super().get_command(ctx, cmd_name)


@click.group("diary", cls=DiaryCommands)
def diary_command() -> None:
    """The shop's diary: work bundled into visits, visits put on days."""


@diary_command.command(
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
    type=click.FloatRange(0, 3600),
    default=30.0,
    show_default=True,
    metavar="SECONDS",
    help="A guard: a plan that it cuts short says so.",
)
@format_option
@pass_desk
def diary_plan(
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
    from fleetlog.usecases.diary_planning import PlanQuestion, make_plan, try_plan

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
                "on": visit.on.isoformat(),
                "from": clock_text(visit.from_tenths),
                "hours": visit.tenths / 10,
                "technician": visit.technician,
                "place": visit.place,
                "jobs": len(bundle.lines),
                "first_on": bundle.first_sensible_on.isoformat(),
                "last_on": bundle.last_sensible_on.isoformat(),
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
                "first_on": bundle.first_sensible_on.isoformat(),
                "last_on": bundle.last_sensible_on.isoformat(),
                "why": left.why,
                "remedy": left.remedy,
            }
        )
    return rows


def _plan_object(planned: PlannedDiary) -> dict[str, Any]:
    plan = planned.plan
    return {
        "plan_id": planned.plan_id,
        "from_on": plan.from_on.isoformat(),
        "to_on": plan.to_on.isoformat(),
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
        "visits": _visit_rows(planned),
    }


def _show_plan(planned: PlannedDiary, shape: str) -> None:
    if shape == "json":
        show_object(_plan_object(planned))
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
    said = ["", f"{len(plan.visits)} visits from {plan.from_on} to {plan.to_on}{gap}."]
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
    if planned.plan_id:
        said.append(f"Kept as plan {planned.plan_id}; fleetlog diary book BOAT agrees a visit.")
    return said


def _show_try(
    now: PlannedDiary, tried: PlannedDiary, difference: PlanDifference, changes: tuple[str, ...], shape: str
) -> None:
    if shape == "json":
        show_object(
            {
                "changes": list(changes),
                "now": _plan_object(now),
                "tried": _plan_object(tried),
                "points": difference.points,
                "now_planned": list(difference.now_planned),
                "no_longer_planned": list(difference.no_longer_planned),
                "moved": [[v, a.isoformat(), b.isoformat()] for v, a, b in difference.moved],
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


@diary_command.command("show", epilog=examples("diary show", "diary show --from 2026-04-20 --to 2026-04-24"))
@click.option("--from", "from_on", type=DAY, help="From this day on.")
@click.option("--to", "to_on", type=DAY, help="Up to this day.")
@click.option("--ended", is_flag=True, help="With bookings that were released or are done.")
@click.option("--jobs", "with_jobs", is_flag=True, help="With every job and why it is in its visit.")
@format_option
@pass_desk
def diary_show(
    desk: Desk, from_on: date | None, to_on: date | None, ended: bool, with_jobs: bool, shape: str
) -> None:
    """What is booked and what is planned, day by day."""
    from fleetlog.usecases.diary_booking import diary_rows, look_at_diary

    rows = diary_rows(look_at_diary(desk.log, desk.occasion), from_on, to_on, ended=ended)
    if shape == "json":
        show(rows, VISIT_COLUMNS, shape)
        return
    if not with_jobs:
        show([{k: v for k, v in r.items() if k != "lines"} for r in rows], VISIT_COLUMNS, shape, "Nothing.")
        return
    jobs = [{**{k: r[k] for k in ("on", "boat", "visit")}, **line} for r in rows for line in r["lines"]]
    columns = [("on", "Day"), ("boat", "Boat"), ("visit", "Visit"), ("serial", "Engine"), ("rule", "Job"),
               ("position", "Position"), ("why", "Why")]  # fmt: skip
    show(jobs, columns, shape, "Nothing.")


_AGREED = (
    click.option("--on", type=DAY, help="The day."),
    click.option("--at", "from_tenths", type=CLOCK, help="From when."),
    click.option("--all-day", is_flag=True, help="No hour is set."),
    click.option("--hours", "tenths", type=HOURS, help="How long."),
    click.option("--technician", help="Who."),
    click.option("--place", help="In which bay or at which berth."),
    click.option("--why", "reason", help="A word on it."),
    click.option("--anyway", is_flag=True, help="Even where the shop has no room for it."),
)


def _agreed(command: Any) -> Any:
    for option in reversed(_AGREED):
        command = option(command)
    return command


@diary_command.command(
    "book",
    epilog=examples(
        'diary book "Lady Garstone"',
        'diary book "Lady Garstone" --on 2026-04-22 --at 09:00',
        "diary book --all --to 2026-04-24",
    ),
)
@click.argument("visit", required=False)
@click.option("--all", "every", is_flag=True, help="Every visit of the latest plan that has a day.")
@click.option("--to", "to_on", type=DAY, help="With --all: up to this day.")
@_agreed
@pass_desk
def diary_book(desk: Desk, visit: str | None, every: bool, to_on: date | None, **agreed: Any) -> None:
    """Agree a visit: it stays where it is until it is released.

    VISIT is a boat, or a visit of the latest plan. Without --on it keeps the
    plan's day; a visit that was not planned needs --on and --hours.
    """
    from fleetlog.usecases.diary_booking import Agreement, book_all, book_visit

    if every == (visit is not None):
        raise click.UsageError("Name a boat or a visit, or say --all.")
    if every:
        rows, left = book_all(desk.log, desk.occasion, to_on)
        click.echo(f"Booked {len(rows)} visits.")
        if left:
            click.echo(f"{left} visits of the plan no longer fit beside what was booked since; plan again.")
        return
    row = book_visit(desk.log, desk.occasion, visit or "", Agreement(**agreed))
    click.echo(f"Booked {row.booking_id}: {_when(row)}.")


def _when(row: Any) -> str:
    from fleetlog.domain.diary_records import clock_text
    from fleetlog.domain.hours import hours_text

    at = "no hour set" if row.from_tenths is None else f"from {clock_text(row.from_tenths)}"
    return f"{row.on}, {at}, {hours_text(row.tenths)} h, {row.technician}, {row.place}"


@diary_command.command("move", epilog=examples("diary move bk7m2p9xq --on 2026-04-23"))
@click.argument("booking")
@_agreed
@pass_desk
def diary_move(desk: Desk, booking: str, **agreed: Any) -> None:
    """Agree another day, time, technician or place for a booking."""
    from fleetlog.usecases.diary_booking import Agreement, move_booking

    row = move_booking(desk.log, desk.occasion, booking, Agreement(**agreed))
    click.echo(f"Moved {row.booking_id}: {_when(row)}.")


@diary_command.command("release", epilog=examples('diary release bk7m2p9xq --why "owner is away"'))
@click.argument("booking")
@click.option("--why", "reason", help="Why it was given up.")
@pass_desk
def diary_release(desk: Desk, booking: str, reason: str | None) -> None:
    """Give a booking up; its work is planned anew."""
    from fleetlog.usecases.diary_booking import release_booking

    state = release_booking(desk.log, desk.occasion, booking, reason)
    click.echo(f"Released {booking}, which was on {state.on}.")


@diary_command.command("done", epilog=examples("diary done bk7m2p9xq", "diary done bk7m2p9xq --visit J-1042"))
@click.argument("booking")
@click.option("--on", type=DAY, help="The day the boat came.  [default: the day agreed]")
@click.option("--visit", "visit_id", help="An id of your own, such as the job number.")
@click.option("--format", "shape", type=click.Choice([f for f in FORMATS if f != "csv"]), default="table")
@pass_desk
def diary_done(desk: Desk, booking: str, on: date | None, visit_id: str | None, shape: str) -> None:
    """The boat is here: makes its visit, and names the jobs and work cards.

    What is done is recorded with --visit, and the visit closed when the boat
    leaves.
    """
    from fleetlog.usecases.diary_booking import booking_done

    done = booking_done(desk.log, desk.occasion, booking, on, visit_id)
    if shape == "json":
        show_object(
            {
                "visit_id": done.visit.visit_id,
                "boat_id": done.visit.boat_id,
                "jobs": [[job.serial, job.rule, job.position] for job, _ in done.rules],
                "cards": [list(pair) for pair in done.cards],
            }
        )
        return
    click.echo(f"Opened visit {done.visit.visit_id}; record its work with --visit {done.visit.visit_id}:")
    for job, rule in done.rules:
        place = f" ({job.position})" if job.position else ""
        click.echo(f"  {job.serial}: {rule.title if rule else job.rule}{place}")
    for name, serial in done.cards:
        click.echo(f'  work card for {serial}: fleetlog card print "{name}" {serial}')

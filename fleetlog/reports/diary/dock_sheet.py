"""One sheet a boat to take along the dock: last figures, due lines, boxes in the order they are typed in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from fleetlog.domain.due import DueLine
from fleetlog.domain.fleet import EngineState
from fleetlog.domain.words import LATER, NEXT_ACCESS
from fleetlog.errors import as_word
from fleetlog.reports.cautions import cautions_for
from fleetlog.reports.charts.shapes import BADGES
from fleetlog.reports.diary.data import BOOKED, DiaryData, PageVisit
from fleetlog.reports.limits import work_name
from fleetlog.reports.meter_words import last_figure, limit_on_meter
from fleetlog.reports.words import boat_name, day_text, engine_kind, hours_shown, shortened

MOST_LINES = 30
"""Lines that one sheet of A4 holds; more are counted."""


@dataclass(frozen=True, slots=True)
class HoursBox:
    """A box for one engine's hours: what it is called when they are typed in, and the last figure."""

    serial: str
    position: str
    about: str
    last: str
    typed: str


@dataclass(frozen=True, slots=True)
class DockLine:
    """One due line with its boxes."""

    badge: Markup
    work: str
    limit: str
    access: str
    measure: str


@dataclass(frozen=True, slots=True)
class DockEngine:
    """The lines of one engine: what is due, then what is owed at the next access."""

    name: str
    due: Sequence[DockLine]
    owed: Sequence[DockLine]


@dataclass(frozen=True, slots=True)
class DockSheet:
    """The sheet of a boat; `typed_hours` and, for each booking, `typed_work` say how it is typed in.

    `cautions` names the dangers of its work.
    """

    boat: str
    berth: str
    owner: str
    visits: Sequence[str]
    hours: Sequence[HoursBox]
    typed_hours: str
    typed_work: Sequence[str]
    engines: Sequence[DockEngine]
    more: int
    cautions: str


def dock_sheet(boat_id: str, engines: Sequence[EngineState], data: DiaryData) -> DockSheet:
    """The sheet of a boat and its engines, in the order of their positions."""
    ordered = sorted(engines, key=lambda s: (s.facts.position or "", s.serial))
    facts = ordered[0].facts
    boxes = [_hours_box(state) for state in ordered if state.seen.hours.metered]
    left = MOST_LINES - 2 * len(ordered)
    more = 0
    found = []
    for state in ordered:
        lines = sorted((line for line in state.lines if line.state != LATER), key=lambda line: line.order)
        kept, more = lines[: max(0, left)], more + len(lines[max(0, left) :])
        left -= len(kept)
        about = ", ".join(part for part in (facts_position(state), engine_kind(state.facts.engine)) if part)
        found.append(
            DockEngine(
                f"{state.serial}" + (f" ({about})" if about else ""),
                [_line(state, line) for line in kept if line.state != NEXT_ACCESS],
                [_line(state, line) for line in kept if line.state == NEXT_ACCESS],
            )
        )
    rules = [line.rule for state in ordered for line in state.lines if line.state != LATER]
    name = boat_name(facts.boat)
    typed = " ".join(f"{as_word(box.typed)}=…" if len(boxes) > 1 else "…" for box in boxes)
    target = as_word(name if len(boxes) > 1 else boxes[0].serial) if boxes else ""
    return DockSheet(
        boat=name,
        berth=(facts.boat.berth if facts.boat else None) or "",
        owner=facts.owner.name if facts.owner else "",
        visits=[_visit_text(v) for v in data.visits if v.boat_id == boat_id and v.on],
        hours=boxes,
        typed_hours=f"fleetlog hours {target} {typed} --on …" if boxes else "",
        typed_work=[
            _typed_work(v, [box.serial for box in boxes])
            for v in data.visits
            if v.boat_id == boat_id and v.state == BOOKED
        ],
        engines=found,
        more=more,
        cautions="; ".join(caution.title for caution in cautions_for(rules)),
    )


def facts_position(state: EngineState) -> str:
    """Where an engine stands on its boat; nothing where that is not said."""
    return state.facts.position or ""


def _hours_box(state: EngineState) -> HoursBox:
    last = state.facts.last_reading
    figures = [last_figure(state) or "never read"]
    figures += [
        f"{hours_shown(held.meter_tenths)} on {day_text(held.on)} is held, look at the meter"
        for held in state.seen.hours.held
        if last is None or held.on > last.on
    ]
    shown = "; ".join(figures)
    position = facts_position(state)
    return HoursBox(state.serial, position, engine_kind(state.facts.engine), shown, position or state.serial)


def _line(state: EngineState, line: DueLine) -> DockLine:
    rule = line.rule
    limits = (limit_on_meter(state, line), day_text(line.due_on) if line.due_on else None)
    measured = rule.action == "inspect"
    return DockLine(
        BADGES[line.state],
        work_name(line, 70),
        " or ".join(limit for limit in limits if limit),
        rule.opens or "",
        (rule.condition.unit if rule.condition else "found") if measured else "",
    )


def _typed_work(visit: PageVisit, metered: Sequence[str]) -> str:
    """The command that says that a booked visit is done, with the meters of its engines to be filled in."""
    serials = dict.fromkeys(job.serial for job in visit.jobs if job.serial in metered)
    meters = "".join(f" --engine {serial}:…" for serial in serials)
    return f"fleetlog diary done {visit.name.removeprefix('booking ')}{meters}"


def _visit_text(visit: PageVisit) -> str:
    assert visit.on is not None
    return f"{visit.state} {day_text(visit.on)}, {visit.clock}, {shortened(visit.place, 30)}"

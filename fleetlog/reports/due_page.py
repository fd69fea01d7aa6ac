"""The marina's due list: every line that wants something, by state, the most urgent first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from operator import attrgetter, itemgetter

from markupsafe import Markup

from fleetlog.domain.due import DueLine
from fleetlog.domain.explain import explain
from fleetlog.domain.fleet import EngineState, FleetState
from fleetlog.domain.schedule import Rule
from fleetlog.domain.words import DUE, LATER, NEEDS_A_READING, NEXT_ACCESS, NO_RECORD, OVERDUE, STATES
from fleetlog.reports.cautions import Caution, cautions_for
from fleetlog.reports.charts.shapes import BADGES, state_class
from fleetlog.reports.limits import due_text, likely_text, work_name
from fleetlog.reports.names import engine_page_path
from fleetlog.reports.owner_words import deferred_text
from fleetlog.reports.standing_by import off_views
from fleetlog.reports.words import boat_name, days_told, hours_shown

MEANINGS = {
    OVERDUE: "A limit has passed, by the calendar or by the last reading.",
    NO_RECORD: "Nothing says when it was last done, so it counts as due now.",
    NEEDS_A_READING: "The hours have probably run out and no reading shows it. Ask, don’t accuse.",
    DUE: "The likely date lies within the window.",
    NEXT_ACCESS: "Put back used; to be renewed when it is next open.",
    LATER: "Nothing to do yet.",
}
"""What each state means, in a sentence."""


@dataclass(frozen=True, slots=True)
class DueRow:
    """One line of the list."""

    boat: str
    owner: str
    engine: str
    engine_page: str
    engine_about: str
    work: str
    access: str
    consequence: str
    due: str
    likely: str
    why: str


@dataclass(frozen=True, slots=True)
class DueGroup:
    """The lines of one state."""

    anchor: str
    state: str
    badge: Markup
    meaning: str
    date_name: str
    rows: Sequence[DueRow]


@dataclass(frozen=True, slots=True)
class OffRow:
    """What came off one engine with nothing put on since."""

    engine: str
    engine_page: str
    boat: str
    items: Sequence[str]


@dataclass(frozen=True, slots=True)
class PutOffRow:
    """What was put off on one engine and is not on the list, with the schedule's own limit."""

    engine: str
    engine_page: str
    boat: str
    told: str


@dataclass(frozen=True, slots=True)
class DuePage:
    """The list as it is laid out; `later` is the number of lines left out.

    `off` are items that came off with nothing put on since, whatever state their lines are in; `put_off` what
    was put off, among those left out; `unscheduled` the serials of engines that have no service schedule.
    """

    groups: Sequence[DueGroup]
    off: Sequence[OffRow]
    put_off: Sequence[PutOffRow]
    later: int
    unscheduled: Sequence[str]
    cautions: Sequence[Caution]


Order = tuple[int, date, str, int, int]
"""A line's place in a list, its state first."""


@dataclass(frozen=True, slots=True)
class DuePart:
    """What some engines give to the list: their lines that want something, and the rules of these."""

    rows: Sequence[tuple[Order, DueRow]]
    off: Sequence[OffRow]
    put_off: Sequence[PutOffRow]
    later: int
    unscheduled: Sequence[str]
    rules: Sequence[Rule]


def due_part(fleet: FleetState) -> DuePart:
    """The lines of some engines; those that are for later are counted only."""
    lines = [line for state in fleet.engines for line in state.lines]
    wanted = [line for line in lines if line.state != LATER]
    rules = {(rule.key, rule.title): rule for rule in (line.rule for line in wanted)}
    return DuePart(
        [(line.order, _row(line)) for line in wanted],
        [_off_row(state, items) for state in fleet.engines if (items := off_views(state))],
        [_put_off_row(line) for line in lines if line.is_put_off],
        len(lines) - len(wanted),
        [state.serial for state in fleet.engines if state.is_unscheduled],
        list(rules.values()),
    )


def due_page(parts: Sequence[DuePart]) -> DuePage:
    """The due list of a fleet, from all its parts."""
    by_state: dict[str, list[DueRow]] = {state: [] for state in STATES}
    for order, row in sorted((row for part in parts for row in part.rows), key=itemgetter(0)):
        by_state[STATES[order[0]]].append(row)
    return DuePage(
        [
            DueGroup(
                state_class(state),
                state,
                BADGES[state],
                MEANINGS[state],
                "Since" if state == OVERDUE else "Likely",
                found,
            )
            for state, found in by_state.items()
            if found
        ],
        sorted((row for part in parts for row in part.off), key=attrgetter("engine")),
        sorted((row for part in parts for row in part.put_off), key=attrgetter("engine", "told")),
        sum(part.later for part in parts),
        sorted(serial for part in parts for serial in part.unscheduled),
        cautions_for(rule for part in parts for rule in part.rules),
    )


def _off_row(state: EngineState, items: Sequence[str]) -> OffRow:
    return OffRow(state.serial, engine_page_path(state.serial), boat_name(state.facts.boat), items)


def _put_off_row(line: DueLine) -> PutOffRow:
    told = deferred_text(line, work_name(line), with_reason=True)
    return PutOffRow(line.serial, engine_page_path(line.serial), boat_name(line.facts.boat), told)


def _row(line: DueLine) -> DueRow:
    facts, rule = line.facts, line.rule
    last = facts.last_reading
    return DueRow(
        boat_name(facts.boat),
        facts.owner.name if facts.owner else "",
        facts.engine.serial,
        engine_page_path(facts.engine.serial),
        ", ".join(filter(None, (facts.position, hours_shown(last.tenths) if last else ""))),
        work_name(line),
        rule.opens or "",
        rule.consequence or "",
        due_text(line),
        likely_text(line),
        days_told(explain(line)),
    )

"""The marina's due list: every line that wants something, by state, the most urgent first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from fleetlog.domain.due import DueLine, in_order
from fleetlog.domain.explain import explain
from fleetlog.domain.fleet import FleetState
from fleetlog.domain.words import DUE, LATER, NEEDS_A_READING, NEXT_ACCESS, NO_RECORD, OVERDUE, STATES
from fleetlog.reports.cautions import Caution, cautions_for
from fleetlog.reports.limits import due_text, likely_text, work_name
from fleetlog.reports.names import engine_page_path
from fleetlog.reports.shapes import BADGES, state_class
from fleetlog.reports.words import boat_name, hours_shown

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
class DuePage:
    """The list as it is laid out; `later` is the number of lines left out."""

    groups: Sequence[DueGroup]
    later: int
    cautions: Sequence[Caution]


def due_page(fleet: FleetState) -> DuePage:
    """The due list of a fleet; lines that are for later are counted only."""
    lines = in_order(line for state in fleet.engines for line in state.lines)
    by_state: dict[str, list[DueLine]] = {state: [] for state in STATES}
    for line in lines:
        by_state[line.state].append(line)
    later = len(by_state.pop(LATER))
    return DuePage(
        [
            DueGroup(
                state_class(state),
                state,
                BADGES[state],
                MEANINGS[state],
                "Since" if state == OVERDUE else "Likely",
                [_row(line) for line in found],
            )
            for state, found in by_state.items()
            if found
        ],
        later,
        cautions_for(line.rule for line in lines if line.state != LATER),
    )


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
        "" if rule.access in (None, "none") else rule.access,
        rule.consequence or "",
        due_text(line),
        likely_text(line),
        explain(line),
    )

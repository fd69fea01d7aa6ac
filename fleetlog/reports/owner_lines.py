"""The rows of a reminder: the work on one engine, the most urgent first, as its owner reads it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup

from fleetlog.domain.due import DueLine
from fleetlog.domain.fleet import EngineState
from fleetlog.domain.words import NEXT_ACCESS, NO_RECORD, STATES
from fleetlog.reports.charts.bars import Used
from fleetlog.reports.charts.shapes import BADGES
from fleetlog.reports.limits import interval_used, work_name
from fleetlog.reports.owner_words import by_when, if_it_waits, why_now
from fleetlog.reports.words import listed

MOST_UNKNOWN = 2
"""More lines without a record than these are told as one."""


@dataclass(frozen=True, slots=True)
class OwnerLine:
    """One piece of work, or several kinds of it without a record; `stands_for` counts the due lines."""

    state: str
    badge: Markup
    work: str
    why: str
    waits: str
    by_when: str
    used: Sequence[Used] = ()
    stands_for: int = 1


def most_pressing_first(engines: Sequence[EngineState]) -> list[EngineState]:
    """The engines boat by boat: first the boat whose most urgent line is the most urgent of all."""
    pressing: dict[str, tuple[int, date]] = {}
    for state in engines:
        orders = [line.order[:2] for line in state.lines if line.state != NEXT_ACCESS]
        known = pressing.get(_home(state), (len(STATES), date.max))
        pressing[_home(state)] = min([known, *orders])
    return sorted(engines, key=lambda state: pressing[_home(state)])


def _home(state: EngineState) -> str:
    return state.facts.boat.boat_id if state.facts.boat else state.serial


def owner_lines(state: EngineState, today: date) -> list[OwnerLine]:
    """What wants doing on an engine, the most urgent first; what waits for the next access aside."""
    wanted = sorted((line for line in state.lines if line.wants_doing), key=lambda line: line.order)
    unknown = [line for line in wanted if line.state == NO_RECORD]
    if len(unknown) <= MOST_UNKNOWN:
        return [_row(state, line, today) for line in wanted]
    known = [line for line in wanted if line.state != NO_RECORD]
    urgent = sum(line.order < unknown[0].order for line in known)
    rows = [_row(state, line, today) for line in known]
    return [*rows[:urgent], _unknown_row(unknown), *rows[urgent:]]


def _row(state: EngineState, line: DueLine, today: date) -> OwnerLine:
    return OwnerLine(
        line.state,
        BADGES[line.state],
        work_name(line, 60),
        why_now(line),
        if_it_waits(line),
        by_when(state, line, today),
        interval_used(line, today),
    )


def _unknown_row(lines: Sequence[DueLine]) -> OwnerLine:
    names = [work_name(line, 50) for line in lines]
    told, left = names[:4], len(names) - 4
    named = f"{', '.join(told)} and {left} more" if left > 0 else listed(told)
    return OwnerLine(
        NO_RECORD,
        BADGES[NO_RECORD],
        f"{len(lines)} kinds of work",
        f"Our log does not say when these were last done: {named}.",
        "",
        "Please tell us what you know of them; what nobody knows is best looked at now.",
        stands_for=len(lines),
    )

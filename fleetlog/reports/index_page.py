"""The first page: how many lines are in which state, who is written to, and where each engine's page is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from operator import attrgetter, itemgetter

from markupsafe import Markup

from fleetlog.domain.fleet import EngineState, FleetState
from fleetlog.domain.out_of_service import WITHOUT_LINES
from fleetlog.domain.records import Owner
from fleetlog.domain.words import DUE, LATER, NEEDS_A_READING, NEXT_ACCESS, NO_RECORD, OVERDUE, STATES
from fleetlog.reports.charts.shapes import BADGES, state_class
from fleetlog.reports.due_page import MEANINGS
from fleetlog.reports.names import engine_page_path, name_order, owner_page_path
from fleetlog.reports.words import boat_name, engine_kind, hours_read


@dataclass(frozen=True, slots=True)
class StateCount:
    """How many lines stand in a state."""

    badge: Markup
    count: int
    meaning: str
    anchor: str


@dataclass(frozen=True, slots=True)
class OwnerRow:
    """An owner, the boats, what is open, and the reminder where one is wanted."""

    name: str
    page: str
    boats: str
    open_lines: str
    remind_by: str


@dataclass(frozen=True, slots=True)
class EngineRow:
    """An engine and its page."""

    serial: str
    page: str
    kind: str
    boat: str
    hours: str
    open_lines: str
    held: str


@dataclass(frozen=True, slots=True)
class LifeRow:
    """A kind of item and how long it lasts: with a page of its own, or why there is none."""

    item: str
    page: str
    ended: str
    b10: str
    answer: str


@dataclass(frozen=True, slots=True)
class IndexPage:
    """The first page as it is laid out."""

    counts: Sequence[StateCount]
    owners: Sequence[OwnerRow]
    not_reminded: Sequence[OwnerRow]
    engines: Sequence[EngineRow]
    lives: Sequence[LifeRow]
    has_backtest: bool


@dataclass(frozen=True, slots=True)
class IndexPart:
    """What some engines, with all of each of their owners, give to the first page; owners by their order."""

    counts: Counter[str]
    owners: Sequence[tuple[OwnerOrder, OwnerRow]]
    engines: Sequence[EngineRow]


OwnerOrder = tuple[tuple[str, str], str]
"""Owners stand by name, then by id."""


def owner_order(owner: Owner) -> OwnerOrder:
    """The place of an owner among owners."""
    return name_order(owner.name), owner.owner_id


def engines_by_owner(fleet: FleetState) -> list[tuple[Owner, list[EngineState]]]:
    """Each owner known by name with the engines that are theirs now, by name; none sold or scrapped."""
    found: dict[str, tuple[Owner, list[EngineState]]] = {}
    for state in fleet.engines:
        owner = state.facts.owner
        if owner is not None and state.facts.engine.state not in WITHOUT_LINES:
            found.setdefault(owner.owner_id, (owner, []))[1].append(state)
    for _, engines in found.values():
        engines.sort(key=lambda s: (name_order(boat_name(s.facts.boat)), s.facts.position or "", s.serial))
    return sorted(found.values(), key=lambda pair: owner_order(pair[0]))


def wants_reminders(owner: Owner) -> bool:
    """Whether an owner is written to: all but those who said that they want none."""
    return owner.remind_by != "none"


def index_part(fleet: FleetState) -> IndexPart:
    """The rows of some engines and of their owners."""
    return IndexPart(
        Counter(line.state for state in fleet.engines for line in state.lines),
        [(owner_order(owner), _owner_row(owner, engines)) for owner, engines in engines_by_owner(fleet)],
        [_engine_row(state) for state in fleet.engines],
    )


def index_page(
    parts: Sequence[IndexPart], lives: Sequence[LifeRow] = (), has_backtest: bool = False
) -> IndexPage:
    """The first page of a fleet's reports, from all its parts."""
    counts = sum((part.counts for part in parts), Counter[str]())
    owners = [row for _, row in sorted((o for part in parts for o in part.owners), key=itemgetter(0))]
    return IndexPage(
        [StateCount(BADGES[s], counts[s], MEANINGS[s], "" if s == LATER else state_class(s)) for s in STATES],
        [row for row in owners if row.page],
        [row for row in owners if not row.page],
        sorted((row for part in parts for row in part.engines), key=attrgetter("serial")),
        lives,
        has_backtest,
    )


OPEN_WORDS = {
    OVERDUE: "overdue",
    NO_RECORD: "without a record",
    NEEDS_A_READING: "needing a reading",
    DUE: "due",
    NEXT_ACCESS: "at the next access",
}
"""How lines of a state are counted in a sentence."""


def open_text(engines: Sequence[EngineState]) -> str:
    """`2 overdue, 1 due`: the lines that want something, by state, what is off, engines that nobody knows."""
    counts = Counter(line.state for state in engines for line in state.lines)
    said = [f"{counts[s]} {word}" for s, word in OPEN_WORDS.items() if counts[s]]
    unscheduled = sum(state.is_unscheduled for state in engines)
    off = sum(len(state.off) for state in engines)
    said += [f"{off} off and not put on again"] if off else []
    return ", ".join([*said, *([f"{unscheduled} without a schedule"] if unscheduled else [])])


def _owner_row(owner: Owner, engines: Sequence[EngineState]) -> OwnerRow:
    boats = dict.fromkeys(boat_name(state.facts.boat) for state in engines)
    return OwnerRow(
        owner.name,
        owner_page_path(owner.name, owner.owner_id) if wants_reminders(owner) else "",
        ", ".join(boats),
        open_text(engines) or "nothing",
        owner.remind_by or "not said",
    )


def _engine_row(state: EngineState) -> EngineRow:
    facts = state.facts
    place = f", {facts.position}" if facts.position else ""
    if facts.boat is not None:
        where = f"{facts.boat.name}{place}"
    else:
        where = "on no boat" if facts.engine.state == "in service" else facts.engine.state
    held = len(state.seen.hours.held)
    return EngineRow(
        facts.engine.serial,
        engine_page_path(facts.engine.serial),
        engine_kind(facts.engine),
        where,
        hours_read(facts),
        open_text([state]) or "nothing",
        f"{held} held" if held else "",
    )

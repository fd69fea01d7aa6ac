"""The due list: which work falls due for whom, and why one line stands where it stands."""

from __future__ import annotations

from dataclasses import dataclass

from fleetlog.domain.due import DEFAULT_WINDOW_DAYS, DueLine, in_order
from fleetlog.domain.explain import sentences
from fleetlog.domain.fleet import FleetState
from fleetlog.domain.words import LATER, name_key
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import find_boat, find_owner, find_rule, find_serial, needed_schedule
from fleetlog.usecases.fleet import fleet_state
from fleetlog.usecases.occasion import Occasion


@dataclass(frozen=True, slots=True)
class DueQuestion:
    """What of the due list is asked for; what is None is not filtered by."""

    within_days: int = DEFAULT_WINDOW_DAYS
    with_later: bool = False
    owner: str | None = None
    boat: str | None = None
    engine: str | None = None
    item: str | None = None


def list_due(log: Log, occasion: Occasion, question: DueQuestion) -> list[DueLine]:
    """The due lines that are asked for, in the order of a list."""
    with log.reading() as reader:
        serials = None if question.engine is None else [find_serial(reader, question.engine)]
        boat = None if question.boat is None else find_boat(reader, question.boat)
        owner = None if question.owner is None else find_owner(reader, question.owner)
        state = fleet_state(reader, occasion.today, question.within_days, serials)
    return in_order(
        line
        for line in _lines(state)
        if (question.with_later or line.state != LATER)
        and (boat is None or (line.facts.boat is not None and line.facts.boat.boat_id == boat.boat_id))
        and (owner is None or line.facts.owner_id == owner.owner_id)
        and (question.item is None or name_key(question.item) in name_key(line.rule.item))
    )


def _lines(state: FleetState) -> list[DueLine]:
    return [line for engine in state.engines for line in engine.lines]


@dataclass(frozen=True, slots=True)
class Explanation:
    """A due line and the sentences of its reason."""

    line: DueLine
    sentences: list[str]


def explain_rule(log: Log, occasion: Occasion, engine: str, rule: str) -> tuple[str, list[Explanation]]:
    """The title of a rule and, for each of its lines on an engine, the reason in plain sentences.

    There is no line where an item renewed when disturbed is not owed, or a boat has no lay-up.
    """
    with log.reading() as reader:
        serial = find_serial(reader, engine)
        wanted = find_rule(needed_schedule(reader.ledger(serial), reader.schedules()), rule)
        state = fleet_state(reader, occasion.today, DEFAULT_WINDOW_DAYS, [serial])
    lines = [line for line in _lines(state) if line.rule.key == wanted.key]
    return f"{serial}: {wanted.title}", [Explanation(line, sentences(line)) for line in lines]


def lines_of_engine(reader: Reader, occasion: Occasion, serial: str) -> list[DueLine]:
    """Every line of one engine, in the order of its schedule."""
    return _lines(fleet_state(reader, occasion.today, DEFAULT_WINDOW_DAYS, [serial]))

"""How many of each part the coming weeks will take, and what to order: from due windows and from failures.

For each due line and each horizon there is a chance that its part is used by then:

- its next turn comes (by the line's window of dates), or the item fails before (`either` of the two);
- its later turns come, each a regular interval after the one before (`turns`);
- a line that is overdue or without a record is taken to be done within the shortest horizon;
- a line that waits for the next access comes with the likeliest other work that opens it.

Uses are taken as independent of each other, which they are not quite (a wet summer takes many impellers):
the 90 % level is a little low for parts that fail together.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import inf
from typing import TYPE_CHECKING

from fleetlog.domain.due import DueLine
from fleetlog.domain.fleet import EngineState, FleetState
from fleetlog.domain.lives import ItemLife
from fleetlog.domain.parts import Part, makers_of
from fleetlog.domain.schedule import PartNeed
from fleetlog.domain.stock import parts_used, stock_on
from fleetlog.domain.usage import NOT_IN_SIGHT, DateWindow
from fleetlog.domain.words import NEXT_ACCESS, NO_RECORD, OVERDUE, name_key, same_name
from fleetlog.store.log import Log
from fleetlog.usecases.fleet import fleet_state
from fleetlog.usecases.lives.chances import FirmFits, HoursAhead, chance_of
from fleetlog.usecases.lives.gathering import lives_in
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.part_register import order_numbers
from fleetlog.usecases.turns import Turns, turns_of, windows_of_turns

if TYPE_CHECKING:
    from fleetlog.life.demand import ExpectedUse

MOST_TURNS = 60
"""So many renewals of one line within the longest horizon are followed."""

_SLIGHTEST = 1e-4
"""A later turn is followed as far as it has this chance within the longest horizon."""

_TURNS_AT_ONCE = 3


@dataclass(frozen=True, slots=True)
class PartDemand:
    """One part number over one horizon: expected, enough at the level asked for, there and on order.

    `on_shelf` is None where the part was never counted or brought in. `to_order` is what is missing to have
    enough: all of it where nothing is known of the shelf.
    """

    part_number: str
    name: str | None
    maker: str | None
    days: int
    expected: float
    enough: float
    on_shelf: float | None
    on_order: float
    to_order: float


def part_demands(
    log: Log, occasion: Occasion, horizons_days: Sequence[int], level: float
) -> list[PartDemand]:
    """The demand for every part number over each horizon; superseded numbers count as the one to order.

    Raises IntervalNotPositive for a horizon of no length and ShareOutOfRange for a level that is none.
    """
    from fleetlog.life.demand import ExpectedUse, parts_demand

    today = occasion.today
    with log.reading() as reader:
        state = fleet_state(reader, today, max(horizons_days))
        register = {name_key(part.part_number): part for part in reader.parts()}
        numbers = order_numbers(reader, today)
        moves = reader.rows("part_moves")
        recorded = lives_in(
            (e.ledger for e in state.engines), reader.schedules(), makers_of(register.values()), today
        )
    uses = [
        ExpectedUse(numbers.of(use.part_number), use.quantity, use.chances)
        for use in expected_uses(state, FirmFits.of(recorded.lives), horizons_days)
    ]
    stock = stock_on(moves, parts_used(state), today, numbers)
    found = []
    for demand in parts_demand(uses, horizons_days, level):
        number = demand.part_number
        until = today + timedelta(days=demand.horizon_days)
        coming = float(
            sum(
                o.amount
                for o in stock.on_order
                if o.part_number == number and (o.expected_on is None or o.expected_on <= until)
            )
        )
        there = float(stock.on_shelf[number]) if number in stock.on_shelf else None
        part = register.get(name_key(number), Part(number))
        missing = max(round(demand.enough - (there or 0.0) - coming, 2), 0.0)
        found.append(
            PartDemand(
                number,
                part.name,
                part.maker,
                demand.horizon_days,
                round(demand.expected, 3),
                demand.enough,
                there,
                coming,
                missing,
            )
        )
    return found


def expected_uses(state: FleetState, firm: FirmFits, horizons_days: Sequence[int]) -> Iterator[ExpectedUse]:
    """Every use of a part that may come: at each due line, at its later turns, and at failures before."""
    ends = [state.today + timedelta(days=days) for days in horizons_days]
    ahead = HoursAhead.of(state, {engine.serial: ends for engine in state.engines if engine.lines})
    outlook = _Outlook(state.today, tuple(horizons_days), tuple(ends), firm, ahead)
    coming_round: list[_ComingRound] = []
    for engine in state.engines:
        for line in engine.lines:
            life = _fitted_at(line, firm)
            parts = _parts_of(line, life)
            if parts:
                chances = outlook.first_turn(engine, line, life)
                yield from _uses(parts, chances)
                turns = turns_of(engine, line, state.today)
                if turns is not None:
                    coming_round.append((turns, parts, chances))
    yield from _later_uses(state, outlook, coming_round)
    yield from _unrenewed(state, outlook)


def _parts_of(line: DueLine, life: ItemLife | None) -> Sequence[PartNeed]:
    """What a line's work takes: what its rule says, else the number of the part that it renews."""
    if not line.rule.parts and line.rule.action == "replace" and life is not None and life.part_number:
        return (PartNeed(life.part_number),)
    return line.rule.parts


def _uses(parts: Sequence[PartNeed], chances: tuple[float, ...]) -> Iterator[ExpectedUse]:
    from fleetlog.life.demand import ExpectedUse

    if any(chances):
        for part in parts:
            yield ExpectedUse(part.number, float(part.quantity), chances)


_ComingRound = tuple[Turns, Sequence[PartNeed], tuple[float, ...]]
"""The turns of a line, what each takes, and the chances of the latest turn told."""


def _later_uses(
    state: FleetState, outlook: _Outlook, open_turns: Sequence[_ComingRound]
) -> Iterator[ExpectedUse]:
    """The second, third … turns of lines, as far as the longest horizon sees, all engines together.

    No turn is likelier than the one before it, whatever the far ends of its window say.
    """
    for first in range(1, MOST_TURNS + 1, _TURNS_AT_ONCE):
        numbers = range(first, first + _TURNS_AT_ONCE)
        windows = windows_of_turns(state, [turns for turns, _, _ in open_turns], numbers)
        going_on = []
        for (turns, parts, chances), ahead in zip(open_turns, windows, strict=True):
            for window in ahead:
                chances = tuple(map(min, chances, outlook.within(window)))
                yield from _uses(parts, chances)
            if chances[-1] >= _SLIGHTEST:
                going_on.append((turns, parts, chances))
        open_turns = going_on
        if not open_turns:
            return


def _unrenewed(state: FleetState, outlook: _Outlook) -> Iterator[ExpectedUse]:
    """What failures take of items that no rule of their schedule renews, where the part number is known."""
    engines = {engine.serial: engine for engine in state.engines if engine.lines}
    renewed = {
        (engine.serial, name_key(line.rule.item))
        for engine in engines.values()
        for line in engine.lines
        if line.rule.action == "replace"
    }
    for (serial, kind), lives in outlook.firm.running.items():
        if serial in engines and (serial, kind) not in renewed:
            for life in lives:
                if life.part_number is not None:
                    yield from _uses((PartNeed(life.part_number),), outlook.failing(engines[serial], life))


@dataclass(frozen=True, slots=True)
class _Outlook:
    """Chances within each horizon; the horizons in order, the longest last."""

    today: date
    horizons_days: tuple[int, ...]
    ends: tuple[date, ...]
    firm: FirmFits
    ahead: HoursAhead

    def first_turn(self, engine: EngineState, line: DueLine, life: ItemLife | None) -> tuple[float, ...]:
        """That a line's work comes, because it falls due or because the item fails before."""
        from fleetlog.life.demand import either

        due = self.due(engine, line)
        if line.rule.action != "replace" or life is None:
            return due
        return tuple(either(a, b) for a, b in zip(due, self.failing(engine, life), strict=True))

    def due(self, engine: EngineState, line: DueLine) -> tuple[float, ...]:
        """That a line's work falls due.

        What is overdue or without a record is taken to be done within the shortest horizon; what waits for
        the next access comes with the likeliest other work that opens it.
        """
        never = (0.0,) * len(self.ends)
        if line.state in (OVERDUE, NO_RECORD):
            return (1.0,) * len(self.ends)
        if line.state == NEXT_ACCESS:
            opening = [
                self.due(engine, other)
                for other in engine.lines
                if other.state != NEXT_ACCESS
                and line.rule.access is not None
                and same_name(other.rule.access, line.rule.access)
            ]
            return tuple(max(column) for column in zip(*opening, strict=True)) if opening else never
        return never if line.window is None else self.within(line.window)

    def within(self, window: DateWindow) -> tuple[float, ...]:
        """That a window's day has come; of what is not in sight no more than by the last day that is."""
        from fleetlog.life.demand import chance_within

        seen = window.within_sight(self.today)
        days = (seen.early_on, seen.likely_on, seen.late_on)
        early, likely, late = (float((day - self.today).days) for day in days)
        farthest = late - 1 if window.late_on == NOT_IN_SIGHT else inf
        return tuple(
            chance_within(min(horizon, farthest), early, likely, late) for horizon in self.horizons_days
        )

    def failing(self, engine: EngineState, life: ItemLife) -> tuple[float, ...]:
        """That an item fails, where the records of its kind give a firm answer."""
        fit = self.firm.fit(life.item, engine.schedule.name if engine.schedule else None)
        if fit is None:
            return (0.0,) * len(self.ends)
        return tuple(chance_of(fit, life, self.ahead, self.today, end) or 0.0 for end in self.ends)


def _fitted_at(line: DueLine, firm: FirmFits) -> ItemLife | None:
    here = firm.running.get((line.serial, name_key(line.rule.item)), ())
    places = [x for x in here if None in (line.position, x.position) or same_name(line.position, x.position)]
    return places[0] if len(places) == 1 else None

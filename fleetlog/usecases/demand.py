"""How many of each part the coming weeks will take, and what to order: from due windows and from failures."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from fleetlog.domain.due import DueLine
from fleetlog.domain.fleet import EngineState, FleetState
from fleetlog.domain.interval import interval_limits, severe_factor
from fleetlog.domain.lives import ItemLife
from fleetlog.domain.months import add_months
from fleetlog.domain.parts import Part, makers_of
from fleetlog.domain.records import Entry
from fleetlog.domain.schedule import PartNeed
from fleetlog.domain.stock import PartUsed, stock_on
from fleetlog.domain.superseded import newest_number, standing_on
from fleetlog.domain.usage import DateWindow, HoursTarget
from fleetlog.domain.words import NEXT_ACCESS, NO_RECORD, OVERDUE, name_key, same_name
from fleetlog.store.log import Log
from fleetlog.usecases.chances import FirmFits, chance_of
from fleetlog.usecases.fleet import fleet_state
from fleetlog.usecases.lives import lives_in
from fleetlog.usecases.occasion import Occasion

if TYPE_CHECKING:
    from fleetlog.life.demand import ExpectedUse

MOST_REPEATS = 60
"""So many renewals of one line within the longest horizon are followed."""


@dataclass(frozen=True, slots=True)
class PartOutlook:
    """One part number over one horizon: expected, enough at the level asked for, there and on order.

    `to_order` is what is missing to have enough; None where the part was never counted or brought in, so
    that nothing is known of the shelf and the whole of `enough` is to be had.
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


def parts_outlook(
    log: Log, occasion: Occasion, horizons_days: Sequence[int], level: float
) -> list[PartOutlook]:
    """The demand for every part number over each horizon; superseded numbers count as the one to order.

    Raises IntervalNotPositive for a horizon of no length and ShareOutOfRange for a level that is none.
    """
    from fleetlog.life.demand import ExpectedUse, parts_demand

    today = occasion.today
    with log.reading() as reader:
        state = fleet_state(reader, today, max(horizons_days))
        register = {name_key(part.part_number): part for part in reader.parts()}
        replaced = standing_on(reader.supersessions(), today)
        moves = reader.rows("part_moves")
        recorded = lives_in(
            (e.ledger for e in state.engines), reader.schedules(), makers_of(register.values()), today
        )
    uses = [
        ExpectedUse(newest_number(replaced, use.part_number), use.quantity, use.chances)
        for use in expected_uses(state, FirmFits(recorded), horizons_days)
    ]
    stock = stock_on(moves, _used(state), today)
    shelf: dict[str, Decimal] = defaultdict(Decimal)
    for number, amount in stock.on_shelf.items():
        shelf[newest_number(replaced, number)] += amount
    found = []
    for demand in parts_demand(uses, horizons_days, level):
        number = demand.part_number
        until = today + timedelta(days=demand.horizon_days)
        coming = sum(
            float(o.amount)
            for o in stock.on_order
            if newest_number(replaced, o.part_number) == number
            and (o.expected_on is None or o.expected_on <= until)
        )
        there = float(shelf[number]) if number in shelf else None
        part = register.get(name_key(number), Part(number))
        missing = max(demand.enough - (there or 0.0) - coming, 0.0)
        found.append(
            PartOutlook(
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
    for engine in state.engines:
        for line in engine.lines:
            yield from _uses_of_line(engine, line, firm, state.today, horizons_days)
    unrenewed = {
        e.serial: (e, {name_key(line.rule.item) for line in e.lines if line.rule.action == "replace"})
        for e in state.engines
        if e.lines
    }
    for (serial, kind), lives in firm.running.items():
        there, renewed = unrenewed.get(serial, (None, set()))
        if there is not None and kind not in renewed:
            for life in lives:
                yield from _uses_by_failure(there, life, firm, state.today, horizons_days)


def _uses_of_line(
    engine: EngineState, line: DueLine, firm: FirmFits, today: date, horizons_days: Sequence[int]
) -> Iterator[ExpectedUse]:
    from fleetlog.life.demand import ExpectedUse, either

    life = _fitted_at(engine, line, firm)
    parts: Sequence[PartNeed] = line.rule.parts
    if not parts and line.rule.action == "replace" and life is not None and life.part_number:
        parts = (PartNeed(life.part_number),)
    if not parts:
        return
    due = _chances_due(engine, line, today, horizons_days)
    if line.rule.action == "replace" and life is not None:
        failing = _chances_of_failure(engine, life, firm, today, horizons_days)
        due = tuple(either(a, b) for a, b in zip(due, failing, strict=True))
    for chances in (due, *_later_turns(engine, line, today, horizons_days)):
        if any(chances):
            for part in parts:
                yield ExpectedUse(part.number, float(part.quantity), chances)


def _uses_by_failure(
    engine: EngineState, life: ItemLife, firm: FirmFits, today: date, horizons_days: Sequence[int]
) -> Iterator[ExpectedUse]:
    """What a failure takes of an item that no rule of its schedule renews, where its part number is known."""
    from fleetlog.life.demand import ExpectedUse

    if life.part_number is not None:
        chances = _chances_of_failure(engine, life, firm, today, horizons_days)
        if any(chances):
            yield ExpectedUse(life.part_number, 1.0, chances)


def _fitted_at(engine: EngineState, line: DueLine, firm: FirmFits) -> ItemLife | None:
    here = firm.running.get((engine.serial, name_key(line.rule.item)), ())
    places = [
        li for li in here if None in (line.position, li.position) or same_name(line.position, li.position)
    ]
    return places[0] if len(places) == 1 else None


def _chances_due(
    engine: EngineState, line: DueLine, today: date, horizons_days: Sequence[int]
) -> tuple[float, ...]:
    """The chance that a line's work comes within each horizon.

    What is overdue or without a record is taken to be done within the shortest; what waits for the next
    access comes with the likeliest other work that opens it.
    """
    if line.state in (OVERDUE, NO_RECORD):
        return (1.0,) * len(horizons_days)
    if line.state == NEXT_ACCESS:
        openers = [
            _chances_due(engine, other, today, horizons_days)
            for other in engine.lines
            if other.state != NEXT_ACCESS
            and line.rule.access is not None
            and same_name(other.rule.access, line.rule.access)
        ]
        return (
            tuple(max(column) for column in zip(*openers, strict=True))
            if openers
            else (0.0,) * len(horizons_days)
        )
    return (0.0,) * len(horizons_days) if line.window is None else _within(line.window, today, horizons_days)


def _within(window: DateWindow, today: date, horizons_days: Sequence[int]) -> tuple[float, ...]:
    from fleetlog.life.demand import chance_within

    early, likely, late = (
        float((day - today).days) for day in (window.early_on, window.likely_on, window.late_on)
    )
    return tuple(chance_within(days, early, likely, late) for days in horizons_days)


def _later_turns(
    engine: EngineState, line: DueLine, today: date, horizons_days: Sequence[int]
) -> Iterator[tuple[float, ...]]:
    """The chances of the second, third … time a line comes round, as far as the longest horizon sees.

    Each turn counts the regular interval from the one before; work that is due already counts from today.
    """
    rule, last_day = line.rule, today + timedelta(days=max(horizons_days))
    if rule.once or rule.renew_when_disturbed or line.state == NEXT_ACCESS:
        return
    interval = interval_limits(rule, severe_factor(rule, engine.facts.boat), False)
    months = 12 if rule.season is not None else interval.months
    last = engine.facts.last_reading
    is_now = line.state in (OVERDUE, NO_RECORD) or (line.likely_on is not None and line.likely_on < today)
    base_on = today if is_now else line.due_on
    base_tenths = (None if last is None else last.tenths) if is_now else line.due_tenths
    turns = range(1, MOST_REPEATS + 1)
    days = [add_months(base_on, months * n) for n in turns] if base_on is not None and months else []
    by_hours: Sequence[DateWindow] = ()
    if last is not None and base_tenths is not None and interval.tenths:
        targets = [HoursTarget(base_tenths + interval.tenths * n) for n in turns]
        reached = [t for t in targets if t.tenths > last.tenths]
        by_hours = engine.forecast.windows(reached) if len(reached) == len(targets) else ()
    for n in range(MOST_REPEATS):
        found = [by_hours[n]] if n < len(by_hours) else []
        found += [DateWindow(days[n], days[n], days[n])] if n < len(days) else []
        if not found:
            return
        window = DateWindow(
            min(w.early_on for w in found), min(w.likely_on for w in found), min(w.late_on for w in found)
        )
        if window.early_on > last_day:
            return
        yield _within(window, today, horizons_days)


def _chances_of_failure(
    engine: EngineState, life: ItemLife, firm: FirmFits, today: date, horizons_days: Sequence[int]
) -> tuple[float, ...]:
    fit = firm.fit(life.item, engine.schedule.name if engine.schedule else None)
    if fit is None:
        return (0.0,) * len(horizons_days)
    return tuple(
        chance_of(fit, engine, life, today, today + timedelta(days=days)) or 0.0 for days in horizons_days
    )


def _used(state: FleetState) -> Iterator[PartUsed]:
    """The parts that entries name, each as many as the rule on that item takes of it, else one."""
    for engine in state.engines:
        rules = engine.schedule.rules if engine.schedule is not None else ()
        takes = {part.number: part.quantity for rule in rules for part in rule.parts}
        for entry in engine.seen.entries:
            if _is_new_part(entry) and entry.part_number is not None:
                yield PartUsed(entry.part_number, entry.on, takes.get(entry.part_number, Decimal(1)))


def _is_new_part(entry: Entry) -> bool:
    return entry.action == "fitted" and entry.condition != "used"

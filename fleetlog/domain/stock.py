"""What lies on the shelf and what is on its way, worked out from parts ordered, arrived, counted and used.

The last count, plus what arrived, less what went in: an entry that names a part of its item's rule stands
for all parts of that rule, another number for itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal

from fleetlog.domain.diary_records import ARRIVED, COUNTED, ORDERED, PartMove
from fleetlog.domain.fleet import FleetState
from fleetlog.domain.records import Entry
from fleetlog.domain.schedule import Rule
from fleetlog.domain.superseded import OrderNumbers
from fleetlog.domain.values import value_class
from fleetlog.domain.words import same_name


@value_class(frozen=True, slots=True)
class PartUsed:
    """A part that went into an engine."""

    part_number: str
    on: date
    amount: Decimal


@value_class(frozen=True, slots=True)
class OnOrder:
    """What of an order has not arrived; `late` where its day has passed."""

    order_id: str
    part_number: str
    amount: Decimal
    expected_on: date | None
    late: bool
    boat_id: str | None = None


@value_class(frozen=True, slots=True)
class Stock:
    """What there is on a day: by the number to order, never below 0, and the open orders by day."""

    on_shelf: Mapping[str, Decimal]
    on_order: tuple[OnOrder, ...]


def stock_on(
    moves: Iterable[PartMove], used: Iterable[PartUsed], today: date, numbers: OrderNumbers
) -> Stock:
    """The stock on a day.

    A number is counted from its latest count on: what arrived since is added, what was used since is taken
    off; on the day of the count itself nothing is. A number never counted begins with what first arrived.
    Superseded numbers are counted each for itself and lie on the shelf as the number to order; what was used
    under one that was never counted is taken off that, or else off another number of the part.
    """
    spelled = (replace(m, part_number=numbers.spelled(m.part_number)) for m in moves if m.on <= today)
    seen = sorted(spelled, key=lambda m: m.on)
    counts = {m.part_number: (m.on, m.amount) for m in seen if m.move == COUNTED}
    shelf = {number: amount for number, (_, amount) in counts.items()}
    first_on: dict[str, date] = {number: on for number, (on, _) in counts.items()}
    arrived: dict[str, Decimal] = {}
    for move in seen:
        if move.move != ARRIVED:
            continue
        if move.order_id is not None:
            arrived[move.order_id] = arrived.get(move.order_id, Decimal(0)) + move.amount
        counted = counts.get(move.part_number)
        if counted is None or move.on > counted[0]:
            shelf[move.part_number] = shelf.get(move.part_number, Decimal(0)) + move.amount
            first_on.setdefault(move.part_number, move.on)
    newest_last = sorted(first_on, key=lambda number: numbers.of(number) == number)
    counted_as = {numbers.of(number): number for number in newest_last}
    for use in used:
        own = numbers.spelled(use.part_number)
        number = own if own in first_on else counted_as.get(numbers.of(own), own)
        start = first_on.get(number)
        is_since = start is not None and (use.on > start or (use.on == start and number not in counts))
        if is_since and use.on <= today:
            shelf[number] -= use.amount
    orders = []
    for move in seen:
        left = move.amount - arrived.get(move.move_id, Decimal(0))
        if move.move == ORDERED and left > 0:
            late = move.expected_on is not None and move.expected_on < today
            number = numbers.of(move.part_number)
            orders.append(OnOrder(move.move_id, number, left, move.expected_on, late, move.boat_id))
    orders.sort(key=lambda o: (o.expected_on or date.max, o.part_number, o.order_id))
    on_shelf: dict[str, Decimal] = {}
    for number, amount in shelf.items():
        ordered_as = numbers.of(number)
        on_shelf[ordered_as] = on_shelf.get(ordered_as, Decimal(0)) + max(Decimal(0), amount)
    return Stock(on_shelf, tuple(orders))


def parts_used(fleet: FleetState) -> Iterator[PartUsed]:
    """The new parts that went in: those that entries name, with what their rules take beside them.

    An entry that names a part of a rule about its item stands for all parts of that rule, at each of the
    rule's places where the entry names none; a part that no such rule has counts once, by itself.
    """
    for engine in fleet.engines:
        rules = engine.schedule.rules if engine.schedule is not None else ()
        for entry in engine.seen.entries:
            if entry.action == "fitted" and entry.condition != "used" and entry.part_number is not None:
                yield from _used_by(entry, rules)


def _used_by(entry: Entry, rules: Iterable[Rule]) -> Iterator[PartUsed]:
    assert entry.part_number is not None
    for rule in rules:
        takes = {part.number: part.quantity for part in rule.parts}
        named = any(same_name(number, entry.part_number) for number in takes)
        if named and same_name(rule.item, entry.item):
            places = len(rule.lines()) if entry.position is None else 1
            for number, quantity in takes.items():
                yield PartUsed(number, entry.on, quantity * places)
            return
    yield PartUsed(entry.part_number, entry.on, Decimal(1))

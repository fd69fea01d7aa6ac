"""Parts for the visits: what is in stock, what arrives when, and from which day a visit has all it needs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from fleetlog.diary.bundles import Bundle


@dataclass(frozen=True, slots=True)
class Arrival:
    """Parts on order: a number, how many, and the day they are expected in the shop."""

    number: str
    quantity: Decimal
    on: date


@dataclass(frozen=True, slots=True)
class Supply:
    """Stock by part number, parts on order, and lead times in days for what is neither.

    A number without a lead time takes `usual_lead_days`.
    """

    in_stock: Mapping[str, Decimal] = field(default_factory=dict)
    arrivals: tuple[Arrival, ...] = ()
    lead_days: Mapping[str, int] = field(default_factory=dict)
    usual_lead_days: int = 7


@dataclass(frozen=True, slots=True)
class PartWait:
    """A part a visit waits for; `to_order` where nobody has ordered it yet."""

    number: str
    quantity: Decimal
    on: date
    to_order: bool


@dataclass(frozen=True, slots=True)
class PartsReady:
    """The day from which a visit has its parts (today where all are in stock), and what it waits for."""

    ready_on: date
    waits: tuple[PartWait, ...]


def allot_parts(bundles: Sequence[Bundle], supply: Supply, today: date) -> Mapping[str, PartsReady]:
    """By bundle id, when its parts are there: stock first, then arrivals by date, then what must be ordered.

    Bundles are served in the order given, so that no part is promised twice.
    """
    stock = dict(supply.in_stock)
    coming: dict[str, list[tuple[date, Decimal]]] = {}
    for arrival in sorted(supply.arrivals, key=lambda arrival: arrival.on):
        coming.setdefault(arrival.number, []).append((max(today, arrival.on), arrival.quantity))
    ready = {}
    for bundle in bundles:
        waits = []
        for need in bundle.parts:
            here = stock.get(need.number, Decimal(0))
            taken = min(need.quantity, max(Decimal(0), here))
            stock[need.number] = here - taken
            missing = need.quantity - taken
            queue = coming.get(need.number, [])
            while missing and queue:
                on, quantity = queue.pop(0)
                taken = min(missing, quantity)
                waits.append(PartWait(need.number, taken, on, to_order=False))
                missing -= taken
                if quantity > taken:
                    queue.insert(0, (on, quantity - taken))
            if missing:
                lead = timedelta(days=supply.lead_days.get(need.number, supply.usual_lead_days))
                waits.append(PartWait(need.number, missing, today + lead, to_order=True))
        ready[bundle.bundle_id] = PartsReady(max([today, *(wait.on for wait in waits)]), tuple(waits))
    return ready

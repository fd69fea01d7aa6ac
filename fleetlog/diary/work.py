"""The work that is owed, as plain values: what the diary gets from the due list."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from fleetlog.domain.schedule import PartNeed
from fleetlog.domain.words import DUE, NEEDS_A_READING, NO_RECORD, OVERDUE

ALWAYS_OWED = frozenset({OVERDUE, NO_RECORD, NEEDS_A_READING, DUE})
"""States whose work is owed whatever the horizon of a plan."""


@dataclass(frozen=True, slots=True)
class DateSpan:
    """The days from `from_on` to `to_on`, both included."""

    from_on: date
    to_on: date

    def holds(self, day: date) -> bool:
        """Is the day in the span?"""
        return self.from_on <= day <= self.to_on


@dataclass(frozen=True, slots=True)
class OwedWork:
    """One line of the due list.

    `labour_tenths` are tenths of an hour and include opening and closing the access. The four dates are
    those of the due line: the calendar limit, and the forecast's 10, 50 and 90 %. `interval_days` is the
    length of the rule's interval in days, as far as there is one: what is wasted of it is counted.
    """

    serial: str
    boat_id: str
    owner_id: str
    rule: str
    title: str
    item: str
    position: str | None
    state: str
    due_on: date | None
    early_on: date | None
    likely_on: date | None
    late_on: date | None
    access: str | None
    labour_tenths: int
    parts: tuple[PartNeed, ...] = ()
    consequence: str | None = None
    season: str | None = None
    interval_days: int | None = None

    @property
    def expected_on(self) -> date | None:
        """The day by which the limit is as likely reached as not: the forecast's, else the calendar's."""
        return self.likely_on or self.due_on

    @property
    def place_on_engine(self) -> str:
        """The engine, with the position where there is one, for a sentence."""
        return f"{self.serial}, {self.position}" if self.position else self.serial


def total_parts(needs: Iterable[PartNeed]) -> tuple[PartNeed, ...]:
    """The needs added up by part number, in the order of the numbers."""
    quantities: dict[str, Decimal] = {}
    for need in needs:
        quantities[need.number] = quantities.get(need.number, Decimal(0)) + need.quantity
    return tuple(PartNeed(number, quantity) for number, quantity in sorted(quantities.items()))

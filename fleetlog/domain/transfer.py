"""What a swap of an assembly and a move of one item have in common: what is taken here is given there."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Protocol

from fleetlog.domain.records import Entry, Visit
from fleetlog.domain.travel import Home

NewId = Callable[[], str]

Place = tuple[str, str | None]
"""An item and a position of it; None is all of its positions, or an item without any."""


class Transfer(Protocol):
    """What is said of a swap or a move that the giving engine is told as well."""

    @property
    def on(self) -> date: ...
    @property
    def giver_meter_tenths(self) -> int | None: ...
    @property
    def by(self) -> str | None: ...
    @property
    def checked_by(self) -> str | None: ...


@dataclass(slots=True)
class Written:
    """The entries of a swap or a move, on the engine that takes and on the one that gives.

    `outside` is the open visit of the boat that takes, where its entries are in one of their own.
    """

    on_taker: list[Entry] = field(default_factory=list)
    on_giver: list[Entry] = field(default_factory=list)
    outside: Visit | None = None


def given_away(
    said: Transfer, entry_id: str, serial: str, visit_id: str | None, place: Place, note: str
) -> Entry:
    """The removal, on the engine that gives, of what goes to another engine."""
    return Entry(
        entry_id,
        serial,
        said.on,
        "removed",
        visit_id=visit_id,
        meter_tenths=said.giver_meter_tenths,
        item=place[0],
        position=place[1],
        reason="transferred",
        note=note,
        by=said.by,
        checked_by=said.checked_by,
    )


def with_entries(home: Home, entries: Sequence[Entry], day: date) -> Home:
    """An engine as it stood on a day, with entries that are to be written."""
    return Home(home.ledger.with_entries(entries), home.schedule, day, read_until=home.read_until)

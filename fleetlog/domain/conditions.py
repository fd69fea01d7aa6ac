"""The conditions under which an item ran: family, water and use, those of the time and not of today."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.values import value_class


@value_class(frozen=True, slots=True)
class Conditions:
    """What kind of engine an item ran on, in what water and for what use; None where the log does not say."""

    family: str | None = None
    schedule: str | None = None
    water: str | None = None
    use: str | None = None


Spell = tuple[int, Conditions]
"""Days, and the conditions that held for them."""


def conditions_on(ledger: EngineLedger, day: date) -> Conditions:
    """The conditions of an engine on a day."""
    engine = ledger.engine_on(day)
    boat_ledger, _ = ledger.place_on(day)
    boat = boat_ledger.boat_on(day) if boat_ledger is not None else None
    return Conditions(
        engine.family, engine.schedule_name, boat.water if boat else None, boat.use if boat else None
    )


def spells(ledger: EngineLedger, start: date, end: date) -> Iterator[Spell]:
    """The conditions of an engine from one day to another, each with the days it held (at least one)."""
    days = sorted({start, *(d for d in _days_of_change(ledger) if start < d < end)})
    for day, following in zip(days, [*days[1:], max(end, start)], strict=True):
        yield max((following - day).days, 1), conditions_on(ledger, day)


def prevailing(held: Iterable[Spell]) -> Conditions:
    """Of each condition what held for the most days, where the log says it; of two as long, the later."""
    all_spells = list(held)
    if len(all_spells) == 1:
        return all_spells[0][1]
    return Conditions(
        _longest((days, c.family) for days, c in all_spells),
        _longest((days, c.schedule) for days, c in all_spells),
        _longest((days, c.water) for days, c in all_spells),
        _longest((days, c.use) for days, c in all_spells),
    )


def _longest(held: Iterable[tuple[int, str | None]]) -> str | None:
    days_of: dict[str, int] = {}
    for days, value in held:
        if value is not None:
            days_of[value] = days_of.pop(value, 0) + days
    return max(reversed(days_of), key=lambda value: days_of[value], default=None)


def _days_of_change(ledger: EngineLedger) -> Iterator[date]:
    """The days on which the engine's boat, or what is said of either, may have changed."""
    yield from (change.until_on for change in ledger.changes)
    yield from mount_days(ledger)
    for boat in ledger.boats_ever():
        yield from (change.until_on for change in boat.changes)


def mount_days(ledger: EngineLedger) -> Iterator[date]:
    """The days on which the engine came on a boat or went off one."""
    for mount in ledger.mounts:
        yield mount.from_on
        if mount.to_on is not None:
            yield mount.to_on

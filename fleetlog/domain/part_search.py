"""Where a part of some numbers and lot is or was, through every engine it went to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from fleetlog.domain.records import Boat, Entry, Owner
from fleetlog.domain.travel import Home, Homes, Leg, journey_of
from fleetlog.domain.words import name_key


@dataclass(frozen=True, slots=True)
class Sighting:
    """One stint of a part on one engine, with the boat and the owner that had it then, or have it now."""

    named: Entry
    leg: Leg
    boat: Boat | None
    position_on_boat: str | None
    owner: Owner | None
    owner_id: str | None

    @property
    def serial(self) -> str:
        return self.leg.serial

    @property
    def is_now(self) -> bool:
        """Whether the part is on the engine still."""
        return self.leg.stint.to_on is None


def sightings(homes: Homes, entries: Iterable[Entry], today: date) -> list[Sighting]:
    """Every stint of the parts that these entries fitted, those that are on now first, then by serial.

    `entries` are those that name the part; what was moved to another engine is followed there.
    """
    found: dict[tuple[str, str, str, date | None], Sighting] = {}
    for entry in entries:
        home = homes.of(entry.serial) if entry.action == "fitted" and entry.on <= today else None
        for item in home.items if home is not None else ():
            if item.fitted is None or item.fitted.entry_id != entry.entry_id:
                continue
            legs = journey_of(homes, entry.serial, item).legs
            first = next(place for place, leg in enumerate(legs) if leg.item is item)
            for leg in legs[first:]:
                there = homes.of(leg.serial)
                key = (
                    leg.serial,
                    name_key(leg.item.item),
                    name_key(leg.item.position or ""),
                    leg.stint.from_on,
                )
                if there is not None and key not in found:
                    found[key] = _sighting(there, entry, leg, today)
    return sorted(
        found.values(),
        key=lambda s: (not s.is_now, s.serial, s.leg.item.position or "", s.leg.stint.from_on or date.min),
    )


def _sighting(home: Home, entry: Entry, leg: Leg, today: date) -> Sighting:
    day = leg.stint.to_on or today
    boat_ledger, position = home.ledger.place_on(day)
    boat = boat_ledger.boat_on(day) if boat_ledger is not None else None
    owner_id = boat_ledger.owner_id_on(day) if boat_ledger is not None else None
    return Sighting(entry, leg, boat, position, home.ledger.owners.get(owner_id or ""), owner_id)

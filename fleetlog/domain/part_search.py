"""Where a part of some numbers and lot is or was, through every engine it went to.

Every entry that names the number (*fitted*, *reused*, *inspected* …) is asked which item it speaks of, and
that one is followed to all engines. Where a lot is asked for, engines of which nobody wrote a lot are told
beside.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from fleetlog.domain.records import Boat, Entry, Owner
from fleetlog.domain.stints import Stint, TrackedItem
from fleetlog.domain.travel import Home, Homes, Leg, journey_of
from fleetlog.domain.values import value_class
from fleetlog.domain.words import ORDER_IN_A_DAY, name_key, same_name, same_place


@value_class(frozen=True, slots=True)
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
    """Every stint of the parts that these entries name, those that are on now first, then by serial.

    `entries` are those that name the part, whether they fitted it, put it back used, looked at it or took it
    off. The item is followed to every engine it went to and came from: it was that part there too.
    """
    found: dict[tuple[str, str, str, date | None], Sighting] = {}
    named = sorted(entries, key=lambda e: (e.action != "fitted", e.on, e.sequence))
    for entry in named:
        for item in _items_named(homes.known(entry.serial), entry) if entry.on <= today else ():
            for leg in journey_of(homes, entry.serial, item).legs:
                key = (
                    leg.serial,
                    name_key(leg.item.item),
                    name_key(leg.item.position or ""),
                    leg.stint.from_on,
                )
                if key not in found:
                    found[key] = _sighting(homes.known(leg.serial), entry, leg, today)
    return sorted(
        found.values(),
        key=lambda s: (not s.is_now, s.serial, s.leg.item.position or "", s.leg.stint.from_on or date.min),
    )


def _items_named(home: Home, entry: Entry) -> list[TrackedItem]:
    """The items that an entry speaks of: what it fitted; else what sat there at its place in the day."""
    if entry.action == "fitted":
        return [i for i in home.items if i.fitted is not None and i.fitted.entry_id == entry.entry_id]
    there: dict[str, list[TrackedItem]] = {}
    for item in home.items:
        of_kind = same_name(item.item, entry.item)
        at_place = same_place(item.position, entry.position)
        if of_kind and at_place and any(_covers(stint, entry.on) for stint in item.stints):
            there.setdefault(name_key(item.position or ""), []).append(item)
    comes_first = ORDER_IN_A_DAY[entry.action] < ORDER_IN_A_DAY["fitted"]
    return [items[0] if comes_first else items[-1] for items in there.values()]


def _covers(stint: Stint, day: date) -> bool:
    return (stint.from_on is None or stint.from_on <= day) and (stint.to_on is None or day <= stint.to_on)


def _sighting(home: Home, entry: Entry, leg: Leg, today: date) -> Sighting:
    day = leg.stint.to_on or today
    boat_ledger, position = home.ledger.place_on(day)
    boat = boat_ledger.boat_on(day) if boat_ledger is not None else None
    owner_id = boat_ledger.owner_id_on(day) if boat_ledger is not None else None
    return Sighting(entry, leg, boat, position, home.ledger.owners.get(owner_id or ""), owner_id)

"""Where engines stand on a boat: two at one place cannot be told apart by what is said of that place."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.out_of_service import WITHOUT_LINES
from fleetlog.domain.words import name_key
from fleetlog.errors import as_word

Places = dict[tuple[str, str], list[EngineLedger]]
"""The engines at each place, by the boat's id and the position without case; empty where none was said."""


def places_taken(ledgers: Iterable[EngineLedger], on: date) -> Places:
    """Which engines stand where on a day, but for those sold or scrapped by then."""
    taken: Places = defaultdict(list)
    for ledger in ledgers:
        boat, position = ledger.place_on(on)
        if boat is not None and ledger.engine_on(on).state not in WITHOUT_LINES:
            taken[boat.boat.boat_id, name_key(position or "")].append(ledger)
    return taken


def shared_places(ledgers: Iterable[EngineLedger], on: date) -> list[str]:
    """A sentence for each named place of a boat at which more than one engine stands on a day."""
    said = []
    for (_, place), there in places_taken(ledgers, on).items():
        if place and len(there) > 1:
            boat, position = there[0].place_on(on)
            assert boat is not None
            serials = [ledger.engine.serial for ledger in there]
            one, where = as_word(serials[0]), f"{position} of {boat.boat.name}"
            said.append(
                f"{' and '.join(serials)} stand at one place, {where}, so nothing can be said of either by"
                f" it; where one of them went: fleetlog engine move {one} --to BOAT, or without --to where it"
                " is on none"
            )
    return said

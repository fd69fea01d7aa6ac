"""Hours as a person says them, of an engine or a boat, and which engines are meant by them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import date

from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.nearest import nearest_numbers
from fleetlog.domain.places import places_taken
from fleetlog.domain.records import Boat
from fleetlog.domain.words import name_key
from fleetlog.errors.naming import NotKnown
from fleetlog.errors.recording import BoatNeedsPositions, EngineSaidTwice, NoEnginesAboard
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import find_boat, find_serial, refuse_empty

_NAME_PLACES = "fleetlog engine change SERIAL --position PLACE says where one stands"


@dataclass(frozen=True, slots=True)
class Figure:
    """Hours said of a boat (or of an engine, by serial) on a day: by position, or one without.

    `line` is where they stand in a text of several.
    """

    about: str
    on: date
    by_position: Mapping[str | None, int]
    line: int | None = None


def engines_meant(reader: Reader, figure: Figure) -> list[tuple[EngineLedger, str, int]]:
    """The engines that hours are said of, each with its position, or its serial where none was said.

    Raises NotKnown, Ambiguous, NoEnginesAboard, BoatNeedsPositions, EngineSaidTwice.
    """
    boat: Boat | str
    if set(figure.by_position) == {None}:
        boat = boat_or_serial(reader, figure.about)
        if isinstance(boat, str):
            return [(reader.ledger(boat), boat, figure.by_position[None])]
    else:
        boat = _boat_with_places(reader, figure.about)
    aboard = engines_aboard(reader, boat, figure.on)
    if not aboard:
        raise NoEnginesAboard(boat.name)
    if set(figure.by_position) == {None}:
        if len(aboard) > 1:
            raise BoatNeedsPositions(boat.name, list(aboard))
        ((position, ledger),) = aboard.items()
        return [(ledger, position, figure.by_position[None])]
    meant: list[tuple[EngineLedger, str, int]] = []
    for typed, tenths in figure.by_position.items():
        matching = _fitting(typed or "", aboard)
        if len(matching) != 1:
            raise NotKnown(f"engine of {boat.name} at", typed or "", list(aboard), _NAME_PLACES)
        if matching[0] in [position for _, position, _ in meant]:
            raise EngineSaidTwice(f"{matching[0]} of {boat.name}")
        meant.append((aboard[matching[0]], matching[0], tenths))
    return meant


def boat_or_serial(reader: Reader, about: str) -> Boat | str:
    """The engine, by its serial, that was typed or a part of it alone, else the boat of that name.

    Raises NotNamed, Ambiguous, and NotKnown with what is near of both.
    """
    refuse_empty("engine or boat", about)
    if not _names_an_engine(reader, about):
        with suppress(NotKnown):
            return find_boat(reader, about)
    try:
        return find_serial(reader, about)
    except NotKnown:
        names = [*reader.serials(), *reader.names("boats").values()]
        raise NotKnown("engine or boat", about, nearest_numbers(about, names)) from None


def _names_an_engine(reader: Reader, about: str) -> bool:
    """Whether it is a serial, in any case, or a part of one alone."""
    if reader.has_engine(about):
        return True
    serials = reader.serials_like(about)
    return len(serials) == 1 or name_key(about) in map(name_key, [*serials, *reader.former_serials()])


def _fitting(typed: str, aboard: Iterable[str]) -> list[str]:
    """The positions that begin like what was typed, or that it abbreviates, as stbd does starboard.

    A reminder's answer has `-` for a space.
    """
    wanted = name_key(typed).replace("-", " ")
    keys = {position: name_key(position).replace("-", " ") for position in aboard}
    exact = [p for p, key in keys.items() if key == wanted]
    begun = exact or [p for p, key in keys.items() if key.startswith(wanted)]
    return begun or [p for p, key in keys.items() if _abbreviates(wanted, key)]


def _abbreviates(short: str, word: str) -> bool:
    """Whether the letters stand in the word in their order, from its first on."""
    rest = iter(word)
    return short[:1] == word[:1] and all(letter in rest for letter in short)


def _boat_with_places(reader: Reader, about: str) -> Boat:
    """The boat of whose engines hours are said by place; an engine's hours have none."""
    try:
        return find_boat(reader, about)
    except NotKnown:
        if _names_an_engine(reader, about):
            alone = "it is an engine: say its hours without a place"
            raise NotKnown("boat", about, [], alone) from None
        raise


def engines_aboard(reader: Reader, boat: Boat, on: date) -> dict[str, EngineLedger]:
    """The engines on a boat on a day by position; by serial those without one, or with one that two have."""
    found = {}
    taken = places_taken(reader.ledgers(reader.serials_of_boat(boat.boat_id)), on)
    for (boat_id, _), there in taken.items():
        for ledger in there if boat_id == boat.boat_id else ():
            position = ledger.place_on(on)[1]
            found[position if position and len(there) == 1 else ledger.engine.serial] = ledger
    return found

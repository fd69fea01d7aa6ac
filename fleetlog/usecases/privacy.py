"""What is kept about one person, told in full or forgotten; the engines' story stays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from fleetlog.domain.records import Owner
from fleetlog.errors import CellNotListed
from fleetlog.store.copies import backup_folder, backups_in
from fleetlog.store.forgetting import Cell
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import find_owner
from fleetlog.usecases.occasion import Occasion

FORGOTTEN_NAME = "Forgotten owner"
_FACTS = ("name", "email", "phone", "address")


@dataclass(frozen=True, slots=True)
class Forgotten:
    """Whose data went, how many texts, which texts name them still, and how many backups hold them."""

    owner_id: str
    erased: int
    left: list[Cell]
    backups: int


def texts_naming(log: Log, owner: str) -> list[Cell]:
    """The free texts that name an owner or a way to reach them, their own facts and former facts aside."""
    with log.reading() as reader:
        found = find_owner(reader, owner)
        return _texts_naming(reader, found)


def _texts_naming(reader: Reader, owner: Owner) -> list[Cell]:
    own = {cell.name for cell in reader.former_facts("owners", owner.owner_id)}
    words = {value for name in _FACTS if (value := getattr(owner, name))}
    words |= {word for word in owner.name.split() if len(word) > 3}
    words |= {cell.text for cell in reader.former_facts("owners", owner.owner_id)}
    cells = reader.cells_naming(words)
    return [c for c in cells if c.name not in own and not (c.table == "owners" and c.text in words)]


def forget_owner(log: Log, occasion: Occasion, owner: str, also: Sequence[str] = ()) -> Forgotten:
    """Erases name, contact and all that was ever said of them, in one transaction.

    `also` names free texts, as `texts_naming` lists them, that go as well (`all`: every one). The owner's id,
    boats and engines stay, and so do the chains. Raises CellNotListed.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        found = find_owner(writer, owner)
        naming = _texts_naming(writer, found)
        listed = {cell.name: cell for cell in naming}
        for name in also:
            if name != "all" and name not in listed:
                raise CellNotListed(name)
        chosen = naming if "all" in also else [listed[name] for name in dict.fromkeys(also)]
        bare = Owner(found.owner_id, FORGOTTEN_NAME, remind_by="none")
        writer.change("owners", bare, occasion.today)
        former = writer.former_facts("owners", found.owner_id)
        cells = [cell for cell in former if cell.text != FORGOTTEN_NAME] + chosen
        writer.erase(cells)
    log.sweep()
    gone = {cell.name for cell in chosen}
    path = log.place.path
    backups = len(backups_in(backup_folder(path), path)) if path is not None else 0
    return Forgotten(found.owner_id, len(cells), [c for c in naming if c.name not in gone], backups)


def export_owner(log: Log, owner: str) -> dict[str, Any]:
    """All that is kept about one person, as plain objects."""
    with log.reading() as reader:
        found = find_owner(reader, owner)
        mine = found.owner_id
        boats = {
            boat_id: ledger
            for boat_id, ledger in reader.boat_ledgers().items()
            if ledger.boat.owner_id == mine or any(o.owner_id == mine for o in ledger.ownership)
        }
        told: dict[str, Any] = {
            "owner": asdict(found),
            "former_facts": [
                asdict(c) for c in reader.rows("changes") if c.kind == "owners" and c.key == mine
            ],
            "boats": [asdict(ledger.boat) for ledger in boats.values()],
            "ownership": [
                asdict(o) for ledger in boats.values() for o in ledger.ownership if o.owner_id == mine
            ],
            "engines": {boat_id: reader.serials_of_boat(boat_id) for boat_id in boats},
            "visits": [asdict(v) for v in reader.rows("visits") if v.boat_id in boats],
            "texts_that_name_them": [
                {"where": cell.name, "text": cell.text} for cell in _texts_naming(reader, found)
            ],
        }
        for kind in ("wishes", "bookings", "mails"):
            told[kind] = [
                asdict(row)
                for row in reader.rows(kind)
                if getattr(row, "owner_id", None) == mine or getattr(row, "boat_id", None) in boats
            ]
    return told

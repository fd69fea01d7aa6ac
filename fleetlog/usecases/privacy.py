"""What is kept about one person, told in full or forgotten; the engines' story stays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from fleetlog.domain.ledger import BoatLedger
from fleetlog.domain.papers import Paper
from fleetlog.domain.records import Owner
from fleetlog.errors.extracts import CellNotListed
from fleetlog.store.copies import backup_folder, backups_in
from fleetlog.store.forgetting import Cell
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.finding import find_owner
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.paper_keeping import note_erased, papers_of_boats, remove_files

FORGOTTEN_NAME = "Forgotten owner"
_FACTS = ("name", "email", "phone", "address")


@dataclass(frozen=True, slots=True)
class Forgotten:
    """Whose data went, how many texts and papers, what is left to be looked at, and how many backups hold it.

    `left` are the texts that name them still, `papers_left` the papers of their boats.
    """

    owner_id: str
    erased: int
    papers_erased: int
    left: list[Cell]
    papers_left: list[Paper]
    backups: int


@dataclass(frozen=True, slots=True)
class Naming:
    """Where an owner is named besides their own facts: free texts and ids; and papers that may show them."""

    texts: list[Cell]
    ids: list[str]
    papers: list[Paper]


def look_up_owner(log: Log, owner: str) -> Owner:
    """The owner whom a person means; raises NotKnown or Ambiguous."""
    with log.reading() as reader:
        return find_owner(reader, owner)


def what_names(log: Log, owner: str) -> Naming:
    """What names an owner or a way to reach them, their own facts and former facts aside.

    And the photos and papers on visits of their boats, which may show them: that only a person can tell.
    """
    with log.reading() as reader:
        found = find_owner(reader, owner)
        ids = reader.ids_naming(_words_of(reader, found))
        return Naming(_texts_naming(reader, found), ids, _papers_of(reader, found))


def _boats_of(reader: Reader, owner: Owner) -> dict[str, BoatLedger]:
    """The boats that are an owner's, or were."""
    return {
        boat_id: ledger
        for boat_id, ledger in reader.boat_ledgers().items()
        if owner.owner_id in (ledger.boat.owner_id, *(o.owner_id for o in ledger.ownership))
    }


def _papers_of(reader: Reader, owner: Owner) -> list[Paper]:
    return papers_of_boats(reader, _boats_of(reader, owner))


def _texts_naming(reader: Reader, owner: Owner) -> list[Cell]:
    own = {cell.name for cell in reader.former_facts("owners", owner.owner_id)}
    words = _words_of(reader, owner)
    cells = reader.cells_naming(words)
    return [c for c in cells if c.name not in own and not (c.table == "owners" and c.text in words)]


def _words_of(reader: Reader, owner: Owner) -> set[str]:
    words = {value for name in _FACTS if (value := getattr(owner, name))}
    words |= {word for word in owner.name.split() if len(word) > 3}
    return words | {cell.text for cell in reader.former_facts("owners", owner.owner_id)}


@again_if_lost
def forget_owner(log: Log, occasion: Occasion, owner: str, also: Sequence[str] = ()) -> Forgotten:
    """Erases name, contact and all that was ever said of them, in one transaction.

    `also` names free texts and papers, as `what_names` lists them, that go as well (`all`: every text,
    `papers`: every paper). The owner's id, boats and engines stay, and so do the chains. Raises
    CellNotListed.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        found = find_owner(writer, owner)
        naming = _texts_naming(writer, found)
        listed = {cell.name: cell for cell in naming}
        papers = {paper_mark(paper): paper for paper in _papers_of(writer, found)}
        for name in also:
            if name not in ("all", "papers", *listed, *papers):
                raise CellNotListed(name)
        chosen = naming if "all" in also else [listed[name] for name in dict.fromkeys(also) if name in listed]
        gone_papers = [p.paper_id for mark, p in papers.items() if "papers" in also or mark in also]
        chosen += note_erased(writer, occasion, gone_papers, "the owner of the boat is to be forgotten")
        bare = Owner(found.owner_id, FORGOTTEN_NAME, remind_by="none")
        writer.change("owners", bare, occasion.today)
        former = writer.former_facts("owners", found.owner_id)
        cells = {c.name: c for c in (*former, *chosen) if c.text != FORGOTTEN_NAME}
        writer.erase(list(cells.values()))
    log.sweep()
    if gone_papers:
        remove_files(log, occasion, gone_papers)
    path = log.place.path
    backups = len(backups_in(backup_folder(path), path)) if path is not None else 0
    return Forgotten(
        found.owner_id,
        len(cells),
        len(gone_papers),
        [c for c in naming if c.name not in cells],
        [p for p in papers.values() if p.paper_id not in gone_papers],
        backups,
    )


def paper_mark(paper: Paper) -> str:
    """How a person names a paper among what may go, such as `papers:p2345678`."""
    return f"papers:{paper.paper_id}"


def export_owner(log: Log, owner: str) -> dict[str, Any]:
    """All that is kept about one person, as plain objects."""
    with log.reading() as reader:
        found = find_owner(reader, owner)
        mine = found.owner_id
        boats = _boats_of(reader, found)
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
            "papers": [asdict(paper) for paper in papers_of_boats(reader, boats)],
            "texts_that_name_them": [
                {"where": cell.name, "text": cell.text} for cell in _texts_naming(reader, found)
            ],
        }
        for kind in ("wishes", "bookings", "mails", "mail_attempts"):
            told[kind] = [
                asdict(row)
                for row in reader.rows(kind)
                if getattr(row, "owner_id", None) == mine or getattr(row, "boat_id", None) in boats
            ]
    return told

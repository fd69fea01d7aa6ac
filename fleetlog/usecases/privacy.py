"""What is kept about one person, told in full or forgotten; the engines' story stays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

from fleetlog.domain.diary_records import Booking, Wish
from fleetlog.domain.ledger import BoatLedger
from fleetlog.domain.papers import Paper
from fleetlog.domain.promises import Advice
from fleetlog.domain.records import FORGOTTEN_NAME, Layup, Owner, Visit
from fleetlog.errors.extracts import CellNotListed
from fleetlog.store.copies import backup_folder, backups_in, kept_before_upgrades
from fleetlog.store.forgetting import Cell
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.finding import find_owner
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.paper_keeping import note_erased, papers_of_visits, remove_files

_FACTS = ("name", "email", "phone", "address")


@dataclass(frozen=True, slots=True)
class Forgotten:
    """Whose data went, how many texts and papers, what is left to be looked at, and which copies hold it.

    `left` are the texts that name them still, `papers_left` the papers of their boats.
    """

    owner_id: str
    erased: int
    papers_erased: int
    left: list[Cell]
    papers_left: list[Paper]
    backups: int = 0
    kept_before_upgrades: list[Path] = field(default_factory=list)


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

    And the photos and papers on visits of their boats, from the time these were theirs, which may show them:
    that only a person can tell.
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
        if owner.owner_id
        in (
            ledger.boat.owner_id,
            *(o.owner_id for o in ledger.ownership),
            *(c.was for c in ledger.changes if c.field == "owner_id"),
        )
    }


@dataclass(frozen=True, slots=True)
class _Theirs:
    """The boats that are an owner's, or were, and which days of them were theirs."""

    owner_id: str
    boats: dict[str, BoatLedger]

    def was_on(self, boat_id: str | None, day: date | None) -> bool:
        """Whether a boat was theirs on a day, or is theirs where no day is known."""
        ledger = self.boats.get(boat_id or "")
        if ledger is None:
            return False
        return (ledger.boat.owner_id if day is None else ledger.owner_id_on(day)) == self.owner_id

    def visits(self, reader: Reader) -> list[Visit]:
        """The visits of their boats while these were theirs."""
        return [v for v in reader.rows("visits") if self.was_on(v.boat_id, v.opened_on)]

    def layups(self) -> list[Layup]:
        """The lay-ups of their boats that began while these were theirs."""
        return [
            layup
            for boat_id, ledger in self.boats.items()
            for layup in ledger.layups
            if self.was_on(boat_id, layup.from_on)
        ]

    def advice(self, reader: Reader) -> list[Advice]:
        """What was advised, and answered, about engines on their boats while these were theirs."""
        engines = {serial for boat_id in self.boats for serial in reader.serials_of_boat(boat_id)}
        return [
            row
            for ledger in reader.ledgers(sorted(engines))
            for row in ledger.advice
            if ledger.owner_id_on(row.on) == self.owner_id
        ]

    def wishes(self, reader: Reader) -> list[Wish]:
        """What they wished, and what was noted as the wish of a boat while it was theirs."""
        return [
            wish
            for wish in reader.rows("wishes")
            if wish.owner_id == self.owner_id
            or (wish.owner_id is None and self.was_on(wish.boat_id, wish.told_on))
        ]

    def bookings(self, reader: Reader) -> list[Booking]:
        """What was booked for a boat on days on which it was theirs, and what became of it."""
        rows = list(reader.rows("bookings"))
        booked = {row.booking_id for row in rows if self.was_on(row.boat_id, row.on)}
        return [row for row in rows if row.booking_id in booked]


def _theirs(reader: Reader, owner: Owner) -> _Theirs:
    return _Theirs(owner.owner_id, _boats_of(reader, owner))


def _papers_of(reader: Reader, owner: Owner) -> list[Paper]:
    return papers_of_visits(reader, _theirs(reader, owner).visits(reader))


def _texts_naming(reader: Reader, owner: Owner) -> list[Cell]:
    own = {cell.name for cell in reader.former_facts_of_owner(owner.owner_id)}
    words = _words_of(reader, owner)
    cells = reader.cells_naming(words)
    return [c for c in cells if c.name not in own and not (c.table == "owners" and c.text in words)]


def _words_of(reader: Reader, owner: Owner) -> set[str]:
    words = {value for name in _FACTS if (value := getattr(owner, name))}
    words |= {word for word in owner.name.split() if len(word) > 3}
    words -= {FORGOTTEN_NAME, *FORGOTTEN_NAME.split()}
    return words | {cell.text for cell in reader.former_facts_of_owner(owner.owner_id)}


def forget_owner(
    log: Log, occasion: Occasion, owner: str, also: Sequence[str], backups: Path | None
) -> Forgotten:
    """Erases name, contact and all that was ever said of them, in one transaction.

    Then the log is written anew, where nobody hinders it, and the files of erased papers go.

    `also` names free texts and papers, as `what_names` lists them, that go as well (`all`: every text,
    `papers`: every paper). The owner's id, boats and engines stay, and so do the chains; backups are counted
    in the folder `backups`, else beside the log. Raises CellNotListed.
    """
    done, gone_papers = _erase(log, occasion, owner, also)
    log.sweep()
    if gone_papers:
        remove_files(log, occasion, gone_papers)
    path = log.place.path
    if path is None:
        return done
    return replace(
        done,
        backups=len(backups_in(backups or backup_folder(path), path)),
        kept_before_upgrades=kept_before_upgrades(path),
    )


@again_if_lost
def _erase(log: Log, occasion: Occasion, owner: str, also: Sequence[str]) -> tuple[Forgotten, list[str]]:
    """Erases texts in the log; gives the ids of the papers whose files are to go as well."""
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
        former = writer.former_facts_of_owner(found.owner_id)
        cells = {c.name: c for c in (*former, *chosen) if c.text != FORGOTTEN_NAME}
        writer.erase(list(cells.values()))
    done = Forgotten(
        found.owner_id,
        len(cells),
        len(gone_papers),
        [c for c in naming if c.name not in cells],
        [p for p in papers.values() if p.paper_id not in gone_papers],
    )
    return done, gone_papers


def paper_mark(paper: Paper) -> str:
    """How a person names a paper among what may go, such as `papers:p2345678`."""
    return f"papers:{paper.paper_id}"


def export_owner(log: Log, owner: str) -> dict[str, Any]:
    """All that is kept about one person, as plain objects.

    Of a boat that has or had other owners only what is of the days on which it was theirs.
    """
    with log.reading() as reader:
        found = find_owner(reader, owner)
        mine = found.owner_id
        theirs = _theirs(reader, found)
        boats, visits = theirs.boats, theirs.visits(reader)
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
            "visits": [asdict(visit) for visit in visits],
            "papers": [asdict(paper) for paper in papers_of_visits(reader, visits)],
            "texts_that_name_them": [
                {"where": cell.name, "text": cell.text} for cell in _texts_naming(reader, found)
            ],
        }
        told["layups"] = [asdict(layup) for layup in theirs.layups()]
        told["advice"] = [asdict(row) for row in theirs.advice(reader)]
        told["wishes"] = [asdict(wish) for wish in theirs.wishes(reader)]
        told["bookings"] = [asdict(row) for row in theirs.bookings(reader)]
        for kind in ("mails", "mail_attempts"):
            told[kind] = [asdict(row) for row in reader.rows(kind) if row.owner_id == mine]
    return told

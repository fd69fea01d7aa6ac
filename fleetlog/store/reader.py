"""Reads the log: engines, lists and chains, always by statements over many rows.

A `Reader` lives inside `Log.reading()` or `Log.writing()` and sees one state of the log throughout.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime
from functools import cache, cached_property, lru_cache
from operator import attrgetter
from typing import TYPE_CHECKING

from sqlalchemy import ColumnElement, Connection, bindparam, func, select

from fleetlog.domain.ledger import BoatLedger
from fleetlog.domain.records import Boat, Engine, Entry, Owner, Visit
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.schedule_text import schedule_from_toml
from fleetlog.errors.log import EngineNotInLog, ScheduleInLogUnreadable
from fleetlog.store.among import among
from fleetlog.store.boat_ledgers import boat_ledgers_of
from fleetlog.store.direct import Direct, OfRows
from fleetlog.store.engine_reader import EngineReader
from fleetlog.store.keyed_rows import rows_by_keys
from fleetlog.store.shapes import SHAPES, WRITINGS, Names

if TYPE_CHECKING:
    from fleetlog.domain.diary_records import MailAttempt
    from fleetlog.domain.evidence import CardText, ToolLedger
    from fleetlog.domain.papers import Paper, PaperWithdrawal
    from fleetlog.domain.parts import Part
    from fleetlog.domain.superseded import Supersession
    from fleetlog.store.chain.check import ChainReport
    from fleetlog.store.chain.heads import NotedExtract
    from fleetlog.store.forgetting import Cell
    from fleetlog.store.kept.fits import KeptFit
    from fleetlog.store.kept.reading import Kept

_parsed = lru_cache(maxsize=512)(schedule_from_toml)
"""Schedules by name and text: one of a revision is the same value however often it is read."""

_NEWEST_SCHEDULE = Direct(
    SHAPES["schedules"]
    .select.where(SHAPES["schedules"].table.c.name == bindparam("name"))
    .order_by(SHAPES["schedules"].table.c.revision.desc())
    .limit(1)
)


def _schedule(name: str, revision: int, text: str) -> Schedule:
    schedule, problems = _parsed(name, text)
    if schedule is None:
        raise ScheduleInLogUnreadable(name, revision, problems)
    return schedule


_VISITS = SHAPES["visits"].table.c
_OPEN_VISITS = OfRows(
    SHAPES["visits"]
    .select.where(_VISITS.boat_id == bindparam("boat_id"), _VISITS.closed_on.is_(None))
    .order_by(_VISITS.visit_no)
)


@cache
def _names_of(kind: str) -> Direct:
    shape = SHAPES[kind]
    query = select(shape.key_column, shape.table.c.name)
    return OfRows(query.order_by(*(shape.table.c[name] for name in shape.order)))


class Reader(EngineReader):
    """One state of the log, to be asked as often as needed."""

    def __init__(self, connection: Connection) -> None:
        super().__init__(connection)
        self.to_keep: list[KeptFit] = []
        """Fits that were made on the way, to be kept when the block has ended."""
        self.notices: list[str] = []
        """What a person is to be told of what was looked up, in sentences."""

    def tell(self, notice: str) -> None:
        """Has a person told of something, once."""
        if notice not in self.notices:
            self.notices.append(notice)

    @cached_property
    def kept(self) -> Kept:
        """What is kept for speed."""
        from fleetlog.store.kept.reading import Kept  # a history does without

        return Kept(self._connection)

    def keep(self, fit: KeptFit) -> None:
        """Keeps a fit for later readers, when this block has ended."""
        self.to_keep.append(fit)

    # The state of the database, and when it was written to

    def damage(self) -> list[str]:
        """What the database finds wrong with its own pages, indices and references."""
        from fleetlog.store.integrity import damage_found

        return damage_found(self._connection)

    def misplaced_kinds(self) -> list[str]:
        """Values of a kind that nobody writes where they stand, such as bytes in a note."""
        from fleetlog.store.integrity import kinds_found

        return kinds_found(self._connection)

    def first_written_at(self) -> datetime | None:
        """The UTC moment of the first writing; None in a log that nobody has written to."""
        return self._connection.scalar(
            select(WRITINGS.c.recorded_at).order_by(WRITINGS.c.recorded_at).limit(1)
        )

    def written_before(self, writing_no: int) -> datetime | None:
        """The UTC moment of the last writing before one; None where it is the first."""
        earlier = select(WRITINGS.c.recorded_at).where(WRITINGS.c.writing_no < writing_no)
        return self._connection.scalar(earlier.order_by(WRITINGS.c.writing_no.desc()).limit(1))

    # Texts about a person

    def cells_naming(self, words: Iterable[str]) -> list[Cell]:
        """Every text that holds one of the words as a whole, whatever its case."""
        from fleetlog.store.forgetting import cells_naming

        return list(cells_naming(self._connection, words))

    def ids_naming(self, words: Iterable[str]) -> list[str]:
        """The ids and serials that hold one of the words as a whole, each after its table."""
        from fleetlog.store.forgetting import ids_naming

        return ids_naming(self._connection, words)

    def cells_of_papers(self, paper_ids: Iterable[str]) -> list[Cell]:
        """The names and notes of some papers, as far as they are not erased."""
        from fleetlog.store.forgetting import cells_of_papers

        return cells_of_papers(self._connection, paper_ids)

    def former_facts_of_owner(self, owner_id: str) -> list[Cell]:
        """What an owner was said to be before, as far as it is not erased."""
        from fleetlog.store.forgetting import former_facts_of_owner

        return former_facts_of_owner(self._connection, owner_id)

    # The chains

    def check_chains(self) -> ChainReport:
        """Hashes every row anew and compares it with the chains."""
        from fleetlog.store.chain.check import check_chains

        return check_chains(self._connection)

    def head(self) -> str:
        """The head of the log's chain; 64 zeros where nothing was ever written."""
        from fleetlog.store.chain.heads import heads_of

        return heads_of(self._connection, ()).head

    def engine_chain(self, serial: str) -> list[str]:
        """Every head that an engine's chain had, the first one first. Raises EngineNotInLog."""
        number = self.engine_numbers([serial]).get(serial)
        if number is None:
            raise EngineNotInLog(serial)
        from fleetlog.store.chain.heads import engine_chain

        return engine_chain(self._connection, number)

    def extract_of(self, document_sha256: str) -> NotedExtract | None:
        """The extract that is the document of this digest; None where none was handed out."""
        from fleetlog.store.chain.heads import extract_of

        noted = extract_of(self._connection, document_sha256)
        if noted is None or noted.serial not in self.corrected:
            return noted
        return replace(noted, serial=self.corrected[noted.serial])

    def engine_head(self, serial: str) -> str:
        """The head of an engine's chain; that of an empty one where it has no row. Raises EngineNotInLog."""
        from fleetlog.domain.chain import first_head

        return (self.engine_chain(serial) or [first_head(*self.as_entered([serial]))])[-1]

    # Visits, boats, parts and what else is listed

    def open_visits(self, boat_id: str) -> list[Visit]:
        """The visits of a boat that are not closed, as they were written."""
        return [SHAPES["visits"].made(*row) for row in _OPEN_VISITS.rows(self._connection, boat_id=boat_id)]

    def open_visit(self, boat_id: str, on: date) -> Visit | None:
        """The visit of a boat that was opened last up to a day and is not closed."""
        begun = [v for v in self.open_visits(boat_id) if v.opened_on is not None and v.opened_on <= on]
        return max(reversed(begun), key=attrgetter("opened_on"), default=None)

    def engines(self) -> dict[str, Engine]:
        """Every engine by its serial."""
        return {e.serial: e for e in self.rows("engines")}

    def boats(self) -> dict[str, Boat]:
        """Every boat by its id."""
        return {b.boat_id: b for b in self.rows("boats")}

    def owners(self) -> dict[str, Owner]:
        """Every owner by their id."""
        return {o.owner_id: o for o in self.rows("owners")}

    def names(self, kind: str) -> dict[str, str]:
        """The names of all `boats`, or of all `owners`, by id, in the order in which they were added."""
        return dict(_names_of(kind).rows(self._connection))

    def mail_attempts_to(self, owner_id: str) -> list[MailAttempt]:
        """What was noted of mails to an owner before the server had them, and of those that it refused."""
        rows = rows_by_keys(self._connection, "mail_attempts", "owner_id", [owner_id])
        return [SHAPES["mail_attempts"].made(*row) for row in rows]

    def supersessions(self) -> list[Supersession]:
        """Every part number that another one replaced, withdrawn ones too."""
        return self.rows("supersessions")

    def entries_from(self, serial: str) -> list[Entry]:
        """What was fitted elsewhere from an engine, engine by engine; voided entries left out."""
        named = set(self.as_entered([serial]))
        if serial not in self.corrected:  # rows written before it was known by this number may name it so
            named.add(serial)
        return self._standing_entries(SHAPES["entries"].table.c.from_serial.in_(sorted(named)))

    def entries_with_part(self, part_numbers: Iterable[str]) -> list[Entry]:
        """The entries that name one of these part numbers, in any case of ASCII letters.

        Engine by engine; voided entries left out.
        """
        entries = SHAPES["entries"].table.c
        wanted = func.lower(entries.part_number).in_([number.lower() for number in part_numbers])
        return self._standing_entries(wanted)

    def written_down(self, serials: Iterable[str] | None = None) -> dict[str, tuple[str, datetime]]:
        """Who wrote each entry of some engines, or of all, down, and when (UTC), by the entry's id."""
        entries, engines = SHAPES["entries"].table.c, SHAPES["engines"].table.c
        query = select(entries.entry_id, WRITINGS.c.recorded_by, WRITINGS.c.recorded_at).where(
            entries.writing_no == WRITINGS.c.writing_no
        )
        asked = {}
        if serials is not None:
            query = query.where(entries.engine_no == engines.engine_no, among(engines.serial))
            asked = {"keys": list(serials)}
        return {entry_id: (by, at) for entry_id, by, at in self._connection.execute(query, asked)}

    def _standing_entries(self, where: ColumnElement[bool]) -> list[Entry]:
        shape, voids = SHAPES["entries"], SHAPES["voids"].table.c
        entries = shape.table.c
        query = shape.select.where(where, entries.entry_id.not_in(select(voids.entry_id)))
        rows = self._connection.execute(query.order_by(entries.engine_no, entries.sequence)).all()
        serials = self._serials_of({row[-1] for row in rows})
        return shape.values(rows, Names(serials, self._item_names(), corrected=self.corrected))

    def boat_ledger(self, boat_id: str) -> BoatLedger:
        """One boat with its owners, lay-ups and changes."""
        return boat_ledgers_of(self._connection, [boat_id])[boat_id]

    def boat_ledgers_of(self, boat_ids: Iterable[str]) -> dict[str, BoatLedger]:
        """Those of some boats that the log has, with their owners, lay-ups and changes."""
        return boat_ledgers_of(self._connection, boat_ids)

    def boat_ledgers(self) -> dict[str, BoatLedger]:
        """Every boat by its id, with its owners, lay-ups and changes."""
        return boat_ledgers_of(self._connection, None)

    def tools(self) -> dict[str, ToolLedger]:
        """Every torque tool by its id, with its calibrations and uses."""
        from fleetlog.store.evidence import tool_ledgers_of

        return tool_ledgers_of(self._connection, None)

    def kept_papers(self) -> list[Paper]:
        """Every paper whose file has to be there: all but those that were erased."""
        from fleetlog.domain.papers import ERASED

        erased = {w.paper_id for w in self.rows("paper_withdrawals") if w.outcome == ERASED}
        return [paper for paper in self.rows("papers") if paper.paper_id not in erased]

    def papers_by(self, column: str, key: str) -> tuple[list[Paper], list[PaperWithdrawal]]:
        """The papers of a visit (`visit_id`), or the one of an id (`paper_id`), and what was taken back."""
        rows = list(rows_by_keys(self._connection, "papers", column, [key]))
        papers: list[Paper] = SHAPES["papers"].values(rows, self._names_for("papers"))
        ids = [paper.paper_id for paper in papers]
        back = list(rows_by_keys(self._connection, "paper_withdrawals", "paper_id", ids))
        return papers, SHAPES["paper_withdrawals"].values(back, Names())

    def parts(self) -> list[Part]:
        """The register of parts, by part number."""
        return self.rows("parts")

    def cards(self) -> dict[str, CardText]:
        """The newest revision of every work card, by name."""
        return {text.name: text for text in self.rows("cards")}

    def schedules(self) -> dict[str, Schedule]:
        """The newest revision of every service schedule, by name. Raises ScheduleInLogUnreadable."""
        newest = {row[0]: row for row in SHAPES["schedules"].every_row.each(self._connection)}
        return {name: _schedule(*row) for name, row in newest.items()}

    def schedule(self, name: str | None) -> Schedule | None:
        """The newest revision of one schedule, if the log has it. Raises ScheduleInLogUnreadable."""
        rows = _NEWEST_SCHEDULE.rows(self._connection, name=name)
        return _schedule(*rows[0]) if rows else None

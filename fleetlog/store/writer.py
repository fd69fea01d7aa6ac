"""Writes to the log: new rows in bulk, dated changes of facts, rulings, and ends filled in.

Nothing of the ledger is changed or deleted here, and nothing is kept before the block of `Log.writing` ends.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import fields, replace
from datetime import date, datetime
from functools import cache
from itertools import compress
from operator import attrgetter
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, bindparam, func, insert, select, text, update

from fleetlog.domain.batch import FILLED_LATER, Batch
from fleetlog.domain.records import Boat, Change, Engine, Owner, fact_text
from fleetlog.domain.renumbered import NAMING, renumbered
from fleetlog.domain.words import name_key
from fleetlog.errors.log import (
    EndIsSet,
    EngineNotInLog,
    EntryNotInLog,
    NotInLog,
    ReadingNotInLog,
    WrittenMeanwhile,
)
from fleetlog.store.among import among
from fleetlog.store.bulk import ROWS_AT_ONCE, insert_rows
from fleetlog.store.chain.rows import FACT_KEYS, FACTS, ChainedRows, Facts, chained_kind
from fleetlog.store.chain.sealing import Sealer
from fleetlog.store.column_types import Moment, day_number, moment_number
from fleetlog.store.direct import Direct
from fleetlog.store.kept.fits import KeptFit, keep_fit
from fleetlog.store.kept.lines import KeptRows, Touched, mark_out_of_date, replace_lines, touched_engines
from fleetlog.store.reader import Reader
from fleetlog.store.row_reader import in_chunks
from fleetlog.store.shapes import ITEMS, OF_ENGINE, RULINGS, SEQUENCED, SHAPES, WRITINGS, Shape

if TYPE_CHECKING:
    from fleetlog.store.forgetting import Cell

_NOTE_WRITING = Direct(
    insert(WRITINGS)
    .values(recorded_at=bindparam("at", type_=Moment), recorded_by=bindparam("by"))
    .returning(WRITINGS.c.writing_no)
)

_BETWEEN = {"supersessions": " by "}
"""What stands between the two words of a key that is shown."""

_ROWS_OF = attrgetter(*SHAPES)
"""The rows of each kind of a batch; most have none."""


@cache
def _last_sequences_of(kind: str) -> Direct:
    """Looks up the end of each engine's rows in their index; a maximum by group would read all of them."""
    rows, engines = (RULINGS if kind == "rulings" else SHAPES[kind].table).c, SHAPES["engines"].table.c
    last = select(func.max(rows.sequence)).where(rows.engine_no == engines.engine_no).scalar_subquery()
    return Direct(
        select(engines.engine_no, func.coalesce(last, 0)).where(among(engines.engine_no, numbers=True))
    )


class Writer(Reader):
    """A reader that writes as well, for one person at one moment."""

    locks_engines = True

    def __init__(self, connection: Connection, by: str, at: datetime) -> None:
        super().__init__(connection)
        self._by, self._at = by, at
        moment_number(at)
        self._writing_no: int | None = None
        self.sealed_no: int | None = None
        """The number of the writing that `seal` closed last; None where nothing was written."""
        self._touched = Touched()
        self._marked: dict[str, int] = {}
        self._sealer: Sealer
        """Of this writing, begun with it."""

    def _writing(self) -> int:
        """The number of this writing, noted with its person and moment when the first row needs it."""
        if self._writing_no is None:
            ((self._writing_no,),) = _NOTE_WRITING.rows(self._connection, at=self._at, by=self._by)
            self._sealer = Sealer(self._connection)
        return self._writing_no

    def seal(self) -> None:
        """Adds what was written to the chains; what is written after it is another writing."""
        if self._writing_no is not None:
            self._sealer.seal(self._writing_no, self._by, self._at)
            self.sealed_no, self._writing_no = self._writing_no, None

    def alone_with(self, *kinds: str) -> None:
        """Waits until nobody else adds rows of these kinds, and lets nobody until this writing ends.

        For what is judged by all rows of a kind, as a booking is. To be said before engines are read: one who
        holds engines and waits for rows, and one who has the rows and waits for engines, would wait for ever.
        """
        if kinds and self._connection.dialect.name == "postgresql":  # SQLite has one writer at a time
            names = ", ".join(SHAPES[kind].table.name for kind in kinds)
            self._connection.execute(text(f"LOCK TABLE {names} IN SHARE ROW EXCLUSIVE MODE"))

    def hold_engines(self, serials: Iterable[str]) -> None:
        """Holds engines together, before any is read: else two writings may wait for each other."""
        self.engine_numbers(serials)

    def erase(self, cells: Sequence[Cell]) -> None:
        """Erases texts, all that is ever taken out of the ledger; what was written is sealed first."""
        from fleetlog.store.forgetting import erase_cells

        self.seal()
        erase_cells(self._connection, cells)

    # What is kept for speed

    def keep(self, fit: KeptFit) -> None:
        """Keeps a fit within this transaction."""
        keep_fit(self._connection, fit)

    def keep_lines(self, engines: Sequence[KeptRows]) -> None:
        """Keeps lines of engines that `mark_touched` put out of date, within this transaction."""
        replace_lines(self._connection, engines, self._marked)

    def mark_touched(self) -> list[str]:
        """Puts the kept lines of the engines that this writing bears on out of date; gives their serials."""
        self._marked = touched_engines(self._connection, self._touched)
        if self._marked:
            mark_out_of_date(self._connection, self._marked.values(), self._writing())
        return list(self._marked)

    # New rows

    def add(self, batch: Batch) -> None:
        """Adds new rows, numbering each engine's in the order given; their own `sequence` is not looked at.

        Raises EngineNotInLog or EntryNotInLog for a row that speaks of what is not there, and
        RowsRefused for a row that is there already or breaks another rule of the tables.
        """
        self._touched.add(batch)
        rows = _ROWS_OF(batch)
        for shape, values in compress(zip(SHAPES.values(), rows, strict=True), rows):
            _ADDERS.get(shape.kind, Writer._add_plain)(self, shape, values)

    def end_kinds(self, *kinds: str) -> None:
        """Says that no engine to which this writing gave rows of these kinds gets more of them.

        It saves memory, as what is to be sealed of them is less; more of them all the same are a ValueError.
        """
        if self._writing_no is not None:
            self._sealer.end_kinds(kinds)

    def _add_plain(self, shape: Shape, values: Sequence[Any]) -> None:
        for columns in self._kept(shape, values):
            if shape.kind in FACTS:
                self._take_facts(shape.kind, columns[shape.columns.index(shape.key[0])], columns)
            else:
                self._take(shape.kind, columns)
            self._insert(shape.kind, shape.columns, columns)

    def _add_engines(self, shape: Shape, values: Sequence[Engine]) -> None:
        place = shape.columns.index("serial")
        for columns in self._kept(shape, values):
            serials = columns[place]
            self._take_facts(shape.kind, serials, columns)
            keys = [serial.casefold() for serial in serials]
            self._insert(shape.kind, (*shape.columns, "serial_key", "entered_as"), [*columns, keys, serials])

    def _add_changes(self, shape: Shape, values: Sequence[Change]) -> None:
        changes = shape.table.c
        query = select(changes.kind, changes.key, func.max(changes.sequence)).where(among(changes.key))
        keys = self.as_entered({change.key for change in values})
        found = self._connection.execute(query.group_by(changes.kind, changes.key), {"keys": keys})
        last = {(kind, key): highest for kind, key, highest in found}
        kind, key, sequence = (shape.columns.index(name) for name in ("kind", "key", "sequence"))
        for columns in self._kept(shape, values):
            columns[sequence] = _counted_on(last, zip(columns[kind], columns[key], strict=True))
            self._take(shape.kind, columns)
            self._insert(shape.kind, shape.columns, columns)

    def _add_of_engine(self, shape: Shape, values: Sequence[Any]) -> None:
        numbers = self._numbers_of({value.serial for value in values})
        self._touched.engines.update((number, serial) for serial, number in numbers.items())
        engine_place = shape.columns.index("engine_no")
        sequence_place = shape.columns.index("sequence") if "sequence" in shape.columns else None
        last = self._last_sequences(shape.kind, numbers.values()) if shape.kind in SEQUENCED else {}
        item_place = shape.columns.index("item_no") if shape.kind == "entries" else None
        items = self._item_numbers({value.item for value in values}) if item_place is not None else {}
        for columns in self._kept(shape, values):
            engine_nos = columns[engine_place] = list(map(numbers.__getitem__, columns[engine_place]))
            self._take(shape.kind, columns, engine_nos)
            if sequence_place is not None:
                columns[sequence_place] = _counted_on(last, engine_nos)
            if item_place is not None:
                columns[item_place] = list(map(items.__getitem__, columns[item_place]))
            self._insert(shape.kind, shape.columns, columns)

    def _add_readings(self, shape: Shape, values: Sequence[Any]) -> None:
        self._add_of_engine(shape, values)
        ruled = [(r.reading_id, r.serial, r.status) for r in values if r.status is not None]
        if ruled:
            numbers = self._numbers_of({serial for _, serial, _ in ruled})
            self._rule([(reading_id, numbers[serial], status, None) for reading_id, serial, status in ruled])

    def _add_voids(self, shape: Shape, values: Sequence[Any]) -> None:
        entries = SHAPES["entries"].table.c
        query = select(entries.entry_id, entries.engine_no).where(among(entries.entry_id))
        found = self._connection.execute(query, {"keys": [value.entry_id for value in values]})
        engine_of = {row[0]: row[1] for row in found}
        missing = {value.entry_id for value in values} - set(engine_of)
        if missing:
            raise EntryNotInLog(min(missing))
        engine_nos = [engine_of[value.entry_id] for value in values]
        self._add_sequenced(shape.kind, shape.columns, shape.keeps(values), engine_nos)

    def _add_sequenced(
        self, kind: str, names: Sequence[str], columns: Sequence[Sequence[Any]], engine_nos: Sequence[int]
    ) -> None:
        self._touched.engines.update(self._serials_of(set(engine_nos)))
        self._take(kind, columns, engine_nos)
        sequences = _counted_on(self._last_sequences(kind, set(engine_nos)), engine_nos)
        self._insert(kind, (*names, "engine_no", "sequence"), [*columns, engine_nos, sequences])

    def note_extract(self, serial: str, made_on: date, document_sha256: str) -> None:
        """Notes that a document of an engine's history was handed out, with the heads of this moment."""
        [entered] = self.as_entered([serial])
        row = (entered, day_number(made_on), document_sha256, self.engine_head(serial), self.head())
        columns = [[value] for value in row]
        self._take("extracts", columns)
        self._insert("extracts", chained_kind("extracts").columns, columns)

    def _kept(self, shape: Shape, values: Sequence[Any]) -> Iterator[list[list[Any]]]:
        """Values as they are kept, column by column, some thousand at a time."""
        if shape.kind in NAMING and self.corrected:
            values = renumbered(shape.kind, values, self.first_serials())
        return map(shape.keeps, in_chunks(values, ROWS_AT_ONCE))

    def _take(
        self,
        kind: str,
        columns: Sequence[Sequence[Any]],
        engine_nos: Sequence[int | None] | None = None,
        ended: bool = False,
    ) -> None:
        """Has rows of this writing sealed; they are of no engine where none is said."""
        rows = len(columns[0])
        writing_nos = [self._writing()] * rows
        self._sealer.take(ChainedRows(kind, columns, engine_nos or [None] * rows, writing_nos, ended))

    def _take_facts(self, kind: str, keys: Sequence[str], columns: Sequence[Sequence[Any]]) -> None:
        facts = Facts(kind, keys, columns, [self._writing()] * len(columns[0]))
        self._sealer.take_facts(facts)

    def _insert(self, kind: str, names: Sequence[str], columns: Sequence[Sequence[Any]]) -> None:
        """Inserts rows of this writing; a column in which nothing stands is left to be empty."""
        count = len(columns[0])
        filled = {name: c for name, c in zip(names, columns, strict=True) if c.count(None) < count}
        filled["writing_no"] = [self._writing()] * count
        insert_rows(self._connection, kind, list(filled), zip(*filled.values(), strict=True))

    # Rulings on readings

    def rule_on_reading(self, reading_id: str, status: str, reason: str | None = None) -> None:
        """Confirms or withdraws a reading, with a reason; the latest ruling counts.

        Raises ReadingNotInLog.
        """
        readings = SHAPES["readings"].table.c
        query = select(readings.engine_no).where(readings.reading_id == reading_id)
        number = self._connection.scalar(query)
        if number is None:
            raise ReadingNotInLog(reading_id)
        self._rule([(reading_id, number, status, reason)])

    def _rule(self, rulings: Sequence[tuple[str, int, str, str | None]]) -> None:
        reading_ids, engine_nos, statuses, reasons = zip(*rulings, strict=True)
        columns = (reading_ids, statuses, reasons)
        self._add_sequenced(RULINGS.name, chained_kind(RULINGS.name).columns, columns, engine_nos)

    # Facts that change

    def change(
        self, kind: str, row: Owner | Boat | Engine, until_on: date, reason: str | None = None
    ) -> list[Change]:
        """Replaces an owner, a boat or an engine; what was so until `until_on` is kept, a change a field.

        `kind` is `owners`, `boats` or `engines`. Gives the changes, none where nothing differs. Raises
        NotInLog, and WrittenMeanwhile where another person replaced the row at the same time.
        """
        key = SHAPES[kind].key_of(row)
        return self._note_changes(kind, key, self._replace(kind, key, row), until_on, reason)

    def correct_serial(self, serial: str, right: str, until_on: date, reason: str) -> list[Change]:
        """Has an engine known by another serial number from now on; rows that named it go on meaning it.

        The number is to be no other engine's. Raises NotInLog, and WrittenMeanwhile.
        """
        return self._note_changes("engines", right, self.renumber(serial, right), until_on, reason)

    def renumber(self, serial: str, right: str) -> dict[str, object]:
        """Does as `correct_serial`, without noting it as a change; gives the fact as it was."""
        engine = self.existing("engines", [serial]).get(serial)
        if engine is None:
            raise NotInLog("engines", serial)
        return self._replace("engines", serial, replace(engine, serial=right))

    def _replace(self, kind: str, key: str, row: Owner | Boat | Engine) -> dict[str, object]:
        """Replaces an owner, a boat or an engine; gives the facts that differ as they were, by name."""
        shape = SHAPES[kind]
        table, known_by = shape.table, FACT_KEYS[kind]
        query = shape.select.add_columns(table.c.version, table.c[known_by]).where(shape.key_column == key)
        found = self._connection.execute(query).one_or_none()
        if found is None:
            raise NotInLog(kind, key)
        old, version, chain_key = shape.made(*found[:-2]), found[-2], found[-1]
        was = {f.name: getattr(old, f.name) for f in fields(old)}
        differing = {name: said for name, said in was.items() if said != getattr(row, name)}
        if not differing:
            return {}
        values = {name: getattr(row, name) for name in differing}
        if isinstance(row, Engine) and row.serial != key:
            values["serial_key"] = row.serial.casefold()
            self._know_by(key, row.serial)
        self._touched.of_row(kind, shape.key_of(row))
        replaced = self._connection.execute(
            update(table)
            .where(shape.key_column == key, table.c.version == version)
            .values(values | {"version": version + 1, "writing_no": self._writing()})
        )
        if replaced.rowcount != 1:
            raise WrittenMeanwhile(key)
        self._take_facts(kind, [chain_key], shape.keeps([row]))
        return differing

    def _know_by(self, serial: str, right: str) -> None:
        self._touched.renumber(serial, right)
        self._corrected = None
        self._numbers.clear()
        self._serials.clear()

    def _note_changes(
        self, kind: str, key: str, was: Mapping[str, object], until_on: date, reason: str | None
    ) -> list[Change]:
        changes = SHAPES["changes"].table.c
        [entered] = self.as_entered([key]) if kind == "engines" else [key]
        last = self._connection.scalar(
            select(func.max(changes.sequence)).where(changes.kind == kind, changes.key == entered)
        )
        made = [
            Change(kind, key, name, fact_text(said), until_on, self._at, self._by, sequence, reason)
            for sequence, (name, said) in enumerate(was.items(), start=(last or 0) + 1)
        ]
        if made:
            self._add_changes(SHAPES["changes"], made)
        return made

    # Ends filled in

    def end(self, kind: str, key: Any, on: date, reason: str | None = None) -> None:
        """Fills in the end of a row, once: the day a visit was closed, from which an engine stood elsewhere …

        `key` is one of `existing`; why it ended is kept of the kinds that have a place for it. Raises
        NotInLog, EndIsSet, and EngineNotInLog.
        """
        shape, chained, end = SHAPES[kind], chained_kind(kind), FILLED_LATER[kind]
        said = (key,) if isinstance(key, str) else key
        if shape.is_by_engine:
            number = self._numbers_of({said[0]})[said[0]]
            self._touched.engines[number] = said[0]
            said = (number, *said[1:])
        if kind == "layups":
            self._touched.boat_ids.add(said[0])
        columns = shape.table.c
        names = (shape.renamed.get(name) or name for name in shape.key)
        where = [columns[name] == value for name, value in zip(names, said, strict=True)]
        ends = dict(zip(chained.filled, (on, reason), strict=False))
        told = (*chained.key, "engine_no") if chained.of_engine else chained.key
        filled = self._connection.execute(
            update(shape.table)
            .where(*where, columns[end].is_(None))
            .values({**ends, "end_writing_no": self._writing()})
            .returning(*(columns[name] for name in told))
        ).one_or_none()
        if filled is None:
            shown = key if isinstance(key, str) else _BETWEEN.get(kind, " from ").join(map(str, key))
            row = self._connection.execute(select(columns[end]).where(*where)).one_or_none()
            if row is None:
                raise NotInLog(kind, shown)
            raise EndIsSet(kind, shown, row[0])
        values = (*filled[: len(chained.key)], *ends.values())
        kept = [[day_number(value) if isinstance(value, date) else value] for value in values]
        self._take(kind, kept, [filled[-1]] if chained.of_engine else None, ended=True)

    # Numbers in the tables

    def _numbers_of(self, serials: set[str]) -> dict[str, int]:
        numbers = self.engine_numbers(serials)
        missing = serials - set(numbers)
        if missing:
            raise EngineNotInLog(min(missing))
        return numbers

    def _last_sequences(self, kind: str, numbers: Iterable[int]) -> dict[int, int]:
        return dict(_last_sequences_of(kind).rows(self._connection, keys=list(numbers)))

    def _item_numbers(self, spellings: set[str | None]) -> dict[str | None, int | None]:
        numbers = {spelling: number for number, spelling in self._item_names().items()}
        new = sorted(s for s in spellings if s is not None and s not in numbers)
        if new:
            columns = [list(map(name_key, new)), new]
            self._take(ITEMS.name, columns)
            self._insert(ITEMS.name, chained_kind(ITEMS.name).columns, columns)
            self._items = None
            numbers = {spelling: number for number, spelling in self._item_names().items()}
        return numbers


def _counted_on(last: dict[Any, int], keys: Iterable[Any]) -> list[int]:
    """The next number of each key, one after the other; `last` has the latest number of each, 0 if none."""
    numbers = []
    for key in keys:
        number = last[key] = last.get(key, 0) + 1
        numbers.append(number)
    return numbers


_ADDERS: dict[str, Callable[[Writer, Shape, Sequence[Any]], None]] = {
    **dict.fromkeys(OF_ENGINE, Writer._add_of_engine),
    "engines": Writer._add_engines,
    "changes": Writer._add_changes,
    "readings": Writer._add_readings,
    "voids": Writer._add_voids,
}

"""Writes new rows of a batch to the log, in bulk: numbered, sealed by the chains, and put into their tables.

What is written besides, such as facts that change and ends filled in, is the matter of `writer`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from functools import cache
from itertools import compress
from operator import attrgetter
from typing import Any

from sqlalchemy import Connection, bindparam, func, insert, select

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Change, Engine
from fleetlog.domain.renumbered import NAMING, renumbered
from fleetlog.domain.words import name_key
from fleetlog.errors.log import EngineNotInLog, EntryNotInLog
from fleetlog.store.among import among
from fleetlog.store.bulk import ROWS_AT_ONCE, insert_rows
from fleetlog.store.chain.rows import FACTS, ChainedRows, Facts, chained_kind
from fleetlog.store.chain.sealing import Sealer
from fleetlog.store.column_types import Moment, moment_number
from fleetlog.store.direct import Direct
from fleetlog.store.kept.lines import Touched
from fleetlog.store.reader import Reader
from fleetlog.store.row_reader import in_chunks
from fleetlog.store.shapes import ITEMS, OF_ENGINE, RULINGS, SEQUENCED, SHAPES, WRITINGS, Shape

_NOTE_WRITING = Direct(
    insert(WRITINGS)
    .values(recorded_at=bindparam("at", type_=Moment), recorded_by=bindparam("by"))
    .returning(WRITINGS.c.writing_no)
)

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


class RowWriter(Reader):
    """A reader that adds rows, for one person at one moment."""

    locks_engines = True

    def __init__(self, connection: Connection, by: str, at: datetime) -> None:
        super().__init__(connection)
        self._by, self._at = by, at
        moment_number(at)  # refuses one without a time zone
        self._writing_no: int | None = None
        self.sealed_no: int | None = None
        """The number of the writing that `seal` closed last; None where nothing was written."""
        self._touched = Touched()
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

    def add(self, batch: Batch) -> None:
        """Adds new rows, numbering each engine's in the order given; their own `sequence` is not looked at.

        Raises EngineNotInLog or EntryNotInLog for a row that speaks of what is not there, and
        RowsRefused for a row that is there already or breaks another rule of the tables.
        """
        self._touched.add(batch)
        rows = _ROWS_OF(batch)
        for shape, values in compress(zip(SHAPES.values(), rows, strict=True), rows):
            self._add(shape, values)

    def end_kinds(self, *kinds: str) -> None:
        """Says that engines which got rows of these kinds in this writing get no more of them in it.

        Their rows are then hashed at once and let go of, which saves memory. Raises ValueError later where an
        engine gets more of them after all.
        """
        if self._writing_no is not None:
            self._sealer.end_kinds(kinds)

    def _add(self, shape: Shape, values: Sequence[Any]) -> None:
        match shape.kind:
            case "engines":
                self._add_engines(shape, values)
            case "changes":
                self._add_changes(shape, values)
            case "readings":
                self._add_readings(shape, values)
            case "voids":
                self._add_voids(shape, values)
            case kind if kind in OF_ENGINE:
                self._add_of_engine(shape, values)
            case _:
                self._add_plain(shape, values)

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

    def _rule(self, rulings: Sequence[tuple[str, int, str, str | None]]) -> None:
        reading_ids, engine_nos, statuses, reasons = zip(*rulings, strict=True)
        columns = (reading_ids, statuses, reasons)
        self._add_sequenced(RULINGS.name, chained_kind(RULINGS.name).columns, columns, engine_nos)

    # What is sealed and inserted

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
        named = zip(names, columns, strict=True)
        filled = {name: c for name, c in named if any(c) or c.count(None) < count}
        filled["writing_no"] = [self._writing()] * count
        insert_rows(self._connection, kind, list(filled), zip(*filled.values(), strict=True))

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

"""Writes to the log: new rows (`row_writer`), dated changes of facts, rulings, and ends filled in.

Nothing of the ledger is changed or deleted here, and nothing is kept before the block of `Log.writing` ends.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, func, select, text, update

from fleetlog.domain.batch import FILLED_LATER
from fleetlog.domain.records import Boat, Change, Engine, Owner, fact_text
from fleetlog.errors.log import EndIsSet, NotInLog, ReadingNotInLog, WrittenMeanwhile
from fleetlog.store.chain.rows import FACT_KEYS, chained_kind
from fleetlog.store.column_types import day_number
from fleetlog.store.kept.fits import KeptFit, keep_fit
from fleetlog.store.kept.lines import KeptRows, mark_out_of_date, replace_lines, touched_engines
from fleetlog.store.row_writer import RowWriter
from fleetlog.store.shapes import SHAPES

if TYPE_CHECKING:
    from fleetlog.store.forgetting import Cell

_BETWEEN = {"supersessions": " by "}
"""What stands between the two words of a key that is shown."""


class Writer(RowWriter):
    """A reader that writes as well, for one person at one moment."""

    def __init__(self, connection: Connection, by: str, at: datetime) -> None:
        super().__init__(connection, by, at)
        self._marked: dict[str, int] = {}
        """Engines that `mark_touched` put out of date: their numbers by serial."""

    def alone_with(self, *kinds: str) -> None:
        """Waits until nobody else adds rows of these kinds, and lets nobody until this writing ends.

        For what is judged by all rows of a kind, as a booking is. Call it before any engine is read: one
        writer that holds engines and waits for the rows, and another that has the rows and waits for engines,
        would wait for each other for ever.
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

    # Rulings on readings, and documents handed out

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

    def note_extract(self, serial: str, made_on: date, document_sha256: str) -> None:
        """Notes that a document of an engine's history was handed out, with the heads of this moment."""
        [entered] = self.as_entered([serial])
        row = (entered, day_number(made_on), document_sha256, self.engine_head(serial), self.head())
        columns = [[value] for value in row]
        self._take("extracts", columns)
        self._insert("extracts", chained_kind("extracts").columns, columns)

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

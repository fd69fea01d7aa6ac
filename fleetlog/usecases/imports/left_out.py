"""Tells what the log has and a folder leaves out: a row deleted in a spreadsheet stays in the log.

A file that has not most of the log's rows is none that lost some, but one of what is new, as each week's
readings are: of that nothing is said, as nothing is of a file that is not there.

Of the rows of engines only those count that came with a folder, as far as their ids tell, and stand: what was
recorded by a command was never in a spreadsheet. Where the file has a column of ids, as an exported one, all
count.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

from fleetlog.domain.held_text import ruling_command
from fleetlog.domain.hours import hours_text
from fleetlog.domain.out_of_service import WITHOUT_LINES
from fleetlog.domain.records import Entry, Reading
from fleetlog.domain.words import counted_kind, with_position
from fleetlog.errors import as_word
from fleetlog.exchange.csv.files import BY_KIND
from fleetlog.exchange.csv.folder import FolderContents
from fleetlog.exchange.csv.reading import MADE_OF_ROW
from fleetlog.exchange.problems import Remark, printable
from fleetlog.exchange.rows_aside import PUT_ASIDE, RowsAside
from fleetlog.store.reader import Reader
from fleetlog.usecases.imports.merge import Merge, known_keys

_MOST_NAMED = 3
_ENGINES_LOOKED_AT = 1_000
"""Of more engines it is only said that there are more rows."""

_STAYS = "what a folder leaves out stays in the log"


def left_out_of_register(contents: FolderContents, reader: Reader) -> Iterator[Remark]:
    """Remarks on owners, boats and engines that the log has and the folder's file of them has not."""
    for kind, rows in (("owners", reader.owners), ("boats", reader.boats), ("engines", reader.engines)):
        if kind not in contents.files or not reader.has_any(kind):
            continue
        known = known_keys(contents, kind)
        in_log = rows()
        missing = {key: row for key, row in in_log.items() if key not in known and not _is_past(row)}
        if missing and len(known & in_log.keys()) > len(missing):
            way = ""
            if kind == "engines":
                way = (
                    f"; where one is sold: fleetlog engine change {as_word(next(iter(missing)))} --state sold"
                )
            yield _remark(kind, len(missing), [_called(key, row) for key, row in missing.items()], way)


def _called(key: str, row: Any) -> str:
    name = getattr(row, "name", key)
    return printable(key) if name == key else f"{printable(name)} ({printable(key)})"


def _is_past(row: Any) -> bool:
    return getattr(row, "is_forgotten", False) or getattr(row, "state", None) in WITHOUT_LINES


class LeftOutOfEngines:
    """Readings and entries that the log has, of which those of the folder are struck off as they are met."""

    def __init__(self, contents: FolderContents, aside: RowsAside, reader: Reader) -> None:
        self._contents, self._aside, self._reader = contents, aside, reader
        self._begins: dict[str, str] = {}
        self._left: dict[str, Counter[str]] = {}
        self._met: Counter[str] = Counter()
        for kind in PUT_ASIDE:
            found = contents.files.get(kind)
            if found is not None and reader.has_any(kind):
                id_field = BY_KIND[kind].id_field
                self._begins[kind] = "" if id_field in found.given else MADE_OF_ROW.format(kind[0])
                self._left[kind] = Counter(reader.rows_by_serial(kind, self._begins[kind]))

    def meet(self, kind: str, rows: list[Any], merge: Merge) -> None:
        """Strikes off the rows of a folder that are no new ones."""
        if kind in self._left:
            begins, key_of = self._begins[kind], BY_KIND[kind].key_of
            there = Counter(row.serial for row in rows if key_of(row).startswith(begins))
            there.subtract(row.serial for row in getattr(merge.new, kind) if key_of(row).startswith(begins))
            self._left[kind].subtract(there)
            self._met[kind] += there.total()

    def remarks(self) -> Iterator[Remark]:
        """What is left, a line for each kind."""
        for kind, left in self._left.items():
            if self._met[kind] <= (+left).total():
                continue
            serials = sorted(serial for serial, count in left.items() if count > 0)
            looked_at = serials[:_ENGINES_LOOKED_AT]
            rows = list(self._missing(kind, looked_at)) if looked_at else []
            if rows:
                named = [_named(row) for row in rows[:_MOST_NAMED]]
                way = f", until it is taken back: {_taken_back(rows[0])}"
                yield _remark(kind, len(rows), named, way, at_least=len(serials) > len(looked_at))

    def _missing(self, kind: str, serials: list[str]) -> Iterator[Any]:
        """The rows of engines that stand and are not in the folder, those apart that a figure corrects."""
        key_of, begins = BY_KIND[kind].key_of, self._begins[kind]
        rows, _ = self._aside.rows_of(BY_KIND[kind], serials)
        known, days = {key_of(row) for row in rows}, {(row.serial, row.on) for row in rows}
        for ledger in self._reader.ledgers(serials):
            if kind == "entries":
                past = {void.entry_id for void in ledger.voids}
            else:
                past = {
                    reading.reading_id
                    for reading in ledger.readings
                    if (reading.serial, reading.on) in days or reading.status == "withdrawn"
                }
            for row in getattr(ledger, kind):
                key = key_of(row)
                if key.startswith(begins) and key not in known and key not in past:
                    yield row


def _remark(kind: str, count: int, named: list[str], way: str, *, at_least: bool = False) -> Remark:
    shown = ", ".join(named[:_MOST_NAMED])
    if count > _MOST_NAMED:
        shown += f" and {count - _MOST_NAMED} more"
    least = "at least " if at_least else ""
    text = f"without {least}{counted_kind(count, kind)} that the log has: {shown}; {_STAYS}{way}"
    return Remark(text, BY_KIND[kind].name)


def _named(row: Entry | Reading) -> str:
    if isinstance(row, Reading):
        return f"{row.serial} {hours_text(row.meter_tenths)} h on {row.on.isoformat()}"
    done = f"{with_position(row.item or row.scope or 'engine', row.position)} {row.action}"
    return f"{row.serial} {done} on {row.on.isoformat()} ({row.entry_id})"


def _taken_back(row: Entry | Reading) -> str:
    if isinstance(row, Reading):
        return ruling_command("withdraw", row.serial, row.on, row.meter_tenths)
    return f"fleetlog void {as_word(row.entry_id)} --reason WHY"

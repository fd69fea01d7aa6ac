"""Puts the many rows of engines aside in a temporary file, and gives them back some engines at a time.

However many readings and entries a folder has, those of a thousand engines are in memory at once.
"""

from __future__ import annotations

import pickle
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import fields
from datetime import date
from itertools import islice, pairwise, repeat, starmap
from operator import attrgetter, gt
from os import SEEK_END
from tempfile import SpooledTemporaryFile
from typing import Any

from fleetlog.errors.folders import NoRoomForRows
from fleetlog.exchange.csv.cells import Memo
from fleetlog.exchange.csv.columns import CsvFile

ENGINES_AT_ONCE = 1_000
"""How many engines make a stretch, whose rows come back together."""

_BYTES_IN_MEMORY = 16 * 2**20

PUT_ASIDE = ("readings", "entries")
"""The kinds of rows of which an engine has many."""

PlacedRows = tuple[list[Any], Sequence[int]]
"""Rows, and the lines on which they begin."""


_Piece = tuple[int, int]
"""Where in the temporary file some rows of a stretch of engines are, and how many bytes they take."""


class RowsAside:
    """Readings and entries of a folder, kept in a temporary file so that they need not all be in memory.

    They come back a stretch of engines at a time, those of an engine together and in their order. `moved` are
    the entries that fitted an item from another engine, each after its line: for how long it had been in use
    has to be looked up on that engine. Raises NoRoomForRows where the temporary file cannot be written.
    """

    def __init__(self) -> None:
        self._file = SpooledTemporaryFile(max_size=_BYTES_IN_MEMORY)  # noqa: SIM115
        self._places: dict[str, int] = {}
        self._pieces: dict[str, defaultdict[int, list[_Piece]]] = {k: defaultdict(list) for k in PUT_ASIDE}
        self._days = Memo(date.fromordinal)
        self.moved: list[tuple[int, Any]] = []

    def close(self) -> None:
        """Lets go of the rows."""
        self._file.close()

    def put(self, file: CsvFile, columns: Sequence[Sequence[Any]], lines: Sequence[int]) -> None:
        """Puts rows of a file aside, given column by column, after those put aside before."""
        of_field = dict(zip((f.name for f in fields(file.row_type)), columns, strict=True))
        self.name(of_field["serial"])
        of_stretch: defaultdict[int, list[int]] = defaultdict(list)
        for row, serial in enumerate(of_field["serial"]):
            of_stretch[self._places[serial] // ENGINES_AT_ONCE].append(row)
        to_write = of_field | {"on": list(map(date.toordinal, of_field["on"]))}  # a day takes long to pickle
        filled = {name: c for name, c in to_write.items() if any(c) or c.count(None) < len(c)}
        for stretch, rows in of_stretch.items():
            piece = self._written(
                (lines, filled)
                if len(rows) == len(lines)
                else (_chosen(lines, rows), {name: _chosen(column, rows) for name, column in filled.items()})
            )
            self._pieces[file.kind][stretch].append(piece)
        if file.kind == "entries" and any(of_field["from_serial"]):
            placed = zip(lines, map(file.row_type, *columns), strict=True)
            self.moved += [(line, row) for line, row in placed if row.from_serial is not None]

    def forget(self, file: CsvFile) -> None:
        """Forgets the rows of a file, which is to be read once more."""
        self._pieces[file.kind].clear()
        if file.kind == "entries":
            self.moved = []

    def name(self, serials: Iterable[str]) -> None:
        """Has the engines taken back, after those named before, whether they have rows or not."""
        places = self._places
        for serial in serials:
            if serial not in places:
                places[serial] = len(places)

    @property
    def serials(self) -> Iterable[str]:
        """The engines named, in the order in which they were."""
        return self._places.keys()

    def stretches(self) -> Iterator[list[str]]:
        """The engines named, some at a time."""
        rest = iter(self._places)
        while stretch := list(islice(rest, ENGINES_AT_ONCE)):
            yield stretch

    def rows_of(self, file: CsvFile, serials: Iterable[str]) -> PlacedRows:
        """The rows of a file that were put aside of some engines, in the order of the file."""
        wanted = set(serials)
        places = (self._places[serial] for serial in wanted if serial in self._places)
        rows: list[Any] = []
        lines: list[int] = []
        for stretch in sorted({place // ENGINES_AT_ONCE for place in places}):
            for piece in self._pieces[file.kind][stretch]:
                its_lines, filled = self._read(piece)
                filled["on"] = map(self._days.__getitem__, filled["on"])
                columns = (filled.get(f.name, repeat(None)) for f in fields(file.row_type))
                its_rows: Sequence[Any] = list(map(file.row_type, *columns))
                if not wanted.issuperset(map(attrgetter("serial"), its_rows)):
                    kept = [place for place, row in enumerate(its_rows) if row.serial in wanted]
                    its_rows, its_lines = _chosen(its_rows, kept), _chosen(its_lines, kept)
                rows += its_rows
                lines += its_lines
        if any(starmap(gt, pairwise(lines))):
            order = sorted(range(len(lines)), key=lines.__getitem__)
            rows, lines = _chosen(rows, order), _chosen(lines, order)
        return rows, lines

    def _written(self, value: Any) -> _Piece:
        content = pickle.dumps(value, pickle.HIGHEST_PROTOCOL)
        with _room():
            at = self._file.seek(0, SEEK_END)
            self._file.write(content)
        return at, len(content)

    def _read(self, piece: _Piece) -> Any:
        at, size = piece
        with _room():
            self._file.seek(at)
            return pickle.loads(self._file.read(size))


def _chosen(values: Sequence[Any], places: Sequence[int]) -> list[Any]:
    return [values[place] for place in places]


@contextmanager
def _room() -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise NoRoomForRows(error.strerror or str(error)) from None

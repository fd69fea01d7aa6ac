"""Reads one CSV file of the folder into rows of the log, row by row, and says all that is wrong with it."""

from __future__ import annotations

import re
from array import array
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from contextlib import closing
from dataclasses import MISSING, dataclass, field, fields, replace
from hashlib import sha256
from operator import itemgetter
from pathlib import Path
from typing import Any

from fleetlog.domain.nearest import offer
from fleetlog.domain.renumbered import NO_NUMBERS, SERIAL, Numbers, renumbered
from fleetlog.domain.row_rules import NEEDED
from fleetlog.errors import counted
from fleetlog.exchange.csv.cells import CellNotUsable, Memo, cell_text, with_decimal_comma
from fleetlog.exchange.csv.columns import Column, CsvFile
from fleetlog.exchange.csv.files import row_rule
from fleetlog.exchange.csv.text import CsvManner, NotTakenApart, rows_of
from fleetlog.exchange.problems import Problem, ProblemList
from fleetlog.exchange.rows_aside import RowsAside

MADE_OF_ROW = "{}-"
"""How an id begins that was made from what a row says, after the first letter of its kind."""

_MADE_ID = re.compile(r"[a-z]-[0-9a-f]{16}(-[0-9]+)?")
_SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}


@dataclass(slots=True)
class FileRows:
    """What one file holds: the usable rows with the lines they begin on, and what is known of the others.

    `given` are the fields for which the file has a column. `spoiled_keys` and `spoiled_serials` name rows
    that have problems; `whole` says that every row is in `rows` or named there. Where rows are put `aside`,
    none is in `rows`. `renamed` are the serials of engines for which the log has others.
    """

    file: CsvFile
    aside: RowsAside | None = None
    numbers: Numbers = NO_NUMBERS
    rows: list[Any] = field(default_factory=list)
    lines: array[int] = field(default_factory=lambda: array("L"))
    given: frozenset[str] = frozenset()
    spoiled_keys: set[Any] = field(default_factory=set)
    spoiled_serials: set[str] = field(default_factory=set)
    renamed: set[str] = field(default_factory=set)
    whole: bool = True

    def keep(self, columns: Sequence[Sequence[Any]], lines: Sequence[int]) -> None:
        """Takes usable rows in, given column by column; engines are named by their serials of now."""
        now = self.numbers.now
        if now:
            rows = list(map(self.file.row_type, *columns))
            self.renamed.update(now.keys() & {getattr(row, SERIAL, None) for row in rows})
            columns = self.file.columns_from(renumbered(self.file.kind, rows, now, own=True))
        if self.aside is not None:
            self.aside.put(self.file, columns, lines)
        else:
            self.rows += map(self.file.row_type, *columns)
            self.lines.extend(lines)


def read_csv_file(
    path: Path,
    file: CsvFile,
    manner: CsvManner,
    problems: ProblemList,
    aside: RowsAside | None = None,
    numbers: Numbers = NO_NUMBERS,
) -> FileRows:
    """The rows of one file; what is wrong goes to `problems`, and such rows are left out.

    `numbers` are those by which the file may know engines of the log. A file in which a key may stand twice
    is read once more, with an eye on such keys.
    """
    found, told, suspects = _read(path, file, manner, FileRows(file, aside, numbers), frozenset())
    if suspects:
        if aside is not None:
            aside.forget(file)
        found, told, _ = _read(path, file, manner, FileRows(file, aside, numbers), suspects)
    problems.take(told)
    return found


class _Hashes:
    """Tells which keys of a file may stand in it twice, by their hashes: eight bytes a row."""

    _PARTS = 64

    def __init__(self) -> None:
        self._parts = [array("q") for _ in range(self._PARTS)]

    def add(self, hashes: Iterable[int]) -> None:
        parts, last = self._parts, self._PARTS - 1
        for hashed in hashes:
            parts[hashed & last].append(hashed)

    def met_twice(self) -> frozenset[int]:
        """The hashes of several rows, looked for a part at a time: a set of all takes ten times the place."""
        several = (part for part in self._parts if len(set(part)) < len(part))
        return frozenset(hashed for part in several for hashed, n in Counter(part).items() if n > 1)


def _read(
    path: Path, file: CsvFile, manner: CsvManner, found: FileRows, suspects: frozenset[int]
) -> tuple[FileRows, ProblemList, frozenset[int]]:
    """The rows of one file, what is wrong with them, and the hashes of keys that may stand in it twice.

    Only keys whose hashes are among the `suspects` are looked at for that.
    """
    problems, hashes = ProblemList(), _Hashes()
    try:
        with closing(rows_of(path, manner)) as blocks:
            lines, rows = next(blocks, ([1], [[]]))
            columns = _columns(rows[0], lines[0], file, manner, problems)
            if columns is None:
                found.whole = False
            else:
                taker = _RowTaker(file, manner, columns, problems, found, hashes, suspects)
                taker.take_all(lines[1:], rows[1:])
                for lines, rows in blocks:
                    taker.take_all(lines, rows)
    except NotTakenApart as stop:
        found.whole = False
        problems.add(Problem(file.name, stop.line, None, stop.found, stop.expected))
    return found, problems, hashes.met_twice()


def _columns(
    header: list[str], line: int, file: CsvFile, manner: CsvManner, problems: ProblemList
) -> list[Column | None] | None:
    """The columns in the order of the file, None for one that is not known; None if rows make no sense."""
    known = {c.name: c for c in file.columns}
    names = [cell.strip() for cell in header]

    def wrong(column: str | None, found: str, expected: str) -> None:
        problems.add(Problem(file.name, line, column, found, expected))

    if not any(names):
        wrong(None, "no header", f"the names of the columns: {', '.join(known)}")
        return None
    other = _other_separator(names, known, manner.separator)
    if other is not None:
        says = "tab" if other == "\t" else f'"{other}"'
        wrong(
            None,
            f"cells that stand between {_SEPARATORS[other]}s",
            f"{_SEPARATORS.get(manner.separator, manner.separator)}s; for this file say --separator {says}",
        )
        return None
    columns: list[Column | None] = []
    for place, name in enumerate(names):
        column = known.get(name)
        if not name:
            wrong(None, f"column {place + 1} without a name", "a name over each column")
        elif column is None:
            wrong(name, name, f"a known column{offer(name, known)}: {', '.join(known)}")
        elif column in columns:
            wrong(name, name, "each column once")
            column = None
        columns.append(column)
    missing = [c.name for c in file.columns if c.required and c not in columns]
    for name in missing:
        wrong(None, f"no column {name}", "one, as no row makes sense without it")
    return None if missing else columns


def _other_separator(names: list[str], known: dict[str, Column], separator: str) -> str | None:
    """What the cells of the header really stand between, if it is not `separator`."""
    if any(name in known for name in names):
        return None
    for other in _SEPARATORS:
        parts = [part.strip().strip('"') for part in separator.join(names).split(other)]
        if other != separator and len(parts) > 1 and any(part in known for part in parts):
            return other
    return None


class _RowTaker:
    """Turns the rows of one file into rows of the log."""

    def __init__(
        self,
        file: CsvFile,
        manner: CsvManner,
        columns: list[Column | None],
        problems: ProblemList,
        found: FileRows,
        hashes: _Hashes,
        suspects: frozenset[int],
    ) -> None:
        self.file, self.columns, self.problems, self.found = file, columns, problems, found
        self.hashes, self.suspects = hashes, suspects
        row_fields = fields(file.row_type)
        defaults = {f.name: None if f.default is MISSING else f.default for f in row_fields}
        self.readers = [_reader(c, manner, defaults) for c in columns]
        places = {c.fills: place for place, c in enumerate(columns) if c is not None}
        found.given = frozenset(places)
        absent = [name for name in defaults if name not in places]
        self.absent_values = [defaults[name] for name in absent]
        places |= {name: len(columns) + n for n, name in enumerate(absent)}
        self.in_order = itemgetter(*(places[f.name] for f in row_fields))
        self.rule = row_rule(file)
        in_order = [f.name for f in row_fields]
        self.key_places = [in_order.index(name) for name in file.key_fields]
        filled_in = file.id_field if file.named_by is None else "name"
        self.filled_in = None if filled_in is None else in_order.index(filled_in)
        self.made: Counter[str] = Counter()
        self.first_lines: dict[Any, int | None] = {}
        """The line of the first row of each suspected key, None where that row has problems."""

    def wrong(self, line: int, column: str | None, value: str | None, expected: str) -> None:
        self.problems.add(Problem(self.file.name, line, column, value, expected))

    def take_all(self, lines: Sequence[int], rows: Sequence[list[str]]) -> None:
        """Takes rows in: all together where nothing is wrong with any of them, else one by one."""
        if not self._took_together(lines, rows):
            taken = [(self.take(line, row), line) for line, row in zip(lines, rows, strict=True)]
            usable = [(record, line) for record, line in taken if record is not None]
            records, placed = [record for record, _ in usable], [line for _, line in usable]
            self.found.keep(self.file.columns_from(records), placed)

    def _took_together(self, lines: Sequence[int], rows: Sequence[list[str]]) -> bool:
        """Takes rows in column by column, which is quicker; takes none where one of them wants more."""
        width, cells = len(self.readers), list[str]()
        if set(map(len, rows)) != {width}:
            return False
        for row in rows:
            cells += row
        by_column = (cells[place::width] for place in range(width))  # a zip of the rows takes twice as long
        try:
            columns = list(map(_read_column, self.columns, self.readers, by_column))
        except CellNotUsable:
            return False
        absent = ([value] * len(rows) for value in self.absent_values)
        columns = self.in_order([*columns, *absent])
        keys = [columns[place] for place in self.key_places]
        hashes = list(map(hash, keys[0] if len(keys) == 1 else zip(*keys, strict=True)))
        if not self.suspects.isdisjoint(hashes):
            return False
        if self.filled_in is not None and None in columns[self.filled_in]:
            return False
        if self.rule is not None and any(map(any, map(self.rule, map(self.file.row_type, *columns)))):
            return False
        self.found.keep(columns, lines)
        self.hashes.add(hashes)
        return True

    def take(self, line: int, row: list[str]) -> Any | None:
        """One row as it is kept; None where it is empty, or where something is wrong, which is said."""
        if len(row) != len(self.readers):
            if any(cell.strip() for cell in row):
                self.found.whole = False
                self.wrong(line, None, counted(len(row), "cell"), f"{len(self.readers)}, as in the header")
            return None
        try:
            values = [read(cell) for read, cell in zip(self.readers, row, strict=True)]
        except CellNotUsable:
            if any(cell.strip() for cell in row):
                self._spoil(line, row)
            return None
        record = self.file.row_type(*self.in_order(values + self.absent_values))
        if self.file.id_field is not None and getattr(record, self.file.id_field) is None:
            record = replace(record, **{self.file.id_field: self._made_id(record)})
        elif self.file.named_by is not None and record.name is None:
            record = replace(record, name=getattr(record, self.file.named_by))
        key = self.file.key_of(record)
        right = True
        for field_name, expected in self.rule(record) if self.rule is not None else ():
            right = False
            self.wrong(line, *self._cell_of(field_name, row), expected)
        self.hashes.add([hash(key)])
        if key in self.first_lines:
            self._twice(line, row, self.first_lines[key])
            return None
        if hash(key) in self.suspects:
            self.first_lines[key] = line if right else None
        if not right:
            self._name_spoiled({name: getattr(record, name) for name in self.found.given})
            return None
        return record

    def _twice(self, line: int, row: list[str], first: int | None) -> None:
        column, value = self._cell_of(self.file.key_fields[0], row)
        rest = [self.file.column_of(name) for name in self.file.key_fields[1:]]
        with_rest = f" with this {' and '.join(rest)}" if rest else ""
        self.problems.add(
            Problem(self.file.name, line, column, value, f"each {column} once{with_rest}", first)
        )

    def _cell_of(self, field_name: str, row: list[str]) -> tuple[str, str]:
        """The name of the column that fills a field, and what stands in it."""
        for column, cell in zip(self.columns, row, strict=True):
            if column is not None and column.fills == field_name:
                return column.name, cell.strip()
        return self.file.column_of(field_name), ""

    def _spoil(self, line: int, row: list[str]) -> None:
        """Says what is wrong with each cell of a row, and remembers whom the row speaks of."""
        values: dict[str, Any] = {}
        for column, read, cell in zip(self.columns, self.readers, row, strict=True):
            try:
                value = read(cell)
            except CellNotUsable as error:
                self.wrong(line, column.name if column is not None else None, cell.strip(), str(error))
            else:
                if column is not None:
                    values[column.fills] = value
        self._name_spoiled(values)

    def _name_spoiled(self, values: dict[str, Any]) -> None:
        now = self.found.numbers.now
        if values.get("serial") in now:
            values = {**values, "serial": now[values["serial"]]}
        keys = [values.get(name) for name in self.file.key_fields]
        if keys and None not in keys:
            self.found.spoiled_keys.add(keys[0] if len(keys) == 1 else tuple(keys))
        if values.get("serial") is not None:
            self.found.spoiled_serials.add(values["serial"])
        elif self.file.column_of("serial") in {c.name for c in self.file.columns}:
            self.found.whole = False

    def _made_id(self, record: Any) -> str:
        """An id from what the row says, and its place among rows that say the same.

        An engine counts by its first serial, so that its rows keep their ids when the serial is corrected.
        """
        if self.found.numbers.first:
            [record] = renumbered(self.file.kind, [record], self.found.numbers.first, own=True)
        said = (
            f"{c.name}={c.kind.write(value)}"
            for c in self.file.columns
            if c.fills not in self.file.id_leaves_out and (value := getattr(record, c.fills)) is not None
        )
        digest = sha256("\x1f".join(said).encode()).hexdigest()[:16]
        self.made[digest] += 1
        ordinal = self.made[digest]
        made = MADE_OF_ROW.format(self.file.kind[0]) + digest
        return made if ordinal == 1 else f"{made}-{ordinal}"


def is_made_id(text: str) -> bool:
    """Whether an id was made from what its row says, as the file gave none."""
    return _MADE_ID.fullmatch(text) is not None


def _read_column(column: Column | None, read: Callable[[str], Any], cells: list[str]) -> list[Any]:
    """What the cells of a column say; one in which nothing stands is read once."""
    if not any(cells):
        return [read("")] * len(cells)
    return cells if column is not None and column.kind.are_plain(cells) else list(map(read, cells))


def _reader(column: Column | None, manner: CsvManner, defaults: dict[str, Any]) -> Callable[[str], Any]:
    """What reads the cells of a column; a column that is not known reads as nothing."""
    if column is None:
        return lambda _cell: None
    kind = with_decimal_comma(column.kind) if manner.decimal_comma else column.kind
    empty, required, read = defaults[column.fills], column.required, kind.read

    def read_cell(cell: str) -> Any:
        text = cell_text(cell) if cell else None
        if text is not None:
            return read(text)
        if required:
            raise CellNotUsable(NEEDED)
        return empty

    if not kind.repeats:
        return read_cell
    return manner.read.setdefault((kind, required, empty), Memo(read_cell)).__getitem__

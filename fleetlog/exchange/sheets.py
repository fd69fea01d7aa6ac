"""Reads spreadsheet files (xlsx, ods) by a mapping, and lays them out as a CSV folder for the import.

The mapping is TOML, a `[[sheet]]` for each sheet: `file` (such as "engines"), `sheet` (its name; else the
first), `header_row`, `columns` (our column = "their heading"), `fixed` (our column = "the same everywhere"),
`words` (our column = { "their word" = "ours" }), `as_above` (our columns in which an empty cell says what
the one above says) and `needs` (our columns without which a row is left out). Several sheets may become one
file, and one sheet several: where all of an engine stands in a row, each thing in it is a `[[sheet]]`. Owners
and boats that many rows name alike count once.
"""

from __future__ import annotations

import csv
import re
import tomllib
import zipfile
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from pathlib import Path
from typing import Any, Protocol

from fleetlog.domain.nearest import offer
from fleetlog.errors.files import FileUnreadable
from fleetlog.errors.sheets import MappingUnusable, SheetsExtraMissing, SheetUnreadable
from fleetlog.exchange.csv.cells import NO_VALUE, neutralised
from fleetlog.exchange.csv.files import BY_KIND
from fleetlog.exchange.problems import Problem, Told

MOST_BYTES, MOST_UNPACKED, MOST_ROWS, MOST_COLUMNS = 50_000_000, 400_000_000, 1_000_000, 1_000
"""What a file may hold at most: a small file can unpack to one that fills the memory."""

Rows = Iterator[list[Any]]
_ERROR = re.compile(r"#(NULL!|DIV/0!|VALUE!|REF!|NAME\?|NUM!|N/A|SPILL!|CALC!|FIELD!)|Err:\d+")


_NO_RESULT = f"{NO_VALUE}a formula without a result"
"""Stands in a cell with a formula whose result the file does not hold."""

_MOST_SHOWN = 20


@dataclass(frozen=True, slots=True)
class SheetMapping:
    """One sheet: the file of the folder it becomes, and where each of its columns comes from."""

    file: str
    columns: dict[str, str]
    sheet: str | None = None
    header_row: int = 1
    fixed: dict[str, str] = field(default_factory=dict)
    words: dict[str, dict[str, str]] = field(default_factory=dict)
    as_above: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()


def read_mapping(path: Path) -> list[SheetMapping]:
    """The mapping in a file. Raises FileUnreadable, MappingUnusable."""
    try:
        values = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise FileUnreadable(path, error.strerror or str(error)) from error
    except UnicodeDecodeError:
        raise MappingUnusable(path, "it is not UTF-8 text: save it as that") from None
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise MappingUnusable(path, f"it is not TOML ({error})") from None
    sheets = values.get("sheet")
    if not isinstance(sheets, list) or not sheets or not all(isinstance(one, dict) for one in sheets):
        raise MappingUnusable(path, "it has no [[sheet]]")
    return [_mapping(path, one) for one in sheets]


def _mapping(path: Path, told: dict[str, Any]) -> SheetMapping:
    known = {"file", "sheet", "header_row", "columns", "fixed", "words", "as_above", "needs"}
    for name in told.keys() - known:
        raise MappingUnusable(path, f"{name!r} is not known{offer(name, known)}")
    file = str(told.get("file")).removesuffix(".csv")
    if file not in BY_KIND:
        raise MappingUnusable(path, f"file {file!r} is none of {', '.join(BY_KIND)}{offer(file, BY_KIND)}")
    header_row = told.get("header_row", 1)
    if not isinstance(header_row, int) or not 1 <= header_row <= MOST_ROWS:
        raise MappingUnusable(path, f"header_row {header_row!r} is not the number of a row")
    ours = {c.name for c in BY_KIND[file].columns}
    columns, fixed = _texts(path, told, "columns"), _texts(path, told, "fixed")
    words = told.get("words", {})
    if not isinstance(words, dict) or not all(isinstance(one, dict) for one in words.values()):
        raise MappingUnusable(path, "words are tables, such as water = { sea = 'salt' }")
    for name in (*columns, *fixed, *words):
        if name not in ours:
            raise MappingUnusable(path, f"{file}.csv has no column {name!r}{offer(name, ours)}")
    if not columns:
        raise MappingUnusable(path, f"the sheet for {file} has no columns")
    cased = {c: {str(k).strip().casefold(): str(v) for k, v in one.items()} for c, one in words.items()}
    as_above, needs = _names(path, told, "as_above", columns), _names(path, told, "needs", columns)
    sheet = None if told.get("sheet") is None else str(told["sheet"])
    return SheetMapping(file, columns, sheet, header_row, fixed, cased, as_above, needs)


def _names(path: Path, told: dict[str, Any], key: str, columns: Mapping[str, str]) -> tuple[str, ...]:
    names = told.get(key, [])
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        raise MappingUnusable(path, f"{key} is a list of our columns, such as ['on']")
    for name in names:
        if name not in columns:
            raise MappingUnusable(
                path, f"{key} names {name!r}, which is not among its columns{offer(name, columns)}"
            )
    return tuple(names)


def _texts(path: Path, told: dict[str, Any], key: str) -> dict[str, str]:
    values = told.get(key, {})
    if not isinstance(values, dict) or not all(isinstance(v, str) for v in values.values()):
        raise MappingUnusable(path, f"{key} are texts, such as serial = 'Serial no.'")
    return {name: value.strip() for name, value in values.items()}


@dataclass(frozen=True, slots=True)
class LaidPart:
    """A sheet laid out as a CSV file or a part of it: its name, its headings by our column, and how many of
    its rows were left out, by the column that they lack."""

    name: str
    headings: dict[str, str]
    left_out: Counter[str] = field(default_factory=Counter)


@dataclass(slots=True)
class LaidSheet:
    """A CSV file that sheets were laid out as: the parts, and by line of the file the part and its row."""

    parts: list[LaidPart] = field(default_factory=list)
    rows: dict[int, tuple[LaidPart, int]] = field(default_factory=dict)


def lay_out(path: Path, mappings: list[SheetMapping], folder: Path) -> dict[str, LaidSheet]:
    """Writes the mapped sheets as CSV files to a folder; gives where what stands in each file comes from.

    A cell without a value becomes one that the import refuses. Raises SheetUnreadable, SheetsExtraMissing.
    """
    refuse_unfit(path)
    of_file: dict[str, list[SheetMapping]] = {}
    for mapping in mappings:
        of_file.setdefault(mapping.file, []).append(mapping)
    with closing(_opened(path)) as book:
        return {file: _laid_out(path, book, of_one, folder) for file, of_one in of_file.items()}


def _laid_out(path: Path, book: _Book, mappings: list[SheetMapping], folder: Path) -> LaidSheet:
    """Writes one file from all sheets that become it; rows of owners and boats that are alike once."""
    file, laid, line = mappings[0].file, LaidSheet(), 2
    ours = list(dict.fromkeys(name for one in mappings for name in (*one.columns, *one.fixed)))
    seen: set[tuple[str, ...]] | None = None if BY_KIND[file].named_by is None else set()
    with (folder / f"{file}.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(ours)
        for mapping in mappings:
            part = LaidPart(_sheet_name(mapping), mapping.columns)
            laid.parts.append(part)
            laid.rows.setdefault(1, (part, mapping.header_row))
            for number, told in _mapped(path, _rows(path, book, mapping.sheet), mapping, part.left_out):
                row = tuple(told.get(name, "") for name in ours)
                if seen is not None:
                    if row in seen:
                        continue
                    seen.add(row)
                writer.writerow(row)
                laid.rows[line] = part, number
                line += 1 + sum(text.count("\n") for text in row)
    return laid


def in_the_sheet(told: Told, laid: Mapping[str, LaidSheet]) -> Told:
    """A problem or remark of a file that was laid out, with the sheet, row and heading it comes from."""
    sheet = laid.get((told.file or "").removesuffix(".csv"))
    if sheet is None:
        return told
    part, row = sheet.rows.get(told.line or 0, (None, 0))
    if part is not None:
        place = f"{part.name}, row {row}"
    else:
        place = ", ".join(dict.fromkeys(one.name for one in sheet.parts))
    if not isinstance(told, Problem):
        return replace(told, file=place, line=None)
    expected, value = told.expected, told.value and told.value.removeprefix(NO_VALUE)
    if told.first_line in sheet.rows:
        first, first_row = sheet.rows[told.first_line]
        of_other = "" if first is part else f"{first.name}, "
        expected += f"; {of_other}row {first_row} says it first"
    headings = (part or sheet.parts[0]).headings
    column = told.column and headings.get(told.column, told.column)
    return Problem(place, None, column, value, expected)


def _sheet_name(mapping: SheetMapping) -> str:
    return "the first sheet" if mapping.sheet is None else f'sheet "{mapping.sheet}"'


def refuse_unfit(path: Path) -> None:
    """Raises SheetUnreadable for a file that is not there, is no spreadsheet, or is too large."""
    try:
        size = path.stat().st_size
        with zipfile.ZipFile(path) as packed:
            unpacked = sum(one.file_size for one in packed.infolist())
    except OSError as error:
        raise SheetUnreadable(path, error.strerror or str(error)) from error
    except (zipfile.BadZipFile, ValueError, NotImplementedError):
        raise SheetUnreadable(path, "it is neither xlsx nor ods: save it as one of these") from None
    if size > MOST_BYTES or unpacked > MOST_UNPACKED:
        raise SheetUnreadable(path, f"it unpacks to {unpacked // 1_000_000} MB: take it in parts")


def _mapped(
    path: Path, rows: Rows, mapping: SheetMapping, left_out: Counter[str]
) -> Iterator[tuple[int, dict[str, str]]]:
    """The rows with something in them, in our words by our columns, each with its number in the sheet.

    Those without what they need are counted in `left_out` by the column.
    """
    headings: dict[str, int] = {}
    shown: list[str] = []
    written: list[str] = []
    for _ in range(mapping.header_row):
        heading = next(rows, None)
        if heading is None:
            raise SheetUnreadable(path, f"the sheet has no row {mapping.header_row} with headings")
        shown = [_text(cell).strip() for cell in heading]
        written = [text.casefold() for text in shown]
        headings = {text: place for place, text in enumerate(written)}
    places = []
    for ours, theirs in mapping.columns.items():
        if theirs.casefold() not in headings:
            raise SheetUnreadable(
                path,
                f"no heading {theirs!r} (for {ours}) in row {mapping.header_row}, which has"
                f" {', '.join(list(filter(None, shown))[:_MOST_SHOWN]) or 'none'}{offer(theirs, headings)}",
            )
        if written.count(theirs.casefold()) > 1:
            raise SheetUnreadable(path, f"two headings {theirs!r} in row {mapping.header_row}: rename one")
        places.append((mapping.words.get(ours, {}), headings[theirs.casefold()]))
    above = dict.fromkeys(mapping.as_above, "")
    fixed = {name: neutralised(value) for name, value in mapping.fixed.items()}
    for number, row in enumerate(rows, mapping.header_row + 1):
        cells = [row[place] if place < len(row) else None for _, place in places]
        said = [_cell(cell, words) for (words, _), cell in zip(places, cells, strict=True)]
        if not any(said):
            continue
        told = dict(zip(mapping.columns, said, strict=True))
        for name in above:
            above[name] = told[name] = told[name] or above[name]
        lacks = next((name for name in mapping.needs if not told[name]), None)
        if lacks is not None:
            left_out[lacks] += 1
            continue
        yield number, fixed | told


def _cell(value: Any, words: Mapping[str, str]) -> str:
    """A cell as a CSV file has it, in our words."""
    text = _text(value).strip()
    if text == _NO_RESULT:
        return text
    if isinstance(value, str) and _ERROR.fullmatch(value):
        return NO_VALUE + text
    return neutralised(words.get(text.casefold(), text))


def _text(value: Any) -> str:
    """A cell as a person sees it, dates and figures as the CSV files have them."""
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case datetime():
            return value.date().isoformat() if value.time() == time() else value.isoformat()
        case date():
            return value.isoformat()
        case float():
            return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
        case _:
            return str(value).replace("\r\n", "\n").replace("\r", "\n")


class _Book(Protocol):
    """A spreadsheet file that is open."""

    def rows(self, sheet: str | None) -> Rows:
        """The rows of the sheet of that name, else of the first. Raises SheetUnreadable."""

    def close(self) -> None:
        """Lets go of the file."""


def _opened(path: Path) -> _Book:
    """The file, read as far as its kind needs for any of its sheets. Raises SheetUnreadable."""
    with _refusing(path):
        return _Ods(path) if path.suffix.casefold() == ".ods" else _Xlsx(path)


def _rows(path: Path, book: _Book, sheet: str | None) -> Rows:
    with _refusing(path):
        for number, row in enumerate(book.rows(sheet)):
            if number >= MOST_ROWS or len(row) > MOST_COLUMNS:
                raise SheetUnreadable(
                    path, f"a sheet has more than {MOST_ROWS} rows or {MOST_COLUMNS} columns"
                )
            yield row


@contextmanager
def _refusing(path: Path) -> Iterator[None]:
    try:
        yield
    except ModuleNotFoundError as error:
        raise SheetsExtraMissing(str(error.name)) from None
    except SheetUnreadable:
        raise
    except Exception as error:  # the libraries raise anything on a broken file
        raise SheetUnreadable(path, f"it cannot be read ({type(error).__name__}: {error})") from error


class _Xlsx:
    def __init__(self, path: Path) -> None:
        from openpyxl import load_workbook

        self._path = path
        self._book = load_workbook(path, read_only=True, data_only=True)

    def rows(self, sheet: str | None) -> Rows:
        found = self._book[_named(self._path, sheet, self._book.sheetnames)]
        unknown = _without_result(found)
        found.reset_dimensions()  # some programs write wrong ones; within them each row is filled up
        for number, row in enumerate(found.iter_rows(), 1):
            cells = [_shown(cell) for cell in row]
            for place in unknown.get(number, ()):
                cells += [None] * (place - len(cells))
                cells[place - 1] = _NO_RESULT
            yield cells

    def close(self) -> None:
        self._book.close()


def _shown(cell: Any) -> Any:
    """The value of a cell; of a whole number with zeros in front, such as 00123, what is shown."""
    value = cell.value
    if type(value) is int and len(zeros := cell.number_format) > 1 and not zeros.strip("0"):
        return f"{value:0{len(zeros)}d}"
    return value


def _without_result(sheet: Any) -> dict[int, list[int]]:
    """By row, the columns of formulas without a stored result, which the library reads as empty cells."""
    from xml.etree.ElementTree import iterparse

    from openpyxl.utils.cell import coordinate_to_tuple

    found: dict[int, list[int]] = {}
    with sheet._get_source() as source:
        for _, element in iterparse(source):
            kind = element.tag.rpartition("}")[2]
            if kind == "c":
                inside = {part.tag.rpartition("}")[2]: part.text for part in element}
                is_told = inside.get("v") or (element.get("t") == "str" and "v" in inside)
                if "f" in inside and not is_told and element.get("r"):
                    row, column = coordinate_to_tuple(element.get("r", ""))
                    found.setdefault(row, []).append(column)
            elif kind == "row":
                element.clear()
    return found


def _named(path: Path, sheet: str | None, names: Iterable[str]) -> str:
    there = list(names)
    if sheet is None and there:
        return there[0]
    for name in there:
        if sheet is not None and name.casefold() == sheet.casefold():
            return name
    raise SheetUnreadable(path, f"it has no sheet {sheet!r}{offer(str(sheet), there)}")


class _Ods:
    def __init__(self, path: Path) -> None:
        from odf.opendocument import load
        from odf.table import Table

        self._path = path
        found = load(str(path)).spreadsheet.getElementsByType(Table)
        self._tables = {str(table.getAttribute("name")): table for table in found}

    def rows(self, sheet: str | None) -> Rows:
        from odf.table import TableRow

        for row in self._tables[_named(self._path, sheet, self._tables)].getElementsByType(TableRow):
            cells = _ods_cells(row)
            repeated = int(row.getAttribute("numberrowsrepeated") or 1)
            for _ in range(repeated if cells else min(repeated, 1)):
                yield cells

    def close(self) -> None:
        pass  # it was read whole


def _ods_cells(row: Any) -> list[Any]:
    from odf.table import CoveredTableCell, TableCell
    from odf.teletype import extractText
    from odf.text import P

    cells: list[Any] = []
    for cell in row.childNodes:
        if cell.qname not in (TableCell().qname, CoveredTableCell().qname):
            continue
        kind, value = cell.getAttribute("valuetype"), cell.getAttribute("value")
        found: Any = None
        if kind in ("float", "currency", "percentage"):
            found = float(value)
            shown = extractText(cell).strip()
            if shown.startswith("0") and shown.isdecimal() and int(shown) == found:
                found = shown  # a number such as 00123
        elif kind == "date":
            found = str(cell.getAttribute("datevalue")).removesuffix("T00:00:00")
        elif kind == "boolean":
            found = cell.getAttribute("booleanvalue") == "true"
        elif kind is None and cell.getAttribute("formula"):
            found = _NO_RESULT
        elif kind is not None:
            found = "\n".join(extractText(p) for p in cell.getElementsByType(P))
        repeated = int(cell.getAttribute("numbercolumnsrepeated") or 1)
        cells += [found] * min(repeated, MOST_COLUMNS)
    while cells and cells[-1] is None:
        cells.pop()
    return cells

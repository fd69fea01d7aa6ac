"""Reads spreadsheet files (xlsx, ods) by a mapping, and lays them out as a CSV folder for the import.

The mapping is TOML, a `[[sheet]]` for each sheet: `file` (such as "engines"), `sheet` (its name; else the
first), `header_row`, `columns` (our column = "their heading"), `fixed` (our column = "the same everywhere"),
`words` (our column = { "their word" = "ours" }).
"""

from __future__ import annotations

import csv
import re
import tomllib
import zipfile
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
    known = {"file", "sheet", "header_row", "columns", "fixed", "words"}
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
    sheet = told.get("sheet")
    return SheetMapping(file, columns, None if sheet is None else str(sheet), header_row, fixed, cased)


def _texts(path: Path, told: dict[str, Any], key: str) -> dict[str, str]:
    values = told.get(key, {})
    if not isinstance(values, dict) or not all(isinstance(v, str) for v in values.values()):
        raise MappingUnusable(path, f"{key} are texts, such as serial = 'Serial no.'")
    return {name: value.strip() for name, value in values.items()}


@dataclass(frozen=True, slots=True)
class LaidSheet:
    """A sheet laid out as a CSV file: its name, its rows by line of that file, its headings by our column."""

    name: str
    rows: dict[int, int]
    headings: dict[str, str]


def lay_out(path: Path, mappings: list[SheetMapping], folder: Path) -> dict[str, LaidSheet]:
    """Writes the mapped sheets as CSV files to a folder; gives where what stands in each file comes from.

    A cell without a value becomes one that the import refuses. Raises SheetUnreadable, SheetsExtraMissing.
    """
    refuse_unfit(path)
    laid: dict[str, LaidSheet] = {}
    with closing(_opened(path)) as book:
        for mapping in mappings:
            if mapping.file in laid:
                raise SheetUnreadable(
                    path, f"two sheets of the mapping become {mapping.file}.csv; put them in one"
                )
            with (folder / f"{mapping.file}.csv").open("w", encoding="utf-8", newline="") as stream:
                writer, line, rows = csv.writer(stream), 1, {}
                for number, row in _mapped(path, _rows(path, book, mapping.sheet), mapping):
                    writer.writerow(row)
                    rows[line] = number
                    line += 1 + sum(text.count("\n") for text in row)
            laid[mapping.file] = LaidSheet(_sheet_name(mapping), rows, mapping.columns)
    return laid


def in_the_sheet(told: Told, laid: Mapping[str, LaidSheet]) -> Told:
    """A problem or remark of a file that was laid out, with the sheet, row and heading it comes from."""
    sheet = laid.get((told.file or "").removesuffix(".csv"))
    if sheet is None:
        return told
    place = sheet.name
    if row := sheet.rows.get(told.line or 0):
        place += f", row {row}"
    if not isinstance(told, Problem):
        return replace(told, file=place, line=None)
    expected, value = told.expected, told.value and told.value.removeprefix(NO_VALUE)
    if first := sheet.rows.get(told.first_line or 0):
        expected += f"; row {first} says it first"
    column = told.column and sheet.headings.get(told.column, told.column)
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


def _mapped(path: Path, rows: Rows, mapping: SheetMapping) -> Iterator[tuple[int, list[str]]]:
    """The headings and the rows with something in them, in our words, each with its number in the sheet."""
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
    fixed = {name: value for name, value in mapping.fixed.items() if name not in mapping.columns}
    yield mapping.header_row, [*mapping.columns, *fixed]
    for number, row in enumerate(rows, mapping.header_row + 1):
        cells = [row[place] if place < len(row) else None for _, place in places]
        told = [_cell(cell, words) for (words, _), cell in zip(places, cells, strict=True)]
        if any(told):
            yield number, [*told, *map(neutralised, fixed.values())]


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

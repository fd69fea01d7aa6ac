"""Opens spreadsheet files (xlsx, ods) and gives the rows of their sheets, cell by cell as the file has them.

What the cells mean is not known here: `sheets` lays them out by a mapping.
"""

from __future__ import annotations

import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

from fleetlog.domain.nearest import offer
from fleetlog.errors.sheets import SheetsExtraMissing, SheetUnreadable
from fleetlog.exchange.csv.cells import NO_VALUE
from fleetlog.exchange.problems import printable

MOST_BYTES, MOST_UNPACKED, MOST_ROWS, MOST_COLUMNS = 50_000_000, 400_000_000, 1_000_000, 1_000
"""What a file may hold at most: a small file can unpack to one that fills the memory."""

NO_RESULT = f"{NO_VALUE}a formula without a result"
"""Stands in a cell with a formula whose result the file does not hold."""

Rows = Iterator[list[Any]]
"""The rows of a sheet from the first one on: None where a cell is empty, else a text, a figure, a day …"""


class Workbook:
    """A spreadsheet file that is open."""

    def __init__(self, path: Path) -> None:
        """Raises SheetUnreadable and SheetsExtraMissing."""
        _refuse_unfit(path)
        self.path = path
        with _refusing(path):
            self._book = _Ods(path) if path.suffix.casefold() == ".ods" else _Xlsx(path)

    def rows(self, sheet: str | None) -> Rows:
        """The rows of the sheet of that name, else of the first. Raises SheetUnreadable."""
        with _refusing(self.path):
            for number, row in enumerate(self._book.rows(sheet)):
                if number >= MOST_ROWS or len(row) > MOST_COLUMNS:
                    raise SheetUnreadable(
                        self.path, f"a sheet has more than {MOST_ROWS} rows or {MOST_COLUMNS} columns"
                    )
                yield row

    def close(self) -> None:
        """Lets go of the file."""
        self._book.close()


def _refuse_unfit(path: Path) -> None:
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


@contextmanager
def _refusing(path: Path) -> Iterator[None]:
    try:
        yield
    except ModuleNotFoundError as error:
        raise SheetsExtraMissing(str(error.name)) from None
    except SheetUnreadable:
        raise
    except Exception as error:  # the libraries raise anything on a broken file
        said = printable(" ".join(str(error).split()))
        raise SheetUnreadable(path, f"it cannot be read ({type(error).__name__}: {said})") from error


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
                cells[place - 1] = NO_RESULT
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
            found = _ods_moment(str(cell.getAttribute("datevalue")))
        elif kind == "boolean":
            found = cell.getAttribute("booleanvalue") == "true"
        elif kind is None and cell.getAttribute("formula"):
            found = NO_RESULT
        elif kind is not None:
            found = "\n".join(extractText(p) for p in cell.getElementsByType(P))
        repeated = int(cell.getAttribute("numbercolumnsrepeated") or 1)
        cells += [found] * min(repeated, MOST_COLUMNS)
    while cells and cells[-1] is None:
        cells.pop()
    return cells


def _ods_moment(told: str) -> datetime | str:
    try:
        return datetime.fromisoformat(told)
    except ValueError:
        return told


def _named(path: Path, sheet: str | None, names: Iterable[str]) -> str:
    there = list(names)
    if not there:
        raise SheetUnreadable(path, "it has no sheet")
    if sheet is None:
        return there[0]
    for name in there:
        if in_one_line(name).casefold() == in_one_line(sheet).casefold():
            return name
    raise SheetUnreadable(
        path, f"it has no sheet {sheet!r}{offer(sheet, [in_one_line(one) for one in there])}"
    )


def in_one_line(text: str) -> str:
    """The name of a sheet or a heading as a person reads it, however its cell is broken into lines."""
    return " ".join(text.split())

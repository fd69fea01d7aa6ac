"""Lays out the sheets of a spreadsheet file as a CSV folder for the import, by a mapping.

A cell is written as the CSV files have it. Owners and boats that many rows name alike count once.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from fleetlog.domain.nearest import offer
from fleetlog.errors.sheets import SheetUnreadable
from fleetlog.exchange.csv.cells import DAY, NO_VALUE, neutralised
from fleetlog.exchange.csv.files import BY_KIND
from fleetlog.exchange.problems import Problem, Told
from fleetlog.exchange.sheet_mapping import SheetMapping
from fleetlog.exchange.workbook import NO_RESULT, Workbook, in_one_line

_ERROR = re.compile(r"#(NULL!|DIV/0!|VALUE!|REF!|NAME\?|NUM!|N/A|SPILL!|CALC!|FIELD!)|Err:\d+")

_MOST_SHOWN = 20


@dataclass(frozen=True, slots=True)
class LaidPart:
    """A sheet laid out as a CSV file or a part of it: its name, its headings by our column, and how many of
    its rows were left out, by the column that they lack."""

    name: str
    headings: dict[str, str]
    left_out: Counter[str] = field(default_factory=Counter)


@dataclass(slots=True)
class LaidSheet:
    """A CSV file that sheets were laid out as: the parts, and by line of the file the part and its row.

    `others` has, of a line with an owner or a boat that another named before, our columns that differ.
    """

    parts: list[LaidPart] = field(default_factory=list)
    rows: dict[int, tuple[LaidPart, int]] = field(default_factory=dict)
    others: dict[int, list[str]] = field(default_factory=dict)


def lay_out(path: Path, mappings: list[SheetMapping], folder: Path) -> dict[str, LaidSheet]:
    """Writes the mapped sheets as CSV files to a folder; gives where what stands in each file comes from.

    A cell without a value becomes one that the import refuses. Raises SheetUnreadable, SheetsExtraMissing.
    """
    of_file: dict[str, list[SheetMapping]] = {}
    for mapping in mappings:
        of_file.setdefault(mapping.file, []).append(mapping)
    with closing(Workbook(path)) as book:
        return {file: _laid_out(book, of_one, folder) for file, of_one in of_file.items()}


def _laid_out(book: Workbook, mappings: list[SheetMapping], folder: Path) -> LaidSheet:
    """Writes one file from all sheets that become it; rows of owners and boats that are alike once."""
    file, laid, line = mappings[0].file, LaidSheet(), 2
    ours = list(dict.fromkeys(name for one in mappings for name in (*one.columns, *one.fixed)))
    named_by = BY_KIND[file].named_by
    seen: set[tuple[str, ...]] = set()
    firsts: dict[str, tuple[str, ...]] = {}
    with (folder / f"{file}.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(ours)
        for mapping in mappings:
            part = LaidPart(mapping.sheet_name, mapping.columns)
            laid.parts.append(part)
            laid.rows.setdefault(1, (part, mapping.header_row))
            for number, told in _mapped(book, mapping, part.left_out):
                row = tuple(told.get(name, "") for name in ours)
                if named_by is not None:
                    if row in seen:
                        continue
                    seen.add(row)
                    first = firsts.setdefault(told.get(named_by, ""), row)
                    pairs = zip(ours, first, row, strict=True)
                    laid.others[line] = [name for name, one, other in pairs if one != other]
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
    headings = {name: in_one_line(one) for name, one in (part or sheet.parts[0]).headings.items()}
    expected, value = told.expected, told.value and told.value.removeprefix(NO_VALUE)
    if told.first_line in sheet.rows:
        first, first_row = sheet.rows[told.first_line]
        of_other = "" if first is part else f"{first.name}, "
        expected += f"; {of_other}row {first_row} says it first"
        if others := sheet.others.get(told.line or 0):
            expected += f", with another {' and '.join(headings.get(name, name) for name in others)}"
    column = told.column and headings.get(told.column, told.column)
    return Problem(place, None, column, value, expected)


def _mapped(
    book: Workbook, mapping: SheetMapping, left_out: Counter[str]
) -> Iterator[tuple[int, dict[str, str]]]:
    """The rows with something in them, in our words by our columns, each with its number in the sheet.

    Those without what they need are counted in `left_out` by the column.
    """
    rows = book.rows(mapping.sheet)
    headings: dict[str, int] = {}
    shown: list[str] = []
    written: list[str] = []
    for _ in range(mapping.header_row):
        heading = next(rows, None)
        if heading is None:
            raise SheetUnreadable(book.path, f"the sheet has no row {mapping.header_row} with headings")
        shown = [in_one_line(_text(cell)) for cell in heading]
        written = [text.casefold() for text in shown]
        headings = {text: place for place, text in enumerate(written)}
    days = {column.name for column in BY_KIND[mapping.file].columns if column.kind is DAY}
    places = []
    for ours, theirs in mapping.columns.items():
        wanted = in_one_line(theirs).casefold()
        if wanted not in headings:
            raise SheetUnreadable(
                book.path,
                f"no heading {theirs!r} (for {ours}) in row {mapping.header_row}, which has"
                f" {', '.join(list(filter(None, shown))[:_MOST_SHOWN]) or 'none'}{offer(theirs, headings)}",
            )
        if written.count(wanted) > 1:
            raise SheetUnreadable(
                book.path, f"two headings {theirs!r} in row {mapping.header_row}: rename one"
            )
        places.append((ours in days, mapping.words.get(ours, {}), headings[wanted]))
    above = dict.fromkeys(mapping.as_above, "")
    fixed = {name: neutralised(value) for name, value in mapping.fixed.items()}
    for number, row in enumerate(rows, mapping.header_row + 1):
        cells = [row[place] if place < len(row) else None for *_, place in places]
        said = [
            _cell(_day(cell, mapping.day_form) if is_day else cell, words)
            for (is_day, words, _), cell in zip(places, cells, strict=True)
        ]
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


def _day(cell: Any, form: str | None) -> Any:
    """The day that a cell tells by its moment, or as text in the mapping's form; else the cell as it is."""
    if isinstance(cell, datetime):
        return cell.date()
    if form is None or not isinstance(cell, str):
        return cell
    try:
        return datetime.strptime(cell.strip(), form).date()
    except ValueError:
        return cell


def _cell(value: Any, words: Mapping[str, str]) -> str:
    """A cell as a CSV file has it, in our words."""
    text = _text(value).strip()
    if text == NO_RESULT:
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
            told = float(f"{value:.15g}")  # what formulas add behind that, no spreadsheet shows
            return str(int(told)) if told.is_integer() and abs(told) < 1e15 else repr(told)
        case _:
            return str(value).replace("\r\n", "\n").replace("\r", "\n")

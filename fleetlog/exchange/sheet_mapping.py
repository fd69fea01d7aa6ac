"""Reads the mapping of a spreadsheet: which sheet and column becomes which file and column of a CSV folder.

It is TOML, a `[[sheet]]` for each sheet: `file` (such as "engines"), `sheet` (its name; else the first),
`header_row`, `columns` (our column = "their heading"), `fixed` (our column = "the same everywhere"), `words`
(our column = { "their word" = "ours" }), `as_above` (our columns in which an empty cell says what the one
above says), `needs` (our columns without which a row is left out) and `day_form` (how days are written that
are text, such as "%d.%m.%Y"). Several sheets may become one file, and one sheet several: where all of an
engine stands in a row, each thing in it is a `[[sheet]]`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

from fleetlog.domain.nearest import offer
from fleetlog.errors.sheets import MappingUnusable
from fleetlog.exchange.csv.files import BY_KIND
from fleetlog.exchange.form_text import read_text
from fleetlog.exchange.workbook import MOST_ROWS


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
    day_form: str | None = None

    @property
    def sheet_name(self) -> str:
        """What a message calls the sheet."""
        return "the first sheet" if self.sheet is None else f'sheet "{self.sheet}"'


def read_mapping(path: Path) -> list[SheetMapping]:
    """The mapping in a file. Raises FileUnreadable, MappingUnusable."""
    try:
        values = tomllib.loads(read_text(path))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise MappingUnusable(path, f"it is not TOML ({error})") from None
    sheets = values.get("sheet")
    if not isinstance(sheets, list) or not sheets or not all(isinstance(one, dict) for one in sheets):
        raise MappingUnusable(path, "it has no [[sheet]]")
    return [_mapping(path, one) for one in sheets]


def _mapping(path: Path, told: dict[str, Any]) -> SheetMapping:
    known = {"file", "sheet", "header_row", "columns", "fixed", "words", "as_above", "needs", "day_form"}
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
    return SheetMapping(
        file, columns, sheet, header_row, fixed, cased, as_above, needs, _day_form(path, told.get("day_form"))
    )


def _day_form(path: Path, told: object) -> str | None:
    if told is None:
        return None
    day = date(2013, 11, 28)  # day, month and year cannot be taken for each other
    try:
        if datetime.strptime(day.strftime(str(told)), str(told)).date() == day:
            return str(told)
    except ValueError:
        pass
    raise MappingUnusable(path, f"day_form {told!r} does not tell a day, as '%d.%m.%Y' or '%m/%d/%y' do")


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

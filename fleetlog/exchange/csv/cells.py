"""Between one cell of a CSV file and one value of the log, both ways, for each kind of column.

A cell that a spreadsheet could take for a formula is neutralised by one apostrophe on the way out; one
apostrophe comes off on the way in.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from sys import intern
from typing import Any

from fleetlog.domain.bounds import MOST_IN_AN_ID, MOST_MONTHS, YEARS, can_be_id
from fleetlog.domain.hours import hours_text, tenths_from_text
from fleetlog.domain.units import figure_text, torque_unit
from fleetlog.errors.evidence import UnitUnknown

MOST_IN_A_CELL = 100_000
"""Characters that one cell may hold."""

_PLAIN_KEY = rf"[0-9A-Za-z][0-9A-Za-z_.-]{{0,{MOST_IN_AN_ID - 1}}}"
_PLAIN_KEYS = re.compile(rf"{_PLAIN_KEY}(?:\n{_PLAIN_KEY})*")
_BLANKS = " \t\xa0"
NO_VALUE = "\x1a"
"""Begins a cell of which a spreadsheet has no value, before what stands there instead."""

_SET_APART = frozenset(("'", NO_VALUE))
_RISKY = ("=", "+", "-", "@", "\t", "'", NO_VALUE)
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_COMMA_HINT = "; decimal commas: say --decimal-comma for CSV files, format the cells of a sheet as numbers"
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+", re.ASCII)
_DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_MOMENT = re.compile(
    r"\d{4}-\d\d-\d\d(?:[T ]\d\d:\d\d(?::\d\d(?:\.\d{1,6})?)?(?:Z|[+-]\d\d:?\d\d)?)?", re.ASCII
)
_DECIMAL = re.compile(r"-?\d{1,9}(?:\.\d{1,6})?", re.ASCII)
_COUNT = re.compile(r"\d{1,6}", re.ASCII)
_WHOLE = re.compile(r"\d{1,4}", re.ASCII)


class CellNotUsable(ValueError):
    """A cell that is no value of its column; its text says what was expected."""


@dataclass(frozen=True, slots=True, eq=False)
class CellKind:
    """How the cells of a column are read (from a text that is not empty) and written."""

    read: Callable[[str], Any]
    write: Callable[[Any], str] = str
    repeats: bool = False
    """Whether the same few values come again and again, so that it pays to keep them."""
    plain: re.Pattern[str] | None = None
    """What cells match, a line each, that say just what stands in them: many are read by one look."""

    def are_plain(self, cells: Sequence[str]) -> bool:
        """Whether each cell says just what stands in it. Some that do may not be seen to."""
        if self.plain is None:
            return False
        lines = "\n".join(cells)
        return lines.count("\n") == len(cells) - 1 and self.plain.fullmatch(lines) is not None


_MOST_KEPT = 50_000


class Memo(dict[Any, Any]):
    """What is made of cells or values that come again and again, each made once; so many are kept at most."""

    def __init__(self, make: Callable[[Any], Any]) -> None:
        super().__init__()
        self._make = make

    def __missing__(self, key: Any) -> Any:
        if len(self) >= _MOST_KEPT:
            self.clear()
        made = self[key] = self._make(key)
        return made


def cell_text(cell: str) -> str | None:
    """What a cell says: without the blanks around it and without one leading apostrophe; None if empty.

    Raises CellNotUsable if it holds more than a cell may, or has no value.
    """
    if len(cell) > MOST_IN_A_CELL:
        raise CellNotUsable(f"at most {MOST_IN_A_CELL:,} characters in a cell, here are {len(cell):,}")
    text = cell.strip(_BLANKS)
    if text[:1] in _SET_APART:
        if text[0] == NO_VALUE:
            raise CellNotUsable(
                "a value: correct the formula or empty the cell; one that was never worked out has its"
                " value once the file was opened in a spreadsheet and saved"
            )
        text = text[1:]
    return None if not text or text.isspace() else text


def neutralised(text: str) -> str:
    """A cell as it is written: one that begins like a formula and is no number gets an apostrophe."""
    return "'" + text if text.startswith(_RISKY) and not _NUMBER.fullmatch(text) else text


def decimal_point(text: str) -> str:
    """A figure with a decimal comma, such as `412,5`, with a point in its place; other texts as they are."""
    return text.replace(",", ".") if _DECIMAL_COMMA.fullmatch(text) else text


def _key(text: str) -> str:
    if not can_be_id(text):
        raise CellNotUsable(f"one line of at most {MOST_IN_AN_ID} characters, without control characters")
    return intern(text)  # the same ids stand in many files


def _day(text: str) -> date:
    if _DAY.fullmatch(text):
        try:
            day = date.fromisoformat(text)
        except ValueError:
            raise CellNotUsable("a day that exists, as YYYY-MM-DD") from None
        if day.year in YEARS:
            return day
    hint = "; this is a date shown as a number: format the column as a date" if _is_day_number(text) else ""
    raise CellNotUsable(f"a date as YYYY-MM-DD, from {YEARS[0]} to {YEARS[-1]}{hint}")


def _is_day_number(text: str) -> bool:
    """Whether a spreadsheet may mean a day by it: the days since the end of 1899, of 1954 to 2119."""
    return _NUMBER.fullmatch(text) is not None and 20_000 <= float(text) <= 80_000


def _moment(text: str) -> datetime:
    expected = "a date or a moment such as 2026-03-04 or 2026-03-04T10:00:00Z"
    if not _MOMENT.fullmatch(text):
        raise CellNotUsable(expected)
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise CellNotUsable(f"{expected}, one that exists") from None
    if moment.year not in YEARS:
        raise CellNotUsable(f"{expected}, from {YEARS[0]} to {YEARS[-1]}")
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


def _moment_text(moment: datetime) -> str:
    return moment.astimezone(UTC).replace(tzinfo=None).isoformat() + "Z"


def _hours(text: str) -> int:
    try:
        tenths = tenths_from_text(text)
    except ValueError:
        hint = _COMMA_HINT if _DECIMAL_COMMA.fullmatch(text) else ""
        raise CellNotUsable(f"hours with at most one decimal, such as 412 or 412.5{hint}") from None
    if tenths < 0:
        raise CellNotUsable("hours, 0 or more")
    return tenths


def _hours_with_comma(text: str) -> int:
    if "." in text:
        raise CellNotUsable("hours with a decimal comma, such as 412,5, as --decimal-comma says")
    return _hours(decimal_point(text))


def _decimal(text: str) -> Decimal:
    if not _DECIMAL.fullmatch(text):
        hint = _COMMA_HINT if _DECIMAL_COMMA.fullmatch(text) else ""
        raise CellNotUsable(f"a figure such as 49 or 5.8, with at most six decimals{hint}")
    return Decimal(text)


def _decimal_with_comma(text: str) -> Decimal:
    if "." in text:
        raise CellNotUsable("a figure with a decimal comma, such as 5,8, as --decimal-comma says")
    return _decimal(decimal_point(text))


def _count(text: str) -> int:
    if not _COUNT.fullmatch(text):
        raise CellNotUsable("a whole number, such as 6")
    return int(text)


def _torque_unit(text: str) -> str:
    try:
        return torque_unit(text)
    except UnitUnknown as error:
        raise CellNotUsable(str(error)) from None


def _above_zero(read: Callable[[str], int], what: str) -> Callable[[str], int]:
    def read_above_zero(text: str) -> int:
        value = read(text)
        if value <= 0:
            raise CellNotUsable(f"{what} above 0")
        return value

    return read_above_zero


def _months(text: str) -> int:
    if not _WHOLE.fullmatch(text) or int(text) > MOST_MONTHS:
        raise CellNotUsable(f"whole months, such as 12, {MOST_MONTHS} at most")
    return int(text)


def _year(text: str) -> int:
    if not _WHOLE.fullmatch(text) or int(text) not in YEARS:
        raise CellNotUsable(f"a year from {YEARS[0]} to {YEARS[-1]}")
    return int(text)


def _yes_or_no(text: str) -> bool:
    word = text.casefold()
    if word not in ("yes", "no"):
        raise CellNotUsable("yes or no")
    return word == "yes"


def one_of(words: tuple[str, ...]) -> CellKind:
    """A column in which one of a few words stands, in any case."""

    def read(text: str) -> str:
        word = text.casefold()
        if word not in words:
            raise CellNotUsable(f"one of: {', '.join(words)}")
        return word

    return CellKind(read, str, repeats=True)


def with_decimal_comma(kind: CellKind) -> CellKind:
    """The kind of column as spreadsheets with decimal commas write it."""
    return _WITH_COMMA.get(kind, kind)


TEXT = CellKind(str)
NAME = CellKind(str, repeats=True)
FIGURE = CellKind(str)
ID = CellKind(_key, plain=_PLAIN_KEYS)
REFERENCE = CellKind(_key, repeats=True)
DAY = CellKind(_day, date.isoformat, repeats=True)
MOMENT = CellKind(_moment, _moment_text)
HOURS = CellKind(_hours, hours_text, repeats=True)
HOURS_ABOVE_0 = CellKind(_above_zero(_hours, "hours"), hours_text)
MONTHS = CellKind(_months)
MONTHS_ABOVE_0 = CellKind(_above_zero(_months, "whole months"))
YEAR = CellKind(_year)
DECIMAL = CellKind(_decimal, figure_text, repeats=True)
COUNT = CellKind(_count, repeats=True)
COUNT_ABOVE_0 = CellKind(_above_zero(_count, "a whole number"), repeats=True)
TORQUE_UNIT = CellKind(_torque_unit, repeats=True)
YES_OR_NO = CellKind(_yes_or_no, lambda value: "yes" if value else "no", repeats=True)

_WITH_COMMA = {
    FIGURE: CellKind(decimal_point),
    DECIMAL: CellKind(_decimal_with_comma, figure_text, repeats=True),
    HOURS: CellKind(_hours_with_comma, hours_text, repeats=True),
    HOURS_ABOVE_0: CellKind(_above_zero(_hours_with_comma, "hours"), hours_text),
}

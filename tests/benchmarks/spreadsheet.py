"""The due list as a spreadsheet has it: a folder's rows in a workbook of formulas, recalculated headless.

The formulas are those of the pandas rival: the latest hours, a mean rate, the last work or the start of
service, and the earlier of "months later" and "hours later at that rate". Rows stand engine by engine, so
that an engine's are found by a search in sorted cells, and no formula reads a whole column. LibreOffice Calc
works them all out, as the workbook holds no values for them.
"""

from __future__ import annotations

import csv
import subprocess
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import chain
from pathlib import Path
from typing import Any

RULES = [(f"item {n}", 100 * (1 + n % 5), 12 * (1 + n % 4)) for n in range(15)]
"""Of each item, after how many hours and how many months it falls due."""

MOST_SECONDS = 200
DAY_0 = date(1899, 12, 30)
"""What spreadsheets count days from."""

_DUE = (
    "serial",
    "item",
    "engine_row",
    "last_done_on",
    "last_done_hours",
    "due_on",
    "due_on_by_hours",
    "likely_on",
)
_ENGINES = (
    "serial",
    "in_service_on",
    "first_reading",
    "last_reading",
    "first_entry",
    "last_entry",
    "latest_hours",
    "latest_on",
    "hours_a_day",
)


def write_workbook(folder: Path, path: Path) -> int:
    """Writes the rows of a CSV folder and the formulas of its due list; gives how many lines it has."""
    from openpyxl import Workbook

    serials = list(_rows(folder / "engines.csv", ("serial", "in_service_on")))
    readings = list(_rows(folder / "readings.csv", ("serial", "on", "meter")))
    entries = list(_rows(folder / "entries.csv", ("serial", "on", "item", "meter")))
    book = Workbook(write_only=True)
    due = (
        _due_line(place * len(RULES) + n + 2, serial, place + 2, rule)
        for place, (serial, _) in enumerate(serials)
        for n, rule in enumerate(RULES)
    )
    engines = (
        _engine(place + 2, serial, on, len(readings) + 1, len(entries) + 1)
        for place, (serial, on) in enumerate(serials)
    )
    sheets: list[tuple[str, tuple[str, ...], Any]] = [
        ("due", _DUE, due),
        ("engines", _ENGINES, engines),
        ("readings", ("serial", "on", "meter"), readings),
        ("entries", ("serial", "on", "item", "meter"), entries),
    ]
    for title, headings, rows in sheets:
        sheet = book.create_sheet(title)
        for row in chain([headings], rows):
            sheet.append(row)
    book.save(path)
    return len(serials) * len(RULES)


def recalculated(soffice: str, workbook: Path, out: Path) -> list[date]:
    """When each line is likely due, as Calc works it out; `out` is a folder for what it writes.

    Raises TimeoutExpired where it is not done within MOST_SECONDS.
    """
    profile = f"-env:UserInstallation={(out / 'profile').as_uri()}"
    words = [soffice, profile, "--headless", "--convert-to", "csv", "--outdir", str(out), str(workbook)]
    quiet = subprocess.DEVNULL
    subprocess.run(words, check=True, stdout=quiet, stderr=quiet, timeout=MOST_SECONDS)
    with (out / f"{workbook.stem}.csv").open(newline="", encoding="utf-8") as file:
        return [DAY_0 + timedelta(float(row["likely_on"])) for row in csv.DictReader(file)]


def _rows(path: Path, names: tuple[str, ...]) -> Iterator[tuple[Any, ...]]:
    with path.open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            yield tuple(_value(name, row[name]) for name in names)


def _value(name: str, text: str) -> Any:
    if name.endswith("on") and text:
        return date.fromisoformat(text)
    return float(text) if name == "meter" and text else text


def _engine(row: int, serial: str, in_service_on: date, last_reading: int, last_entry: int) -> list[Any]:
    before = row - 1
    return [
        serial,
        in_service_on,
        2 if row == 2 else f"=D{before}+1",
        f"=MATCH(A{row},readings!$A$2:$A${last_reading},1)+1",
        2 if row == 2 else f"=F{before}+1",
        f"=MATCH(A{row},entries!$A$2:$A${last_entry},1)+1",
        f"=INDEX(readings!$C:$C,D{row})",
        f"=INDEX(readings!$B:$B,D{row})",
        f"=(G{row}-INDEX(readings!$C:$C,C{row}))/(H{row}-INDEX(readings!$B:$B,C{row}))",
    ]


def _due_line(row: int, serial: str, engine: int, rule: tuple[str, int, int]) -> list[Any]:
    item, hours, months = rule

    def of_entries(column: str) -> str:
        first, last = f"INDEX(entries!${column}:${column},engines!E{engine})", f"engines!F{engine}"
        return f"{first}:INDEX(entries!${column}:${column},{last})"

    return [
        serial,
        item,
        engine,
        f"=_xlfn.MAXIFS({of_entries('B')},{of_entries('C')},B{row})",
        f"=_xlfn.MAXIFS({of_entries('D')},{of_entries('C')},B{row})",
        f"=EDATE(IF(D{row}=0,engines!B{engine},D{row}),{months})",
        f"=engines!H{engine}+MIN(20000,(E{row}+{hours}-engines!G{engine})/engines!I{engine})",
        f"=MIN(F{row},G{row})",
    ]

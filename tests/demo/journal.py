"""Gathers the rows of the demo marina as they come up day by day, and writes them as a CSV folder."""

from __future__ import annotations

import csv
import io
import re
from datetime import date
from pathlib import Path
from typing import Any

from fleetlog.exchange.csv.files import BY_KIND

Row = dict[str, Any]

_NOT_OF_THE_DEMO = (
    "changes",
    "layup_changes",
    "corrections",
    "paper_withdrawals",
    "bookings",
    "plans",
    "plan_visits",
    "mails",
    "mail_attempts",
)
COLUMNS = {
    kind: tuple(column.name for column in file.columns)
    for kind, file in BY_KIND.items()
    if kind not in _NOT_OF_THE_DEMO
}

_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?", re.ASCII)


def hours_cell(tenths: int) -> str:
    """Tenths of an hour as the cell of a file: `412.5`."""
    return f"{tenths // 10}.{tenths % 10}"


def safe_cell(value: object) -> str:
    """A value as a cell, with one ' before what a spreadsheet would take for a formula."""
    if value is None:
        return ""
    text = value.isoformat() if isinstance(value, date) else str(value)
    if text[:1] in ("=", "+", "-", "@", "\t", "'") and not _NUMBER.fullmatch(text):
        return "'" + text
    return text


class Journal:
    """Rows by file. What is dated gets its id when all rows are there, in the order of the dates."""

    def __init__(self) -> None:
        self.rows: dict[str, list[Row]] = {name: [] for name in COLUMNS}
        self.papers: dict[str, bytes] = {}

    def add(self, file: str, **cells: Any) -> Row:
        """One more row of a file; cells not named are empty."""
        unknown = set(cells) - set(COLUMNS[file]) - {"visit", "about"}
        if unknown:
            raise ValueError(f"{file}.csv has no column {unknown}")
        self.rows[file].append(cells)
        return cells

    def number(self) -> None:
        """Sorts what is dated and gives it ids; rows that speak of another row take its id over."""
        for file, day, key, prefix in (
            ("visits", "opened_on", "visit_id", "V"),
            ("entries", "on", "entry_id", "E"),
            ("readings", "on", "reading_id", "R"),
            ("calibrations", "on", "calibration_id", "K"),
            ("torques", "on", "torque_id", "T"),
            ("measurements", "on", "measurement_id", "M"),
            ("checks", "on", "check_id", "C"),
            ("answers", "on", "answer_id", "A"),
            ("papers", "taken_on", "paper_id", "P"),
        ):
            self.rows[file].sort(key=lambda row, day=day: row[day])
            for place, row in enumerate(self.rows[file], start=1):
                row[key] = f"{prefix}-{place:05d}"
        for file in ("entries", "torques", "measurements", "checks", "papers"):
            for row in self.rows[file]:
                row["visit_id"] = row.pop("visit")["visit_id"]
        for row in self.rows["answers"]:
            key, about = row.pop("about")
            row[key] = about[key]
        for row in self.rows["voids"]:
            row["entry_id"] = row["entry_id"]["entry_id"]
            row["replaced_by"] = row["replaced_by"]["entry_id"]

    def write(self, folder: Path) -> None:
        """Writes every file of the folder, UTF-8 with plain line ends."""
        folder.mkdir(parents=True, exist_ok=True)
        for file, columns in COLUMNS.items():
            out = io.StringIO(newline="")
            writer = csv.writer(out, lineterminator="\n")
            writer.writerow(columns)
            writer.writerows([safe_cell(row.get(c)) for c in columns] for row in self.rows[file])
            (folder / f"{file}.csv").write_text(out.getvalue(), encoding="utf-8", newline="\n")
        for name, content in self.papers.items():
            (folder / "papers").mkdir(exist_ok=True)
            (folder / "papers" / name).write_bytes(content)

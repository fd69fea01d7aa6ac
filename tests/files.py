"""Reads folders and tables of files, to be compared and checked against."""

from __future__ import annotations

import csv
from pathlib import Path


def files_in(folder: Path) -> dict[str, bytes]:
    """What every file in a folder holds, by its path in it."""
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def table_rows(path: Path) -> list[dict[str, str]]:
    """The rows of a CSV file."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))

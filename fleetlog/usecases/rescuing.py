"""Writes what can still be read of a damaged log to a CSV folder."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fleetlog.errors import LogNotFound
from fleetlog.exchange.csv_writing import write_folder
from fleetlog.store.salvage import salvage


@dataclass(frozen=True, slots=True)
class Rescued:
    """How many rows of each kind were written, and what was lost or put in, in sentences."""

    counts: dict[str, int]
    remarks: list[str]


def rescue(source: Path, folder: Path) -> Rescued:
    """Reads a log's file, however damaged, and leaves it as it is.

    Raises LogNotFound, NothingToRescue, and what `write_folder` raises.
    """
    if not source.is_file():
        raise LogNotFound(str(source))
    found = salvage(source.absolute())
    write_folder(found.batch, folder)
    return Rescued(found.batch.counts(), found.remarks)

"""Takes a spreadsheet file into the log by a mapping, through the same rules as a CSV folder."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path

from fleetlog.exchange.sheets import in_the_sheet, lay_out, read_mapping
from fleetlog.store.log import Log
from fleetlog.usecases.importing import ImportReport, import_folder
from fleetlog.usecases.occasion import Occasion


@dataclass(frozen=True, slots=True)
class SheetsTaken:
    """How many rows each mapped sheet has, and what the import did, or would do."""

    rows: dict[str, int]
    report: ImportReport


def import_sheets(
    log: Log, occasion: Occasion, path: Path, mapping: Path, *, preview: bool = False
) -> SheetsTaken:
    """Imports the mapped sheets, all of them or nothing; with `preview` nothing is written.

    Raises MappingUnusable, SheetUnreadable, and what `import_folder` raises: its problems name the sheet,
    the row and the heading.
    """
    mappings = read_mapping(mapping)
    with tempfile.TemporaryDirectory(prefix="fleetlog-sheets-") as folder:
        laid = lay_out(path, mappings, Path(folder))
        report = import_folder(
            log,
            folder,
            by=occasion.by,
            at=occasion.at,
            today=occasion.today,
            preview=preview,
            placed=lambda problem: in_the_sheet(problem, laid),
        )
    return SheetsTaken({name: len(sheet.rows) - 1 for name, sheet in laid.items()}, report)

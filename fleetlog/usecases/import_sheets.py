"""Takes a spreadsheet file into the log by a mapping, through the same rules as a CSV folder."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path

from fleetlog.exchange.sheets import lay_out, read_mapping
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

    Raises MappingUnusable, SheetUnreadable, and what `import_folder` raises: its lines count from the
    headings, which are line 1.
    """
    mappings = read_mapping(mapping)
    with tempfile.TemporaryDirectory(prefix="fleetlog-sheets-") as folder:
        rows = lay_out(path, mappings, Path(folder))
        report = import_folder(
            log, folder, by=occasion.by, at=occasion.at, today=occasion.today, preview=preview
        )
    return SheetsTaken(rows, report)

"""Takes a spreadsheet file into the log by a mapping, through the same rules as a CSV folder."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from fleetlog.errors import counted
from fleetlog.exchange.sheet_mapping import read_mapping
from fleetlog.exchange.sheets import LaidSheet, in_the_sheet, lay_out
from fleetlog.store.log import Log
from fleetlog.usecases.imports.folder import ImportReport, import_folder
from fleetlog.usecases.occasion import Occasion


@dataclass(frozen=True, slots=True)
class SheetsRead:
    """The mapped sheets of a file, laid out in a folder."""

    folder: Path
    laid: Mapping[str, LaidSheet]

    @property
    def rows(self) -> dict[str, int]:
        """How many rows were laid out of each kind."""
        return {kind: len(sheet.rows) - 1 for kind, sheet in self.laid.items()}

    def left_out(self) -> list[str]:
        """What was left out since a row says nothing of it, a sentence for each sheet and column."""
        return [
            f"{part.name}: {counted(count, 'row')} without {part.headings[column]!r}: none of {kind}"
            for kind, sheet in self.laid.items()
            for part in sheet.parts
            for column, count in part.left_out.items()
        ]


@contextmanager
def sheets_read(path: Path, mapping: Path) -> Iterator[SheetsRead]:
    """The sheets of a file that a mapping names.

    Raises MappingUnusable, SheetUnreadable, SheetsExtraMissing.
    """
    mappings = read_mapping(mapping)
    with tempfile.TemporaryDirectory(prefix="fleetlog-sheets-") as folder:
        yield SheetsRead(Path(folder), lay_out(path, mappings, Path(folder)))


def import_sheets(log: Log, occasion: Occasion, sheets: SheetsRead, *, preview: bool) -> ImportReport:
    """Imports sheets that were read, all of them or nothing; with `preview` nothing is written.

    Raises what `import_folder` raises: its problems and remarks name the sheet, the row and the heading.
    """
    return import_folder(
        log,
        occasion,
        sheets.folder,
        preview=preview,
        placed=lambda told: in_the_sheet(told, sheets.laid),
    )

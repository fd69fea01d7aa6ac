"""Refusals of spreadsheets."""

from __future__ import annotations

from pathlib import Path

from fleetlog.errors import FleetlogError


class MappingUnusable(FleetlogError):
    """A mapping of a spreadsheet that cannot be followed."""

    def __init__(self, path: Path, why: str) -> None:
        super().__init__(f"the mapping {path} cannot be followed: {why}; nothing was imported")


class SheetUnreadable(FleetlogError):
    """A spreadsheet file, or what the mapping wants of it, that cannot be read."""

    def __init__(self, path: Path, why: str) -> None:
        super().__init__(f"{path}: {why}; nothing was imported")


class SheetsExtraMissing(FleetlogError):
    """The libraries for spreadsheets are not installed."""

    def __init__(self, module: str) -> None:
        super().__init__(
            f"spreadsheets need {module}, not installed here; in the clone, run: pip install '.[sheets]'"
        )

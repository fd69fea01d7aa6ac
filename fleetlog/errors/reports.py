"""Refusals of writing pages."""

from __future__ import annotations

from pathlib import Path

from fleetlog.errors import FleetlogError


class ReportFolderHoldsOthers(FleetlogError):
    """A page would replace a file that is not ours."""

    def __init__(self, path: Path) -> None:
        super().__init__(
            f"{path} is there already and is no page of an earlier report, so it was left alone;"
            " give a folder that is empty or holds an earlier report"
        )


class ReportListUnreadable(FleetlogError):
    """The list of the pages of an earlier report cannot be understood."""

    def __init__(self, path: Path) -> None:
        super().__init__(
            f"{path} is not the list of pages that an earlier report leaves, so nothing was written;"
            " give another folder, or remove that file if its pages may be replaced by hand"
        )


class ReportFolderUnwritable(FleetlogError):
    """The folder of the pages cannot be written."""

    def __init__(self, folder: Path, reason: str) -> None:
        super().__init__(f"the reports could not be written to {folder}: {reason}; give another folder")


class ReportFolderInUse(FleetlogError):
    """Another run is writing its pages to the folder."""

    def __init__(self, folder: Path) -> None:
        super().__init__(
            f"another run is writing its pages to {folder}; wait until it is done, or give another folder"
        )


class DiaryFolderHoldsReports(FleetlogError):
    """The diary's pages would take the place of the reports."""

    def __init__(self, folder: Path) -> None:
        super().__init__(
            f"{folder} holds the pages of fleetlog report, which would be removed; give another folder"
        )

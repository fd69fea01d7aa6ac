"""Refusals of photos and papers."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from pathlib import Path

from fleetlog.errors import FleetlogError


class PaperNotAFile(FleetlogError):
    """What was handed in as a paper is a folder, a device or the like."""

    def __init__(self, path: Path) -> None:
        super().__init__(f"{path} is not a file; a photo or a paper is one file, name each of them")


class PaperEmpty(FleetlogError):
    """A file without anything in it."""

    def __init__(self, path: Path) -> None:
        super().__init__(f"{path} is empty (0 bytes); copy it again from where it came")


class PaperTooLarge(FleetlogError):
    """A file above what a paper may have."""

    def __init__(self, path: Path, size_bytes: int, most_bytes: int) -> None:
        super().__init__(
            f"{path} has {size_bytes / 1e6:,.1f} MB; a paper may have {most_bytes / 1e6:,.0f} MB at most:"
            " save it smaller, or in parts"
        )


class PaperKindUnknown(FleetlogError):
    """A file whose content is of no kind that is kept."""

    def __init__(self, path: Path, kinds: Iterable[str]) -> None:
        super().__init__(
            f"{path} is by its content none of the kinds that are kept ({', '.join(kinds)});"
            " the ending of its name does not count"
        )


class PaperThereAlready(FleetlogError):
    """The same content on the same visit twice; without a `paper_id` it was handed in twice at once."""

    def __init__(self, path: Path, visit_id: str, paper_id: str | None) -> None:
        there = f"is on visit {visit_id} already, as paper {paper_id}" if paper_id else "is given twice"
        super().__init__(f"{path} {there}; nothing was added")


class PaperGone(FleetlogError):
    """A paper whose file was erased on purpose, or is withdrawn already."""

    def __init__(self, paper_id: str, outcome: str, on: date, by: str) -> None:
        super().__init__(f"paper {paper_id} was {outcome} on {on} by {by}")


class PaperFileFaulty(FleetlogError):
    """A paper whose file in the papers' folder is missing or not what it was."""

    def __init__(self, said: str) -> None:
        super().__init__(
            f"{said}; put it back, from the camera or a backup, with fleetlog paper restore FILE, or say that"
            " it is lost: fleetlog paper erase PAPER --reason ..."
        )


class PaperUnreadable(FleetlogError):
    """A paper whose file the system does not let be read: it may be whole."""

    def __init__(self, said: str) -> None:
        super().__init__(f"{said}; see to its permissions and to the disk that it is on")


class PaperOfNoRow(FleetlogError):
    """A file to be put back whose content is that of no paper."""

    def __init__(self, path: Path, sha256: str) -> None:
        super().__init__(
            f"{path} is the file of no paper of the log (its SHA-256 is {sha256[:16]}...); a new one is added"
            " with fleetlog paper add VISIT FILE"
        )


class PapersFolderUnknown(FleetlogError):
    """A log in a database, and nobody said where its papers are."""

    def __init__(self, log: str) -> None:
        super().__init__(
            f"where are the papers of {log}? Name their folder: --papers FOLDER before the command,"
            " or FLEETLOG_PAPERS"
        )


class PapersFolderUnwritable(FleetlogError):
    """The folder of the papers cannot be written to."""

    def __init__(self, folder: Path, why: str) -> None:
        super().__init__(f"the papers' folder {folder} cannot be written: {why}; nothing was recorded")

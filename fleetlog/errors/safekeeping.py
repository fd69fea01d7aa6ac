"""Refusals of backups, rescue and copies."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from fleetlog.errors import FleetlogError, first_of


class LogNeedsFile(FleetlogError):
    """A database where only the file of a log can be copied, restored or rescued."""

    def __init__(self, where: str) -> None:
        super().__init__(
            f"{where} is a database and no file: its server has backups of its own (pg_dump, pg_restore), and"
            " `fleetlog copy-log` copies a log between a database and a file"
        )


class NothingThere(FleetlogError):
    """A file or database that was named to be read, and is not there."""

    def __init__(self, given: str, to_do: str, *, is_folder: bool = False) -> None:
        found = f"{given} is a folder; name a file in it" if is_folder else f"there is no log at {given}"
        super().__init__(f"{found} to {to_do}{'' if is_folder else '; check the name'}")


class BackupNotSound(FleetlogError):
    """A copy that did not pass the check after it was made."""

    def __init__(self, copy: Path, problems: Sequence[str]) -> None:
        super().__init__(
            f"the copy of the log did not pass its check: {first_of(problems)}; it was kept as {copy} and no"
            " older backup was removed: run `fleetlog check` on the log"
        )


class CopyNotWritten(FleetlogError):
    """A copy of a log for which there is no room."""

    def __init__(self, source: Path, folder: Path, why: str) -> None:
        super().__init__(
            f"no copy of {source} was made, as {folder} does not take it ({why}): make room there, or name"
            " another folder; nothing else was touched"
        )


class NoFolderForLog(FleetlogError):
    """A log to be made in a folder that is not there."""

    def __init__(self, target: Path) -> None:
        super().__init__(
            f"there is no folder {target.parent} for {target.name}; make it first, or name another place"
        )


class NotOverAnother(FleetlogError):
    """A log or a folder that would be written over."""

    def __init__(self, target: Path) -> None:
        super().__init__(f"{target} is there already and nothing is ever written over; name another place")


class NotACopyToRestore(FleetlogError):
    """A file to restore from that has damage."""

    def __init__(self, source: Path, problems: Sequence[str]) -> None:
        super().__init__(
            f"{source} is damaged ({first_of(problems)}), so it was not restored: take another backup, or"
            f" `fleetlog rescue` what can be read"
        )


class NothingToRescue(FleetlogError):
    """A file of which nothing can be read."""

    def __init__(self, source: Path, why: str) -> None:
        super().__init__(f"nothing of {source} can be read as a log ({why}); go back to a backup")


class NoRoomToRescue(FleetlogError):
    """A folder for temporary files that does not take what is read of a damaged log."""

    def __init__(self, source: Path, folder: str, why: str) -> None:
        super().__init__(
            f"{source} was not rescued, as {folder}, where temporary files go, does not take what is read"
            f" ({why}): make room there, or name another folder by TMPDIR; nothing was touched"
        )


class CopyNeedsEmptyLog(FleetlogError):
    """A log to be copied into that holds rows."""

    def __init__(self, where: str) -> None:
        super().__init__(
            f"{where} holds rows already, and a log is copied into an empty one only; name another"
        )


class CopyDiffers(FleetlogError):
    """A copied row that does not read back as it was."""

    def __init__(self, table: str, key: str) -> None:
        super().__init__(
            f"the copy was taken back: the row {key} of {table} is not the same on both sides; try again, and"
            " report this if it happens twice"
        )


class CopyOntoItself(FleetlogError):
    """A log to be copied to where it is."""

    def __init__(self, where: str) -> None:
        super().__init__(f"{where} cannot be copied onto itself; name another place")

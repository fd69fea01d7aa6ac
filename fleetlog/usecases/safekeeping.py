"""Backups of a log, checked before they count, and what is made from them again."""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from fleetlog.errors import (
    BackupNeedsFile,
    BackupNotSound,
    FleetlogError,
    LogFolderNotWritable,
    LogNotFound,
    NotACopyToRestore,
    NotOverAnother,
)
from fleetlog.store.copies import (
    Backup,
    backup_folder,
    backups_in,
    copy_aside,
    copy_file,
    finish,
    put_in_place,
    remove_oldest,
    sweep,
)
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.usecases.checking import CheckReport, check_log
from fleetlog.usecases.occasion import Occasion

KEPT_BACKUPS = 10
"""How many backups are kept unless another number is asked for."""

BACKUP_EVERY_DAYS = 7
"""After how many days without a backup a person is reminded."""


@dataclass(frozen=True, slots=True)
class BackedUp:
    """A backup, what its check looked at, and the older ones that went."""

    backup: Backup
    report: CheckReport
    removed: list[Backup]


def back_up(log: Log, occasion: Occasion, folder: Path | None = None, keep: int = KEPT_BACKUPS) -> BackedUp:
    """Copies the log while others may go on writing, checks the copy, and keeps the latest `keep`.

    The copy is opened and checked like a log of its own; only then has it the name of a backup, and only
    then do older ones go. Raises BackupNeedsFile, BackupNotSound, LogFolderNotWritable.
    """
    if log.place.path is None:
        raise BackupNeedsFile(log.place.shown)
    folder = (folder or backup_folder(log.place.path)).absolute()
    unfinished = copy_aside(log.place.path, folder, occasion.at)
    try:
        report = _checked(unfinished, occasion)
    except FleetlogError:
        sweep(unfinished)
        raise
    if report.damage:
        raise BackupNotSound(unfinished, report.damage)
    backup = finish(unfinished, log.place.path, occasion.at)
    return BackedUp(backup, report, remove_oldest(backups_in(folder, log.place.path), keep))


def _checked(path: Path, occasion: Occasion) -> CheckReport:
    copy = open_log(str(path), at=occasion.at, create=False)
    try:
        return check_log(copy, occasion.today)
    finally:
        copy.dispose()


def list_backups(log: Log, folder: Path | None = None) -> list[Backup]:
    """The backups of a log, oldest first. Raises BackupNeedsFile."""
    if log.place.path is None:
        raise BackupNeedsFile(log.place.shown)
    return backups_in(folder or backup_folder(log.place.path), log.place.path)


def restore(source: Path, target: Path, occasion: Occasion) -> tuple[CheckReport, list[str]]:
    """Makes a log at `target`, where none is, from a backup that is first checked.

    A backup of an older revision is upgraded in the new log; the backup stays as it was. Gives the check
    and what opening did, in sentences. Raises LogNotFound, NotOverAnother, NotACopyToRestore.
    """
    source, target = source.absolute(), target.absolute()
    if not source.is_file():
        raise LogNotFound(str(source))
    if target.exists() and target.stat().st_size > 0:
        raise NotOverAnother(target)
    unfinished = target.with_name(f"{target.name}.{os.getpid()}.restoring")
    try:
        target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        copy_file(source, unfinished)
        log = open_log(str(unfinished), at=occasion.at, create=False)
        try:
            report, notices = check_log(log, occasion.today), log.notices
        finally:
            log.dispose()
        if report.damage:
            raise NotACopyToRestore(source, report.damage)
        put_in_place(unfinished, target)
    except OSError as error:
        raise LogFolderNotWritable(str(target.parent), error.strerror or str(error)) from error
    finally:
        with suppress(OSError):
            sweep(unfinished)
    return report, notices


def backup_reminder(log: Log, at: datetime, folder: Path | None = None) -> str | None:
    """One sentence where the last backup of a log is older than a week; None where nothing is to be said.

    A log without any is let alone for the first week.
    """
    path = log.place.path
    if path is None:
        return None
    backups = backups_in(folder or backup_folder(path), path)
    if backups:
        last = backups[-1].taken_at
        said = f"the last backup of the log is of {last.date().isoformat()}"
    else:
        with log.reading() as reader:
            first = reader.first_written_at()
        if first is None:
            return None
        last, said = first, f"the log has no backup, and its first rows are of {first.date().isoformat()}"
    if at - last <= timedelta(days=BACKUP_EVERY_DAYS):
        return None
    return f"{said}: run `fleetlog backup`"

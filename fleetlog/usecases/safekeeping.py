"""Backups of a log, checked before they count, and what is made from them again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from fleetlog.errors.log import LeftOfAnotherLog, LogEmpty
from fleetlog.errors.safekeeping import (
    BackupNotSound,
    LogNeedsFile,
    NoFolderForLog,
    NotACopyToRestore,
    NothingThere,
    NotOverAnother,
)
from fleetlog.store.connecting import written_ahead
from fleetlog.store.copies import (
    Backup,
    backup_folder,
    backups_in,
    copied_aside,
    finish,
    is_taken,
    keep_unsound,
    not_continued,
    papers_of_backup,
    papers_of_backups,
    put_in_place,
    remove_oldest,
    sweep_papers,
)
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.store.papers import PaperFolder, folder_beside
from fleetlog.store.place import file_named, place_of
from fleetlog.usecases.checking import CheckReport, check_log
from fleetlog.usecases.occasion import Occasion

BACKUP_EVERY_DAYS = 7
"""After how many days without a backup a person is reminded."""


@dataclass(frozen=True, slots=True)
class BackedUp:
    """A backup, its check, what kept the older ones from going, those that went, and the papers copied.

    `stayed` tells of older ones that were to go and could not be removed.
    """

    backup: Backup
    report: CheckReport
    held_by: list[str]
    removed: list[Backup]
    stayed: list[str]
    papers_copied: int


def back_up(log: Log, occasion: Occasion, folder: Path | None, keep: int) -> BackedUp:
    """Copies the log while others may go on writing, checks the copy, and keeps the latest `keep`.

    The copy is opened and checked like a log of its own; only then has it the name of a backup, and only
    then do older ones go. None goes where the check names a problem, or where an older one tells what the log
    does not: the log may be another one in its place. Photos and papers are kept beside the backups, each
    once for all of them; those that are missing or altered in the log are among the problems. Raises
    LogNeedsFile, BackupNotSound, CopyNotWritten, LogFolderNotWritable, PapersFolderUnwritable.
    """
    if log.place.path is None:
        raise LogNeedsFile(log.place.shown)
    folder = (folder or backup_folder(log.place.path)).absolute()
    papers = papers_of_backups(folder, log.place.path)
    with copied_aside(log.place.path, folder / log.place.path.name) as unfinished:
        copied = _checked(unfinished, occasion, papers, log.papers, shared=True, shown=log.place.shown)
        if copied.report.damage:
            raise BackupNotSound(keep_unsound(unfinished, log.place.path, occasion.at), copied.report.damage)
        older, report = backups_in(folder, log.place.path), copied.report
        backup = finish(unfinished, log.place.path, occasion.at)
    lacking = (not_continued(one, report.heads) for one in older if one.taken_at <= occasion.at)
    held_by = [*report.problems, *(said for said in lacking if said)]
    removed: list[Backup] = []
    stayed: list[str] = []
    if not held_by:
        removed, stayed = remove_oldest(backups_in(folder, log.place.path), keep, occasion.at)
        sweep_papers(papers, backups_in(folder, log.place.path))
    return BackedUp(backup, report, held_by, removed, stayed, copied.papers)


@dataclass(frozen=True, slots=True)
class _Checked:
    """A copied log: its check, what opening it did, and how many papers were brought along."""

    report: CheckReport
    notices: list[str]
    papers: int


def _checked(
    path: Path,
    occasion: Occasion,
    papers: Path,
    source: PaperFolder,
    *,
    shared: bool = False,
    shown: str | None = None,
) -> _Checked:
    """Brings the papers of a copied log from their folder, then checks both."""
    copy = open_log(
        str(path), at=occasion.at, create=False, papers_elsewhere=papers, shown=shown, is_copy=True
    )
    try:
        with copy.reading() as reader:
            needed = reader.kept_papers()
        taken, _ = copy.papers.take_from(source, needed)
        report = check_log(copy, occasion.today, papers_shared=shared)
        return _Checked(report, copy.notices, taken)
    finally:
        copy.dispose()


def list_backups(where: str, folder: Path | None) -> list[Backup]:
    """The backups of the log at a place, be it lost or not, oldest first. Raises LogNeedsFile."""
    place = place_of(where)
    if place.path is None:
        raise LogNeedsFile(place.shown)
    return backups_in(folder or backup_folder(place.path), place.path)


def restore(source: Path, target: Path, occasion: Occasion) -> tuple[CheckReport, list[str]]:
    """Makes a log at `target`, where none is, from a backup that is first checked.

    A backup of an older revision is upgraded in the new log; the backup stays as it was. Its photos and
    papers are brought along, those that are missing or altered are among the problems. Gives the check
    and what opening did, in sentences. Raises NothingThere, LogEmpty, NoFolderForLog, NotOverAnother,
    LeftOfAnotherLog, NotACopyToRestore, CopyNotWritten, LogFolderNotWritable.
    """
    source, target = file_named(source), file_named(target)
    if not source.is_file():
        raise NothingThere(str(source), "restore", is_folder=source.is_dir())
    if source.stat().st_size == 0:
        raise LogEmpty(str(source))
    if not target.parent.is_dir():
        raise NoFolderForLog(target)
    left = written_ahead(target)
    if is_taken(target):
        raise NotOverAnother(target)
    if left is not None:
        raise LeftOfAnotherLog(str(left))
    papers = PaperFolder(papers_of_backup(source), str(source))
    with copied_aside(source, target) as unfinished:
        made = _checked(unfinished, occasion, folder_beside(target), papers, shown=str(source))
        if made.report.damage:
            raise NotACopyToRestore(source, made.report.damage)
        put_in_place(unfinished, target)
    return made.report, made.notices


def clock_reminder(log: Log, at: datetime) -> str | None:
    """One sentence where what was just recorded is dated by a clock that is days behind the log's.

    It stays recorded: a refusal might never be said again, while a wrong day is seen and can be voided.
    """
    if log.written_no is None:
        return None
    with log.reading() as reader:
        last = reader.written_before(log.written_no)
    if last is None or at.date() >= last.date():
        return None
    return (
        f"this is recorded, on the day of a clock that says {at.date().isoformat()}, while the log was last"
        f" written to on {last.date().isoformat()}: set the clock right, and void what has the wrong day"
    )


def backup_reminder(log: Log, at: datetime, folder: Path | None = None) -> str | None:
    """One sentence where the last backup of a log is older than a week; None where nothing is to be said.

    A log without any is let alone for the first week.
    """
    path = log.place.path
    if path is None:
        return None
    backups = backups_in(folder or backup_folder(path), path)
    by_now = [one.taken_at for one in backups if one.taken_at <= at + timedelta(days=1)]
    if by_now and at - by_now[-1] <= timedelta(days=BACKUP_EVERY_DAYS):
        return None
    if backups:
        last = backups[-1].taken_at
        said = f"the last backup of the log is of {last.date().isoformat()}"
    else:
        with log.reading() as reader:
            first = reader.first_written_at()
        if first is None:
            return None
        last, said = first, f"the log has no backup, and its first rows are of {first.date().isoformat()}"
    if last > at + timedelta(days=1):
        return f"{said}, dated ahead of the clock: set the clock right, then run `fleetlog backup`"
    if at - last <= timedelta(days=BACKUP_EVERY_DAYS):
        return None
    return f"{said}: run `fleetlog backup`"

"""Copies of a log's file: taken while others write, dated, private, and never over another file."""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from glob import escape
from pathlib import Path

from fleetlog.domain.papers import hash_in
from fleetlog.errors import counted
from fleetlog.errors.log import LogFolderNotWritable
from fleetlog.errors.safekeeping import CopyNotWritten, NotOverAnother
from fleetlog.store.connecting import file_uri, left_alone, only_read, reading_uri
from fleetlog.store.failures import is_of_no_room, refusing
from fleetlog.store.file_lock import file_lock
from fleetlog.store.papers import folder_beside
from fleetlog.store.place import place_of
from fleetlog.store.unfinished import make_folder, move_to_free, sweep, unfinished_file

_STAMP = "%Y-%m-%dT%H%M%SZ"
_DATED = r"(\d{4}-\d\d-\d\dT\d{6}Z)(-\d+)?"


@dataclass(frozen=True, slots=True, order=True)
class Backup:
    """A backup, the UTC second it was taken in, and its number, from 1, among those of that second."""

    taken_at: datetime
    number: int
    path: Path


def backup_folder(log: Path) -> Path:
    """Where the backups of a log go unless another folder is named."""
    return log.with_name(f"{log.stem}-backups")


def papers_of_backups(folder: Path, log: Path) -> Path:
    """Where the photos and papers of all backups of a log are, each once."""
    return folder_beside(folder / log.name)


def papers_of_backup(backup: Path) -> Path:
    """Where the photos and papers of a backup are; of any other log, beside it."""
    match = re.fullmatch(rf"(.+)-{_DATED}", backup.stem)
    return folder_beside(backup) if match is None else backup.with_name(f"{match[1]}-papers")


def backups_in(folder: Path, log: Path) -> list[Backup]:
    """The finished backups of a log in a folder, oldest first."""
    pattern = re.compile(f"{re.escape(log.stem)}-{_DATED}{re.escape(log.suffix)}")
    found = []
    try:
        entries = list(folder.iterdir())
    except OSError:
        return []
    for entry in entries:
        match = pattern.fullmatch(entry.name)
        if match and entry.is_file():
            with suppress(ValueError):  # a day that there is not: no backup of ours
                taken = datetime.strptime(match.group(1), _STAMP).replace(tzinfo=UTC)
                found.append(Backup(taken, int((match.group(2) or "-1")[1:]), entry))
    return sorted(found)


@contextmanager
def copied_aside(log: Path, wanted: Path) -> Iterator[Path]:
    """A copy of a log as it is at one moment, while others may write: an unfinished file beside a place.

    Raises LogFolderNotWritable, CopyNotWritten.
    """
    make_folder(wanted.parent)
    try:
        with unfinished_file(wanted) as unfinished:
            copy_file(log, unfinished)
            yield unfinished
    except OSError as error:
        raise LogFolderNotWritable(str(wanted.parent), error.strerror or str(error)) from error


def copy_file(source: Path, target: Path) -> None:
    """Copies a SQLite file, with what is written ahead of it, to a private file that is not there yet.

    It is copied in one step, of one moment: in several, each writing in between would begin the copy anew.
    A copy that does not come about leaves nothing. Raises CopyNotWritten where there is no room for it.
    """
    os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    try:
        with (
            refusing(place_of(str(source))),
            left_alone(place_of(str(source)))(),
            closing(sqlite3.connect(_copying_uri(source), uri=True, timeout=30)) as reading,
            closing(sqlite3.connect(target)) as writing,
        ):
            try:
                reading.backup(writing, sleep=0.01)
            except sqlite3.Error as error:
                if is_of_no_room(error):
                    raise CopyNotWritten(source, target.parent, str(error)) from error
                raise
        _to_disk(target)
    except Exception:
        sweep(target)
        raise


def _copying_uri(path: Path) -> str:
    """The address under which a file is copied and left as it is.

    SQLite takes away what it laid beside a file only where it might have written. So it may, unless
    something is written ahead, which would go into the file.
    """
    if only_read(path) or Path(f"{path}-wal").exists():
        return reading_uri(path)
    return file_uri(path, "mode=rw")


def _sealed_uri(backup: Path) -> str:
    """The address under which a backup is read, which nobody writes to."""
    return file_uri(backup, "mode=ro&immutable=1")


def _to_disk(path: Path) -> None:
    with path.open("rb+") as stream:
        os.fsync(stream.fileno())


def finish(unfinished: Path, log: Path, at: datetime) -> Backup:
    """Gives a copy that was found sound its dated name, with a number after those left of that second."""
    stamp = _stamp(at)
    taken_at = datetime.strptime(stamp, _STAMP).replace(tzinfo=UTC)
    before = [backup.number for backup in backups_in(unfinished.parent, log) if backup.taken_at == taken_at]
    wanted = unfinished.with_name(f"{log.stem}-{stamp}{log.suffix}")
    number, path = _named(unfinished, wanted, max(before, default=0) + 1)
    return Backup(taken_at, number, path)


def keep_unsound(unfinished: Path, log: Path, at: datetime) -> Path:
    """Gives a copy that was found damaged a name under which it is no backup and is not swept away."""
    return _named(unfinished, unfinished.with_name(f"{log.stem}-{_stamp(at)}.unsound"))[1]


def keep_before_upgrade(log: Path, revision: str, at: datetime) -> Path:
    """A copy of a log beside it, dated and readable by its owner only; never over another file."""
    copy = log.with_name(f"{log.stem}-before-upgrade-from-{revision}-{_stamp(at)}{log.suffix}")
    with copied_aside(log, log) as unfinished:
        return _named(unfinished, copy)[1]


def _stamp(at: datetime) -> str:
    return at.astimezone(UTC).strftime(_STAMP)


def kept_before_upgrades(log: Path) -> list[Path]:
    """The copies of a log that upgrades kept beside it."""
    return sorted(log.parent.glob(f"{escape(log.stem)}-before-upgrade-from-*{escape(log.suffix)}"))


def _named(unfinished: Path, wanted: Path, number: int = 1) -> tuple[int, Path]:
    """Gives a whole file the name wanted, with the first free number from the one given on, 1 being none.

    A name never has half a file.
    """
    while True:
        path = wanted if number == 1 else wanted.with_stem(f"{wanted.stem}-{number}")
        try:
            move_to_free(unfinished, path)
            return number, path
        except FileExistsError:
            number += 1


def not_continued(older: Backup, heads: Sequence[str]) -> str | None:
    """What an older backup holds that a newer copy lacks, by the heads that the newer one's log had.

    None where all that the older one tells is in the newer one. Of a backup from before there were chains
    only the number of its writings is compared.
    """
    try:
        with closing(sqlite3.connect(_sealed_uri(older.path), uri=True)) as connection:
            ((writings,),) = connection.execute("SELECT count(*) FROM writings")
            chained = connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'log_links'").fetchone()
            query = "SELECT head FROM log_links ORDER BY link_no DESC LIMIT 1"
            last = connection.execute(query).fetchone() if chained else None
    except sqlite3.Error as error:
        return f"{older.path} cannot be read ({error})"
    if writings > len(heads):
        return f"{older.path} holds {counted(writings, 'writing')}, the log {len(heads)}"
    if last is not None and last[0] not in heads:
        return f"{older.path} ends with a writing that the log does not have"
    return None


def remove_oldest(backups: list[Backup], keep: int, at: datetime) -> tuple[list[Backup], list[str]]:
    """Removes all but the latest `keep` of the backups, given oldest first; tells which went, which stayed.

    Those dated after `at`, now, were taken by another clock: they are neither counted nor removed. One that
    stays, as another program has it open or the folder keeps it, is tried again next time.
    """
    gone, stayed = [], []
    for backup in [one for one in backups if one.taken_at <= at][:-keep]:
        try:
            sweep(backup.path)
            gone.append(backup)
        except OSError as error:
            stayed.append(f"{backup.path} could not be removed ({error.strerror or error})")
    return gone, stayed


def sweep_papers(folder: Path, backups: list[Backup]) -> None:
    """Takes away the papers that no backup needs; nothing where one of them cannot say what it needs."""
    needed: set[str] = set()
    for backup in backups:
        try:
            needed |= _papers_needed(backup.path)
        except sqlite3.Error:
            return
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        found = hash_in(path.name)
        if found is not None and found not in needed:
            path.unlink(missing_ok=True)


def _papers_needed(backup: Path) -> set[str]:
    """The hashes of the papers of a log that were not erased; of a log older than papers, none."""
    with closing(sqlite3.connect(_sealed_uri(backup), uri=True)) as connection:
        if not connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'papers'").fetchone():
            return set()
        erased = "SELECT paper_id FROM paper_withdrawals WHERE outcome = 'erased'"
        query = f"SELECT sha256 FROM papers WHERE paper_id NOT IN ({erased})"
        return {row[0] for row in connection.execute(query)}


def is_taken(place: Path) -> bool:
    """Whether a log would be written over what is there: anything but an empty file."""
    return place.exists() and (not place.is_file() or place.stat().st_size > 0)


def put_in_place(unfinished: Path, target: Path) -> None:
    """Moves a whole log to where none is. Raises NotOverAnother."""
    with file_lock(target):
        if is_taken(target):
            raise NotOverAnother(target)
        os.replace(unfinished, target)

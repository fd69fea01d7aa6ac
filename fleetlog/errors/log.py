"""Refusals of the log: where it lies, its version, its rows."""

from __future__ import annotations

from datetime import date, datetime

from fleetlog.errors import FleetlogError, counted, first_of


class LogUrlNotUnderstood(FleetlogError):
    """A URL of a database that cannot hold a log."""

    def __init__(self, scheme: str) -> None:
        super().__init__(
            f"a log cannot be kept under a URL that begins with {scheme}://; give the path of a file,"
            " sqlite:///PATH or postgresql://USER@HOST/DATABASE"
        )


class LogAddressNotRead(FleetlogError):
    """An address of a log that nobody can make out; it may hold a password, and is not shown."""

    def __init__(self) -> None:
        super().__init__(
            "the address of the log cannot be read: a port is a number, and letters such as / @ : [ in a name"
            " or a password are written as %2F %40 %3A %5B; give postgresql://USER@HOST:PORT/DATABASE"
        )


class LogInMemory(FleetlogError):
    """A log that would be gone when the command ends."""

    def __init__(self) -> None:
        super().__init__("a log in memory keeps nothing; give the path of a file")


class LogDriverMissing(FleetlogError):
    """The library that speaks to this kind of database is not installed."""

    def __init__(self, extra: str) -> None:
        super().__init__(f"the database driver is not installed; in the clone, run: pip install '.[{extra}]'")


class LogNotFound(FleetlogError):
    """There is no log, and none was to be made."""

    def __init__(self, where: str) -> None:
        super().__init__(
            f"there is no log at {where}; name another place by --log or FLEETLOG_LOG, `fleetlog restore` a"
            " backup there, or begin a log: add an owner or an engine, or import a folder"
        )


class LogEmpty(FleetlogError):
    """A file without a byte in the place of a log."""

    def __init__(self, where: str) -> None:
        super().__init__(
            f"{where} is an empty file (0 bytes) and no log: where a log was, `fleetlog restore` a backup"
            " there; to begin a new one, take the file away"
        )


class LeftOfAnotherLog(FleetlogError):
    """What a log that is gone wrote ahead, in the place of a log to be made: SQLite would take it in."""

    def __init__(self, left: str) -> None:
        super().__init__(
            f"{left} is left of a log that is gone: it would get into the one to be made, and may hold what"
            " no backup has, so nothing was made; move it away and keep it, or name another place"
        )


class LogIsNewer(FleetlogError):
    """A log written by a later version of the program."""

    def __init__(self, where: str, revision: str, newest: str) -> None:
        super().__init__(
            f"the log at {where} is at revision {revision}, and this fleetlog knows revisions up to {newest}:"
            " nothing was touched; install the newer fleetlog that wrote it"
        )


class NotALog(FleetlogError):
    """A file or database that holds something else."""

    def __init__(self, where: str, why: str) -> None:
        super().__init__(f"{where} is not a log ({why}); nothing was touched: name another place")


class NotASqliteFile(NotALog):
    """A file whose first bytes are not those of a log: another program's, or a log that is damaged there."""

    def __init__(self, where: str) -> None:
        FleetlogError.__init__(
            self,
            f"{where} is not a log (it is not a SQLite file); nothing was touched: name another place or, if"
            " a log was there, `fleetlog restore` a backup or `fleetlog rescue` what can still be read",
        )


class LogUnreadable(FleetlogError):
    """The system does not let the log be read."""

    def __init__(self, where: str, why: str) -> None:
        super().__init__(f"the log at {where} cannot be read ({why}); check the place and its permissions")


class LogFolderNotWritable(FleetlogError):
    """The folder of the log cannot be made or written to."""

    def __init__(self, folder: str, why: str) -> None:
        super().__init__(
            f"the folder {folder} cannot be written to ({why}), and a log needs room beside it for what is"
            " being written; name another place, or change the folder's permissions"
        )


class LogReadOnly(FleetlogError):
    """The log may be read but not written to."""

    def __init__(self, where: str) -> None:
        super().__init__(f"the log at {where} is read-only, so nothing was recorded; check its permissions")


class NoRightOnServer(LogReadOnly):
    """The database server does not give the user the right that is needed."""

    def __init__(self, where: str, why: str) -> None:
        FleetlogError.__init__(
            self,
            f"the server does not let you do this in the log at {where} ({why}), so nothing was recorded; ask"
            " whoever runs it for the right",
        )


class ServerTooOld(FleetlogError):
    """A server of a version on which no log was ever tried."""

    def __init__(self, where: str, version: str, oldest: int) -> None:
        super().__init__(
            f"the server of {where} runs PostgreSQL {version}, and a log needs {oldest} or newer: ask whoever"
            " runs it; nothing was touched"
        )


class DatabaseNotUtf8(FleetlogError):
    """A database that cannot hold every letter of a name."""

    def __init__(self, where: str, encoding: str) -> None:
        super().__init__(
            f"the database at {where} is kept in {encoding}, in which not every name can be written; make one"
            " for the log: createdb --encoding UTF8 --template template0 NAME"
        )


class ReadWhileWritten(FleetlogError):
    """A log in a folder that only others may write to, written to while it was read."""

    def __init__(self, where: str) -> None:
        super().__init__(f"somebody wrote to {where} while it was read, so nothing is shown; try again")


class LogBusy(FleetlogError):
    """Another program has been writing for too long."""

    def __init__(self, where: str, seconds: int) -> None:
        super().__init__(
            f"another program has been writing to {where} for {seconds} seconds, so nothing was recorded;"
            " try again"
        )


class LogNotWritten(FleetlogError):
    """The system did not take what was written: a quota, a limit, a failing disk."""

    def __init__(self, where: str, why: str) -> None:
        super().__init__(
            f"the system does not let {where} be written to ({why}): a quota that is used up, or a disk that"
            " is full or fails; nothing was recorded"
        )


class LogDiskFull(FleetlogError):
    """No room on the disk."""

    def __init__(self, where: str) -> None:
        super().__init__(
            f"the disk of {where}, or that of temporary files, is full; nothing was recorded: make room and"
            " try again"
        )


class LogDamaged(FleetlogError):
    """The file is a log, but parts of it cannot be read."""

    def __init__(self, where: str, why: str) -> None:
        super().__init__(
            f"the log at {where} is damaged ({why}); leave it as it is, `fleetlog restore` a backup, or"
            f" `fleetlog rescue` what can still be read"
        )


class LogOutOfReach(FleetlogError):
    """The database server does not let us in or does not answer."""

    def __init__(self, where: str, why: str) -> None:
        super().__init__(
            f"the log at {where} cannot be reached ({why}); check the address, the server and the user"
        )


class ServerFailed(FleetlogError):
    """The database server met a failure of its own: of a disk, or in what it keeps."""

    def __init__(self, where: str, why: str) -> None:
        super().__init__(
            f"the server of the log at {where} failed ({why}), so nothing was recorded; its own log says more"
            " to whoever runs it"
        )


class WrittenMeanwhile(FleetlogError):
    """Another person wrote the same rows at the same time."""

    def __init__(self, what: str) -> None:
        super().__init__(
            f"somebody else wrote to {what} at the same time, so nothing was recorded; try again"
        )


class LostRace(FleetlogError):
    """Another writing came first and this one was taken back whole: it may be done again."""

    def __init__(self, where: str) -> None:
        super().__init__(
            f"others kept writing to {where} at the same time, so nothing was recorded; try again"
        )


class ConnectionLost(LostRace):
    """The connection broke, and the log was asked afterwards: nothing of the writing is in it."""

    def __init__(self, where: str) -> None:
        FleetlogError.__init__(self, f"the connection to {where} broke, so nothing was recorded; try again")


class OutcomeUnknown(FleetlogError):
    """The connection broke while a writing was confirmed, and the log could not be asked afterwards."""

    def __init__(self, where: str) -> None:
        super().__init__(
            f"the connection to {where} broke while it confirmed, so whether this was recorded is not known:"
            " look it up (fleetlog history) before you record it again"
        )


class RecordedAndNotReadAgain(FleetlogError):
    """The log could not be read once something had been recorded, to tell what follows from it."""

    def __init__(self, why: FleetlogError) -> None:
        super().__init__(f"this is recorded, so do not say it again; the log was not read after it: {why}")


class StoppedWhileRecording(FleetlogError):
    """A person stopped a command that had recorded something, or was about to."""

    def __init__(self) -> None:
        super().__init__("stopped; something may be recorded already: look it up before you record it again")


class AlreadyRecorded(FleetlogError):
    """Something was recorded under the same key before."""

    def __init__(self, key: str, by: str, at: datetime) -> None:
        super().__init__(
            f"recorded already under the key {key}, by {by} on {at:%Y-%m-%d at %H:%M} UTC;"
            " nothing was written"
        )


class KeyOfAnother(FleetlogError):
    """Something else was recorded under the same key before."""

    def __init__(self, key: str, by: str, at: datetime) -> None:
        super().__init__(
            f"the key {key} stands for other words, or for files that held something else, recorded by {by}"
            f" on {at:%Y-%m-%d at %H:%M} UTC; nothing was written: say this under a key of its own"
        )


class RowsRefused(FleetlogError):
    """A row that breaks a rule of the tables; those who call see to it that this doesn't happen."""

    def __init__(self, why: str) -> None:
        super().__init__(f"the log does not take such a row ({why}); nothing was recorded")


class RowsClash(RowsRefused, LostRace):
    """A row that was not there when it was looked for and is now: somebody else's, or the very same."""


class EngineNotInLog(FleetlogError):
    """A serial that no engine of the log has."""

    def __init__(self, serial: str) -> None:
        super().__init__(f"no engine in the log has the serial {serial!r}; add the engine first")


class EntryNotInLog(FleetlogError):
    """An entry to be voided that is not there."""

    def __init__(self, entry_id: str) -> None:
        super().__init__(f"there is no entry {entry_id!r} in the log to be voided; check its id")


class ReadingNotInLog(FleetlogError):
    """A reading to be ruled on that is not there."""

    def __init__(self, reading_id: str) -> None:
        super().__init__(f"there is no reading {reading_id!r} in the log; check its id")


class NotInLog(FleetlogError):
    """A row to be changed or ended that is not there."""

    def __init__(self, kind: str, key: str) -> None:
        super().__init__(f"{key!r} is not among the {kind} of the log; check the id, or add it first")


class EndIsSet(FleetlogError):
    """An end that was filled in before."""

    def __init__(self, kind: str, key: str, end: date) -> None:
        super().__init__(f"{key!r} of the {kind} ended on {end} already; the ledger keeps that day")


class ScheduleInLogUnreadable(FleetlogError):
    """A service schedule of the log that this version cannot read."""

    def __init__(self, name: str, revision: int, problems: list[str]) -> None:
        super().__init__(
            f"schedule {name!r}, revision {revision}: {first_of(problems)};"
            " import a later revision that is whole"
        )


class MigrationBrokeReferences(FleetlogError):
    """An upgrade that would have left rows pointing at nothing."""

    def __init__(self, revision: str, table: str, rows: int) -> None:
        super().__init__(
            f"the change to revision {revision} was taken back: it would leave {counted(rows, 'row')}"
            f", the first of {table}, that point at nothing; keep the log as it is and report this"
        )


class DemoNeedsEmptyLog(FleetlogError):
    """The invented marina does not go into a log that is in use."""

    def __init__(self) -> None:
        super().__init__("the demo goes into a log of its own; this one has engines: give another with --log")


class DemoLogInTheWay(FleetlogError):
    """The log of an earlier demo that cannot be removed, as some systems do not while another has it open."""

    def __init__(self, where: str, why: str) -> None:
        super().__init__(
            f"the log of an earlier demo at {where} cannot be removed ({why}): close what has it open, or"
            " give another place with --log"
        )

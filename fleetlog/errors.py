"""Every refusal, in one place: one base, one class a cause, the wording in the class.

A refusal is what the person did or the data say, never a bug: it becomes one line on standard
error and exit status 1. Odd but usable data are findings, which are returned, not raised.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from pathlib import Path


class FleetlogError(Exception):
    """Base of every refusal; its text says what is wrong, where, and what to do."""


# Usage forecast


class UsageArraysDisagree(FleetlogError):
    """Arrays of a fleet's use whose sizes or order cannot belong together."""

    def __init__(self, name: str, engines: int, rows: int) -> None:
        super().__init__(
            f"usage of {engines} engines: {name} does not fit {rows} rows; give one more offset than engines,"
            " from 0 to the number of rows, and rows sorted by day within each engine"
        )


# Life of parts


class NoLives(FleetlogError):
    """There is nothing to learn from."""

    def __init__(self, left_out: int = 0) -> None:
        also = f" ({left_out} left out, each with its reason)" if left_out else ""
        super().__init__(f"no life in these records can be used{also}; widen the choice or record more")


class LivesDisagreeInNumber(FleetlogError):
    """Arrays of lives that are not of one length."""

    def __init__(self, low: int, high: int, entered_at: int, weight: int) -> None:
        super().__init__(
            f"lives: {low} low ages, {high} high ages, {entered_at} ages of entry and {weight} weights;"
            " give one of each for every life"
        )


class AgeIsNoNumber(FleetlogError):
    """An age that is not a number."""

    def __init__(self, life: int, low: float, high: float, entered_at: float) -> None:
        super().__init__(
            f"life {life + 1}: ages {low:g} to {high:g}, watched from {entered_at:g}: give numbers;"
            " only the high age may be infinite, for a life that still runs"
        )


class AgeNotPositive(FleetlogError):
    """A life that ended at no age, or before it began."""

    def __init__(self, life: int, age: float, unit: str) -> None:
        super().__init__(
            f"life {life + 1}: an age of {age:g} {unit} is not above zero;"
            " correct the entry or leave the life out"
        )


class LifeEndsBeforeItBegins(FleetlogError):
    """A high age below the low one."""

    def __init__(self, life: int, low: float, high: float, unit: str) -> None:
        super().__init__(
            f"life {life + 1}: said to be sound at {low:g} {unit} and to have ended at {high:g} {unit};"
            " the end cannot come first, correct one of the two"
        )


class LifeNeverWatched(FleetlogError):
    """A life that ended no later than the watching of it began."""

    def __init__(self, life: int, entered_at: float, end: float, unit: str) -> None:
        super().__init__(
            f"life {life + 1}: watched from {entered_at:g} {unit} to {end:g} {unit}, which tells nothing;"
            " correct the age of entry or leave the life out"
        )


class WeightNotPositive(FleetlogError):
    """A life that is to count for nothing or less."""

    def __init__(self, life: int, weight: float) -> None:
        super().__init__(
            f"life {life + 1}: a weight of {weight:g} is not above zero; leave the life out instead"
        )


class WeightNotWhole(FleetlogError):
    """Part of a life where only whole lives can be counted."""

    def __init__(self, weight: float) -> None:
        super().__init__(f"a weight of {weight:g}: the stepped curve counts whole lives; give whole numbers")


class NoFailures(FleetlogError):
    """All lives still run or came off sound."""

    def __init__(self, lives: float, longest: float, unit: str) -> None:
        super().__init__(
            f"none of {lives:g} lives has failed or was found worn (the longest ran {longest:g} {unit}):"
            " no life can be worked out; state a shape to learn what they are known to outlast"
        )


class TooFewFailures(FleetlogError):
    """Some failures, but too few for two figures to be found from them."""

    def __init__(self, failures: float, lives: float, fewest: int) -> None:
        super().__init__(
            f"{failures:g} of {lives:g} lives failed or were found worn: too few to say, it takes {fewest};"
            " state a shape known from elsewhere to use fewer"
        )


class AgesTellNoShape(FleetlogError):
    """The evidence singles out no shape: an ever steeper or flatter line fits as well or better."""

    def __init__(self, failures: float, steep: bool, around: float, unit: str) -> None:
        what = (
            f"the {failures:g} failures all fit one age near {around:g} {unit}"
            if steep
            else f"the {failures:g} failures do not tell how their number grows with age"
        )
        super().__init__(
            f"{what}, so no spread of life can be found; state a shape, or wait for more failures"
        )


class ShapeNotPositive(FleetlogError):
    """A stated shape that no Weibull distribution has."""

    def __init__(self, shape: float) -> None:
        super().__init__(f"a shape of {shape:g} is not possible; state one above 0 (1: chance, 2 to 4: wear)")


class LifeNotPositive(FleetlogError):
    """A characteristic life that no Weibull distribution has."""

    def __init__(self, characteristic_life: float) -> None:
        super().__init__(
            f"a characteristic life of {characteristic_life:g} is not possible; state one above 0"
        )


class ShareOutOfRange(FleetlogError):
    """A share or chance that is not between 0 and 1."""

    def __init__(self, what: str, share: float) -> None:
        super().__init__(f"{what}: {share:g} is no share; give a figure between 0 and 1")


class LivesInDifferentUnits(FleetlogError):
    """Two groups, one in hours and one in months."""

    def __init__(self, first: str, second: str) -> None:
        super().__init__(f"one group's ages are in {first}, the other's in {second}; give both in one unit")


class RepairsOutsideWatch(FleetlogError):
    """A repair at an age at which the engine was not watched."""

    def __init__(self, engine: int, age: float, start: float, end: float) -> None:
        super().__init__(
            f"engine {engine + 1}: a repair at age {age:g}, but it was watched from {start:g} to {end:g};"
            " correct the one or the other"
        )


class WatchIsEmpty(FleetlogError):
    """An engine watched for no time at all."""

    def __init__(self, engine: int, start: float, end: float) -> None:
        super().__init__(
            f"engine {engine + 1}: watched from age {start:g} to {end:g}, which is no time; leave it out"
        )


class RepairsDisagreeInNumber(FleetlogError):
    """Arrays of repairs and engines that do not belong together."""

    def __init__(self, what: str, have: int, need: int) -> None:
        super().__init__(f"repairs: {have} {what} where {need} are needed; give one for each")


class TooFewRepairs(FleetlogError):
    """Fewer repairs than a trend can be read from."""

    def __init__(self, repairs: int, fewest: int) -> None:
        super().__init__(
            f"{repairs} repairs are too few to say whether they become more frequent; it takes {fewest}"
        )


class RepairsTellNoTrend(FleetlogError):
    """All repairs at one end of the watch, so that no power fits best."""

    def __init__(self, repairs: int) -> None:
        super().__init__(
            f"all {repairs} repairs fall at one end of the time watched: no trend can be fitted;"
            " check the ages, or record more"
        )


class CostNotPositive(FleetlogError):
    """A cost that is nothing, less or no number."""

    def __init__(self, what: str, cost: float) -> None:
        super().__init__(f"{what} of {cost:g}: give a cost above 0")


class IntervalNotPositive(FleetlogError):
    """An interval, a spacing or a horizon of no length."""

    def __init__(self, what: str, length: float) -> None:
        super().__init__(f"{what} of {length:g}: give one above 0")


class QuantityNotPositive(FleetlogError):
    """A part of which none is used."""

    def __init__(self, part_number: str, quantity: float) -> None:
        super().__init__(
            f"part {part_number}: a quantity of {quantity:g}; give one above 0, to two decimals at most"
        )


class ChancesDisagreeInNumber(FleetlogError):
    """As many chances as horizons are needed."""

    def __init__(self, part_number: str, chances: int, horizons: int) -> None:
        super().__init__(f"part {part_number}: {chances} chances for {horizons} horizons; give one for each")


# Looking things up


def _or(words: Sequence[str], most: int = 6) -> str:
    shown = list(words[:most])
    more = len(words) - len(shown)
    listed = ", ".join(shown)
    return f"{listed} and {more} more" if more > 0 else listed


class NotKnown(FleetlogError):
    """A name that means nothing here; the nearest ones are offered."""

    def __init__(self, kind: str, typed: str, near: Sequence[str], else_do: str = "") -> None:
        offered = f"; nearest: {_or(near)}" if near else f"; the log has no {kind} of a name like it"
        super().__init__(f"no {kind} {typed!r}{offered}{'; ' + else_do if else_do else ''}")


class NotNamed(FleetlogError):
    """A name that is empty."""

    def __init__(self, kind: str) -> None:
        super().__init__(f"no {kind} is named: what was given is empty; say which {kind}")


class Ambiguous(FleetlogError):
    """What was typed fits several."""

    def __init__(self, kind: str, typed: str, fitting: Sequence[str]) -> None:
        super().__init__(f"{typed!r} fits {len(fitting)} of kind {kind}: {_or(fitting)}; type more of it")


class NoSchedule(FleetlogError):
    """An engine for which the log has no service schedule."""

    def __init__(self, serial: str, name: str | None, known: Sequence[str]) -> None:
        named = f"its schedule {name!r} is not in the log" if name else "it names no schedule and no family"
        has = (
            f"the log has {_or(known)}" if known else "the log has none yet: import a folder with schedules/"
        )
        super().__init__(f"engine {serial} has no service schedule: {named}; {has}")


class PositionNeeded(FleetlogError):
    """An item that the schedule has at several places, and no place was said."""

    def __init__(self, item: str, places: Sequence[str]) -> None:
        self.item, self.places = item, list(places)
        super().__init__(
            f"which {item}? the schedule has it at {', '.join(places)}: say --position, or --position all"
        )


# Recording


class EntryRefused(FleetlogError):
    """An entry that the ledger's rules do not take."""

    def __init__(self, field: str, value: str, expected: str) -> None:
        super().__init__(f"not recorded: {field} {value!r}: expected {expected}")


class NoHourMeter(FleetlogError):
    """Hours for an engine that has no meter to show them."""

    def __init__(self, serial: str) -> None:
        super().__init__(
            f"engine {serial} has no hour meter, so hours cannot be recorded for it; leave them out"
        )


class NotInTheFuture(FleetlogError):
    """Something said to be done on a day that is still to come."""

    def __init__(self, what: str, on: date, today: date) -> None:
        super().__init__(
            f"{what} on {on.isoformat()} is after today, {today.isoformat()}: give the day it was"
        )


class BoatNeedsPositions(FleetlogError):
    """Hours for a boat with several engines, not said which."""

    def __init__(self, boat: str, positions: Sequence[str]) -> None:
        super().__init__(
            f"{boat} has {len(positions)} engines: say which, such as "
            + " ".join(f"{p}=412.5" for p in positions)
        )


class NoEnginesAboard(FleetlogError):
    """Hours for a boat that carries no engine of the log."""

    def __init__(self, boat: str) -> None:
        super().__init__(f"{boat} has no engine in this log; give the engine's serial")


class FiguresCrossed(FleetlogError):
    """Hours of twins that fit better the other way round, and nobody was there to ask."""

    def __init__(self, boat: str, given: str, crossed: str) -> None:
        super().__init__(
            f"{boat}: {given} does not fit the readings before it, {crossed} would; "
            "say --crossed to record them so, or --as-given to keep them as they are"
        )


class NotConfirmed(FleetlogError):
    """A question that was answered with no, or that nobody was there to answer."""

    def __init__(self, what: str) -> None:
        super().__init__(f"not recorded: {what}")


class HoursNotRead(FleetlogError):
    """A line of hours that says nothing that can be taken."""

    def __init__(self, line: int, text: str, expected: str) -> None:
        shown = text if len(text) <= 60 else text[:57] + "..."
        super().__init__(f"hours, line {line}: {shown!r}: expected {expected}")


class CannotBeConfirmed(FleetlogError):
    """A reading below the last accepted one cannot simply be confirmed.

    `withdraw` is the command that withdraws the earlier one, where that is a reading.
    """

    def __init__(
        self, serial: str, hours: str, on: date, last: str, last_on: date, withdraw: str | None
    ) -> None:
        or_withdraw = f", or withdraw the earlier reading ({withdraw})" if withdraw else ""
        super().__init__(
            f"engine {serial}: {hours} h on {on.isoformat()} is below {last} h of {last_on.isoformat()}; "
            f"a meter does not run backwards: record the change of meter (fleetlog meter {serial} --on "
            f"{on.isoformat()} --engine-hours ...){or_withdraw}"
        )


class NoSuchReading(FleetlogError):
    """A reading that the log does not have."""

    def __init__(self, serial: str, on: date | None, near: Sequence[str]) -> None:
        when = f" on {on.isoformat()}" if on else ""
        offered = f"; it has: {_or(near)}" if near else "; it has none"
        super().__init__(f"engine {serial} has no such reading{when}{offered}")


class SeveralReadingsThatDay(FleetlogError):
    """A ruling on a day of several readings that does not say which."""

    def __init__(self, serial: str, on: date, hours: Sequence[str]) -> None:
        super().__init__(
            f"engine {serial} has several readings on {on.isoformat()} ({', '.join(hours)} h):"
            f" say which, such as --hours {hours[0]}"
        )


class AlreadyVoided(FleetlogError):
    """An entry that was taken back before."""

    def __init__(self, entry_id: str, on: date, by: str) -> None:
        super().__init__(f"entry {entry_id} was voided on {on.isoformat()} by {by} already")


class AlreadyThere(FleetlogError):
    """Something new under a name that is taken."""

    def __init__(self, kind: str, key: str) -> None:
        super().__init__(f"{kind} {key!r} is in the log already; show it, or give another id")


class NothingToChange(FleetlogError):
    """A change that names nothing to change."""

    def __init__(self, kind: str, key: str) -> None:
        super().__init__(f"{kind} {key}: nothing to change was given; see --help for what can be")


class BadChoice(FleetlogError):
    """A word that is none of those it can be."""

    def __init__(self, what: str, value: str, choices: Sequence[str]) -> None:
        super().__init__(f"{what} {value!r}: expected one of {', '.join(choices)}")


class ReasonNeeded(FleetlogError):
    """Something that has to say why."""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what} needs a reason: say --reason")


# CSV folder in and out


class FolderNotThere(FleetlogError):
    """The folder to read is missing, no folder, or closed to this user."""

    def __init__(self, path: str, exists: bool, reason: str | None = None) -> None:
        if reason is not None:
            what = f"{path} cannot be read ({reason})"
        elif exists:
            what = f"{path} is a file"
        else:
            what = f"there is no folder {path}"
        super().__init__(f"{what}; name the folder that holds the CSV files")


class FolderHoldsNothing(FleetlogError):
    """A folder without any file that belongs to the exchange format."""

    def __init__(self, path: str, files: list[str]) -> None:
        names = ", ".join(files)
        super().__init__(f"{path} holds nothing to import; expected {names} or schedules/NAME.toml")


class SeparatorUnusable(FleetlogError):
    """What is to stand between cells is none of the usual characters."""

    def __init__(self, separator: str) -> None:
        super().__init__(
            f"{separator!r} cannot stand between cells; say --separator with one of"
            ' "," (comma), ";" (semicolon), "|" (bar) or tab'
        )


class EncodingUnknown(FleetlogError):
    """An encoding of text files that does not exist."""

    def __init__(self, encoding: str) -> None:
        super().__init__(f"no encoding is called {encoding!r}; say --encoding with utf-8, cp1252 or latin-1")


class ImportRefused(FleetlogError):
    """Files with something wrong in them; nothing was taken in. `problems` has one line for each, `more`
    counts those beyond."""

    def __init__(self, problems: list[str], more: int = 0) -> None:
        self.problems, self.more = problems, more
        count = len(problems) + more
        first = f"nothing was imported, as there {'is 1 problem' if count == 1 else f'are {count} problems'}:"
        rest = [f"and {more} more"] if more else []
        super().__init__("\n".join([first, *problems, *rest]))


class ExportFolderTaken(FleetlogError):
    """The folder to write holds something that an export did not put there."""

    def __init__(self, path: str, found: str) -> None:
        super().__init__(
            f"{path} holds {found}, which is not of an export; name a new or an empty folder, or one"
            " that holds an earlier export and nothing else (it is replaced)"
        )


class ExportNotWritten(FleetlogError):
    """The folder could not be written; what stood there before still stands."""

    def __init__(self, path: str, reason: str) -> None:
        super().__init__(
            f"the folder {path} was not written ({reason}); free the place or name another folder"
        )


class FileNameUnfit(FleetlogError):
    """A schedule or a work card whose name cannot be the name of a file."""

    def __init__(self, what: str, name: str) -> None:
        super().__init__(
            f"{what} called {name!r} cannot be exported, as its name cannot be a file's on every system;"
            " import it again under a plain name"
        )


# The diary.


class PlanPeriodReversed(FleetlogError):
    """A plan asked for days of which the last comes before the first."""

    def __init__(self, from_on: date, to_on: date) -> None:
        super().__init__(f"a plan from {from_on} to {to_on} has no days; give the earlier day first")


class VisitNamedTwice(FleetlogError):
    """Two visits of a plan, asked for or booked, have the same id."""

    def __init__(self, visit_id: str) -> None:
        super().__init__(f"visit {visit_id} is there twice; leave out the one that is booked already")


class WhatIfNotUnderstood(FleetlogError):
    """A change to try on the shop that is not of a known form."""

    def __init__(self, text: str, forms: str) -> None:
        super().__init__(f"what to try with {text!r} is not clear; write it like one of: {forms}")


class WhatIfTooMany(FleetlogError):
    """More taken away from the shop, to try it, than it has."""

    def __init__(self, what: str, asked: int, there: int) -> None:
        super().__init__(f"{asked} of {what} cannot be taken away, as the shop has {there}; try fewer")


class DayNotRead(FleetlogError):
    """A day that is none."""

    def __init__(self, what: str, text: str) -> None:
        super().__init__(f"{what} {text!r} is not a day; write it as YYYY-MM-DD, such as 2026-04-15")


# The log (store)


class LogUrlNotUnderstood(FleetlogError):
    """A URL of a database that cannot hold a log."""

    def __init__(self, scheme: str) -> None:
        super().__init__(
            f"a log cannot be kept under a URL that begins with {scheme}://; give the path of a file,"
            " sqlite:///PATH or postgresql://USER@HOST/DATABASE"
        )


class LogInMemory(FleetlogError):
    """A log that would be gone when the command ends."""

    def __init__(self) -> None:
        super().__init__("a log in memory keeps nothing; give the path of a file")


class LogDriverMissing(FleetlogError):
    """The library that speaks to this kind of database is not installed."""

    def __init__(self, extra: str) -> None:
        super().__init__(f"the database driver is not installed; run: pip install 'fleetlog[{extra}]'")


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
            " fails; nothing was recorded"
        )


class LogDiskFull(FleetlogError):
    """No room on the disk."""

    def __init__(self, where: str) -> None:
        super().__init__(f"the disk of {where} is full; nothing was recorded: make room and try again")


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
            f"the key {key} stands for something else, recorded by {by} on {at:%Y-%m-%d at %H:%M} UTC;"
            " nothing was written: say this under a key of its own"
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
        more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
        super().__init__(
            f"schedule {name!r}, revision {revision}: {problems[0]}{more};"
            " import a later revision that is whole"
        )


class MigrationBrokeReferences(FleetlogError):
    """An upgrade that would have left rows pointing at nothing."""

    def __init__(self, revision: str, table: str, rows: int) -> None:
        super().__init__(
            f"the change to revision {revision} was taken back: it would leave {rows} rows, the first of"
            f" {table}, that point at nothing; keep the log as it is and report this"
        )


# Reports


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


# Demo


class DemoNeedsEmptyLog(FleetlogError):
    """The invented marina does not go into a log that is in use."""

    def __init__(self) -> None:
        super().__init__("the demo goes into a log of its own; this one has engines: give another with --log")


# Evidence: units, tools, torques, checks, work cards, rebuilds


class UnitUnknown(FleetlogError):
    """A unit that is not known, or not of the quantity it stands with."""

    def __init__(self, unit: str, choices: Sequence[str]) -> None:
        super().__init__(f"unit {unit!r} is not known here: expected {_or(choices)}")


class UnitsDoNotMatch(FleetlogError):
    """Two units of different quantities, between which nothing can be converted."""

    def __init__(self, unit: str, quantity: str, other: str, other_quantity: str) -> None:
        super().__init__(
            f"{unit} is a unit of {quantity} and {other} one of {other_quantity}; give both of one quantity"
        )


# Items that travel


class NothingToTake(FleetlogError):
    """An item to be moved that is neither fitted on the engine nor on its shelf."""

    def __init__(self, serial: str, item: str, position: str | None, off_on: date | None) -> None:
        where = f" at {position}" if position else ""
        since = f": it came off on {off_on} and went elsewhere" if off_on is not None else ""
        super().__init__(
            f"engine {serial} has no {item}{where} to give{since};"
            f" fleetlog item {serial} {item!r} --all shows what was on it"
        )


class SameEngineTwice(FleetlogError):
    """A part that is to go from an engine to itself."""

    def __init__(self, serial: str) -> None:
        super().__init__(
            f"engine {serial} is both the one that gives and the one that takes; name two engines"
        )


class NothingRecordedOf(FleetlogError):
    """An item of which an engine's ledger says nothing."""

    def __init__(self, serial: str, item: str) -> None:
        super().__init__(
            f"nothing is recorded of a {item} on engine {serial}, so it has no stints to show;"
            " it is the original as far as the log knows"
        )


class NotThereToCarryOver(FleetlogError):
    """Something to be carried over that is not on the engine."""

    def __init__(self, serial: str, item: str, position: str | None, off_on: date | None) -> None:
        where = f" at {position}" if position else ""
        since = f" since {off_on}" if off_on is not None else ""
        super().__init__(
            f"engine {serial} has had no {item}{where} on it{since}, so it cannot be carried over;"
            " record what is fitted with fleetlog fit first, or leave it out"
        )


class FormNotUsable(FleetlogError):
    """A form with something wrong in it; nothing was recorded. `problems` has one line for each."""

    def __init__(self, name: str, problems: Sequence[str], most: int = 50) -> None:
        self.problems = list(problems)
        count = len(self.problems)
        first = f"nothing was recorded, as {name} has {count} problem{'' if count == 1 else 's'}:"
        rest = [f"and {count - most} more"] if count > most else []
        super().__init__("\n".join([first, *self.problems[:most], *rest]))


class FormOfAnotherEngine(FleetlogError):
    """A form that was filled in for another engine than the one named."""

    def __init__(self, form_serial: str, serial: str) -> None:
        super().__init__(
            f"the form is of engine {form_serial}, not of {serial}; give the right form, or correct it"
        )


class FileUnreadable(FleetlogError):
    """A file that cannot be read or written."""

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(f"{path}: {reason}; give another file")


class FileThereAlready(FleetlogError):
    """A file that would be written over."""

    def __init__(self, path: Path) -> None:
        super().__init__(f"{path} is there already and is left alone; give another name, or remove it")


class RebuildUnanswered(FleetlogError):
    """A rebuild that says nothing of some items whose rules it resets."""

    def __init__(self, scope: str, lines: Sequence[str], most: int = 20) -> None:
        count = len(lines)
        more = [f"and {count - most} more"] if count > most else []
        super().__init__(
            "\n".join(
                [
                    f"the {scope} rebuild was not recorded, as it says nothing of {count} "
                    f"line{'' if count == 1 else 's'} that it resets; "
                    "say renewed, reused, carried over or left of each:",
                    *lines[:most],
                    *more,
                ]
            )
        )


class RebuildNeedsForm(FleetlogError):
    """A rebuild asked for where nobody can be asked step by step."""

    def __init__(self, serial: str, scope: str) -> None:
        super().__init__(
            f'nobody is here to be asked; write a form with: fleetlog rebuild {serial} --scope "{scope}" '
            f"--template FILE, fill it in, and record it with --from FILE"
        )


class ScopeResetsNothing(FleetlogError):
    """A rebuild of a scope that no rule of the schedule speaks of."""

    def __init__(self, schedule: str, scope: str, known: Sequence[str]) -> None:
        knows = f"it knows {', '.join(known)}" if known else "none of its rules has reset_by"
        super().__init__(f"schedule {schedule} has no rule that a {scope} rebuild resets; {knows}")


class VisitStaysOpen(FleetlogError):
    """A visit with something off of which nobody has said what was done about it."""

    def __init__(self, visit_id: str, points: Sequence[str]) -> None:
        super().__init__("\n".join([f"visit {visit_id} stays open, for {len(points)} reason(s):", *points]))


class VisitIsClosed(FleetlogError):
    """Work added to a visit that is over."""

    def __init__(self, visit_id: str, closed_on: date) -> None:
        super().__init__(
            f"visit {visit_id} was closed on {closed_on.isoformat()}; open another one for what came after"
        )


class NothingIsOff(FleetlogError):
    """An answer about something that is in order or answered already."""

    def __init__(self, about: str) -> None:
        super().__init__(
            f"{about} is within its band and not failed, so there is nothing to answer; "
            "if it was entered wrong, say --outcome 'entered wrong'"
        )


class RangeReversed(FleetlogError):
    """A range of a tool whose ends do not make one."""

    def __init__(self, low: str, high: str, unit: str) -> None:
        super().__init__(f"a range from {low} to {high} {unit} is none; give the lower end first, 0 or more")


class CardInLogUnreadable(FleetlogError):
    """A work card in the log that this version cannot read."""

    def __init__(self, name: str, revision: int, problems: Sequence[str]) -> None:
        super().__init__(
            f"work card {name}, revision {revision}, of the log cannot be read: {problems[0]}; "
            "take in a newer revision of it"
        )


class CardRevisionUnknown(FleetlogError):
    """A form of a revision of a card that the log does not have."""

    def __init__(self, name: str, revision: int, newest: int) -> None:
        super().__init__(
            f"work card {name} has no revision {revision} in the log, the newest is {newest}; print it again"
        )


class CardTextUnusable(FleetlogError):
    """A work card with something wrong in it."""

    def __init__(self, name: str, problems: Sequence[str], most: int = 50) -> None:
        self.problems = list(problems)
        super().__init__("\n".join([f"{name} is no work card that can be taken in:", *self.problems[:most]]))


# The diary: shop, bookings, reminders


class NoShop(FleetlogError):
    """The log does not know the shop that is to be planned for."""

    def __init__(self) -> None:
        super().__init__(
            "the log does not know the shop yet: put its technicians, bays and hours into shop/shop.toml of a"
            " folder (fleetlog diary shop --template shows one) and take it in with fleetlog import"
        )


class ShopInLogUnreadable(FleetlogError):
    """A shop's set-up in the log that this version cannot read."""

    def __init__(self, revision: int, problems: Sequence[str]) -> None:
        more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
        super().__init__(
            f"shop, revision {revision}: {problems[0]}{more}; import a later revision that is whole"
        )


class PlanNotSound(FleetlogError):
    """A plan that the independent check found at fault."""

    def __init__(self, texts: Sequence[str]) -> None:
        more = f" (and {len(texts) - 1} more)" if len(texts) > 1 else ""
        super().__init__(
            f"the plan was found to break a rule of the shop: {texts[0]}{more};"
            " nothing was kept, report this with an export of the log"
        )


class NoPlan(FleetlogError):
    """Nothing has been planned yet."""

    def __init__(self) -> None:
        super().__init__("there is no plan yet; make one with fleetlog diary plan")


class NotInPlan(FleetlogError):
    """A visit to be booked that the latest plan has no day for."""

    def __init__(self, typed: str, why: str | None) -> None:
        reason = f"the latest plan has no day for it ({why})" if why else "the latest plan does not have it"
        super().__init__(f"{typed!r}: {reason}; give a day with --on, and --hours")


class SlotNotFree(FleetlogError):
    """A booking that does not fit where it was wanted."""

    def __init__(self, problems: Sequence[str]) -> None:
        more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
        super().__init__(f"{problems[0]}{more}; choose another time, or say --anyway and --why")


class NoFreeTime(FleetlogError):
    """A day without a stretch that is long enough."""

    def __init__(self, on: date, hours: str) -> None:
        super().__init__(
            f"nobody who can do it has {hours} h free on {on} at a place that suits;"
            " choose another day, or name technician, place and time and say --anyway and --why"
        )


class BookingEnded(FleetlogError):
    """A booking that was released or done before."""

    def __init__(self, booking_id: str, change: str, on: date) -> None:
        super().__init__(f"booking {booking_id} was {change} on {on}; fleetlog diary book makes another")


class RateNotKnown(FleetlogError):
    """An estimate without a rate."""

    def __init__(self) -> None:
        super().__init__("the shop has no rate_per_hour, so nothing can be estimated; add it to shop.toml")


class MailNotSetUp(FleetlogError):
    """Mails are to be sent and something for it is missing."""

    def __init__(self, missing: str) -> None:
        super().__init__(f"reminders cannot be sent: {missing}; write them to files with --out meanwhile")


class SecretOpenToOthers(FleetlogError):
    """A file with a secret that others can read."""

    def __init__(self, path: Path, mode: int) -> None:
        super().__init__(
            f"{path} can be read by others (mode {mode:o}), so its secret is not used; chmod 600 it"
        )


class MailNotTaken(FleetlogError):
    """The mail server did not take a mail."""

    def __init__(self, owner: str, reason: str, sent: int, *, in_doubt: bool) -> None:
        fate = (
            f"broke off while it took the mail to {owner} ({reason}): whether it went out is in doubt, and it"
            " is not sent again unless you say --again"
            if in_doubt
            else f"did not take the mail to {owner}: {reason}"
        )
        super().__init__(
            f"the mail server {fate}; {sent} sent before it are recorded and will not go out twice"
        )


class CalendarNotWritten(FleetlogError):
    """A calendar or mail file that cannot be written."""

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(f"{path} could not be written: {reason}; give another place with --out")


# Lives of items out of the log


class SplitNeedsGroups(FleetlogError):
    """Fewer than two groups to compare."""

    def __init__(self, condition: str, groups: Sequence[str]) -> None:
        have = f"all of them have {condition} {groups[0]}" if groups else f"none has a {condition} on record"
        super().__init__(
            f"there are no two groups to compare by {condition}: {have}; split by another condition,"
            " or record it for the boats and parts where it is missing"
        )


# Output


class OutputNotWritten(FleetlogError):
    """What a command prints cannot be written where it goes."""

    def __init__(self, reason: str) -> None:
        super().__init__(
            f"the output could not be written ({reason}); send it elsewhere, and where something was to be"
            " recorded, look it up before you record it again"
        )


# Keeping the log safe: backups, rescue, copies


class LogNeedsFile(FleetlogError):
    """A database where only the file of a log can be copied, restored or rescued."""

    def __init__(self, where: str) -> None:
        super().__init__(
            f"{where} is a database and no file: its server has backups of its own (pg_dump, pg_restore), and"
            " `fleetlog copy-log` copies a log between a database and a file"
        )


class NothingThere(FleetlogError):
    """A file or database that was named to be read, and is not there."""

    def __init__(self, given: str, to_do: str) -> None:
        super().__init__(f"there is no log at {given} to {to_do}; check the name")


class BackupNotSound(FleetlogError):
    """A copy that did not pass the check after it was made."""

    def __init__(self, copy: Path, problems: Sequence[str]) -> None:
        more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
        super().__init__(
            f"the copy of the log did not pass its check: {problems[0]}{more}; it was kept as {copy} and no"
            " older backup was removed: run `fleetlog check` on the log"
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
        more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
        super().__init__(
            f"{source} is damaged ({problems[0]}{more}), so it was not restored: take another backup, or"
            f" `fleetlog rescue` what can be read"
        )


class NothingToRescue(FleetlogError):
    """A file of which nothing can be read."""

    def __init__(self, source: Path, why: str) -> None:
        super().__init__(f"nothing of {source} can be read as a log ({why}); go back to a backup")


# Parts, terms and advice


class PartNeeded(FleetlogError):
    """A search for a part without its number."""

    def __init__(self) -> None:
        super().__init__("say which part: its number, as --part TB-118")


class SupersededByItself(FleetlogError):
    """Part numbers that would replace each other in a circle."""

    def __init__(self, part_number: str, superseded_by: str) -> None:
        super().__init__(
            f"{superseded_by} was itself replaced, in the end by {part_number}, so it cannot replace it;"
            " fleetlog superseded list shows which number replaced which"
        )


class TermWithoutEnd(FleetlogError):
    """A term without months or hours."""

    def __init__(self) -> None:
        super().__init__("a term runs for months, hours or both: say --months, --hours or both")


class AdviceClosed(FleetlogError):
    """An answer to advice that is done or withdrawn already."""

    def __init__(self, advice_id: str, answer: str) -> None:
        super().__init__(
            f"advice {advice_id} is {answer} already; record new advice with fleetlog advice add"
        )


class NothingAdvised(FleetlogError):
    """Advice without words."""

    def __init__(self) -> None:
        super().__init__("say what was advised, in a few words")


class JoinAnswerUnusable(FleetlogError):
    """An answer about an engine's past that cannot be recorded."""

    def __init__(self, rule: str, position: str | None, why: str) -> None:
        where = f" at {position}" if position else ""
        super().__init__(f"{rule}{where}: {why}; nothing was recorded")


class JoinNeedsForm(FleetlogError):
    """An engine's past that nobody is there to be asked about."""

    def __init__(self, serial: str) -> None:
        super().__init__(
            f"nobody is here to answer; fleetlog join {serial} --template FILE writes a form,"
            f" and fleetlog join {serial} --from FILE records it"
        )


class OpenCostMissing(FleetlogError):
    """Openings of an access without what renewing costs then."""

    def __init__(self) -> None:
        super().__init__("--open-every needs --while-open: what renewing costs while access is open anyway")


class NoMakerInterval(FleetlogError):
    """No schedule says how often an item is to be renewed."""

    def __init__(self, item: str, unit: str) -> None:
        super().__init__(
            f"no schedule of these engines renews the {item} at an interval in {unit}; state the maker's with"
            " --interval, or ask by the other age with --age"
        )


# Backtest of the forecast


class DayNotPast(FleetlogError):
    """A day to forecast from that nothing can have followed yet."""

    def __init__(self, day: date, today: date) -> None:
        super().__init__(
            f"{day.isoformat()} is not before today, {today.isoformat()}, so no later reading can tell how a"
            " forecast of that day came out; give a past day"
        )


class DayBeforeReadings(FleetlogError):
    """A day to forecast from on which nothing had been read yet."""

    def __init__(self, day: date, first: date) -> None:
        super().__init__(
            f"{day.isoformat()} is before the first reading, of {first.isoformat()}, so there is nothing to"
            " forecast from; give a later day"
        )


class EveryHoursNone(FleetlogError):
    """Multiples of no hours."""

    def __init__(self) -> None:
        super().__init__("multiples of 0 h are never ahead; give --every more than 0, such as 50")


class NothingToJudge(FleetlogError):
    """A log whose readings tell nothing about past forecasts."""

    def __init__(self, engines: int, readings: int) -> None:
        super().__init__(
            f"no reading tells how a past forecast came out: {readings} readings of {engines} engines so far;"
            " it takes engines with limits in hours (or --every HOURS) that were read over some months"
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


# Chains, extracts and papers


class HeadTooShort(FleetlogError):
    """A head of the log given by too few of its characters."""

    def __init__(self, given: str, least: int) -> None:
        super().__init__(
            f"{given!r} is too little of a head to go by; give at least {least} characters of it"
        )


class MailFolderTaken(FleetlogError):
    """A folder for mails that holds some already."""

    def __init__(self, folder: Path) -> None:
        super().__init__(
            f"{folder} holds mails of an earlier run, which might go out twice; give a new or empty folder"
        )


class OwnerUnknown(FleetlogError):
    """An engine whose owner is asked for and not known."""

    def __init__(self, serial: str) -> None:
        super().__init__(
            f"the owner of engine {serial} is not known; leave out --with-owner, or record them first"
        )


class NothingToExtract(FleetlogError):
    """An extract asked for without an engine, a file to write, or a file to check."""

    def __init__(self) -> None:
        super().__init__(
            "say which engine and where to: fleetlog extract SERIAL --out FILE, or --verify FILE"
        )


class DiaryFolderHoldsReports(FleetlogError):
    """The diary's pages would take the place of the reports."""

    def __init__(self, folder: Path) -> None:
        super().__init__(
            f"{folder} holds the pages of fleetlog report, which would be removed; give another folder"
        )


class CellNotListed(FleetlogError):
    """A text or a paper to be erased that is not among those listed for the person."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"{name!r} is none of the texts and papers listed; see `fleetlog owner forget OWNER --review`"
        )


class BookedAlready(FleetlogError):
    """Work to be booked that a booking holds."""

    def __init__(self, typed: str, booking_id: str, on: date) -> None:
        super().__init__(
            f"work of {typed!r} is in booking {booking_id} on {on} already;"
            " move that one with fleetlog diary move, or release it first"
        )


class JobSaidTwice(FleetlogError):
    """Two different parts or lots for one job of a visit."""

    def __init__(self, job: str, one: str, other: str) -> None:
        super().__init__(
            f"{job}: both {one!r} and {other!r} were said; say one, or name the engine or place too"
        )


# Telemetry and spreadsheets


class TelemetryUnreadable(FleetlogError):
    """A telemetry file that is not in a form that is known."""

    def __init__(self, path: Path, line: int | None, why: str) -> None:
        where = f"{path}, line {line}" if line else f"{path}"
        super().__init__(f"{where}: {why}; nothing was recorded")


class TelemetryEngineUnknown(FleetlogError):
    """Ids in a telemetry file that nobody has said the engine of."""

    def __init__(self, ids: Sequence[str]) -> None:
        maps = " ".join(f"--map {one}=SERIAL" for one in ids)
        super().__init__(f"which engine is {', '.join(ids)}? Say so, such as: {maps}")


class TelemetrySeveralSources(FleetlogError):
    """Two devices that tell the hours of one engine."""

    def __init__(self, engine: str, sources: Sequence[str]) -> None:
        super().__init__(
            f"the hours of {engine} come from {len(sources)} sources ({', '.join(sources)}), which need not"
            " agree; choose one with --source"
        )


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
        super().__init__(f"spreadsheets need {module}, not installed here: pip install 'fleetlog[sheets]'")


# Photos and papers


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
            " it is lost: fleetlog paper erase PAPER --why ..."
        )


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

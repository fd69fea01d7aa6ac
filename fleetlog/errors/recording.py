"""Refusals of recording work and readings."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from fleetlog.errors import FleetlogError, as_word, counted, lines_of, one_of


class EntryRefused(FleetlogError):
    """An entry that the ledger's rules do not take."""

    def __init__(self, field: str, value: str, expected: str) -> None:
        super().__init__(f"not recorded: {field} {value!r}: expected {expected}")


class RowRefused(FleetlogError):
    """What no folder could bring in either: an end before its beginning, a torque below 0."""

    def __init__(self, field: str, value: object, expected: str) -> None:
        shown = str(value).strip() or "is empty"
        super().__init__(f"not recorded: {field.replace('_', ' ')} {shown}: expected {expected}")


class NoHourMeter(FleetlogError):
    """Hours for an engine that has no meter to show them."""

    def __init__(self, serial: str) -> None:
        super().__init__(
            f"engine {serial} has no hour meter, so hours cannot be recorded for it; leave them out"
        )


class BelowTheMeter(FleetlogError):
    """Engine hours at which the meter of that day would have shown less than nothing."""

    def __init__(self, serial: str, on: date, hours: str, least: str) -> None:
        super().__init__(
            f"engine {serial}: its hour meter of {on.isoformat()} shows 0.0 h at {least} engine hours, so it"
            f" never stood at {hours}; give what it shows, without --engine-hours, or another day"
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


class NotErased(FleetlogError):
    """An erasure for good that nobody confirmed."""

    def __init__(self, what: str, or_else: str = "") -> None:
        super().__init__(f"nothing was erased: {what} would go for good; say --yes{or_else}")


class HoursNotRead(FleetlogError):
    """Hours that cannot be taken; none was recorded. `problems` has one line for each."""

    def __init__(self, problems: Sequence[str]) -> None:
        self.problems = list(problems)
        if len(problems) == 1:
            super().__init__(f"no hours were recorded: {problems[0]}")
            return
        first = f"no hours were recorded, as there are {len(problems)} problems:"
        super().__init__("\n".join([first, *lines_of(problems)]))


def not_read(text: str, expected: str) -> str:
    """What is said of hours that cannot be read."""
    shown = text if len(text) <= 60 else text[:57] + "..."
    return f"{shown!r}: expected {expected}"


class NoHoursSaid(FleetlogError):
    """A text that was to tell hours and has none."""

    def __init__(self, passed_over: str) -> None:
        over = f" (passed over: {passed_over})" if passed_over else ""
        super().__init__(f"the text has no hours{over}; write a boat a line, such as 'Sea Spray 412'")


class EngineSaidTwice(FleetlogError):
    """Two figures for one engine."""

    def __init__(self, engine: str) -> None:
        super().__init__(f"two figures for {engine}; say each engine's once")


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
            f"a meter does not run backwards: record the change of meter (fleetlog meter {as_word(serial)}"
            f" --on {on.isoformat()} --engine-hours ...){or_withdraw}"
        )


class EngineHoursNotKnown(FleetlogError):
    """A change of meter on an engine of which nothing tells what it had run by then."""

    def __init__(self, serial: str, on: date) -> None:
        super().__init__(
            f"not recorded: what {serial} had run by {on.isoformat()} is not known, as no reading is of that"
            " day or before; say it, such as what the old meter showed last: --engine-hours HOURS"
        )


class HoursGoBack(FleetlogError):
    """A change of meter that would make engine hours go back; `conflict` says from what to what."""

    def __init__(self, conflict: str) -> None:
        super().__init__(
            f"not recorded: {conflict}; leave --engine-hours out, and they run on from those last read"
        )


class HoursLeap(FleetlogError):
    """A change of meter at more engine hours than can have been run since those last read."""

    def __init__(self, serial: str, hours: str, on: date, last: str, last_on: date) -> None:
        early = last_on.isoformat()
        super().__init__(
            f"not recorded: {serial}: {hours} h on {on.isoformat()} are more than 24 hours a day above the"
            f" {last} h of {early}; leave --engine-hours out, and they run on from those last read; if these"
            f" are too low: fleetlog reading withdraw {as_word(serial)} --on {early} --reason WHY"
        )


class AboveWhatFollows(FleetlogError):
    """A figure above the hours of a later change of meter, or of a later figure that was confirmed."""

    def __init__(
        self, serial: str, hours: str, on: date, later_hours: str, later_on: date, *, by_meter: bool
    ) -> None:
        by = "meter changed" if by_meter else "figure confirmed"
        super().__init__(
            f"not recorded: {serial}: {hours} h on {on.isoformat()} is above the {later_hours} h of the {by}"
            f" on {later_on.isoformat()}, and engine hours never go back. If it is right, those are too low:"
            f" fleetlog meter {as_word(serial)} --on DAY --reads H --engine-hours H has hours run on from the"
            " right ones from a later day"
        )


class NoSuchReading(FleetlogError):
    """A reading that the log does not have."""

    def __init__(self, serial: str, on: date | None, near: Sequence[str]) -> None:
        when = f" on {on.isoformat()}" if on else ""
        offered = f"; it has: {one_of(near)}" if near else "; it has none"
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


class NothingToVoid(FleetlogError):
    """A visit none of whose entries stands."""

    def __init__(self, visit_id: str) -> None:
        super().__init__(f"visit {visit_id} has no entry that stands; there is nothing to void")


class InServiceAfterWork(FleetlogError):
    """A day of service long after work or figures of the engine that the log has."""

    def __init__(self, serial: str, in_service_on: date, first_on: date) -> None:
        super().__init__(
            f"engine {serial} did not come into service on {in_service_on.isoformat()}, as it has work or a"
            f" figure of {first_on.isoformat()} on record: give the day it was, or take back what is wrong"
        )


class AlreadyThere(FleetlogError):
    """Something new under a name that is taken."""

    def __init__(self, kind: str, key: str) -> None:
        super().__init__(f"{kind} {key!r} is in the log already; show it, or give another id")


class SerialTaken(FleetlogError):
    """The serial number that an engine of the log was once known by."""

    def __init__(self, serial: str, now: str) -> None:
        super().__init__(
            f"{serial!r} was the number of engine {now} until it was corrected, and still finds it; if that"
            f" correction was wrong, take it back: fleetlog engine correct {as_word(now)} {as_word(serial)}"
            " --reason ..."
        )


class OneADay(FleetlogError):
    """A second sale, move or change of meter of one day, of which the log holds one."""

    def __init__(self, what: str, on: date) -> None:
        super().__init__(
            f"{what} on {on.isoformat()} already, and a day holds one such row; give another day with --on"
        )


class PlacedByMove(FleetlogError):
    """Another place for an engine of which a move says where it stands: that one counts."""

    def __init__(self, serial: str, boat: str, position: str, since: date, today: date) -> None:
        word, on = as_word(serial), since.isoformat()
        first = f"fleetlog engine not-moved {word} --on {on} --reason WHY, then " if since == today else ""
        super().__init__(
            f"{serial} stands where its move of {on} to {boat} said; to say where it stands now: {first}"
            f"fleetlog engine move {word} --to {as_word(boat)} --position {as_word(position)}"
        )


class NoSuchSale(FleetlogError):
    """A sale to be taken back that is none of the boat's."""

    def __init__(self, boat: str, on: date, sales: Sequence[date]) -> None:
        has = (
            f"it was sold on {one_of([day.isoformat() for day in sales])}"
            if sales
            else "no sale of it stands"
        )
        super().__init__(f"{boat} was not sold on {on.isoformat()} by the log: {has}")


class NoSuchMove(FleetlogError):
    """A move to be taken back that is none of the engine's."""

    def __init__(self, serial: str, on: date, moves: Sequence[date]) -> None:
        has = f"it was moved on {one_of([day.isoformat() for day in moves])}" if moves else "no move stands"
        super().__init__(f"{serial} was not moved on {on.isoformat()} by the log: {has}")


class LayupReversed(FleetlogError):
    """A lay-up that would end before it begins."""

    def __init__(self, from_on: date, to_on: date) -> None:
        super().__init__(
            f"a lay-up from {from_on.isoformat()} cannot end on {to_on.isoformat()}; give a later --to"
        )


class NotLaidUp(FleetlogError):
    """A boat to be launched that is not laid up; `latest` is the lay-up that began last before that day."""

    def __init__(self, boat: str, on: date, latest: tuple[date, date] | None) -> None:
        said = "nothing was recorded"
        if latest is not None:
            begin, end = (day.isoformat() for day in latest)
            said = f"that from {begin} ended on {end}"
            if latest[1] < on:
                way = f"fleetlog boat lay-up {as_word(boat)} --from {begin} --to {on.isoformat()}"
                said += f"; if it lasted until now: {way}"
        super().__init__(f"{boat} is not laid up on {on.isoformat()}: {said}")


class NoSuchLayup(FleetlogError):
    """A lay-up to be withdrawn that is none of the boat's."""

    def __init__(self, boat: str, from_on: date, begins: Sequence[date]) -> None:
        has = (
            f"its lay-ups begin on {one_of([day.isoformat() for day in begins])}" if begins else "it has none"
        )
        super().__init__(f"{boat} has no lay-up from {from_on.isoformat()} on that stands: {has}")


class NothingToChange(FleetlogError):
    """A change that names nothing to change."""

    def __init__(self, kind: str, key: str) -> None:
        super().__init__(f"{kind} {key}: nothing to change was given; see --help for what can be")


class DeferralWithoutEnd(FleetlogError):
    """A deferral that names neither a day nor engine hours."""

    def __init__(self, rule: str) -> None:
        super().__init__(f"until when is {rule} put off? say --until DAY, --until-hours H, or both")


class VisitStaysOpen(FleetlogError):
    """A visit with something off of which nobody has said what was done about it."""

    def __init__(self, visit_id: str, points: Sequence[str]) -> None:
        super().__init__(
            "\n".join([f"visit {visit_id} stays open, for {counted(len(points), 'reason')}:", *points])
        )


class VisitIsClosed(FleetlogError):
    """Work added to a visit that is over."""

    def __init__(self, visit_id: str, closed_on: date) -> None:
        super().__init__(
            f"visit {visit_id} was closed on {closed_on.isoformat()}; open another one for what came after"
        )


class VisitOfAnotherBoat(FleetlogError):
    """Work on one boat that was to be put into a visit of another."""

    def __init__(self, visit_id: str, of_boat: str, on_boat: str) -> None:
        super().__init__(
            f"visit {visit_id} is of {of_boat}, and this is work on {on_boat}: name one of its own visits"
            f" (fleetlog visit list --boat {as_word(on_boat)} has them), or a new one"
        )


class JobSaidTwice(FleetlogError):
    """Two different parts or lots for one job of a visit."""

    def __init__(self, job: str, one: str, other: str) -> None:
        super().__init__(
            f"{job}: both {one!r} and {other!r} were said; say one, or name the engine or place too"
        )

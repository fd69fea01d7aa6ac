"""Records work as the schedule asks for it: an entry for each job of an engine or a visit, all at once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.schedule import Rule
from fleetlog.domain.words import DONE_AS, name_key, with_position
from fleetlog.errors.naming import Ambiguous
from fleetlog.errors.recording import JobSaidTwice, NoEnginesAboard
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.store.writer import Writer
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.asking import Ask, asked_between
from fleetlog.usecases.finding import (
    ALL_POSITIONS,
    find_all,
    find_line,
    needed_schedule,
    schedule_of,
)
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.recording import Recorded, Work, entry_from, write_entry
from fleetlog.usecases.whose_hours import Figure, boat_or_serial, engines_aboard, engines_meant

Line = tuple[Rule, str | None]
"""A rule, and the position where one is meant."""


@dataclass(frozen=True, slots=True)
class Jobs:
    """The jobs that a person says were done, each by the words that a due list has for it.

    A rule's key, its title or a part of either will do. `parts` and `lots` are by such words too.
    """

    names: Sequence[str]
    parts: Sequence[tuple[str, str]] = ()
    lots: Sequence[tuple[str, str]] = ()


Hours = Mapping[str | None, int]
"""What hour meters showed, in tenths: of an engine under None, of a boat's engines by their positions."""


@asked_between
@again_if_lost
def record_jobs(
    log: Log,
    occasion: Occasion,
    about: str,
    jobs: Jobs,
    on: date,
    hours: Hours,
    said: Mapping[str, Any],
    *,
    ask: Ask,
) -> list[Recorded]:
    """Write an entry for each job that was done on an engine, or on each engine of a boat: all or none.

    `said` holds further facts of all of the work, by the names that `Work` has for them. A job without a
    position is done at all of its places. Raises NoSchedule, NotKnown, Ambiguous, JobSaidTwice, and what
    `engines_meant` and `write_entry` raise.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        ledgers = _engines_at_work(writer, about, on)
        read = {}
        if hours:
            meant = engines_meant(writer, Figure(about, on, hours))
            read = {ledger.engine.serial: tenths for ledger, _, tenths in meant}
        works: list[tuple[str, Work]] = []
        for ledger in ledgers:
            serial = ledger.engine.serial
            works += _works_on(writer, ledger, jobs, on, {**said, "hours_tenths": read.get(serial)})
        return [one for one in write_works(writer, occasion, works, ledgers, ask) if one is not None]


def _engines_at_work(reader: Reader, about: str, on: date) -> list[EngineLedger]:
    """The engine of a serial, or a part of it, or all that stand on a boat on a day."""
    boat = boat_or_serial(reader, about)
    if isinstance(boat, str):
        return [reader.ledger(boat)]
    aboard = list(engines_aboard(reader, boat, on).values())
    if not aboard:
        raise NoEnginesAboard(boat.name)
    return aboard


def _works_on(
    reader: Reader, ledger: EngineLedger, jobs: Jobs, on: date, said: Mapping[str, Any]
) -> Iterator[tuple[str, Work]]:
    serial = ledger.engine.serial
    schedule = needed_schedule(ledger, reader.schedules())
    own = replace(schedule, rules=tuple(rule for rule in schedule.rules if rule.is_for(serial)))
    lines = list(dict.fromkeys(find_line(own, name) for name in jobs.names))
    parts, lots = _by_line(lines, jobs.parts), _by_line(lines, jobs.lots)
    for line in lines:
        yield serial, as_asked(*line, on, parts.get(line), lots.get(line), said)


def _by_line(lines: Sequence[Line], said: Iterable[tuple[str, str]]) -> dict[Line, str]:
    """What is said of some lines, each named as one of all of them; a rule's name is for all of its lines."""
    found: dict[Line, str] = {}
    for typed, value in said:
        meant = find_all(_JOB, typed, lines, _words_of)
        if len({rule.key for rule, _ in meant}) > 1:
            raise Ambiguous(_JOB, typed, [_words_of(line)[1] for line in meant])
        for line in meant:
            if found.setdefault(line, value) != value:
                raise JobSaidTwice(_words_of(line)[1], found[line], value)
    return found


_JOB = "job among those done"


def _words_of(line: Line) -> tuple[str, str]:
    return line[0].key, with_position(line[0].title, line[1])


def as_asked(
    rule: Rule, place: str | None, on: date, part: str | None, lot: str | None, said: Mapping[str, Any]
) -> Work:
    """The work that a rule asks for, as done: fitted new, inspected, adjusted or serviced.

    At all places where none is given. What was fitted has the part number of the rule unless another is
    named. `said` holds further facts, by the names that `Work` has for them.
    """
    action = DONE_AS[rule.action]
    if part is None and rule.parts and action == "fitted":
        part = rule.parts[0].number
    place = place or ALL_POSITIONS
    return Work(action, on, rule.item, place, part_number=part, lot=lot, is_new_kind=True, **said)


def write_works(
    writer: Writer,
    occasion: Occasion,
    works: Iterable[tuple[str, Work]],
    ledgers: Iterable[EngineLedger],
    ask: Ask,
) -> list[Recorded | None]:
    """Write the works on engines, by serial, one after another; None for one that another one did too.

    `ledgers` are those of all of these engines, as they are before. All works on an engine have the same
    figure of its meter, which is judged with the first of them.
    Raises what `write_entry` raises.
    """
    schedules = writer.schedules()
    grown = {ledger.engine.serial: ledger for ledger in ledgers}
    written: set[tuple[str, ...]] = set()
    judged: set[str] = set()
    found: list[Recorded | None] = []
    for serial, work in works:
        same = (serial, work.action, name_key(work.item or ""), work.position or "")
        if same in written:
            found.append(None)
            continue
        written.add(same)
        ledger = grown[serial]
        schedule = schedule_of(ledger, schedules)
        entry = entry_from(writer, occasion, ledger, schedule, work)
        found.append(write_entry(writer, ledger, schedule, entry, None if serial in judged else ask))
        grown[serial] = ledger.with_entries([entry])
        judged.add(serial)
    return found

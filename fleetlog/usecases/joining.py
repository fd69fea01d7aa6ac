"""Walks through the schedule of an engine just met, and records what its owner or his papers tell."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fleetlog.domain.batch import Batch
from fleetlog.domain.hour_record import AcceptedReading, HeldReading, hour_record, newly_held
from fleetlog.domain.joining import (
    DONE,
    ORIGINAL,
    UNKNOWN,
    AskedLine,
    JoinAnswer,
    asked_lines,
    is_line,
    join_entries,
)
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Entry
from fleetlog.domain.schedule import Schedule
from fleetlog.errors import as_word
from fleetlog.errors.joining import JoinAnswersUnusable
from fleetlog.errors.recording import NoHourMeter
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.finding import find_serial, needed_schedule
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.recording import grown_by


@dataclass(frozen=True, slots=True)
class JoinOutline:
    """The lines of an engine that nothing is known of yet, and whether an original part can be dated."""

    serial: str
    asked: list[AskedLine]
    in_service_on: date | None
    hour_meter: bool

    def answers_to(self, line: AskedLine) -> list[str]:
        """The answers that a line may get."""
        may_be_original = line.can_be_original and self.in_service_on is not None
        return [DONE, ORIGINAL, UNKNOWN] if may_be_original else [DONE, UNKNOWN]


@dataclass(frozen=True, slots=True)
class Joined:
    """What the answers became: the entries, how often which answer was given, and figures that are held.

    `first` is the first reading of the engine, where some work is from before it and gives no hours.
    """

    serial: str
    entries: list[Entry]
    counts: Counter[str]
    held: list[HeldReading]
    first: AcceptedReading | None


def outline_join(log: Log, occasion: Occasion, engine: str) -> JoinOutline:
    """What to ask of an engine's past. Raises NoSchedule where it follows none."""
    with log.reading() as reader:
        ledger, schedule = _engine(reader, engine)
    asked = asked_lines(ledger, schedule, occasion.today)
    row = ledger.engine
    return JoinOutline(row.serial, asked, row.in_service_on, row.hour_meter)


@again_if_lost
def record_join(
    log: Log,
    occasion: Occasion,
    engine: str,
    answers: Sequence[JoinAnswer],
    source: str | None,
    *,
    is_tried: bool,
) -> Joined:
    """Record all answers or none. Raises JoinAnswersUnusable, EntryRefused.

    With `is_tried` nothing is written.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        ledger, schedule = _engine(writer, engine)
        asked = asked_lines(ledger, schedule, occasion.today)
        _refuse_unusable(ledger, asked, answers)
        told = source or "as the owner told"
        entries = list(
            join_entries(ledger, asked, answers, told, occasion.today, occasion.by, lambda: new_id("e"))
        )
        grown = grown_by(ledger, schedule, entries)
        if entries and not is_tried:
            writer.add(Batch(entries=entries))
    hours = hour_record(grown, date.max)
    counts, held = Counter(a.answer for a in answers), newly_held(ledger, hours)
    return Joined(ledger.engine.serial, entries, counts, held, hours.first_after_unread(entries))


def _engine(reader: Reader, typed: str) -> tuple[EngineLedger, Schedule]:
    ledger = reader.ledger(find_serial(reader, typed))
    return ledger, needed_schedule(ledger, reader.schedules())


_NO_PART = 'only a part that is renewed can be "original": say "done" or "unknown"'


def _refuse_unusable(ledger: EngineLedger, asked: Sequence[AskedLine], answers: Sequence[JoinAnswer]) -> None:
    """Refuse all answers that cannot be recorded, at once."""
    problems = [
        f"{answer.rule}{f' at {answer.position}' if answer.position else ''}: {why}"
        for answer in answers
        if (why := _why_unusable(ledger, asked, answer)) is not None
    ]
    if problems:
        raise JoinAnswersUnusable(problems)
    if not ledger.engine.hour_meter and any(answer.meter_tenths is not None for answer in answers):
        raise NoHourMeter(ledger.engine.serial)


def _why_unusable(ledger: EngineLedger, asked: Sequence[AskedLine], answer: JoinAnswer) -> str | None:
    line = next((a for a in asked if is_line(a, answer.rule, answer.position)), None)
    if line is None:
        return "no such line is without a record"
    if answer.answer == ORIGINAL and not line.can_be_original:
        return _NO_PART
    if answer.answer == ORIGINAL and ledger.engine.in_service_on is None:
        command = f"fleetlog engine change {as_word(ledger.engine.serial)} --in-service DATE"
        return f"the engine has no in-service date; say it first: {command}"
    return None

"""Evidence as it is written down: rows that a person hands in made into rows of the ledger, and answers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from operator import attrgetter
from typing import Any, TypeVar

from fleetlog.domain.batch import Batch
from fleetlog.domain.calibration import torque_flags
from fleetlog.domain.condition import not_judged
from fleetlog.domain.evidence import Answer, Check, Measurement, Tool, Torque
from fleetlog.domain.evidence_text import OpenPoint, lacks_a_second, open_points
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.rebuild import Noted, unanswered
from fleetlog.domain.records import Entry, Visit
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.words import with_position
from fleetlog.errors import as_word
from fleetlog.errors.naming import NotKnown
from fleetlog.errors.recording import VisitIsClosed, VisitStaysOpen
from fleetlog.errors.travel import NothingIsOff
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.store.writer import Writer
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.finding import find_measured, find_one, find_position, find_serial, schedule_of
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.recording import refuse_row
from fleetlog.usecases.visit_of_work import add_visit, visit_left_out

Row = TypeVar("Row", Torque, Measurement, Check)


@dataclass(frozen=True, slots=True)
class WrittenEvidence:
    """What was written: what speaks against tools that were used, and what is off without an answer.

    `not_judged` are figures that the schedule's limits cannot be compared with.
    `outside` is the open visit of the boat, where the evidence is in none or in another one.
    """

    visit_id: str | None
    flags: list[str]
    open: list[OpenPoint]
    not_judged: list[str]
    outside: Visit | None


def find_tool(reader: Reader, typed: str) -> str:
    """The id of the one tool of that id or name, in any case; raises NotKnown or Ambiguous."""
    tools: list[Tool] = reader.rows("tools")
    how = "add it with fleetlog tool add, or leave it out"
    return find_one("tool", typed, tools, attrgetter("tool_id", "name"), how).tool_id


@dataclass(frozen=True, slots=True)
class Signed:
    """Where and when evidence was gathered, and by whom where its rows do not say."""

    serial: str
    on: date
    by: str
    visit_id: str | None = None
    checked_by: str | None = None


def add_noted(reader: Reader, batch: Batch, noted: Iterable[Noted], signed: Signed) -> None:
    """Add rows of a form to a batch, with ids, the engine, the day and the person filled in."""
    shared: dict[str, Any] = {"serial": signed.serial, "visit_id": signed.visit_id}
    for one in noted:
        on, by = one.on or signed.on, one.row.by or signed.by
        about: dict[str, Any]
        if isinstance(one.row, Torque):
            tool_id = None if one.row.tool_id is None else find_tool(reader, one.row.tool_id)
            checked_by = one.row.checked_by or signed.checked_by
            torque = replace(
                one.row,
                torque_id=new_id("t"),
                on=on,
                by=by,
                checked_by=checked_by,
                tool_id=tool_id,
                **shared,
            )
            refuse_row(torque)
            batch.torques.append(torque)
            about = {"torque_id": torque.torque_id}
        elif isinstance(one.row, Measurement):
            measurement = replace(one.row, measurement_id=new_id("m"), on=on, by=by, **shared)
            refuse_row(measurement)
            batch.measurements.append(measurement)
            about = {"measurement_id": measurement.measurement_id}
        else:
            checked_by = one.row.checked_by or signed.checked_by
            check = replace(one.row, check_id=new_id("c"), on=on, by=by, checked_by=checked_by, **shared)
            refuse_row(check)
            batch.checks.append(check)
            about = {"check_id": check.check_id}
        if one.outcome is not None:
            answer = Answer(new_id("a"), signed.serial, on, one.outcome, one.what or "", by, **about)
            batch.answers.append(answer)


def written(
    reader: Reader, serial: str, visit_id: str | None, batch: Batch, outside: Visit | None
) -> WrittenEvidence:
    """What a batch that was just written leaves to be said, on one engine."""
    ledger = reader.ledger(serial)
    evidence = ledger.evidence
    flags = [
        flag
        for torque in batch.torques
        for flag in torque_flags(torque, evidence.tools.get(torque.tool_id or ""))
    ]
    ids = {t.torque_id for t in batch.torques}
    ids |= {m.measurement_id for m in batch.measurements} | {c.check_id for c in batch.checks}
    left = [point for point in open_points(evidence) if point.about in ids]
    figures: list[Entry | Measurement] = [*batch.measurements, *(e for e in batch.entries if e.measured)]
    schedule = schedule_of(ledger, reader.schedules()) if figures else None
    odd = [told for figure in figures if (told := not_judged(schedule, figure)) is not None]
    return WrittenEvidence(visit_id, list(dict.fromkeys(flags)), left, list(dict.fromkeys(odd)), outside)


def end_visit(writer: Writer, visit: Visit, closed_on: date) -> Visit:
    """Close a visit. Raises VisitIsClosed, RowRefused for a day before it was opened, and VisitStaysOpen."""
    if visit.closed_on is not None:
        raise VisitIsClosed(visit.visit_id, visit.closed_on)
    closed = replace(visit, closed_on=closed_on)
    refuse_row(closed)
    _refuse_open_points(writer, visit.visit_id)
    writer.end("visits", visit.visit_id, closed_on)
    return closed


def _refuse_open_points(reader: Reader, visit_id: str) -> None:
    """Raise VisitStaysOpen where something of a visit is off, or a rebuild in it says too little."""
    schedules = reader.schedules()
    points: list[str] = []
    for ledger in reader.ledgers(reader.serials_of_visit(visit_id)):
        serial = ledger.engine.serial
        points += [
            f"{point.about}, engine {serial}: {point.text}; say what was done: "
            f'fleetlog answer {as_word(point.about)} "..."'
            for point in open_points(ledger.evidence, visit_id)
        ]
        points += _unanswered(ledger, schedule_of(ledger, schedules), visit_id)
    if points:
        raise VisitStaysOpen(visit_id, points)


def _unanswered(ledger: EngineLedger, schedule: Schedule | None, visit_id: str) -> list[str]:
    if schedule is None:
        return []
    entries = [e for e in ledger.entries_on(date.max) if e.visit_id == visit_id]
    return [
        f"engine {ledger.engine.serial}, {rebuilt.scope} rebuild: nothing is said of "
        f"{with_position(rule.title, position)}; record what was fitted, reused or inspected "
        f"with --visit {as_word(visit_id)}"
        for rebuilt in entries
        if rebuilt.action == "rebuilt"
        for rule, position in unanswered(schedule, rebuilt.scope or "", entries)
    ]


@again_if_lost
def record_evidence(
    log: Log, occasion: Occasion, engine: str, row: Row, *, is_new_kind: bool = False
) -> tuple[Row, WrittenEvidence]:
    """Write one torque, measurement or check, whatever it shows; the id and the engine are filled in.

    Raises UnitUnknown, VisitIsClosed, NotInTheFuture, and NotKnown for a tool that the log does not have and
    for an item measured as if misspelt that is not said to be of a new kind.
    """
    occasion.refuse_future("evidence", row.on)
    with log.writing(occasion.by, occasion.at) as writer:
        ledger = writer.ledger(find_serial(writer, engine))
        serial = ledger.engine.serial
        if isinstance(row, Measurement):
            schedule = schedule_of(ledger, writer.schedules())
            item = find_measured(ledger, schedule, row.item, is_new_kind=is_new_kind)
            position = None if row.position is None else find_position(schedule, item, row.position)
            row = replace(row, item=item, position=position)
        batch: Batch = Batch()
        outside = visit_left_out(writer, row.visit_id, row.on, ledger.boat_id_on)
        if row.visit_id is not None:
            add_visit(writer, batch, Visit(row.visit_id, None, row.on), row.on, ledger.boat_id_on)
        signed = Signed(serial, row.on, occasion.by, row.visit_id)
        add_noted(writer, batch, [Noted(row)], signed)
        writer.add(batch)
        made: Any = (*batch.torques, *batch.measurements, *batch.checks)[0]
        return made, written(writer, serial, row.visit_id, batch, outside)


@again_if_lost
def answer_off(log: Log, occasion: Occasion, about: str, outcome: str, what: str, on: date) -> Answer:
    """Say what was done about a torque, a measurement or a check that is off, or that one person alone saw.

    Raises NotKnown, and NothingIsOff for one that is in order, unless it was entered wrong.
    """
    occasion.refuse_future("an answer", on)
    kinds = {"torques": "torque_id", "measurements": "measurement_id", "checks": "check_id"}
    with log.writing(occasion.by, occasion.at) as writer:
        for kind, field in kinds.items():
            row = writer.existing(kind, [about]).get(about)
            if row is None:
                continue
            evidence = writer.ledger(row.serial).evidence
            is_odd = row.is_off or lacks_a_second(row, evidence)
            if not is_odd and outcome != "entered wrong":
                raise NothingIsOff(about)
            said: dict[str, Any] = {field: about}
            answer = Answer(new_id("a"), row.serial, on, outcome, what, occasion.by, **said)
            refuse_row(answer)
            writer.add(Batch(answers=[answer]))
            return answer
    raise NotKnown("torque, measurement or check", about, [], "fleetlog evidence SERIAL shows their ids")

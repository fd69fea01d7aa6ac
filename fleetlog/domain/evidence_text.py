"""Evidence in words: what a row is about, what speaks against it, and what is off and not answered."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from fleetlog.domain.calibration import calibration_state, torque_flags
from fleetlog.domain.evidence import Check, Measurement, ToolLedger, Torque, band_text
from fleetlog.domain.ledger import Evidence
from fleetlog.domain.values import value_class
from fleetlog.domain.words import with_position
from fleetlog.errors import counted

Row = Torque | Measurement | Check


def what_text(row: Row) -> str:
    """What a row is about: a joint and its pass, an item and its quantity, the title of a check."""
    if isinstance(row, Torque):
        several = f", {row.fasteners} of them" if row.fasteners and row.fasteners > 1 else ""
        return f"{row.joint}{several}" + (f", pass {row.pass_no}" if row.pass_no else "")
    if isinstance(row, Measurement):
        return f"{with_position(row.item, row.position)}: {row.quantity}"
    return row.title


@value_class(frozen=True, slots=True)
class OpenPoint:
    """A row that is off and of which nobody has said what was done about it: it keeps its visit open."""

    about: str
    serial: str
    text: str


def open_points(evidence: Evidence, visit_id: str | None = None) -> list[OpenPoint]:
    """Torques outside their band, figures left outside limits and failed checks that nobody has answered.

    Those of a visit, or without one named all of the engine.
    """
    return [
        OpenPoint(about, row.serial, off_text(row))
        for about, row in evidence.rows(visit_id)
        if row.is_off and not evidence.answers_to(about)
    ]


def off_text(row: Row) -> str:
    """What is off about a row, in a few words."""
    if isinstance(row, Torque):
        return f"{row.joint}: {row.shown}, band {band_text(row.low, row.high)} {row.unit}"
    if isinstance(row, Measurement):
        return f"{what_text(row)} {row.shown}, limits {band_text(row.low, row.high)}"
    return f"{row.title}: {row.shown}" + (f" ({row.reason})" if row.reason else "")


def tool_text(ledger: ToolLedger, on: date) -> str:
    """A tool, and when it was last calibrated before a day."""
    state = calibration_state(ledger, on)
    since = f", calibrated {state.calibrated_on.isoformat()}" if state.calibrated_on else ""
    return f"{ledger.tool.name}{since}"


def flags_of(row: Row, evidence: Evidence, *, beside_it: bool = False) -> list[str]:
    """What speaks against a row: that it is off, what is wrong with the tool it was made with, and that
    nobody is named who was to see it too.

    `beside_it`, what was read need not be said again.
    """
    flags = _faults_of(row, evidence, beside_it=beside_it)
    if lacks_a_second(row, evidence):
        flags.append("no second person is named")
    return flags


def _faults_of(row: Row, evidence: Evidence, *, beside_it: bool = False) -> list[str]:
    flags = ["OFF" if beside_it else f"OFF: {off_text(row)}"] if row.is_off else []
    if isinstance(row, Torque):
        flags += torque_flags(row, evidence.tools.get(row.tool_id or ""))
    return flags


def lacks_a_second(row: Row, evidence: Evidence) -> bool:
    """Whether it is a step that a second person was to see, and none is named."""
    return isinstance(row, Check) and row.is_seen_by_one and row.of_step in evidence.steps_for_two


def standing_out(rows: Iterable[tuple[str, Row]], evidence: Evidence, today: date) -> Iterator[str]:
    """What stands out of some rows by a day, with what was said about it; rows entered wrong left out.

    Steps that a second person was to see, and nobody is named nor anything answered, come last, in one.
    """
    told: set[str] = set()
    seen_by_one: list[str] = []
    for about, row in rows:
        if evidence.is_withdrawn(about, today):
            continue
        if lacks_a_second(row, evidence) and not evidence.answers_to(about, today):
            seen_by_one.append(what_text(row))
        for flag in _faults_of(row, evidence):
            said = [f"{a.outcome}: {a.what}" for a in evidence.answers_to(about, today)]
            text = f"{flag} ({'; '.join(said)})" if row.is_off and said else flag
            if text not in told:
                told.add(text)
                yield text
    if seen_by_one:
        steps = counted(len(seen_by_one), "step")
        yield f"no second person is named for {steps} that one was to see: {'; '.join(seen_by_one)}"

"""What is off about the evidence on an engine and has not been answered: it keeps a visit open."""

from __future__ import annotations

from fleetlog.domain.evidence import Check, Measurement, Torque, band_text
from fleetlog.domain.ledger import Evidence
from fleetlog.domain.values import value_class
from fleetlog.domain.words import with_position


@value_class(frozen=True, slots=True)
class OpenPoint:
    """A row of a visit that is off and of which nobody has said what was done about it."""

    about: str
    serial: str
    text: str


def open_points(evidence: Evidence, visit_id: str | None = None) -> list[OpenPoint]:
    """Torques outside their band, figures left outside limits and failed checks that nobody has answered.

    Those of a visit keep it open; without a visit named it is all of the engine.
    """
    return [
        OpenPoint(about, row.serial, off_text(row))
        for about, row in evidence.rows(visit_id)
        if row.is_off and not evidence.answers_to(about)
    ]


def off_text(row: Torque | Measurement | Check) -> str:
    """What is off about a row, in a few words."""
    if isinstance(row, Torque):
        return f"{row.joint}: {row.shown}, band {band_text(row.low, row.high)} {row.unit}"
    if isinstance(row, Measurement):
        limits = band_text(row.low, row.high)
        return f"{with_position(row.item, row.position)}: {row.quantity} {row.shown}, limits {limits}"
    return f"{row.title}: {row.shown}" + (f" ({row.reason})" if row.reason else "")

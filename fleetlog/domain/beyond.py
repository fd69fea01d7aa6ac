"""Rows beyond the bounds, as older versions took them: each is named, and none stops a list of other engines.

No date is worked out from such a row: it counts for nothing until it is put right.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from operator import attrgetter
from typing import Any

from fleetlog.domain.bounds import MOST_MONTHS, YEARS
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Layup
from fleetlog.domain.values import value_class
from fleetlog.errors import as_word

_DAYS = date(YEARS[0], 1, 1), date(YEARS[-1], 12, 31)
_MONTHS = 0, MOST_MONTHS
_BOUNDS = tuple(
    (kind, field, attrgetter(field), bounds)
    for kind, field, bounds in (
        ("entries", "on", _DAYS),
        ("entries", "prior_months", _MONTHS),
        ("entries", "again_months", _MONTHS),
        ("readings", "on", _DAYS),
        ("meters", "fitted_on", _DAYS),
        ("mounts", "from_on", _DAYS),
        ("mounts", "to_on", _DAYS),
        ("deferrals", "until_on", _DAYS),
        ("terms", "starts_on", _DAYS),
        ("terms", "months", _MONTHS),
    )
)
"""What of an engine's rows leads to dates: of which kind, which field, the least and the most."""


@value_class(frozen=True, slots=True)
class RowBeyond:
    """A row of an engine, or the engine itself, whose `field` lies beyond the bounds."""

    serial: str
    kind: str
    row: Any
    field: str
    value: object

    def __str__(self) -> str:
        most = (
            f"no more than {MOST_MONTHS}"
            if isinstance(self.value, int)
            else f"only {YEARS[0]} to {YEARS[-1]}"
        )
        return (
            f"engine {self.serial}, {self.kind}, {self.field} {self.value}: {most} can be reckoned with, so"
            f" the row counts for nothing; {self._remedy()}"
        )

    def _remedy(self) -> str:
        if self.kind == "entries":
            return f"take it back with fleetlog void {as_word(self.row.entry_id)} --reason ..."
        if self.kind == "terms":
            return f"take it back with fleetlog term withdraw {as_word(self.row.term_id)} --reason ..."
        return f"fleetlog export the log, put {self.kind}.csv right, and import that into a new log"


def is_within(layup: Layup) -> bool:
    """Whether dates can be worked out from a lay-up."""
    first, last = _DAYS
    return first <= layup.from_on <= (layup.to_on or layup.from_on) <= last


def apart(ledger: EngineLedger) -> tuple[EngineLedger, list[RowBeyond]]:
    """A ledger without what lies beyond the bounds, and that of it which nobody took back yet."""
    engine = ledger.engine
    beyond = [
        RowBeyond(engine.serial, kind, row, field, value_of(row))
        for kind, field, value_of, (least, most) in _BOUNDS
        if (values := list(filter(None, map(value_of, getattr(ledger, kind)))))
        and not least <= min(values) <= max(values) <= most
        for row in getattr(ledger, kind)
        if (value := value_of(row)) and not least <= value <= most
    ]
    boats = {
        boat.boat.boat_id: replace(boat, layups=tuple(filter(is_within, boat.layups)))
        for boat in ledger.boats_ever()
        if not all(map(is_within, boat.layups))
    }
    beyond += [
        RowBeyond(engine.serial, "layups", layup, "from_on", layup.from_on)
        for boat_id in boats
        for layup in ledger.boats[boat_id].layups
        if not is_within(layup)
    ]
    in_service_on, (first, last) = engine.in_service_on, _DAYS
    if in_service_on is not None and not first <= in_service_on <= last:
        beyond.append(RowBeyond(engine.serial, "engines", engine, "in_service_on", in_service_on))
        engine = replace(engine, in_service_on=None)
    if not beyond:
        return ledger, beyond
    off = {id(fault.row) for fault in beyond}
    rows: dict[str, Any] = {
        kind: tuple(row for row in getattr(ledger, kind) if id(row) not in off) for kind, *_ in _BOUNDS
    }
    sound = replace(ledger, engine=engine, boats={**ledger.boats, **boats}, **rows)
    voided = ledger.voided_on(date.max)
    return sound, [fault for fault in beyond if not _is_taken_back(fault, voided)]


def _is_taken_back(fault: RowBeyond, voided: frozenset[str]) -> bool:
    if fault.kind == "entries":
        return fault.row.entry_id in voided
    if fault.kind == "readings":
        return bool(fault.row.status == "withdrawn")
    return fault.kind == "terms" and fault.row.withdrawn_on is not None

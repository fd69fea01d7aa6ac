"""Lists what hour meters showed, with what counts and what is held."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from operator import itemgetter
from typing import Any

from fleetlog.domain.hour_record import HourRecord, hour_record
from fleetlog.domain.hours import hours_number
from fleetlog.domain.ledger import EngineLedger
from fleetlog.errors import first_of
from fleetlog.store.log import Log
from fleetlog.usecases.finding import find_serial
from fleetlog.usecases.occasion import Occasion


def list_readings(
    log: Log, occasion: Occasion, engine: str | None, *, held_only: bool
) -> list[dict[str, Any]]:
    """One row a figure of a day, by engine and date, with what it came with; a change of meter first."""
    with log.reading() as reader:
        serials = None if engine is None else [find_serial(reader, engine)]
        rows = [
            row
            for ledger in reader.ledgers(serials)
            for row in sorted(_rows(ledger, occasion.today), key=itemgetter("on"))
        ]
    return [row for row in rows if not held_only or row["status"] == "held"]


def _rows(ledger: EngineLedger, today: date) -> Iterator[dict[str, Any]]:
    record = hour_record(ledger, today)
    held = {(h.on, h.meter_tenths) for h in record.held}
    figures = [(r.on, r.meter_tenths, r.status, r.source or r.by) for r in ledger.readings if r.on <= today]
    spoken_for = {(on, tenths) for on, tenths, _, _ in figures}
    figures += [
        (e.on, e.meter_tenths, None, f"entry {e.entry_id}")
        for e in ledger.entries_on(today)
        if e.meter_tenths is not None and (e.on, e.meter_tenths) not in spoken_for
    ]
    came_with: dict[tuple[date, int, str], list[str]] = {}
    for on, meter_tenths, ruling, source in sorted(figures, key=lambda f: (f[0], f[1])):
        status = _status(record, held, on, meter_tenths, ruling)
        came_with.setdefault((on, meter_tenths, status), []).append(source or "")
    for meter in record.meters:
        yield _row(record, ledger, meter.fitted_on, meter.meter_reads_tenths, "meter changed", meter.reason)
    for (on, meter_tenths, status), sources in came_with.items():
        told = [source for source in dict.fromkeys(sources) if source]
        yield _row(record, ledger, on, meter_tenths, status, first_of(told) if told else None)


def _status(
    record: HourRecord, held: set[tuple[date, int]], on: date, meter_tenths: int, ruling: str | None
) -> str:
    if ruling == "withdrawn":
        return ruling
    if (on, meter_tenths) in held:
        return "held"
    if (on, meter_tenths) not in record.by_figure:
        return "withdrawn"
    return ruling or "accepted"


def _row(
    record: HourRecord, ledger: EngineLedger, on: date, meter_tenths: int, status: str, source: str | None
) -> dict[str, Any]:
    return {
        "serial": ledger.engine.serial,
        "on": on,
        "meter": hours_number(meter_tenths),
        "engine_hours": hours_number(record.engine_tenths(on, meter_tenths)),
        "status": status,
        "source": source,
    }

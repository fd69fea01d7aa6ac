"""What an import does to the hours: readings held, hours that go back, wrong ones beside their correction."""

from __future__ import annotations

from collections.abc import Container, Iterator
from datetime import date

from fleetlog.domain.held_text import fall_text, held_text, no_meter_text, ruling_command
from fleetlog.domain.hour_record import HourRecord, figures_without_meter, hour_record
from fleetlog.domain.hours import hours_text
from fleetlog.domain.ledger import EngineLedger
from fleetlog.exchange.csv.reading import is_made_id
from fleetlog.usecases.imports.ledgers import GrownLedger


def odd_readings(grown: GrownLedger, in_folder: Container[str]) -> Iterator[str]:
    """Findings on what is held or makes hours go back once the folder is taken in, and on what it corrects.

    A row without an id that gets another figure is a reading of its own, and the log keeps the first one too.
    `in_folder` are the ids of the engine's readings that the folder has.
    """
    if grown.before is not None:
        yield from _corrected(grown.before, grown.after, in_folder)
    yield from _newly_in_conflict(grown)
    figures = figures_without_meter(grown.after)
    if figures and figures != (0 if grown.before is None else figures_without_meter(grown.before)):
        yield no_meter_text(grown.after.engine.serial, figures)


def _corrected(before: EngineLedger, after: EngineLedger, in_folder: Container[str]) -> Iterator[str]:
    serial = before.engine.serial
    rows = after.readings[len(before.readings) :]
    new = {(r.on, r.source): r for r in rows if is_made_id(r.reading_id)}
    for old in before.readings:
        row = new.get((old.on, old.source))
        if row is not None and old.reading_id not in in_folder and old.status != "withdrawn":
            yield (
                f"{serial}: {hours_text(row.meter_tenths)} h on {old.on.isoformat()} is new; the log keeps"
                f" {hours_text(old.meter_tenths)} h of that day as well, which the import does not have; if"
                f" it is wrong: {ruling_command('withdraw', serial, old.on, old.meter_tenths)}"
            )


def _newly_in_conflict(grown: GrownLedger) -> Iterator[str]:
    record, serial, before = grown.hours, grown.after.engine.serial, grown.before
    if not record.held and not record.falls:
        return
    known = HourRecord(metered=True) if before is None else hour_record(before, date.max)
    known_held = {(one.on, one.meter_tenths) for one in known.held}
    for one in record.held:
        if (one.on, one.meter_tenths) not in known_held:
            yield held_text(serial, one)
    yield from (fall_text(serial, fall) for fall in record.falls if fall not in known.falls)

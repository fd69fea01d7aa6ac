"""What an import does to the hours: readings that it has held, and wrong ones beside their correction."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from fleetlog.domain.held_text import held_text, ruling_command
from fleetlog.domain.hour_record import hour_record
from fleetlog.domain.hours import hours_text
from fleetlog.domain.ledger import EngineLedger
from fleetlog.exchange.csv_folder import FolderContents
from fleetlog.exchange.csv_reading import is_made_id
from fleetlog.exchange.problems import Remark
from fleetlog.store.reader import Reader
from fleetlog.usecases.import_ledgers import GrownLedgers
from fleetlog.usecases.import_merge import Merge, known_keys


def find_odd_readings(contents: FolderContents, merge: Merge, reader: Reader) -> None:
    """Adds findings on readings that are held once the folder is taken in, and on what it corrects.

    A row without an id that gets another figure is a reading of its own, and the log keeps the first one too.
    """
    ledgers = GrownLedgers(reader, merge, reader.existing, ("readings", "meters", "entries"))
    in_folder = known_keys(contents, "readings")
    for before, after in ledgers.of(ledgers.serials()):
        if before is not None:
            contents.findings.extend(map(Remark, _corrected(before, after, in_folder)))
        contents.findings.extend(map(Remark, _newly_held(before, after)))


def _corrected(before: EngineLedger, after: EngineLedger, in_folder: set[str]) -> Iterator[str]:
    serial = before.engine.serial
    rows = after.readings[len(before.readings) :]
    new = {(r.on, r.source): r for r in rows if is_made_id(r.reading_id)}
    for old in before.readings:
        row = new.get((old.on, old.source))
        if row is not None and old.reading_id not in in_folder and old.status != "withdrawn":
            yield (
                f"{serial}: {hours_text(row.meter_tenths)} h on {old.on.isoformat()} is new; the log keeps"
                f" {hours_text(old.meter_tenths)} h of that day as well, which the folder does not have; if"
                f" it is wrong: {ruling_command('withdraw', serial, old.on, old.meter_tenths)}"
            )


def _newly_held(before: EngineLedger | None, after: EngineLedger) -> Iterator[str]:
    held = hour_record(after, date.max).held
    if not held:
        return
    before_held = () if before is None else hour_record(before, date.max).held
    known = {(one.on, one.meter_tenths) for one in before_held}
    for one in held:
        if (one.on, one.meter_tenths) not in known:
            yield held_text(after.engine.serial, one)

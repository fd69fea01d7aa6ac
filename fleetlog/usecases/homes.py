"""Looks engines up as places where items are, were and came from."""

from __future__ import annotations

from datetime import date

from fleetlog.domain.travel import Home, Homes
from fleetlog.errors.log import EngineNotInLog
from fleetlog.store.reader import Reader


def homes_of(reader: Reader, day: date, read_until: date | None = None) -> Homes:
    """The engines of a log, as items are looked up on them on a day, by readings up to it or a later one."""

    def find(serial: str) -> Home | None:
        try:
            ledger = reader.ledger(serial)
        except EngineNotInLog:
            return None
        return Home(ledger, reader.schedule(ledger.engine.schedule_name), day, read_until=read_until)

    return Homes(find, lambda serial: [e for e in reader.entries_from(serial) if e.on <= day])

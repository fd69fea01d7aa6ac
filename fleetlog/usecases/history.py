"""Looks up what was done to an engine."""

from __future__ import annotations

from fleetlog.domain.history import EngineHistory, history_of
from fleetlog.domain.satisfaction import seen_on
from fleetlog.store.log import Log
from fleetlog.usecases.finding import find_serial, schedule_of
from fleetlog.usecases.occasion import Occasion


def look_up_history(log: Log, occasion: Occasion, engine: str, *, with_voided: bool = False) -> EngineHistory:
    """Everything recorded of one engine by today; voided entries only where asked for."""
    with log.reading() as reader:
        ledger = reader.ledger(find_serial(reader, engine))
        schedule = schedule_of(ledger, reader.schedules())
    return history_of(ledger, schedule, seen_on(ledger, occasion.today), with_voided=with_voided)

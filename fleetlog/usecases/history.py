"""Looks up what was done to an engine."""

from __future__ import annotations

from fleetlog.domain.history import EngineHistory, history_of
from fleetlog.domain.travel import Homes
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import find_serial
from fleetlog.usecases.homes import homes_of
from fleetlog.usecases.occasion import Occasion


def look_up_history(log: Log, occasion: Occasion, engine: str, *, with_voided: bool = False) -> EngineHistory:
    """Everything recorded of one engine by today; voided entries only where asked for."""
    with log.reading() as reader:
        homes = homes_of(reader, occasion.today)
        return history_in(reader, homes, find_serial(reader, engine), with_voided=with_voided)


def history_in(reader: Reader, homes: Homes, serial: str, *, with_voided: bool = False) -> EngineHistory:
    """Everything recorded of the engine of that serial by the day of these homes."""
    return history_of(homes.known(serial), homes, reader.written_down([serial]), with_voided=with_voided)

"""Brings ledgers, schedules and the forecast together into the state of engines on a day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

from fleetlog.domain.due import due_lines, engine_facts
from fleetlog.domain.fleet import EngineState, FleetState
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.satisfaction import seen_on
from fleetlog.domain.schedule import Schedule
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import schedule_of
from fleetlog.usecases.learning import known_use
from fleetlog.usecases.usage import usage_of

if TYPE_CHECKING:
    from fleetlog.forecast.parameters import FleetParameters


def fleet_state(
    reader: Reader, today: date, within_days: int, serials: Sequence[str] | None = None
) -> FleetState:
    """The state of the engines named, or of the whole fleet, on a day. The forecast knows the whole fleet."""
    parameters = known_use(reader, today)
    return states_of(reader.ledgers(serials), reader.schedules(), parameters, today, within_days)


def states_of(
    ledgers: Iterable[EngineLedger],
    schedules: Mapping[str, Schedule],
    parameters: FleetParameters,
    today: date,
    within_days: int,
) -> FleetState:
    """The state of these engines on a day, with what was learnt of the fleet's use."""
    return FleetState(
        today,
        [
            _state_of(ledger, schedule_of(ledger, schedules), parameters, today, within_days)
            for ledger in ledgers
        ],
    )


def _state_of(
    ledger: EngineLedger,
    schedule: Schedule | None,
    parameters: FleetParameters,
    today: date,
    within_days: int,
) -> EngineState:
    from fleetlog.forecast.engine import EngineForecast

    forecast = EngineForecast(parameters, usage_of(ledger, today), today)
    lines = due_lines(ledger, schedule, today, forecast, within_days) if schedule is not None else []
    seen = seen_on(ledger, today)
    facts = lines[0].facts if lines else engine_facts(ledger, seen, forecast.basis())
    return EngineState(ledger, schedule, seen, facts, lines, forecast)

"""Brings ledgers, schedules and the forecast together into the state of engines on a day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

from fleetlog.domain.due import due_lines, engine_facts
from fleetlog.domain.fleet import EngineState, FleetState
from fleetlog.domain.hour_record import hour_record
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Layup
from fleetlog.domain.satisfaction import seen_on
from fleetlog.domain.schedule import Schedule
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import schedule_of

if TYPE_CHECKING:
    from fleetlog.forecast.evidence import EngineUsage
    from fleetlog.forecast.parameters import FleetParameters


def fleet_state(
    reader: Reader, today: date, within_days: int, serials: Sequence[str] | None = None
) -> FleetState:
    """The state of the engines named, or of the whole fleet, on a day. The forecast learns from the whole."""
    ledgers = list(reader.ledgers())
    parameters = learn_use(ledgers, today)
    wanted = None if serials is None else set(serials)
    chosen = [led for led in ledgers if wanted is None or led.engine.serial in wanted]
    return states_of(chosen, reader.schedules(), parameters, today, within_days)


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


def learn_use(ledgers: Iterable[EngineLedger], today: date) -> FleetParameters:
    """What the fleet's readings up to a day tell of how engines are used."""
    from fleetlog.forecast.evidence import FleetUsage
    from fleetlog.forecast.fit import fit_fleet

    return fit_fleet(FleetUsage.of(usage_of(ledger, today) for ledger in ledgers), today)


def usage_of(ledger: EngineLedger, today: date) -> EngineUsage:
    """One engine's use as seen on a day: accepted readings, its boat's lay-ups, and who runs it."""
    from fleetlog.forecast.evidence import EngineUsage

    record = hour_record(ledger, today)
    boat_ledger, _ = ledger.place_on(today)
    boat = boat_ledger.boat_on(today) if boat_ledger else None
    engine = ledger.engine_on(today)
    return EngineUsage(
        key=engine.serial,
        use=boat.use if boat else None,
        water=boat.water if boat else None,
        family=engine.family,
        metered=record.metered,
        readings=tuple(zip(record.days, record.tenths, strict=True)),
        layups=tuple(_stored(boat_ledger.layups)) if boat_ledger else (),
        owner=boat_ledger.owner_id_on(today) if boat_ledger else None,
        boat=boat.boat_id if boat else None,
        in_service_on=engine.in_service_on,
        changed_on=_changed_on(ledger, today),
    )


def _stored(layups: Iterable[Layup]) -> Iterable[tuple[date, date | None]]:
    return ((lay.from_on, lay.to_on) for lay in sorted(layups, key=lambda lay: lay.from_on))


def _changed_on(ledger: EngineLedger, today: date) -> date | None:
    """The day from which the boat, its owner and its use are today's; None where they always were."""
    days = []
    mount = ledger.mount_on(today)
    if mount is not None and any(m.from_on < mount.from_on for m in ledger.mounts):
        days.append(mount.from_on)
    boat_ledger, _ = ledger.place_on(today)
    if boat_ledger is not None:
        owned = sorted(o.from_on for o in boat_ledger.ownership if o.from_on <= today)
        days.extend(owned[-1:])
        days.extend(c.until_on for c in boat_ledger.changes if c.field == "use" and c.until_on <= today)
    return max(days, default=None)

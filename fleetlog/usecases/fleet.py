"""Brings ledgers, schedules and the forecast together into the lines and the state of engines on a day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import islice
from typing import TYPE_CHECKING

from fleetlog.domain.beyond import RowBeyond, apart
from fleetlog.domain.due import DueLine, EngineLimits, engine_limits, lines_from
from fleetlog.domain.fleet import EngineState, FleetState
from fleetlog.domain.kept import fact_days
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.usage import YearAhead
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import schedule_of
from fleetlog.usecases.learning import known_use
from fleetlog.usecases.usage import usage_of

if TYPE_CHECKING:
    from fleetlog.forecast.evidence import EngineUsage
    from fleetlog.forecast.parameters import FleetParameters

ENGINES_AT_ONCE = 1_000
"""How many engines are worked out together: it bounds the memory in use."""


@dataclass(slots=True)
class Worked:
    """One engine on a day as worked out from its ledger. `days` are those of all facts that bear on it.

    `ledger` is without the rows that lie beyond the bounds; those nobody took back yet are in `beyond`.
    """

    ledger: EngineLedger
    schedule: Schedule | None
    days: set[date]
    beyond: Sequence[RowBeyond]
    limits: EngineLimits
    usage: EngineUsage
    lines: Sequence[DueLine] = ()


def fleet_state(
    reader: Reader,
    today: date,
    within_days: int,
    serials: Sequence[str] | None = None,
    *,
    year_ahead: bool = False,
) -> FleetState:
    """The state of the engines named, or of the whole fleet, on a day.

    Whichever are named, their dates are forecast with what was learnt of the use of the whole fleet. With
    `year_ahead` each engine comes with what it is expected to run.
    """
    parameters = known_use(reader, today)
    return states_of(
        reader.ledgers(serials), reader.schedules(), parameters, today, within_days, year_ahead=year_ahead
    )


def fleet_state_in_full(
    reader: Reader, today: date, within_days: int, serials: Sequence[str] | None
) -> FleetState:
    """The state of engines for pages that tell their history: with who wrote each entry down."""
    state = fleet_state(reader, today, within_days, serials)
    written_down = reader.written_down(serials)
    return replace(state, engines=[replace(one, written_down=written_down) for one in state.engines])


def states_of(
    ledgers: Iterable[EngineLedger],
    schedules: Mapping[str, Schedule],
    parameters: FleetParameters,
    today: date,
    within_days: int,
    *,
    year_ahead: bool,
) -> FleetState:
    """The state of these engines on a day, with what was learnt of the fleet's use."""
    from fleetlog.forecast.engine import EngineForecast
    from fleetlog.forecast.many import years_ahead

    states = []
    worked = work_out(ledgers, schedules, parameters, today, within_days)
    while chunk := list(islice(worked, ENGINES_AT_ONCE)):
        known = [YearAhead()] * len(chunk)
        if year_ahead:
            known = years_ahead(parameters, [one.usage for one in chunk], today)
        for one, ahead in zip(chunk, known, strict=True):
            forecast = EngineForecast(parameters, one.usage, today)
            states.append(
                EngineState(
                    one.ledger,
                    one.schedule,
                    one.limits.seen,
                    one.limits.facts,
                    one.lines,
                    forecast,
                    ahead,
                    beyond=one.beyond,
                )
            )
    return FleetState(today, states)


def work_out(
    ledgers: Iterable[EngineLedger],
    schedules: Mapping[str, Schedule],
    parameters: FleetParameters,
    today: date,
    within_days: int,
) -> Iterator[Worked]:
    """The lines of engines on a day, their dates forecast for many engines together."""
    left = iter(ledgers)
    while chunk := list(islice(left, ENGINES_AT_ONCE)):
        worked = [limits_of(ledger, schedules, today) for ledger in chunk]
        draw_lines(worked, parameters, today, within_days)
        yield from worked


def limits_of(ledger: EngineLedger, schedules: Mapping[str, Schedule], today: date) -> Worked:
    """An engine on a day before a forecast is asked: the limits of its lines, and its use."""
    ledger, beyond = apart(ledger)
    schedule = schedule_of(ledger, schedules)
    limits = engine_limits(ledger, schedule, today)
    usage = usage_of(ledger, limits.seen)
    return Worked(ledger, schedule, fact_days(ledger, schedule), beyond, limits, usage)


def draw_lines(worked: Iterable[Worked], parameters: FleetParameters, today: date, within_days: int) -> None:
    """Gives engines whose limits are known their lines, with dates forecast for many engines together.

    Dates are forecast as of the engine's latest fact, or of the fit of the fleet where that is later: they
    do not wander from day to day while nothing new is known.
    """
    from fleetlog.forecast.many import outlooks

    as_of: dict[date, list[Worked]] = {}
    for one in worked:
        day = max((day for day in one.days if day <= today), default=date.min)
        as_of.setdefault(max(day, parameters.fitted_on), []).append(one)
    for day, together in as_of.items():
        usages, targets = [one.usage for one in together], [one.limits.targets for one in together]
        for one, outlook in zip(together, outlooks(parameters, usages, targets, day), strict=True):
            one.limits = one.limits.resting_on(outlook.basis)
            one.lines = lines_from(one.limits, outlook.windows, within_days)

"""Adds to due lines the chance that the item fails before the next likely visit, where records are firm."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from math import prod
from typing import TYPE_CHECKING

from fleetlog.domain.due import DEFAULT_WINDOW_DAYS, DueLine, FailureChance
from fleetlog.domain.fleet import EngineState, FleetState
from fleetlog.domain.lives import ItemLife
from fleetlog.domain.months import fine_months
from fleetlog.domain.usage import in_sight
from fleetlog.domain.words import name_key, same_place
from fleetlog.errors.life import AgesTellNoShape, NoLives
from fleetlog.life.enough import FIRM_FAILURES
from fleetlog.store.reader import Reader
from fleetlog.usecases.fleet import fleet_state
from fleetlog.usecases.lives.gathering import gathered, recorded_lives
from fleetlog.usecases.usage import usage_of

if TYPE_CHECKING:
    from fleetlog.life.fit import WeibullFit
    from fleetlog.life.lives import Unit

MOST_ENGINES = 2000
"""Of a larger fleet so many engines, evenly taken, tell how long parts last when one line asks."""

Line = tuple[str, str | None]
"""A line of an engine: the key of its rule, and its position."""

_UNITS: tuple[Unit, ...] = ("hours", "months")


Kind = tuple[str, str | None]
"""A kind of item on engines of a schedule: the key of its name, and the schedule's name."""


@dataclass(frozen=True)
class FirmFits:
    """The fits of kinds of item whose records give a firm answer, and the lives they are asked about."""

    fits: Mapping[Kind, WeibullFit]
    lives: Iterable[ItemLife]

    @classmethod
    def of(cls, lives: Sequence[ItemLife]) -> FirmFits:
        """What lives say of themselves."""
        return cls(firm_fits(lives), lives)

    @cached_property
    def running(self) -> Mapping[tuple[str, str], Sequence[ItemLife]]:
        """The lives that still run, by engine and kind of item."""
        found: dict[tuple[str, str], list[ItemLife]] = {}
        for life in self.lives:
            if life.ended_on is None and not life.doubt:
                found.setdefault((life.serial, name_key(life.item)), []).append(life)
        return found

    def fit(self, item: str, schedule: str | None) -> WeibullFit | None:
        """The fit of a kind on engines of a schedule; None where the records are not firm."""
        return self.fits.get((name_key(item), schedule))


def firm_fits(lives: Iterable[ItemLife]) -> dict[Kind, WeibullFit]:
    """The fits of kinds whose records give a firm answer, within one schedule each.

    Hours where they are firm, else months. Engines of different schedules are not thrown together.
    """
    groups: dict[Kind, list[ItemLife]] = {}
    for life in lives:
        groups.setdefault((name_key(life.item), life.conditions.schedule), []).append(life)
    fits = {kind: _firm_fit(group) for kind, group in groups.items()}
    return {kind: fit for kind, fit in fits.items() if fit is not None}


def _firm_fit(lives: Sequence[ItemLife]) -> WeibullFit | None:
    if sum(life.ended != "sound" for life in lives) < FIRM_FAILURES:
        return None
    from fleetlog.life.fit import fit_weibull

    for unit in _UNITS:
        try:
            of_unit = gathered(lives, unit).lives
            fit = fit_weibull(of_unit) if of_unit.failures >= FIRM_FAILURES else None
        except (NoLives, AgesTellNoShape):
            continue
        if fit is not None and fit.is_firm:
            return fit
    return None


def chances_on(reader: Reader, today: date, serial: str, item: str | None) -> dict[Line, FailureChance]:
    """The chances of one engine's lines, on a kind of item or on every kind, by rule and position.

    There are none without firm records. Engines of the same schedule tell how long a kind lasts,
    MOST_ENGINES of them at most.
    """
    engines = reader.engines()
    alike = [s for s, engine in engines.items() if engine.schedule_name == engines[serial].schedule_name]
    step = max(-(-len(alike) // MOST_ENGINES), 1)
    firm = FirmFits.of(recorded_lives(reader, today, dict.fromkeys([serial, *alike[::step]]), item).lives)
    if not firm.fits:
        return {}
    state = with_chances(fleet_state(reader, today, DEFAULT_WINDOW_DAYS, [serial]), firm)
    lines = (line for engine in state.engines for line in engine.lines)
    return {(line.rule.key, line.position): line.chance for line in lines if line.chance is not None}


def with_chances(state: FleetState, firm: FirmFits) -> FleetState:
    """The lines of engines with the chances that firm fits give them."""
    visits = {
        e.serial: day for e in state.engines if (day := next_visit_on(e.lines, state.today)) is not None
    }
    ahead = HoursAhead.of(state, {serial: [day] for serial, day in visits.items()})
    return FleetState(
        state.today,
        [_engine_with_chances(e, firm, ahead, state.today, visits.get(e.serial)) for e in state.engines],
    )


def _engine_with_chances(
    engine: EngineState, firm: FirmFits, ahead: HoursAhead, today: date, visit_on: date | None
) -> EngineState:
    if visit_on is None or engine.schedule is None:
        return engine
    lines = []
    for line in engine.lines:
        fit = firm.fit(line.rule.item, engine.schedule.name)
        share = None if fit is None else _share(fit, line, firm, ahead, today, visit_on)
        if fit is not None and share is not None:
            lives = round(float(fit.lives.weight.sum()))
            line = replace(line, chance=FailureChance(share, visit_on, lives))
        lines.append(line)
    return replace(engine, lines=lines)


def next_visit_on(lines: Iterable[DueLine], today: date) -> date | None:
    """The day after today on which an engine likely comes in next: the first likely date of its lines."""
    days = (line.likely_on for line in lines)
    return min((day for day in map(in_sight, days) if day is not None and day > today), default=None)


def _share(
    fit: WeibullFit, line: DueLine, firm: FirmFits, ahead: HoursAhead, today: date, visit_on: date
) -> float | None:
    """The chance that any of the items a line speaks of fails before a day."""
    items = [
        life
        for life in firm.running.get((line.serial, name_key(line.rule.item)), ())
        if same_place(line.position, life.position)
    ]
    chances = [chance_of(fit, life, ahead, today, visit_on) for life in items]
    known = [chance for chance in chances if chance is not None]
    return None if not known or len(known) < len(chances) else 1 - prod(1 - chance for chance in known)


def chance_of(
    fit: WeibullFit, life: ItemLife, ahead: HoursAhead, today: date, until_on: date
) -> float | None:
    """The chance that an item fitted now fails after today and by a day; None where its age is not known."""
    if fit.unit == "months":
        if life.age.months is None:
            return None
        further = fine_months((until_on - today).days)
        return float(fit.weibull.chance_of_failure(life.age.months, further))
    now, then = ahead.hours(life.serial, today), ahead.hours(life.serial, until_on)
    if life.age.hours is None or now is None or then is None:
        return None
    return float(fit.weibull.chance_of_failure(life.age.hours + now, max(then - now, 0.0)))


@dataclass(frozen=True, slots=True)
class HoursAhead:
    """Hours likely run since the last reading by given days, worked out for many engines together."""

    found: Mapping[tuple[str, date], float | None]

    @classmethod
    def of(cls, state: FleetState, days: Mapping[str, Sequence[date]]) -> HoursAhead:
        """For each engine by today and by the days given for it."""
        from fleetlog.forecast.ahead import hours_to
        from fleetlog.forecast.engine import EngineForecast

        asked = [
            (e, e.forecast.parameters, [state.today, *days[e.serial]])
            for e in state.engines
            if e.serial in days and isinstance(e.forecast, EngineForecast)
        ]
        if not asked:
            return cls({})
        usages = [usage_of(engine.ledger, engine.seen) for engine, _, _ in asked]
        hours = hours_to(asked[0][1], usages, [wanted for _, _, wanted in asked], state.today)
        return cls(
            {
                (engine.serial, day): run
                for (engine, _, wanted), runs in zip(asked, hours, strict=True)
                for day, run in zip(wanted, runs, strict=True)
            }
        )

    def hours(self, serial: str, day: date) -> float | None:
        """Hours of an engine by one of its days; None where no reading tells."""
        return self.found.get((serial, day))

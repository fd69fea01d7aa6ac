"""When work comes round again after its next turn, for as many turns as are asked for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from fleetlog.domain.due import DueLine
from fleetlog.domain.fleet import EngineState, FleetState
from fleetlog.domain.hours import Tenths
from fleetlog.domain.interval import interval_limits, severe_factor
from fleetlog.domain.months import add_months
from fleetlog.domain.usage import NOT_IN_SIGHT, DateWindow, HoursTarget, first_window
from fleetlog.domain.words import NEXT_ACCESS, NO_RECORD, OVERDUE
from fleetlog.usecases.usage import usage_of


@dataclass(frozen=True, slots=True)
class Turns:
    """From where the turns of a line count on, and its regular interval; None where there is no limit."""

    serial: str
    base_on: date | None
    months: int | None
    base_tenths: Tenths | None
    tenths: Tenths | None

    def target(self, turn: int) -> HoursTarget | None:
        """The engine hours of a turn."""
        if self.base_tenths is None or not self.tenths:
            return None
        return HoursTarget(self.base_tenths + self.tenths * turn)

    def day(self, turn: int) -> date | None:
        """The calendar limit of a turn."""
        if self.base_on is None or not self.months:
            return None
        return add_months(self.base_on, self.months * turn)


def turns_of(engine: EngineState, line: DueLine, today: date) -> Turns | None:
    """The turns of a line after its next; each counts the regular interval from the one before.

    Work that is due already counts from today. None where the work does not come round.
    """
    rule = line.rule
    if rule.once or rule.renew_when_disturbed or line.state == NEXT_ACCESS:
        return None
    interval = interval_limits(rule, severe_factor(rule, engine.facts.boat), False)
    months = 12 if rule.season is not None else interval.months
    last = engine.facts.last_reading
    is_now = line.state in (OVERDUE, NO_RECORD) or (line.likely_on is not None and line.likely_on < today)
    base_on = today if is_now else line.due_on
    tenths = None if last is None else last.tenths
    base_tenths = tenths if is_now else line.due_tenths
    turns = Turns(line.serial, base_on, months, base_tenths if tenths is not None else None, interval.tenths)
    return None if turns.target(1) is None and turns.day(1) is None else turns


def windows_of_turns(
    state: FleetState, every: Sequence[Turns], numbers: Sequence[int]
) -> list[list[DateWindow]]:
    """The windows of these turns of each line, all engines worked out together."""
    from fleetlog.forecast.engine import EngineForecast
    from fleetlog.forecast.many import outlooks

    asked: dict[str, list[HoursTarget]] = {}
    for turns in every:
        targets = (turns.target(n) for n in numbers)
        asked.setdefault(turns.serial, []).extend(t for t in targets if t is not None)
    engines = [e for e in state.engines if asked.get(e.serial) and isinstance(e.forecast, EngineForecast)]
    parameters = [e.forecast.parameters for e in engines if isinstance(e.forecast, EngineForecast)]
    found: dict[str, Iterator[DateWindow]] = {}
    if engines:
        usages = [usage_of(engine.ledger, engine.seen) for engine in engines]
        targets_of = [asked[engine.serial] for engine in engines]
        for engine, outlook in zip(
            engines, outlooks(parameters[0], usages, targets_of, state.today), strict=True
        ):
            found[engine.serial] = iter(outlook.windows)
    return [[_met(turns, n, found) for n in numbers] for turns in every]


def _met(turns: Turns, number: int, found: Mapping[str, Iterator[DateWindow]]) -> DateWindow:
    """The first of both limits of a turn; not in sight where there is none."""
    day = turns.day(number)
    ahead = [] if day is None else [DateWindow.of_day(day)]
    if turns.target(number) is not None and turns.serial in found:
        ahead.append(next(found[turns.serial]))
    if not ahead:
        return DateWindow.of_day(NOT_IN_SIGHT)
    return first_window(ahead)

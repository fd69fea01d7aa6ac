"""The forecast of one engine, as the interval engine and the reports ask for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np

from fleetlog.domain.usage import DateWindow, HoursTarget
from fleetlog.forecast.basis import bases_in_words
from fleetlog.forecast.evidence import Days, EngineUsage, FleetUsage
from fleetlog.forecast.fleet import FleetForecast
from fleetlog.forecast.many import estimate, monthly_hours
from fleetlog.forecast.parameters import FleetParameters


@dataclass(frozen=True, slots=True)
class HoursEstimate:
    """Engine hours in tenths on a day, exceeded with a chance of 90, 50 and 10 %. An estimate, no reading."""

    low_tenths: int
    middle_tenths: int
    high_tenths: int


@dataclass(frozen=True, slots=True)
class MonthHours:
    """Expected hours of a calendar month, named by its first day; of the present month, those after today."""

    month_on: date
    hours: float


class EngineForecast:
    """What one engine is expected to run, as known on one day; implements `UsageForecast`.

    Its first answer takes some milliseconds and fits nothing: `parameters` are those of the fleet, and say
    when they were fitted. Readings after `today` are not seen. Of many engines ask `forecast.many`.
    """

    def __init__(self, parameters: FleetParameters, usage: EngineUsage, today: date) -> None:
        self.parameters = parameters
        self._usage, self._today = usage, today
        self._readings = [r for r in usage.readings if r[0] <= today] if usage.metered else []

    @cached_property
    def _fleet(self) -> FleetForecast:
        return FleetForecast(self.parameters, FleetUsage.of([self._usage]), self._today)

    def windows(self, targets: Sequence[HoursTarget]) -> Sequence[DateWindow]:
        """The days by which each target is reached with a chance of 10, 50 and 90 %, in the order given.

        Hours count from the last reading, or from the target's own `since`; without either from today.
        """
        if not targets:
            return []
        start = self._readings[-1][0] if self._readings else self._today
        shown = self._readings[-1][1] if self._readings else 0
        since = [(target.since or start).toordinal() for target in targets]
        hours = [float(t.tenths - (0 if t.since else shown)) / 10 for t in targets]
        days = self._fleet.windows(
            np.zeros(len(targets), dtype=np.int64), np.maximum(np.array(hours), 0.0), np.array(since)
        )
        return [
            DateWindow(*(date.fromordinal(int(day)) for day in window)) for window in zip(*days, strict=True)
        ]

    def hours_on(self, day: date) -> HoursEstimate | None:
        """Estimated engine hours at the end of a day; None before the last reading or where there is none."""
        if not self._readings or day < self._readings[-1][0]:
            return None
        found = self._fleet.hours_by(_FIRST, np.array([day.toordinal()]), (0.9, 0.5, 0.1))
        return HoursEstimate(*estimate(self._readings[-1][1], *(hours[0] for hours in found)))

    def monthly_hours(self, months: int) -> list[MonthHours]:
        """Expected hours of the next `months` calendar months, the rest of the present one included."""
        return [MonthHours(*month) for month in monthly_hours(self._fleet, self._today, months)[0]]

    def annual_hours(self) -> float:
        """Expected hours of the year that begins today."""
        today = np.array([self._today.toordinal()])
        return float(self._fleet.expected_hours(_FIRST, today, today + 365)[0])

    def alike_annual_hours(self) -> float:
        """Hours a year of engines of the same use on average, lay-ups aside."""
        return float(self._fleet.alike_annual_hours()[0])

    def basis(self) -> str:
        """In plain words, what the forecast rests on."""
        return bases_in_words(self._fleet, [self._usage])[0]


_FIRST: Days = np.zeros(1, dtype=np.int64)

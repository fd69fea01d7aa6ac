"""The forecast of one engine, as the interval engine and the reports ask for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from fleetlog.domain.usage import DateWindow, HoursTarget
from fleetlog.forecast.evidence import NEVER, Days, EngineUsage, FleetUsage
from fleetlog.forecast.fleet import FleetForecast
from fleetlog.forecast.parameters import FleetParameters
from fleetlog.forecast.season import YEAR_DAYS, assumed_layup


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

    It takes some milliseconds and fits nothing: `parameters` are those of the fleet, and say when they were
    fitted. Readings after `today` are not seen.
    """

    def __init__(self, parameters: FleetParameters, usage: EngineUsage, today: date) -> None:
        self.parameters = parameters
        self._usage, self._today = usage, today
        self._readings = [r for r in usage.readings if r[0] <= today] if usage.metered else []
        self._fleet = FleetForecast(parameters, FleetUsage.of([usage]), today)

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
        shown = float(self._readings[-1][1])
        found = self._fleet.hours_by(_FIRST, np.array([day.toordinal()]), (0.9, 0.5, 0.1))
        return HoursEstimate(*(round(shown + 10 * float(hours[0])) for hours in found))

    def monthly_hours(self, months: int) -> list[MonthHours]:
        """Expected hours of the next `months` calendar months, the rest of the present one included."""
        firsts, lasts = [], []
        before = self._today
        for _ in range(months):
            month_on = (before + timedelta(days=1)).replace(day=1)
            firsts.append(month_on)
            before = (month_on + timedelta(days=31)).replace(day=1) - timedelta(days=1)
            lasts.append(before.toordinal())
        ends: Days = np.array([self._today.toordinal(), *lasts], dtype=np.int64)
        engine = np.zeros(months, dtype=np.int64)
        hours = self._fleet.expected_hours(engine, ends[:-1], ends[1:])
        return [MonthHours(month_on, float(h)) for month_on, h in zip(firsts, hours, strict=True)]

    def annual_hours(self) -> float:
        """Expected hours of the year that begins today."""
        today = np.array([self._today.toordinal()])
        return float(self._fleet.expected_hours(_FIRST, today, today + 365)[0])

    def alike_annual_hours(self) -> float:
        """Hours a year of engines of the same use on average, lay-ups aside."""
        alike = self._fleet.beliefs
        return float(np.exp(alike.alike_mean[0] + alike.alike_variance[0] / 2) * YEAR_DAYS)

    def basis(self) -> str:
        """In plain words, what the forecast rests on."""
        known = self._usage.use and self._usage.use in self.parameters.uses
        alike = f"{self._usage.use} engines" if known else "engines of this log"
        if self.parameters.readings == 0:
            alike = "outboards in general"
        parts = [
            self._readings_in_words(),
            f"{alike} run {self.alike_annual_hours():.0f} h a year on average, this one is expected to run"
            f" {self.annual_hours():.0f} h in the next twelve months",
            self._layup_in_words(),
        ]
        changed = self._usage.changed_on
        if changed and changed <= self._today and self._readings:
            parts.append(
                f"owner, boat or use changed on {changed.isoformat()}, so readings before count less"
            )
        return "; ".join(parts)

    def _readings_in_words(self) -> str:
        if not self._usage.metered:
            return "no hour meter"
        if not self._readings:
            return "no reading yet"
        last = self._readings[-1][0].isoformat()
        if len(self._readings) == 1:
            return f"1 reading, on {last}"
        idle = ", without use for long" if bool(self._fleet.idle[0]) else ""
        return f"{len(self._readings)} readings, the last on {last}{idle}"

    def _layup_in_words(self) -> str:
        ahead = [(begin, end) for begin, end in self._usage.layups if end is None or end > self._today]
        if ahead:
            begin, end = min(ahead, key=lambda layup: layup[0])
            until = f"to {end.isoformat()}" if end else "until further notice"
            return f"lay-up recorded from {begin.isoformat()} {until}"
        assumed = assumed_layup(
            [(b.toordinal(), e.toordinal() if e else NEVER) for b, e in self._usage.layups],
            self._today.toordinal(),
        )
        if assumed:
            begin, end = (date.fromordinal(day) for day in assumed)
            return f"lay-up assumed from {begin.isoformat()} to {end.isoformat()}, as recorded before"
        return "no lay-up recorded, the season as read"


_FIRST: Days = np.zeros(1, dtype=np.int64)

"""The forecast of one engine, as the interval engine asks for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from scipy.special import gammaincinv

from fleetlog.domain.usage import DateWindow, HoursTarget
from fleetlog.forecast.evidence import EngineUsage
from fleetlog.forecast.fit import PRIOR_HOURS_PER_YEAR
from fleetlog.forecast.parameters import FleetParameters

HORIZON_DAYS = 14_610
"""Dates lie at most 40 years ahead of the day they are asked on."""


@dataclass(frozen=True, slots=True)
class HoursEstimate:
    """Engine hours in tenths on a day: reached with a chance of 90, 50 and 10 %. An estimate, no reading."""

    low_tenths: int
    middle_tenths: int
    high_tenths: int


@dataclass(frozen=True, slots=True)
class MonthHours:
    """Expected hours of one calendar month, named by its first day; the first month counts from today."""

    month_on: date
    hours: float


class EngineForecast:
    """What one engine is expected to run, as known on one day; implements `UsageForecast`."""

    def __init__(self, parameters: FleetParameters, usage: EngineUsage, today: date) -> None:
        self._usage, self._today = usage, today
        self._readings = [r for r in usage.readings if r[0] <= today] if usage.metered else []
        self._alike = parameters.annual_hours.get(usage.use or "", PRIOR_HOURS_PER_YEAR) / 365.25
        ran, days = 0.0, 0
        if len(self._readings) > 1:
            (first, low), (last, high) = self._readings[0], self._readings[-1]
            ran, days = float(high - low) / 10, self._exposed(first, last)
        self._dispersion = parameters.dispersion_hours
        self._shape = (
            parameters.years_worth * 365.25 * self._alike / self._dispersion + ran / self._dispersion
        )
        self._rate = self._shape * self._dispersion / (parameters.years_worth * 365.25 + days)

    def _open_days(self, start: date, end: date) -> np.ndarray:
        first, last = start.toordinal() + 1, end.toordinal()
        afloat = np.ones(max(last - first + 1, 0))
        for begin, until in self._usage.layups:
            stop = until.toordinal() if until else last + 1
            afloat[max(begin.toordinal() - first, 0) : max(stop - first, 0)] = 0
        return afloat

    def _exposed(self, start: date, end: date) -> int:
        return int(self._open_days(start, end).sum())

    def windows(self, targets: Sequence[HoursTarget]) -> Sequence[DateWindow]:
        """The days by which each target is reached with a chance of 10, 50 and 90 %, in the order given."""
        return [self._window(target) for target in targets]

    def _window(self, target: HoursTarget) -> DateWindow:
        if target.since is not None or not self._readings:
            start, hours = target.since or self._today, float(target.tenths) / 10
        else:
            start, shown = self._readings[-1]
            hours = float(target.tenths - shown) / 10
        end = self._today + timedelta(days=HORIZON_DAYS)
        exposure = np.cumsum(self._open_days(start, end))
        likely = hours / self._rate
        spread = 1 / self._shape + self._dispersion / max(hours, 0.1)
        dates = []
        for share in (0.1, 0.5, 0.9):
            need = likely * gammaincinv(1 / spread, share) * spread
            at = min(int(np.searchsorted(exposure, need)), len(exposure) - 1)
            dates.append(start + timedelta(days=1 + at))
        return DateWindow(*dates)

    def hours_on(self, day: date) -> HoursEstimate | None:
        """Estimated engine hours on a day from the last reading on; None where no meter was ever read."""
        if not self._readings or day < self._readings[-1][0]:
            return None
        start, shown = self._readings[-1]
        mean = self._rate * self._exposed(start, day)
        spread = 1 / self._shape + self._dispersion / max(mean, 0.1)
        more = [10 * mean * float(gammaincinv(1 / spread, share)) * spread for share in (0.1, 0.5, 0.9)]
        return HoursEstimate(*(round(float(shown) + tenths) for tenths in more))

    def monthly_hours(self, months: int) -> list[MonthHours]:
        """Expected hours of each of the next `months` calendar months, the rest of this one included."""
        found = []
        before = self._today
        for _ in range(months):
            month_on = (before + timedelta(days=1)).replace(day=1)
            last = (month_on + timedelta(days=31)).replace(day=1) - timedelta(days=1)
            found.append(MonthHours(month_on, self._rate * self._exposed(before, last)))
            before = last
        return found

    def basis(self) -> str:
        """In plain words, what the forecast rests on."""
        alike = f"alike engines run about {self._alike * 365.25:.0f} h a year"
        if not self._usage.metered:
            return f"no hour meter; {alike}"
        if not self._readings:
            return f"no reading yet; {alike}"
        count = len(self._readings)
        last, _ = self._readings[-1]
        noun = "reading" if count == 1 else "readings"
        return f"{count} {noun}, the last on {last.isoformat()}; {alike}"

"""What a forecast can say beyond the due dates: hours on days to come and in months to come.

A forecast that answers only the interval engine's questions gives no curve ahead, and the pages leave it
out.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Protocol, runtime_checkable

from fleetlog.domain.months import add_months
from fleetlog.domain.usage import UsageForecast
from fleetlog.reports.meter_chart import HoursAhead

MONTHS_AHEAD = 12


class _Estimate(Protocol):
    @property
    def low_tenths(self) -> int: ...
    @property
    def middle_tenths(self) -> int: ...
    @property
    def high_tenths(self) -> int: ...


class _Month(Protocol):
    @property
    def month_on(self) -> date: ...
    @property
    def hours(self) -> float: ...


@runtime_checkable
class UsageOutlook(Protocol):
    """A forecast that also tells estimated hours by day and expected hours by month."""

    def hours_on(self, day: date) -> _Estimate | None:
        """Estimated engine hours on a day; None where no meter was ever read."""

    def monthly_hours(self, months: int) -> Sequence[_Month]:
        """Expected hours of each of the next months."""


def hours_today(forecast: UsageForecast, today: date) -> HoursAhead | None:
    """The hours an engine is reckoned to have on a day, from its last reading on."""
    if not isinstance(forecast, UsageOutlook):
        return None
    estimate = forecast.hours_on(today)
    if estimate is None:
        return None
    return HoursAhead(today, estimate.low_tenths / 10, estimate.middle_tenths / 10, estimate.high_tenths / 10)


def hours_ahead(forecast: UsageForecast, last_on: date, today: date) -> list[HoursAhead]:
    """Estimated hours from the last reading to a year from today, month by month."""
    days = [last_on, *([today] if today > last_on else [])]
    days += [add_months(today, n) for n in range(1, MONTHS_AHEAD + 1)]
    found = (hours_today(forecast, day) for day in days)
    return [estimate for estimate in found if estimate is not None]


def months_ahead(forecast: UsageForecast) -> list[tuple[date, float]]:
    """Expected hours of the months to come, each named by its first day."""
    if not isinstance(forecast, UsageOutlook):
        return []
    return [(month.month_on, month.hours) for month in forecast.monthly_hours(MONTHS_AHEAD)]

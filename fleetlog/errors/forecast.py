"""Refusals of the forecast of use and of its backtest."""

from __future__ import annotations

from datetime import date

from fleetlog.errors import FleetlogError, counted


class UsageArraysDisagree(FleetlogError):
    """Arrays of a fleet's use whose sizes or order cannot belong together."""

    def __init__(self, name: str, engines: int, rows: int) -> None:
        super().__init__(
            f"usage of {engines} engines: {name} does not fit {rows} rows; give one more offset than engines,"
            " from 0 to the number of rows, and rows sorted by day within each engine"
        )


class DayNotPast(FleetlogError):
    """A day to forecast from that nothing can have followed yet."""

    def __init__(self, day: date, today: date) -> None:
        super().__init__(
            f"{day.isoformat()} is not before today, {today.isoformat()}, so no later reading can tell how a"
            " forecast of that day came out; give a past day"
        )


class DayBeforeReadings(FleetlogError):
    """A day to forecast from on which nothing had been read yet."""

    def __init__(self, day: date, first: date) -> None:
        super().__init__(
            f"{day.isoformat()} is before the first reading, of {first.isoformat()}, so there is nothing to"
            " forecast from; give a later day"
        )


class EveryHoursNone(FleetlogError):
    """Multiples of no hours."""

    def __init__(self) -> None:
        super().__init__("multiples of 0 h are never ahead; give --every more than 0, such as 50")


class NoDayToStandOn(FleetlogError):
    """A log too small for days to be chosen to forecast from."""

    def __init__(self, engines: int, readings: int, enough: int, such_as: date) -> None:
        super().__init__(
            f"no quarter of the last three years began with {enough} readings taken:"
            f" {counted(readings, 'reading')} of {counted(engines, 'engine')} so far; name a day to forecast"
            f" from, such as --stand-on {such_as.isoformat()}"
        )


class NothingToJudge(FleetlogError):
    """A log whose readings tell nothing about past forecasts."""

    def __init__(self, engines: int, readings: int) -> None:
        super().__init__(
            f"no reading tells how a past forecast came out: {counted(readings, 'reading')} of"
            f" {counted(engines, 'engine')} so far;"
            " it takes engines with limits in hours (or --every HOURS) that were read over some months"
        )

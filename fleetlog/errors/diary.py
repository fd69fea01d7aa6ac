"""Refusals of the shop's diary."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from fleetlog.errors import FleetlogError, first_of


class PlanPeriodReversed(FleetlogError):
    """A plan asked for days of which the last comes before the first."""

    def __init__(self, from_on: date, to_on: date) -> None:
        super().__init__(f"a plan from {from_on} to {to_on} has no days; give the earlier day first")


class PlanPeriodTooLong(FleetlogError):
    """A plan asked for more days than are planned at once."""

    def __init__(self, days: int, most: int) -> None:
        super().__init__(f"a plan of {days:,} days is too long; plan {most} days at most, by --to")


class PlanBeyondCalendar(FleetlogError):
    """A plan that would reach beyond the days that are recorded."""

    def __init__(self, from_on: date, to_on: date, last_year: int) -> None:
        super().__init__(
            f"a plan from {from_on} to {to_on} goes beyond the year {last_year}, the last that is recorded;"
            f" say --to {last_year}-12-31"
        )


class VisitNamedTwice(FleetlogError):
    """Two visits of a plan, asked for or booked, have the same id."""

    def __init__(self, visit_id: str) -> None:
        super().__init__(f"visit {visit_id} is there twice; leave out the one that is booked already")


class WhatIfNotUnderstood(FleetlogError):
    """A change to try on the shop that is not of a known form."""

    def __init__(self, text: str, forms: str) -> None:
        super().__init__(f"what to try with {text!r} is not clear; write it like one of: {forms}")


class WhatIfTooMany(FleetlogError):
    """More taken away from the shop, to try it, than it has."""

    def __init__(self, what: str, asked: int, there: int) -> None:
        super().__init__(f"{asked} of {what} cannot be taken away, as the shop has {there}; try fewer")


class NoShop(FleetlogError):
    """The log does not know the shop that is to be planned for."""

    def __init__(self) -> None:
        super().__init__(
            "the log does not know the shop yet: put its technicians, bays and hours into shop/shop.toml of a"
            " folder (fleetlog diary shop --template shows one) and take it in with fleetlog import"
        )


class ShopInLogUnreadable(FleetlogError):
    """A shop's set-up in the log that this version cannot read."""

    def __init__(self, revision: int, problems: Sequence[str]) -> None:
        super().__init__(
            f"shop, revision {revision}: {first_of(problems)}; import a later revision that is whole"
        )


class PlanNotSound(FleetlogError):
    """A plan that the independent check found at fault."""

    def __init__(self, texts: Sequence[str]) -> None:
        super().__init__(
            f"the plan was found to break a rule of the shop: {first_of(texts)};"
            " nothing was kept, report this with an export of the log"
        )


class NoPlan(FleetlogError):
    """Nothing has been planned yet."""

    def __init__(self) -> None:
        super().__init__("there is no plan yet; make one with fleetlog diary plan")


class NotInPlan(FleetlogError):
    """A visit to be booked that the latest plan has no day for."""

    def __init__(self, typed: str, why: str | None) -> None:
        reason = f"the latest plan has no day for it ({why})" if why else "the latest plan does not have it"
        super().__init__(f"{typed!r}: {reason}; give a day with --on, and --hours")


class SlotNotFree(FleetlogError):
    """A booking that does not fit where it was wanted."""

    def __init__(self, problems: Sequence[str]) -> None:
        super().__init__(f"{first_of(problems)}; choose another time, or say --anyway and --reason")


class NoFreeTime(FleetlogError):
    """A day without a stretch that is long enough."""

    def __init__(self, on: date, hours: str, next_on: date | None) -> None:
        other = "choose another day" if next_on is None else f"the next day with room is {next_on}"
        super().__init__(
            f"nobody who can do it has {hours} h free on {on} at a place that suits;"
            f" {other}, or name technician, place and time and say --anyway and --reason"
        )


class BookingEnded(FleetlogError):
    """A booking that was released or done before."""

    def __init__(self, booking_id: str, change: str, on: date) -> None:
        super().__init__(f"booking {booking_id} was {change} on {on}; fleetlog diary book makes another")


class RateNotKnown(FleetlogError):
    """An estimate without a rate."""

    def __init__(self) -> None:
        super().__init__("the shop has no rate_per_hour, so nothing can be estimated; add it to shop.toml")


class TimeZoneNotKnown(FleetlogError):
    """A calendar of a shop that does not say its time zone."""

    def __init__(self) -> None:
        super().__init__(
            "the shop has no time_zone, so no calendar can say when a visit begins; add it to shop.toml, such"
            ' as time_zone = "Etc/UTC", raise the revision, and import the folder again'
        )


class CalendarNotWritten(FleetlogError):
    """A calendar or mail file that cannot be written."""

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(f"{path} could not be written: {reason}; give another place with --out")


class BookedAlready(FleetlogError):
    """Work to be booked that a booking holds."""

    def __init__(self, typed: str, booking_id: str, on: date) -> None:
        super().__init__(
            f"work of {typed!r} is in booking {booking_id} on {on} already;"
            " move that one with fleetlog diary move, or release it first"
        )

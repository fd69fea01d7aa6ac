"""Describes a time zone in a calendar file (VTIMEZONE, RFC 5545, 3.6.5), for the years of its visits."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from icalendar import Timezone


def zone_component(zone: ZoneInfo, first_year: int, last_year: int) -> Timezone:
    """The zone's clock from the beginning of one year to the end of another.

    Each change is an observance of its own. Its onset is told by the clock that is left (TZOFFSETFROM), as
    the standard asks: 02:00 for a spring in which two becomes three.
    """
    from icalendar import Timezone, TimezoneDaylight, TimezoneStandard

    component = Timezone()
    component.add("tzid", zone.key)
    begins_at = datetime(first_year, 1, 1, tzinfo=UTC)
    for at, before in [(begins_at, begins_at), *_changes(zone, first_year, last_year)]:
        local = at.astimezone(zone)
        offset_from = before.astimezone(zone).utcoffset() or timedelta()
        observance = TimezoneDaylight() if local.dst() else TimezoneStandard()
        observance.add("dtstart", (at + offset_from).replace(tzinfo=None))
        observance.add("tzoffsetfrom", offset_from)
        observance.add("tzoffsetto", local.utcoffset() or timedelta())
        observance.add("tzname", local.tzname() or zone.key)
        component.add_component(observance)
    return component


def _changes(zone: ZoneInfo, first_year: int, last_year: int) -> Iterator[tuple[datetime, datetime]]:
    """The moments at which the offset changes, to the minute, each with a moment shortly before."""
    day = datetime(first_year, 1, 1, tzinfo=UTC)
    while day.year <= last_year:
        next_day = day + timedelta(days=1)
        if day.astimezone(zone).utcoffset() != next_day.astimezone(zone).utcoffset():
            low, high = day, next_day
            while high - low > timedelta(minutes=1):
                middle = low + timedelta(minutes=(high - low) // timedelta(minutes=2))
                if middle.astimezone(zone).utcoffset() == low.astimezone(zone).utcoffset():
                    low = middle
                else:
                    high = middle
            yield high, low
        day = next_day

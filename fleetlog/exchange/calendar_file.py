"""Writes visits as an iCalendar file (RFC 5545): a re-import updates, since UID and SEQUENCE are stable.

The rows of a booking after the first are its SEQUENCE, the UID is made from its id and its first moment.
There is no METHOD, and DTSTAMP is the moment of the last change: the same bookings give the same file.
Proposed days are tentative under a UID that stays from plan to plan, and cancelled once a plan or a booking
ends them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from fleetlog.exchange.calendar_zone import zone_component

UIDS = UUID("6f0c2b3e-5d0b-4f65-9c5e-1d9f3a0c7a11")
"""The name space of our UIDs; they say nothing of a host or a person (RFC 7986, 5.3)."""

CONFIRMED, TENTATIVE, CANCELLED = "CONFIRMED", "TENTATIVE", "CANCELLED"

IN_UTC = ("UTC", "Etc/UTC")
"""Zones whose times are written in UTC, without a zone in the file."""

PRODUCT = "-//fleetlog//shop diary//EN"


@dataclass(frozen=True, slots=True)
class CalendarVisit:
    """One visit of a calendar. `from_tenths` (of an hour since midnight) is None for the whole day.

    `status` is confirmed, tentative for one that is only proposed, or cancelled. `changed_at` is the moment
    of its last change, `sequence` the number of changes after the first.
    """

    uid: str
    sequence: int
    changed_at: datetime
    on: date
    from_tenths: int | None
    tenths: int
    summary: str
    description: str = ""
    location: str = ""
    status: str = CONFIRMED


def visit_uid(booking_id: str, booked_at: datetime) -> str:
    """The UID of a booking: the same for ever, and another for another log's booking of that id."""
    return str(uuid5(UIDS, f"{booking_id} {booked_at.astimezone(UTC).isoformat()}"))


def proposal_uid(shop: str, visit: str) -> str:
    """The UID of a visit that plans propose: the same from plan to plan."""
    return str(uuid5(UIDS, f"proposed {shop} {visit}"))


def calendar_text(name: str, visits: Sequence[CalendarVisit], time_zone: str) -> bytes:
    """The calendar as UTF-8 with CRLF; times stand in the shop's time zone, described inside."""
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("name", _one_line(name))
    calendar.add("x-wr-calname", _one_line(name))
    zone = ZoneInfo(time_zone)
    timed = [visit.on.year for visit in visits if visit.from_tenths is not None]
    if timed and time_zone not in IN_UTC:
        calendar.add_component(zone_component(zone, min(timed) - 1, max(timed) + 1))
    for visit in visits:
        event = Event()
        event.add("uid", visit.uid)
        event.add("sequence", visit.sequence)
        changed_at = visit.changed_at.astimezone(UTC).replace(microsecond=0)
        event.add("dtstamp", changed_at)
        event.add("last-modified", changed_at)
        if visit.from_tenths is None:
            event.add("dtstart", visit.on)
            event.add("dtend", visit.on + timedelta(days=1))
        else:
            start = datetime.combine(visit.on, time(), zone) + timedelta(minutes=6 * visit.from_tenths)
            event.add("dtstart", start)
            event.add("dtend", start + timedelta(minutes=6 * visit.tenths))
        event.add("summary", _one_line(visit.summary))
        if visit.description:
            event.add("description", _clean(visit.description))
        if visit.location:
            event.add("location", _one_line(visit.location))
        event.add("status", visit.status)
        event.add("transp", "TRANSPARENT" if visit.status == CANCELLED else "OPAQUE")
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def _clean(text: str) -> str:
    """A text without the control characters that a calendar may not hold (RFC 5545, 3.1)."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(c for c in lines if c == "\n" or (c >= " " and c != "\x7f"))


def _one_line(text: str) -> str:
    return _clean(" ".join(text.split()))

"""Calendars, read back by another library than the one that writes them, and held to RFC 5545 by lines."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from zoneinfo import ZoneInfo

import pytest
import vobject
from dateutil.tz import tzical
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetlog.exchange.calendar_file import CANCELLED, TENTATIVE, CalendarVisit, calendar_text, visit_uid

AT = datetime(2026, 4, 1, 7, 30, 15, 999, tzinfo=UTC)


def visit(**changes):
    facts = {
        "uid": visit_uid("b1", AT),
        "sequence": 2,
        "changed_at": AT,
        "on": date(2026, 4, 22),
        "from_tenths": 85,
        "tenths": 25,
        "summary": "Sea Spray",
    }
    return CalendarVisit(**{**facts, **changes})


def events(content):
    return list(vobject.readOne(content.decode()).vevent_list)


def unfolded(content):
    """The content lines, after checks that hold for every file."""
    assert content.endswith(b"\r\n")
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert b"\r" not in content.replace(b"\r\n", b"")
    for line in content.split(b"\r\n"):
        assert len(line) <= 75
        line.decode()
        assert not re.search(rb"[\x00-\x08\x0a-\x1f\x7f]", line)
    return content.decode().replace("\r\n ", "").split("\r\n")[:-1]


def test_a_visit_with_an_hour_stands_in_the_time_zone_of_the_shop():
    content = calendar_text("Workshop", [visit(location="bay 1", description="one\ntwo")], "Europe/Paris")
    (event,) = events(content)
    assert event.dtstart.value == datetime(2026, 4, 22, 8, 30, tzinfo=ZoneInfo("Europe/Paris"))
    assert event.dtend.value - event.dtstart.value == timedelta(hours=2.5)
    assert event.dtstart.value.utcoffset() == timedelta(hours=2)
    assert (event.location.value, event.description.value) == ("bay 1", "one\ntwo")
    lines = unfolded(content)
    assert "DTSTART;TZID=Europe/Paris:20260422T083000" in lines
    assert "TZID:Europe/Paris" in lines
    assert "DTSTAMP:20260401T073015Z" in lines
    assert "SEQUENCE:2" in lines
    assert "STATUS:CONFIRMED" in lines
    assert lines[:2] == ["BEGIN:VCALENDAR", "VERSION:2.0"]
    assert sum(line.startswith(("PRODID:", "VERSION:")) for line in lines) == 2


@pytest.mark.parametrize(
    ("on", "hours"), [(date(2026, 3, 28), 1), (date(2026, 3, 30), 2), (date(2026, 10, 26), 1)]
)
def test_the_clock_is_that_of_the_day_before_and_after_it_changes(on, hours):
    (event,) = events(calendar_text("W", [visit(on=on)], "Europe/Paris"))
    assert event.dtstart.value.utcoffset() == timedelta(hours=hours)
    assert event.dtstart.value.hour == 8


def zone_of(content):
    """The clock that the file itself describes, read by another library."""
    text = content.decode().replace("\r\n", "\n")
    begin, end = text.index("BEGIN:VTIMEZONE"), text.index("END:VTIMEZONE") + len("END:VTIMEZONE\n")
    return tzical(StringIO(text[begin:end])).get()


@pytest.mark.parametrize(
    "name", ["Europe/Paris", "America/St_Johns", "Australia/Lord_Howe", "Africa/Casablanca", "Asia/Kolkata"]
)
def test_the_zone_in_the_file_has_the_clock_of_every_hour_of_its_years(name):
    clock, own = ZoneInfo(name), zone_of(calendar_text("W", [visit()], name))
    hours = (datetime(2025, 1, 2) + timedelta(hours=n) for n in range(3 * 8760 - 48))
    wrong = [at for at in hours if at.replace(tzinfo=own).utcoffset() != at.replace(tzinfo=clock).utcoffset()]
    ambiguous_or_skipped = {
        at
        for at in wrong
        if at.replace(tzinfo=clock, fold=0).utcoffset() != at.replace(tzinfo=clock, fold=1).utcoffset()
    }
    assert set(wrong) == ambiguous_or_skipped


def test_a_change_of_the_clock_is_told_by_the_clock_that_is_left():
    lines = unfolded(calendar_text("W", [visit()], "Europe/Paris"))
    begins = [lines[n + 1] for n, line in enumerate(lines) if line in ("BEGIN:DAYLIGHT", "BEGIN:STANDARD")]
    assert "DTSTART:20260329T020000" in begins
    assert "DTSTART:20261025T030000" in begins


def test_a_proposed_visit_is_tentative():
    lines = unfolded(calendar_text("W", [visit(status=TENTATIVE)], "Etc/UTC"))
    assert {"STATUS:TENTATIVE", "TRANSP:OPAQUE"} <= set(lines)


def test_a_visit_without_an_hour_takes_the_whole_day_and_ends_on_the_next():
    content = calendar_text("W", [visit(from_tenths=None)], "Etc/GMT-1")
    (event,) = events(content)
    assert (event.dtstart.value, event.dtend.value) == (date(2026, 4, 22), date(2026, 4, 23))
    assert "DTSTART;VALUE=DATE:20260422" in unfolded(content)
    assert b"VTIMEZONE" not in content


def test_a_released_visit_is_cancelled_under_its_uid():
    lines = unfolded(calendar_text("W", [visit(status=CANCELLED)], "Etc/UTC"))
    assert "STATUS:CANCELLED" in lines
    assert f"UID:{visit_uid('b1', AT)}" in lines


def test_a_uid_is_always_the_same_and_says_nothing_of_host_or_person():
    assert visit_uid("Kim@host", AT) == visit_uid("Kim@host", AT)
    assert re.fullmatch(r"[0-9a-f-]{36}", visit_uid("Kim@host", AT))
    assert len({visit_uid("b1", AT), visit_uid("b2", AT), visit_uid("b1", AT + timedelta(seconds=1))}) == 3


texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=60)


@settings(max_examples=40, deadline=None)
@given(texts, texts, texts)
def test_whatever_a_boat_is_called_the_file_is_sound_and_reads_back(summary, description, name):
    content = calendar_text(name, [visit(summary=summary, description=description)], "Etc/UTC")
    lines = unfolded(content)
    assert lines.count("BEGIN:VEVENT") == lines.count("END:VEVENT") == 1
    (event,) = events(content)
    said = "".join(c for c in " ".join(summary.split()) if c >= " " and c != "\x7f")
    assert event.summary.value == said


def test_the_same_bookings_give_the_same_file():
    visits = [visit(), visit(uid="x", from_tenths=None)]
    assert calendar_text("W", visits, "Etc/UTC") == calendar_text("W", visits, "Etc/UTC")


def test_an_empty_calendar_is_a_calendar():
    assert "BEGIN:VEVENT" not in unfolded(calendar_text("W", [], "Etc/UTC"))

"""The files of the CSV folder that hold the shop's diary: wishes, bookings, plans, parts, mails."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fleetlog.domain import diary_records
from fleetlog.domain.diary_records import (
    ATTEMPT_OUTCOMES,
    BOOKING_CHANGES,
    MAIL_WAYS,
    PART_MOVES,
    clock_from_text,
    clock_text,
    jobs_from_text,
    things_from_text,
    weekdays_from_text,
)
from fleetlog.exchange.csv import cells
from fleetlog.exchange.csv.cells import CellKind, CellNotUsable
from fleetlog.exchange.csv.columns import Column, csv_file, needed


def _as_it_stands(check: Callable[[str], Any], expected: str) -> Callable[[str], str]:
    """Reads a text as it is, where it can be understood."""

    def read(text: str) -> str:
        try:
            check(text)
        except (ValueError, TypeError, RecursionError):
            raise CellNotUsable(expected) from None
        return text

    return read


def _clock(text: str) -> int:
    try:
        return clock_from_text(text)
    except ValueError:
        raise CellNotUsable("a time of day such as 08:30") from None


def _points(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) <= 9):
        raise CellNotUsable("a whole number of at most nine digits")
    return int(text)


POINTS = CellKind(_points)
CLOCK = CellKind(_clock, clock_text, repeats=True)
JOBS = CellKind(_as_it_stands(jobs_from_text, 'a list of jobs such as [["SERIAL", "rule", null]]'))
THINGS = CellKind(_as_it_stands(things_from_text, 'a list of texts such as ["one", "two"]'))
WEEKDAY_WORDS = CellKind(_as_it_stands(weekdays_from_text, "weekdays such as mon thu"), repeats=True)

WISHES = csv_file(
    diary_records.Wish,
    "wishes",
    Column("wish_id", cells.ID),
    Column("owner_id", cells.REFERENCE),
    Column("boat_id", cells.REFERENCE),
    Column("not_before_on", cells.DAY),
    Column("not_after_on", cells.DAY),
    Column("not_in_from_on", cells.DAY),
    Column("not_in_to_on", cells.DAY),
    Column("weekdays", WEEKDAY_WORDS),
    Column("told_on", cells.DAY),
    Column("withdrawn_on", cells.DAY),
    Column("withdrawn_reason", cells.TEXT),
    Column("note", cells.TEXT),
    Column("by", cells.NAME),
    key=("wish_id",),
    made=True,
    id_leaves_out=("withdrawn_on", "withdrawn_reason"),
)
BOOKINGS = csv_file(
    diary_records.Booking,
    "bookings",
    Column("change_id", cells.ID),
    needed("booking_id", cells.ID),
    needed("change", cells.one_of(BOOKING_CHANGES)),
    needed("at", cells.MOMENT),
    needed("by", cells.NAME),
    Column("boat_id", cells.REFERENCE),
    Column("on", cells.DAY),
    Column("from", CLOCK, field_name="from_tenths"),
    Column("hours", cells.HOURS_ABOVE_0, field_name="tenths"),
    Column("technician", cells.NAME),
    Column("place", cells.NAME),
    Column("lifts", cells.COUNT),
    Column("jobs", JOBS),
    Column("visit_id", cells.REFERENCE),
    Column("reason", cells.TEXT),
    key=("change_id",),
    made=True,
)
PLANS = csv_file(
    diary_records.DiaryPlan,
    "plans",
    needed("plan_id", cells.ID),
    needed("at", cells.MOMENT),
    needed("by", cells.NAME),
    needed("from_on", cells.DAY),
    needed("to_on", cells.DAY),
    needed("shop_revision", cells.COUNT_ABOVE_0),
    needed("seed", cells.COUNT),
    needed("points", POINTS),
    needed("bound_points", POINTS),
    needed("cut_short", cells.YES_OR_NO),
    key=("plan_id",),
)
PLAN_VISITS = csv_file(
    diary_records.DiaryVisit,
    "plan_visits",
    needed("plan_id", cells.REFERENCE),
    needed("visit", cells.ID),
    needed("boat_id", cells.REFERENCE),
    needed("hours", cells.HOURS, "tenths"),
    Column("on", cells.DAY),
    Column("from", CLOCK, field_name="from_tenths"),
    Column("technician", cells.NAME),
    Column("place", cells.NAME),
    Column("first_on", cells.DAY),
    Column("last_on", cells.DAY),
    Column("lifts", cells.COUNT),
    Column("why_not", cells.TEXT),
    Column("remedy", cells.TEXT),
    Column("jobs", JOBS),
    key=("plan_id", "visit"),
)
PART_MOVES_FILE = csv_file(
    diary_records.PartMove,
    "part_moves",
    Column("move_id", cells.ID),
    needed("part_number", cells.NAME),
    needed("move", cells.one_of(PART_MOVES)),
    needed("amount", cells.DECIMAL),
    needed("on", cells.DAY),
    Column("expected_on", cells.DAY),
    Column("order_id", cells.ID),
    Column("boat_id", cells.REFERENCE),
    Column("note", cells.TEXT),
    Column("by", cells.NAME),
    key=("move_id",),
    made=True,
)
MAILS = csv_file(
    diary_records.Mail,
    "mails",
    Column("mail_id", cells.ID),
    needed("owner_id", cells.REFERENCE),
    needed("at", cells.MOMENT),
    needed("subject", cells.TEXT),
    needed("things", THINGS),
    needed("how", cells.one_of(MAIL_WAYS)),
    needed("by", cells.NAME),
    key=("mail_id",),
    made=True,
)
MAIL_ATTEMPTS = csv_file(
    diary_records.MailAttempt,
    "mail_attempts",
    needed("mail_id", cells.ID),
    needed("outcome", cells.one_of(ATTEMPT_OUTCOMES)),
    needed("owner_id", cells.REFERENCE),
    needed("at", cells.MOMENT),
    Column("things", THINGS),
    needed("by", cells.NAME),
    key=("mail_id", "outcome"),
)

DIARY_FILES = (WISHES, BOOKINGS, PLANS, PLAN_VISITS, PART_MOVES_FILE, MAILS, MAIL_ATTEMPTS)
"""In the order in which their rows refer to each other."""

"""The rows of the shop's diary as plain values: the shop, wishes, bookings, plans, parts on order, mails.

Nothing here is edited: a booking that moves, is released or done gets a further row, a part that arrives a
further move. What of it holds on a day is worked out in `bookings` and `stock`.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal

from fleetlog.domain.chain import commitment_in
from fleetlog.domain.values import value_class

BOOKED, RELEASED, DONE = "booked", "released", "done"
BOOKING_CHANGES = (BOOKED, RELEASED, DONE)
ORDERED, ARRIVED, COUNTED = "ordered", "arrived", "counted"
PART_MOVES = (ORDERED, ARRIVED, COUNTED)
MAIL_WAYS = ("smtp", "file")
BEGUN, REFUSED = "begun", "refused"
ATTEMPT_OUTCOMES = (BEGUN, REFUSED)
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@value_class(frozen=True, slots=True)
class ShopText:
    """One revision of the shop's set-up as it was handed in: the stem of its file, and its TOML text."""

    name: str
    revision: int
    text: str


@value_class(frozen=True, slots=True)
class Wish:
    """What an owner asks for, for one boat or for all of theirs; from `withdrawn_on` it holds no longer.

    `weekdays` are the preferred ones, as `mon thu`.
    """

    wish_id: str
    owner_id: str | None = None
    boat_id: str | None = None
    not_before_on: date | None = None
    not_after_on: date | None = None
    not_in_from_on: date | None = None
    not_in_to_on: date | None = None
    weekdays: str | None = None
    told_on: date | None = None
    withdrawn_on: date | None = None
    note: str | None = None
    by: str | None = None
    withdrawn_reason: str | None = None


@value_class(frozen=True, slots=True)
class Booking:
    """One change of a booking: agreed (or moved), released, or done.

    A row that says *booked* holds all of what is agreed; the others say only what became of it.
    `from_tenths` counts from midnight and is None where no hour was set; `jobs` is a text of `jobs_text`.
    """

    change_id: str
    booking_id: str
    change: str
    at: datetime
    by: str
    boat_id: str | None = None
    on: date | None = None
    from_tenths: int | None = None
    tenths: int | None = None
    technician: str | None = None
    place: str | None = None
    lifts: int | None = None
    jobs: str | None = None
    visit_id: str | None = None
    reason: str | None = None


@value_class(frozen=True, slots=True)
class DiaryPlan:
    """A plan that was made and kept: for which days, by which revision of the shop, and how good it is."""

    plan_id: str
    at: datetime
    by: str
    from_on: date
    to_on: date
    shop_revision: int
    seed: int
    points: int
    bound_points: int
    cut_short: bool = False


@value_class(frozen=True, slots=True)
class DiaryVisit:
    """A visit of a plan: its day, time, technician and place, or why it has none and what would help."""

    plan_id: str
    visit: str
    boat_id: str
    tenths: int
    on: date | None = None
    from_tenths: int | None = None
    technician: str | None = None
    place: str | None = None
    first_on: date | None = None
    last_on: date | None = None
    lifts: int | None = None
    why_not: str | None = None
    remedy: str | None = None
    jobs: str | None = None


@value_class(frozen=True, slots=True)
class PartMove:
    """Parts ordered, arrived (of an order, where `order_id` names it) or counted on the shelf."""

    move_id: str
    part_number: str
    move: str
    amount: Decimal
    on: date
    expected_on: date | None = None
    order_id: str | None = None
    boat_id: str | None = None
    note: str | None = None
    by: str | None = None


@value_class(frozen=True, slots=True)
class Mail:
    """A reminder that went out: to whom, when, how, and what it told (a text of `things_text`)."""

    mail_id: str
    owner_id: str
    at: datetime
    subject: str
    things: str
    how: str
    by: str


@value_class(frozen=True, slots=True)
class MailAttempt:
    """A mail about to be handed to the server (begun), or one that the server did not take (refused).

    One that was begun and neither refused nor recorded as sent is in doubt. `things` is as in `Mail`.
    """

    mail_id: str
    outcome: str
    owner_id: str
    at: datetime
    things: str | None
    by: str


JobKey = tuple[str, str, str | None]
"""What tells a job of a visit from others: the engine's serial, the key of the rule, and the position."""


@value_class(frozen=True, slots=True)
class Job:
    """One line of a visit: which rule at which position of which engine, why it is in it, and its labour."""

    serial: str
    rule: str
    position: str | None = None
    why: str = ""
    owed: bool = True

    @property
    def key(self) -> JobKey:
        """What tells the line from others."""
        return self.serial, self.rule, self.position


def jobs_text(jobs: Iterable[Job]) -> str | None:
    """The jobs of a visit as they are kept: JSON, one list a job; None for none."""
    rows = [[job.serial, job.rule, job.position, job.why, job.owed] for job in jobs]
    return json.dumps(rows, ensure_ascii=False, separators=(", ", ": ")) if rows else None


def jobs_from_text(text: str | None) -> tuple[Job, ...]:
    """The jobs that a text of `jobs_text` holds; ValueError for any other text."""
    if text is None:
        return ()
    rows = json.loads(text)
    if not isinstance(rows, list) or not all(_is_job(row) for row in rows):
        raise ValueError("no list of jobs")
    return tuple(Job(*row) for row in rows)


def _is_job(row: object) -> bool:
    return (
        isinstance(row, list)
        and 2 <= len(row) <= 5
        and isinstance(row[0], str)
        and isinstance(row[1], str)
        and (len(row) < 3 or row[2] is None or isinstance(row[2], str))
        and (len(row) < 4 or isinstance(row[3], str))
        and (len(row) < 5 or isinstance(row[4], bool))
    )


def things_text(things: Iterable[str]) -> str:
    """What a mail told, as it is kept: a JSON list of texts, sorted."""
    return json.dumps(sorted(set(things)), ensure_ascii=False)


def things_from_text(text: str) -> frozenset[str]:
    """The things that a text of `things_text` holds, none of one forgotten; ValueError for any other text."""
    if commitment_in(text) is not None:
        return frozenset()
    things = json.loads(text)
    if not isinstance(things, list) or not all(isinstance(thing, str) for thing in things):
        raise ValueError("no list of texts")
    return frozenset(things)


def weekdays_from_text(text: str | None) -> frozenset[int]:
    """The weekdays of a text such as `mon thu` (Monday is 0); ValueError for a word that is none."""
    words = (text or "").replace(",", " ").casefold().split()
    return frozenset(WEEKDAYS.index(word[:3]) for word in words)


def clock_text(tenths: int) -> str:
    """A time of day, in tenths of an hour since midnight, as `08:30`."""
    return f"{tenths // 10:02d}:{tenths % 10 * 6:02d}"


def clock_from_text(text: str) -> int:
    """The tenths of an hour since midnight of a text such as `8:30`; ValueError for one that is none.

    Times stand on whole tenths of an hour, which is every six minutes; others are taken down to one.
    """
    hours, colon, minutes = text.strip().partition(":")
    if not colon or not (hours.isascii() and hours.isdigit() and len(minutes) == 2 and minutes.isdigit()):
        raise ValueError(text)
    if int(minutes) > 59 or int(hours) * 60 + int(minutes) > 24 * 60:
        raise ValueError(text)
    return int(hours) * 10 + int(minutes) // 6

"""Reminders by mail: who is told what, and nobody the same thing twice within a set time.

What is told is a due line, or an agreed visit with its day; proposed days alone are nothing new, as every
plan has others. `mail_attempts` notes a mail before it is handed to the server, and a refusal; `mails` what
was taken. One that broke off in between is in doubt: it counts as told, is said at each run, and goes again
only with `--again`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from fleetlog.diary.shop_text import REMIND_AGAIN_DAYS, MailSetup
from fleetlog.domain.bookings import BookingState, bookings_of
from fleetlog.domain.diary_records import (
    REFUSED,
    Mail,
    MailAttempt,
    clock_text,
    things_from_text,
)
from fleetlog.domain.due import DueLine
from fleetlog.domain.fleet import EngineState
from fleetlog.domain.records import Boat, Owner, name_of
from fleetlog.reports.context import ReportContext
from fleetlog.reports.index_page import engines_by_owner
from fleetlog.reports.reminder_mail import MailVisit, ReminderMail, reminder_mail
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.diary.latest import latest_plan
from fleetlog.usecases.diary.work import known_shop
from fleetlog.usecases.finding import find_owner
from fleetlog.usecases.fleet import fleet_state
from fleetlog.usecases.occasion import Occasion


@dataclass(frozen=True, slots=True)
class Reminder:
    """One owner's mail that is to go out: the words, and the things that it tells."""

    owner: Owner
    mail: ReminderMail
    things: frozenset[str]


@dataclass(frozen=True, slots=True)
class NotReminded:
    """An owner who would be told something and is not mailed, and why."""

    owner: Owner
    why: str


@dataclass(frozen=True, slots=True)
class InDoubt:
    """A mail that was begun to be sent, of which nobody knows whether the server took it."""

    mail_id: str
    owner: Owner
    at: datetime
    things: frozenset[str]


@dataclass(frozen=True, slots=True)
class Reminders:
    """Who is to be mailed, who is not, which mails may have gone out or not, and how mails are sent.

    `begun_before` are the ids of the mails that had been begun when these were made up; `of_nobody` the
    engines with work due whose owner the log does not know, where all owners were asked for.
    """

    mails: tuple[Reminder, ...]
    others: tuple[NotReminded, ...]
    in_doubt: tuple[InDoubt, ...]
    mail_setup: MailSetup | None
    begun_before: frozenset[str]
    of_nobody: tuple[str, ...] = ()


def due_thing(engine: EngineState, line: DueLine) -> str:
    """The name of what a mail tells of a due line: told of it, an owner is not told again for a time.

    The engine is named by its first serial number, so that one put right is nothing new to tell.
    """
    first = [*engine.ledger.former_serials(), engine.serial][0]
    return f"due {first} {line.rule.key} {line.position or ''}".rstrip()


def gather_reminders(
    log: Log,
    occasion: Occasion,
    context: ReportContext,
    owner: str | None = None,
    again_days: int | None = None,
    *,
    doubtful_again: bool = False,
) -> Reminders:
    """Every owner's mail as of today: what is due within the window and was not told lately.

    Only owners who chose e-mail are mailed. What a mail in doubt told counts as told, unless it is to be
    told again. Raises ShopInLogUnreadable, and what `find_owner` raises.
    """
    with log.reading() as reader:
        shop = known_shop(reader)
        mail_setup = shop.mail if shop else None
        wanted = None if owner is None else find_owner(reader, owner).owner_id
        if again_days is None:
            again_days = shop.remind_again_days if shop else REMIND_AGAIN_DAYS
        since = occasion.said_at - timedelta(days=again_days)
        told = _told_lately(reader, occasion, since)
        attempts: list[MailAttempt] = reader.rows("mail_attempts")
        in_doubt = [
            doubt
            for doubt in _in_doubt(reader, attempts, occasion, since)
            if wanted in (None, doubt.owner.owner_id)
        ]
        for doubt in () if doubtful_again else in_doubt:
            told[doubt.owner.owner_id] = told.get(doubt.owner.owner_id, frozenset()) | doubt.things
        fleet = fleet_state(reader, occasion.today, context.within_days)
        visits = _visits(reader, occasion)
    mails: list[Reminder] = []
    others: list[NotReminded] = []
    for person, engines in engines_by_owner(fleet):
        if wanted is not None and person.owner_id != wanted:
            continue
        known = told.get(person.owner_id, frozenset())
        boats = {s.facts.boat.boat_id: s.facts.boat for s in engines if s.facts.boat}
        found = _one(person, engines, boats, visits, known, context, occasion.today)
        if found is None:
            continue
        why = _why_not(person)
        if why is None:
            mails.append(found)
        else:
            others.append(NotReminded(person, why))
    begun = frozenset(attempt.mail_id for attempt in attempts)
    of_nobody = [
        state.serial
        for state in fleet.engines
        if wanted is None and state.facts.owner is None and any(line.wants_doing for line in state.lines)
    ]
    return Reminders(tuple(mails), tuple(others), tuple(in_doubt), mail_setup, begun, tuple(of_nobody))


def _why_not(owner: Owner) -> str | None:
    if owner.remind_by == "none":
        return "wants no reminders"
    if owner.remind_by == "post":
        return "wants them by post: fleetlog report writes the page"
    if owner.remind_by is None:
        return "never said how: fleetlog owner change"
    return None if owner.email else "has no e-mail address"


def _told_lately(reader: Reader, occasion: Occasion, since: datetime) -> dict[str, frozenset[str]]:
    """What each owner was told by mail after a moment, up to now."""
    told: dict[str, frozenset[str]] = {}
    for mail in reader.rows("mails"):
        if since < mail.at <= occasion.said_at:
            told[mail.owner_id] = told.get(mail.owner_id, frozenset()) | things_from_text(mail.things)
    return told


def _in_doubt(
    reader: Reader, attempts: Sequence[MailAttempt], occasion: Occasion, since: datetime
) -> list[InDoubt]:
    """Mails begun after a moment and neither refused nor taken; one told whole by a later mail is settled."""
    owners = reader.owners()
    sent: list[Mail] = reader.rows("mails")
    known = {mail.mail_id for mail in sent} | {a.mail_id for a in attempts if a.outcome == REFUSED}
    found = []
    for attempt in attempts:
        if attempt.mail_id in known or not since < attempt.at <= occasion.said_at:
            continue
        things = things_from_text(attempt.things or "[]")
        later = [m for m in sent if m.owner_id == attempt.owner_id and m.at >= attempt.at]
        if not any(things <= things_from_text(mail.things) for mail in later):
            found.append(InDoubt(attempt.mail_id, owners[attempt.owner_id], attempt.at, things))
    return found


def _visits(reader: Reader, occasion: Occasion) -> list[tuple[str, MailVisit, str]]:
    """The visits to come, by boat id, each with the thing that a mail tells of it."""
    boats: Mapping[str, Boat] = reader.boats()
    bookings = bookings_of(reader.rows("bookings"), occasion.today)
    open_ones = [b for b in bookings if b.is_open and b.on >= occasion.today]
    found = [(b.boat_id, _agreed(b, boats), f"visit {b.booking_id} {b.on} {b.sequence}") for b in open_ones]
    latest = latest_plan(reader, bookings, occasion.today)
    for visit, on in latest.to_come(occasion.today) if latest else ():
        shown = MailVisit(name_of(boats, visit.boat_id), on, None, visit.tenths, is_agreed=False)
        found.append((visit.boat_id, shown, ""))
    return found


def _agreed(booking: BookingState, boats: Mapping[str, Boat]) -> MailVisit:
    clock = None if booking.from_tenths is None else clock_text(booking.from_tenths)
    return MailVisit(name_of(boats, booking.boat_id), booking.on, clock, booking.tenths, is_agreed=True)


def _one(
    owner: Owner,
    engines: Sequence[EngineState],
    boats: Mapping[str, Boat],
    visits: Iterable[tuple[str, MailVisit, str]],
    known: frozenset[str],
    context: ReportContext,
    today: date,
) -> Reminder | None:
    """The mail to one owner; None where there is nothing that was not told lately.

    Agreed visits that were told are told again beside something new; proposed days by themselves are
    nothing new, since every plan proposes others.
    """
    fresh = []
    things: set[str] = set()
    for state in engines:
        lines = [line for line in state.lines if line.wants_doing and due_thing(state, line) not in known]
        if lines:
            put_off = [line for line in state.lines if line.is_put_off]
            fresh.append(replace(state, lines=[*lines, *put_off]))
            things.update(due_thing(state, line) for line in lines)
    own = [(visit, thing) for boat_id, visit, thing in visits if boat_id in boats]
    new_visits = {thing for _, thing in own if thing and thing not in known}
    if not things and not new_visits:
        return None
    shown = sorted((visit for visit, _ in own), key=lambda v: (v.on, v.boat))
    mail = reminder_mail(owner, fresh, shown, context, today)
    return Reminder(owner, mail, frozenset(things | new_visits))

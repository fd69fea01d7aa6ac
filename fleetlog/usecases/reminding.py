"""Reminders by mail: who is told what, written to files or sent, and never twice within a set time."""

from __future__ import annotations

import os
import smtplib
import stat
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from fleetlog.diary.shop_text import MailSetup, ShopSetup
from fleetlog.domain.batch import Batch
from fleetlog.domain.bookings import BookingState, bookings_of
from fleetlog.domain.diary_records import Mail, clock_text, jobs_from_text, things_from_text, things_text
from fleetlog.domain.due import DueLine
from fleetlog.domain.fleet import EngineState
from fleetlog.domain.records import Boat, Owner
from fleetlog.domain.words import LATER, NEXT_ACCESS
from fleetlog.errors import MailFolderTaken, MailNotSetUp, MailNotTaken, SecretOpenToOthers
from fleetlog.exchange.mail_file import (
    AddressUnusable,
    MailText,
    mail_bytes,
    mail_message,
    mail_server,
    one_line,
)
from fleetlog.reports.context import ReportContext
from fleetlog.reports.index_page import engines_by_owner
from fleetlog.reports.names import id_mark, slug
from fleetlog.reports.reminder_mail import MailVisit, ReminderMail, reminder_mail
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.diary_calendar import write_whole
from fleetlog.usecases.diary_planning import latest_plan
from fleetlog.usecases.diary_work import needed_shop
from fleetlog.usecases.finding import find_owner
from fleetlog.usecases.fleet import fleet_state
from fleetlog.usecases.occasion import Occasion, new_id

PASSWORD, PASSWORD_FILE = "FLEETLOG_SMTP_PASSWORD", "FLEETLOG_SMTP_PASSWORD_FILE"


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
class Reminders:
    """Who is to be mailed, who is not, and how mails are sent."""

    mails: tuple[Reminder, ...]
    others: tuple[NotReminded, ...]
    setup: ShopSetup


def due_thing(line: DueLine) -> str:
    """The name of what a mail tells of a due line: told of it, an owner is not told again for a time."""
    return f"due {line.serial} {line.rule.key} {line.position or ''}".rstrip()


def gather_reminders(
    log: Log,
    occasion: Occasion,
    context: ReportContext,
    owner: str | None = None,
    again_days: int | None = None,
) -> Reminders:
    """Every owner's mail as of today: what is due within the window and was not told lately.

    Only owners who chose e-mail are mailed. Raises NoShop, and what `find_owner` raises.
    """
    with log.reading() as reader:
        setup = needed_shop(reader)
        wanted = None if owner is None else find_owner(reader, owner).owner_id
        told = _told_lately(reader, occasion, setup.remind_again_days if again_days is None else again_days)
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
    return Reminders(tuple(mails), tuple(others), setup)


def _why_not(owner: Owner) -> str | None:
    if owner.remind_by == "none":
        return "wants no reminders"
    if owner.remind_by == "post":
        return "wants them by post: fleetlog report writes the page"
    if owner.remind_by is None:
        return "never said how: fleetlog owner set"
    return None if owner.email else "has no e-mail address"


def _told_lately(reader: Reader, occasion: Occasion, days: int) -> dict[str, frozenset[str]]:
    """What each owner was told by mail in the days before today."""
    since = occasion.said_at - timedelta(days=days)
    told: dict[str, frozenset[str]] = {}
    for mail in reader.rows("mails"):
        if since < mail.at <= occasion.said_at:
            told[mail.owner_id] = told.get(mail.owner_id, frozenset()) | things_from_text(mail.things)
    return told


def _visits(reader: Reader, occasion: Occasion) -> list[tuple[str, MailVisit, str]]:
    """The visits to come, by boat id, each with the thing that a mail tells of it."""
    boats: Mapping[str, Boat] = reader.boats()
    open_ones = [
        b
        for b in bookings_of(reader.rows("bookings"), occasion.today)
        if b.is_open and b.on >= occasion.today
    ]
    found = [(b.boat_id, _agreed(b, boats), f"visit {b.booking_id} {b.on} {b.sequence}") for b in open_ones]
    held = {job.key for b in open_ones for job in b.jobs}
    latest = latest_plan(reader, occasion.today)
    for visit in latest[1] if latest else ():
        jobs = jobs_from_text(visit.jobs)
        if visit.on is None or visit.on < occasion.today or any(job.key in held for job in jobs):
            continue
        name = boats[visit.boat_id].name if visit.boat_id in boats else visit.boat_id
        shown = MailVisit(name, visit.on, None, visit.tenths, is_agreed=False)
        found.append((visit.boat_id, shown, ""))
    return found


def _agreed(booking: BookingState, boats: Mapping[str, Boat]) -> MailVisit:
    clock = None if booking.from_tenths is None else clock_text(booking.from_tenths)
    name = boats[booking.boat_id].name if booking.boat_id in boats else booking.boat_id
    return MailVisit(name, booking.on, clock, booking.tenths, is_agreed=True)


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
        lines = [
            line
            for line in state.lines
            if line.state not in (LATER, NEXT_ACCESS) and due_thing(line) not in known
        ]
        if lines:
            fresh.append(replace(state, lines=lines))
            things.update(due_thing(line) for line in lines)
    own = [(visit, thing) for boat_id, visit, thing in visits if boat_id in boats]
    new_visits = {thing for _, thing in own if thing and thing not in known}
    if not things and not new_visits:
        return None
    shown = sorted((visit for visit, _ in own), key=lambda v: (v.on, v.boat))
    mail = reminder_mail(owner, fresh, shown, context, today)
    return Reminder(owner, mail, frozenset(things | new_visits))


def write_mails(
    log: Log, occasion: Occasion, found: Reminders, context: ReportContext, out: Path, *, mark_sent: bool
) -> list[Path]:
    """Write each mail as an .eml file into a folder without any; recorded as sent only if that is said.

    Raises MailFolderTaken, MailNotSetUp or CalendarNotWritten.
    """
    setup = _mail_setup(found.setup, needs_host=False)
    if out.exists() and (not out.is_dir() or any(out.glob("*.eml"))):
        raise MailFolderTaken(out)
    paths = []
    sent = []
    for reminder in found.mails:
        mail_id = new_id("m")
        message = _message(reminder, setup, context, mail_id, occasion.at)
        if message is None:
            continue
        name = f"{slug(reminder.owner.name) or 'owner'}-{id_mark(reminder.owner.owner_id)}.eml"
        write_whole(out / name, mail_bytes(message))
        paths.append(out / name)
        sent.append(_row(reminder, mail_id, "file", occasion))
    if mark_sent and sent:
        _note_mails(log, occasion, sent)
    return paths


@again_if_lost
def _note_mails(log: Log, occasion: Occasion, mails: list[Mail]) -> None:
    with log.writing(occasion.by, occasion.at) as writer:
        writer.add(Batch(mails=mails))


def send_mails(
    log: Log,
    occasion: Occasion,
    found: Reminders,
    context: ReportContext,
    environment: Mapping[str, str] | None = None,
    server: Any = mail_server,
) -> list[str]:
    """Send each mail through the shop's mail server, and record each as soon as it was taken.

    Gives the names of those it was sent to. Raises MailNotSetUp, SecretOpenToOthers or MailNotTaken; what
    went out before is recorded then.
    """
    setup = _mail_setup(found.setup, needs_host=True)
    password = smtp_password(os.environ if environment is None else environment)
    if setup.user and password is None:
        raise MailNotSetUp(f"there is no password for {setup.user}: set {PASSWORD} or {PASSWORD_FILE}")
    sent: list[str] = []
    if not found.mails:
        return sent
    name = "the server"
    try:
        with server(setup, password) as connection:
            for reminder in found.mails:
                mail_id, name = new_id("m"), one_line(reminder.owner.name)
                message = _message(reminder, setup, context, mail_id, occasion.at)
                if message is None:
                    continue
                connection.send_message(message)
                _note_mails(log, occasion, [_row(reminder, mail_id, "smtp", occasion)])
                sent.append(name)
    except (OSError, smtplib.SMTPException) as error:
        raise MailNotTaken(name, _reason(error), len(sent)) from None
    return sent


def _reason(error: Exception) -> str:
    if isinstance(error, smtplib.SMTPResponseException):
        said = error.smtp_error
        return f"{error.smtp_code} {said.decode(errors='replace') if isinstance(said, bytes) else said}"
    return getattr(error, "strerror", None) or str(error) or type(error).__name__


def _message(reminder: Reminder, setup: MailSetup, context: ReportContext, mail_id: str, at: datetime) -> Any:
    """The message, or None where the owner's address is none (which `unusable` says)."""
    mail = reminder.mail
    try:
        return mail_message(
            MailText(
                mail_id,
                context.marina,
                setup.sender,
                reminder.owner.name,
                (reminder.owner.email or "").strip(),
                mail.subject,
                mail.text,
                mail.html,
            ),
            at,
        )
    except AddressUnusable:
        return None


def unusable(found: Reminders) -> list[str]:
    """The owners whose address no mail can be sent to, in sentences."""
    said = []
    for reminder in found.mails:
        setup = found.setup.mail or MailSetup("nobody@example.invalid")
        if _message(reminder, setup, ReportContext("x", ""), "x", datetime.min) is None:
            said.append(
                f"{one_line(reminder.owner.name)}: {reminder.owner.email!r} is no e-mail address;"
                f" correct it with fleetlog owner set"
            )
    return said


def _row(reminder: Reminder, mail_id: str, how: str, occasion: Occasion) -> Mail:
    return Mail(
        mail_id,
        reminder.owner.owner_id,
        occasion.said_at,
        one_line(reminder.mail.subject),
        things_text(reminder.things),
        how,
        occasion.by,
    )


def _mail_setup(setup: ShopSetup, *, needs_host: bool) -> MailSetup:
    if setup.mail is None:
        raise MailNotSetUp("shop.toml has no [mail] table with the address they come from")
    if needs_host and not setup.mail.host:
        raise MailNotSetUp("the [mail] table of shop.toml has no smtp_host")
    return setup.mail


def smtp_password(environment: Mapping[str, str]) -> str | None:
    """The password of the mail server, from the environment or a file that only its owner can read.

    Raises SecretOpenToOthers, and MailNotSetUp for a file that cannot be read.
    """
    if environment.get(PASSWORD):
        return environment[PASSWORD]
    name = environment.get(PASSWORD_FILE)
    if not name:
        return None
    path = Path(name)
    try:
        mode = stat.S_IMODE(path.stat().st_mode)
        if os.name == "posix" and mode & 0o077:
            raise SecretOpenToOthers(path, mode)
        return path.read_text(encoding="utf-8").strip("\r\n")
    except (OSError, UnicodeDecodeError) as error:
        raise MailNotSetUp(f"{path} cannot be read ({getattr(error, 'strerror', None) or error})") from None


def sent_mails(log: Log, occasion: Occasion) -> list[dict[str, Any]]:
    """Who was sent what and when, the latest first."""
    with log.reading() as reader:
        mails: list[Mail] = reader.rows("mails")
        owners = reader.owners()
    return [
        {
            "mail_id": mail.mail_id,
            "at": mail.at.isoformat(),
            "owner": owners[mail.owner_id].name if mail.owner_id in owners else mail.owner_id,
            "subject": mail.subject,
            "how": mail.how,
            "by": mail.by,
            "things": sorted(things_from_text(mail.things)),
        }
        for mail in sorted(mails, key=lambda m: m.at, reverse=True)
        if mail.at <= occasion.said_at
    ]

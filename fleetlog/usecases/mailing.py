"""Hands reminders on: as files, or through the shop's mail server, and records what went out to whom."""

from __future__ import annotations

import os
import smtplib
import stat
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from fleetlog.diary.shop_text import MailSetup
from fleetlog.domain.batch import Batch
from fleetlog.domain.diary_records import (
    BEGUN,
    REFUSED,
    Mail,
    MailAttempt,
    things_from_text,
    things_text,
)
from fleetlog.domain.records import name_of
from fleetlog.errors.mail import MailFolderTaken, MailNotSetUp, MailNotTaken, SecretOpenToOthers
from fleetlog.exchange.mail_file import (
    AddressUnusable,
    MailText,
    mail_bytes,
    mail_message,
    mail_server,
    one_line,
)
from fleetlog.reports.context import ReportContext
from fleetlog.reports.names import id_mark, slug
from fleetlog.store.log import Log
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.diary.calendar import hand_out
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.reminding import Reminder, Reminders

PASSWORD, PASSWORD_FILE = "FLEETLOG_SMTP_PASSWORD", "FLEETLOG_SMTP_PASSWORD_FILE"

NOT_TAKEN = (smtplib.SMTPRecipientsRefused, smtplib.SMTPResponseException, smtplib.SMTPNotSupportedError)
"""What a server says of a mail that it surely did not take; any other break leaves it in doubt."""
OF_ONE_MAIL = (smtplib.SMTPRecipientsRefused, smtplib.SMTPDataError)
"""What concerns one mail only: the next one may be taken."""


def write_mails(
    log: Log, occasion: Occasion, found: Reminders, context: ReportContext, out: Path, *, mark_sent: bool
) -> dict[str, Path]:
    """Write each mail as an .eml file into a folder without any; recorded as sent only if that is said.

    Gives the file of each owner's mail, by the owner's id. Raises MailFolderTaken, MailNotSetUp or
    CalendarNotWritten.
    """
    setup = _mail_setup(found.mail_setup, needs_host=False)
    if out.exists() and (not out.is_dir() or any(out.glob("*.eml"))):
        raise MailFolderTaken(out)
    paths = {}
    sent = []
    for reminder in found.mails:
        mail_id = new_id("m")
        message = _message(reminder, setup, context, mail_id, occasion.at)
        if message is None:
            continue
        name = f"{slug(reminder.owner.name) or 'owner'}-{id_mark(reminder.owner.owner_id)}.eml"
        hand_out(out / name, mail_bytes(message))
        paths[reminder.owner.owner_id] = out / name
        sent.append(_row(reminder, mail_id, "file", occasion))
    if mark_sent and sent:
        _note(log, occasion, Batch(mails=sent))
    return paths


@again_if_lost
def _note(log: Log, occasion: Occasion, batch: Batch) -> None:
    with log.writing(occasion.by, occasion.at) as writer:
        writer.add(batch)


@dataclass(frozen=True, slots=True)
class SentMails:
    """The names of the owners whose mail was taken, and those whose was refused, each with the reason.

    `left_out` are those whom another run began to mail meanwhile.
    """

    taken: list[str]
    refused: list[tuple[str, str]]
    left_out: list[str]


def send_mails(
    log: Log,
    occasion: Occasion,
    found: Reminders,
    context: ReportContext,
    environment: Mapping[str, str] | None = None,
    server: Any = mail_server,
) -> SentMails:
    """Send each mail through the shop's mail server.

    That a mail is about to go is recorded before it is handed over, and that it was taken or refused after:
    one that broke off in between stays in doubt and is not sent again by itself. An owner whom another run
    began to mail since `found` was made up is left out. Raises MailNotSetUp, SecretOpenToOthers or
    MailNotTaken; what went out before is recorded then.
    """
    setup = _mail_setup(found.mail_setup, needs_host=True)
    password = smtp_password(os.environ if environment is None else environment)
    if setup.user and password is None:
        raise MailNotSetUp(f"there is no password for {setup.user}: set {PASSWORD} or {PASSWORD_FILE}")
    done = SentMails([], [], [])
    if not found.mails:
        return done
    name, begun = "the server", False
    try:
        with server(setup, password) as connection:
            for reminder in found.mails:
                mail_id, name = new_id("m"), one_line(reminder.owner.name)
                message = _message(reminder, setup, context, mail_id, occasion.at)
                if message is None:
                    continue
                begun = False
                if not _begin(log, occasion, found, _attempt(reminder, mail_id, BEGUN, occasion)):
                    done.left_out.append(name)
                    continue
                begun = True
                try:
                    connection.send_message(message)
                except NOT_TAKEN as error:
                    begun = False
                    refused = _attempt(reminder, mail_id, REFUSED, occasion)
                    _note(log, occasion, Batch(mail_attempts=[refused]))
                    if not isinstance(error, OF_ONE_MAIL):
                        raise
                    done.refused.append((name, _reason(error)))
                    continue
                _note(log, occasion, Batch(mails=[_row(reminder, mail_id, "smtp", occasion)]))
                begun = False
                done.taken.append(name)
    except (OSError, smtplib.SMTPException) as error:
        raise MailNotTaken(name, _reason(error), len(done.taken), in_doubt=begun) from None
    return done


@again_if_lost
def _begin(log: Log, occasion: Occasion, found: Reminders, attempt: MailAttempt) -> bool:
    """Notes that a mail is about to go, unless another run began one to this owner meanwhile."""
    with log.writing(occasion.by, occasion.at) as writer:
        writer.alone_with("mail_attempts")
        begun = {other.mail_id for other in writer.mail_attempts_to(attempt.owner_id)}
        if begun <= found.begun_before:
            writer.add(Batch(mail_attempts=[attempt]))
            return True
        return False


def _attempt(reminder: Reminder, mail_id: str, outcome: str, occasion: Occasion) -> MailAttempt:
    things = things_text(reminder.things) if outcome == BEGUN else None
    return MailAttempt(mail_id, outcome, reminder.owner.owner_id, occasion.said_at, things, occasion.by)


def _reason(error: Exception) -> str:
    if isinstance(error, smtplib.SMTPResponseException):
        said = error.smtp_error
        return f"{error.smtp_code} {said.decode(errors='replace') if isinstance(said, bytes) else said}"
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        return "; ".join(
            f"{code} {said.decode(errors='replace') if isinstance(said, bytes) else said}"
            for code, said in error.recipients.values()
        )
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
        setup = found.mail_setup or MailSetup("nobody@example.invalid")
        if _message(reminder, setup, ReportContext("x", ""), "x", datetime.min) is None:
            said.append(
                f"{one_line(reminder.owner.name)}: {reminder.owner.email!r} is no e-mail address;"
                f" correct it with fleetlog owner change"
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


def _mail_setup(setup: MailSetup | None, *, needs_host: bool) -> MailSetup:
    if setup is None:
        raise MailNotSetUp(
            "shop.toml has no [mail] table with the address they come from",
            "put it in, raise the revision, and import the folder again; where there is no shop/shop.toml"
            ' yet, this is enough of one: name = "…", revision = 1, [mail], from = "…", a line each',
        )
    if needs_host and not setup.host:
        raise MailNotSetUp("the [mail] table of shop.toml has no smtp_host")
    return setup


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
            "owner": name_of(owners, mail.owner_id),
            "subject": mail.subject,
            "how": mail.how,
            "by": mail.by,
            "things": sorted(things_from_text(mail.things)),
        }
        for mail in sorted(mails, key=lambda m: m.at, reverse=True)
        if mail.at <= occasion.said_at
    ]

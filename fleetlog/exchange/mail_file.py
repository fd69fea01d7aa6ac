"""Makes reminder mails (RFC 5322, text and HTML part) and hands them to a mail server when asked."""

from __future__ import annotations

import smtplib
import ssl
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from email.errors import MessageError
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from typing import Any
from uuid import UUID, uuid5

from fleetlog.diary.shop_text import MailSetup

_MESSAGES = UUID("0f0a6a9c-3f1c-4f08-8a57-2f2c9c0f5b21")
SECONDS_TO_WAIT = 30


@dataclass(frozen=True, slots=True)
class MailText:
    """A mail as words: to whom, from whom, and both its parts."""

    mail_id: str
    sender_name: str
    sender: str
    to_name: str
    to: str
    subject: str
    text: str
    html: str


class AddressUnusable(ValueError):
    """An address that no mail can be sent to."""


def mail_message(mail: MailText, at: datetime) -> EmailMessage:
    """The message; what could break out of a header is taken out of names and subject.

    Raises AddressUnusable for an address that is none.
    """
    message = EmailMessage(policy=SMTP)
    message["From"] = _address(mail.sender_name, mail.sender)
    message["To"] = _address(mail.to_name, mail.to)
    message["Subject"] = one_line(mail.subject)
    message["Date"] = format_datetime(at.replace(microsecond=0))
    domain = mail.sender.rpartition("@")[2]
    message["Message-ID"] = f"<{uuid5(_MESSAGES, f'{mail.mail_id} {at.isoformat()}')}@{domain}>"
    message["Auto-Submitted"] = "auto-generated"
    message.set_content(_lines(mail.text), cte="quoted-printable")
    message.add_alternative(_lines(mail.html), subtype="html", cte="quoted-printable")
    return message


def mail_bytes(message: EmailMessage) -> bytes:
    """The message as a file: CRLF, no line above 998 octets."""
    return message.as_bytes(policy=SMTP)


def one_line(text: str) -> str:
    """A text for a header: no line breaks, no control characters, no halves of pairs."""
    kept = "".join(" " if c.isspace() else c for c in text if c.isspace() or c.isprintable())
    return " ".join(kept.encode("utf-8", "replace").decode("utf-8").split())


def _lines(text: str) -> str:
    return text.encode("utf-8", "replace").decode("utf-8").replace("\r\n", "\n").replace("\r", "\n")


def _address(name: str, address: str) -> Address:
    try:
        address.encode("ascii")
        found = Address(display_name=one_line(name), addr_spec=address)
        if not found.username or "." not in found.domain or address != found.addr_spec:
            raise AddressUnusable(address)
    except (ValueError, IndexError, AttributeError, MessageError) as error:  # what the parser raises
        raise AddressUnusable(address) from error
    return found


Connect = Callable[..., Any]


@contextmanager
def mail_server(
    setup: MailSetup, password: str | None, plain: Connect = smtplib.SMTP, tls: Connect = smtplib.SMTP_SSL
) -> Iterator[Any]:
    """The mail server of the set-up, ready to take messages. Raises OSError and smtplib.SMTPException."""
    context = ssl.create_default_context()
    if setup.security == "tls":
        server = tls(setup.host, setup.port, timeout=SECONDS_TO_WAIT, context=context)
    else:
        server = plain(setup.host, setup.port, timeout=SECONDS_TO_WAIT)
    with server:
        if setup.security == "starttls":
            server.starttls(context=context)
        if setup.user and password is not None:
            server.login(setup.user, password)
        yield server

"""Reminder mails, parsed again by the standard library, whatever owners are called."""

from __future__ import annotations

from datetime import UTC, datetime
from email import message_from_bytes
from email.policy import default

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetlog.diary.shop_text import MailSetup
from fleetlog.exchange.mail_file import AddressUnusable, MailText, mail_bytes, mail_message, mail_server

AT = datetime(2026, 4, 15, 7, 0, tzinfo=UTC)
HEADERS = {
    "From", "To", "Subject", "Date", "Message-ID", "Auto-Submitted", "MIME-Version", "Content-Type",
}  # fmt: skip


def mail(**changes):
    facts = {
        "mail_id": "m1",
        "sender_name": "The marina",
        "sender": "service@marina.example",
        "to_name": "Mika Sandell",
        "to": "mika@example.org",
        "subject": "Engine service: Sea Spray",
        "text": "Dear Mika,\n\nüber\n",
        "html": "<p>Dear Mika</p>\n",
    }
    return MailText(**{**facts, **changes})


def parsed(**changes):
    content = mail_bytes(mail_message(mail(**changes), AT))
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert all(len(line) <= 998 for line in content.split(b"\r\n"))
    message = message_from_bytes(content, policy=default)
    assert not message.defects
    assert set(message.keys()) == HEADERS
    assert [part.get_content_type() for part in message.iter_parts()] == ["text/plain", "text/html"]
    return message


def test_a_mail_has_a_text_and_an_html_part_a_date_and_a_sender():
    message = parsed()
    assert message["From"].addresses[0].addr_spec == "service@marina.example"
    assert message["To"].addresses[0].display_name == "Mika Sandell"
    assert message["Date"].datetime == AT
    text, html = message.iter_parts()
    assert text.get_content().splitlines() == ["Dear Mika,", "", "über"]
    assert html.get_content().splitlines() == ["<p>Dear Mika</p>"]


@pytest.mark.parametrize(
    "name",
    [
        "Eve\r\nBcc: all@example.org",
        "Eve\nSubject: won\n\nbody",
        'Eve" <eve@example.org>, "',
        "Eve\u2028Bcc: x@example.org",
        "\x00\x1b[31mEve",
        "=?utf-8?q?Eve?=",
        "E" * 900,
        "Łódź, Ünal; <b>",
        "",
    ],
)
def test_a_hostile_name_stays_in_its_header(name):
    message = parsed(to_name=name, subject=f"Engine service: {name}", sender_name=name)
    assert [a.addr_spec for a in message["To"].addresses] == ["mika@example.org"]
    assert [a.addr_spec for a in message["From"].addresses] == ["service@marina.example"]
    assert "\n" not in message["Subject"]


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=80), st.text(max_size=200))
def test_whatever_a_name_or_a_text_is_the_mail_is_one_mail_to_one_person(name, text):
    message = parsed(to_name=name, subject=name, text=text, html=text)
    assert [a.addr_spec for a in message["To"].addresses] == ["mika@example.org"]


@pytest.mark.parametrize(
    "address",
    ["", "mika", "mika@", "@example.org", "a@b.example, c@d.example", "a@b.example\r\nBcc: x@y.example",
     "mika@example", "Mika <mika@example.org>", "mïka@example.org", "a b@example.org"],
)  # fmt: skip
def test_what_is_no_address_is_refused(address):
    with pytest.raises(AddressUnusable):
        mail_message(mail(to=address), AT)


class Server:
    """A mail server that writes down what is asked of it."""

    def __init__(self, *where, **how):
        self.asked = [("connect", *where)]
        self.secure = "context" in how

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.asked.append(("quit",))

    def starttls(self, context):
        self.asked.append(("starttls",))

    def login(self, user, password):
        self.asked.append(("login", user, password))


@pytest.mark.parametrize(
    ("security", "asked"),
    [
        ("starttls", [("connect", "h", 587), ("starttls",), ("login", "u", "p"), ("quit",)]),
        ("tls", [("connect", "h", 587), ("login", "u", "p"), ("quit",)]),
        ("none", [("connect", "h", 587), ("login", "u", "p"), ("quit",)]),
    ],
)
def test_the_server_is_spoken_to_as_it_is_set_up(security, asked):
    setup = MailSetup("s@marina.example", "h", 587, security, "u")
    with mail_server(setup, "p", Server, Server) as server:
        assert server.secure == (security == "tls")
    assert server.asked == asked


def test_a_server_without_a_user_is_not_logged_in_to():
    with mail_server(MailSetup("s@marina.example", "h"), None, Server, Server) as server:
        pass
    assert "login" not in [what for what, *_ in server.asked]

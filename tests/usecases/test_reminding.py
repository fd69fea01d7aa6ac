"""Reminders: who is mailed what, once, and what is known of a mail that broke off on its way."""

from __future__ import annotations

import json
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from email import message_from_bytes
from email.policy import default
from functools import partial
from smtplib import SMTPRecipientsRefused, SMTPSenderRefused, SMTPServerDisconnected

import pytest

from fleetlog.errors.mail import MailFolderTaken, MailNotSetUp, MailNotTaken, SecretOpenToOthers
from fleetlog.usecases.correcting import defer_line
from fleetlog.usecases.diary.booking import book_all
from fleetlog.usecases.diary.planning import PlanQuestion, make_plan
from fleetlog.usecases.mailing import send_mails, sent_mails, smtp_password, write_mails
from fleetlog.usecases.register import correct_serial
from fleetlog.usecases.reminding import gather_reminders
from tests.usecases.together import together
from tests.usecases.twins_shop import CONTEXT, OCCASION, later


class FakeServer:
    """Takes mails until it has had enough."""

    def __init__(self, most=99, error=None):
        self.taken, self.most = [], most
        self.error = error or SMTPRecipientsRefused({"quill@example.org": (550, b"no")})

    @contextmanager
    def __call__(self, setup, password):
        self.spoken = (setup.host, password)
        yield self

    def send_message(self, message):
        if len(self.taken) >= self.most:
            raise self.error
        self.taken.append(message_from_bytes(message.as_bytes(), policy=default))


SECRET = {"FLEETLOG_SMTP_PASSWORD": "geheim"}


def test_owners_who_chose_mail_are_told_what_is_due_and_the_day_proposed(shop_log):
    make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    found = gather_reminders(shop_log, OCCASION, CONTEXT)
    assert [(r.owner.name, len(r.things)) for r in found.mails] == [("Quill Marsh", 4)]
    assert [(o.owner.name, o.why) for o in found.others] == [("Arden Reed", "wants no reminders")]
    mail = found.mails[0].mail
    for part in (mail.text, mail.html):
        assert "Replace timing belt" in part
        assert "We propose" in part


def test_grave_work_that_was_put_off_is_told_beside_what_is_due(shop_log):
    until = {"until_on": date(2031, 1, 1), "until_tenths": None}
    defer_line(shop_log, OCCASION, "E-1", "belt", position=None, reason="owner abroad", **until)
    [reminder] = gather_reminders(shop_log, OCCASION, CONTEXT).mails
    for part in (reminder.mail.text, reminder.mail.html):
        assert "Replace timing belt: put off until" in part
        assert "The schedule’s own limit is" in part
        assert "owner abroad" not in part


def test_engines_with_work_due_and_no_owner_on_record_are_named(shop_log):
    assert gather_reminders(shop_log, OCCASION, CONTEXT).of_nobody == ("E-4",)
    assert gather_reminders(shop_log, OCCASION, CONTEXT, owner="Quill").of_nobody == ()


def test_nothing_is_told_twice_within_the_set_time(shop_log):
    server = FakeServer()
    found = gather_reminders(shop_log, OCCASION, CONTEXT)
    assert send_mails(shop_log, OCCASION, found, CONTEXT, SECRET, server).taken == ["Quill Marsh"]
    assert server.spoken == ("mail.example", "geheim")
    assert server.taken[0]["To"].addresses[0].addr_spec == "quill@example.org"
    assert gather_reminders(shop_log, later(20), CONTEXT).mails == ()
    assert len(gather_reminders(shop_log, later(22), CONTEXT).mails) == 1
    (sent,) = sent_mails(shop_log, later(1))
    assert (sent["owner"], sent["by"], sent["how"], len(sent["things"])) == ("Quill Marsh", "Tess", "smtp", 4)
    assert "geheim" not in json.dumps(sent)


def test_a_serial_number_that_was_put_right_is_nothing_new_to_tell(shop_log):
    found = gather_reminders(shop_log, OCCASION, CONTEXT)
    send_mails(shop_log, OCCASION, found, CONTEXT, SECRET, FakeServer())
    correct_serial(shop_log, OCCASION, "E-1", "E-10", "read off the plate")
    assert gather_reminders(shop_log, later(1), CONTEXT).mails == ()
    [again] = gather_reminders(shop_log, later(22), CONTEXT).mails
    assert again.things == found.mails[0].things
    assert "E-10" in again.mail.text


def test_a_new_appointment_is_told_though_the_work_was(shop_log):
    send_mails(
        shop_log, OCCASION, gather_reminders(shop_log, OCCASION, CONTEXT), CONTEXT, SECRET, FakeServer()
    )
    make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    assert gather_reminders(shop_log, later(1), CONTEXT).mails == ()
    book_all(shop_log, OCCASION, None)
    (reminder,) = gather_reminders(shop_log, later(1), CONTEXT).mails
    assert "Agreed:" in reminder.mail.text
    assert "Replace timing belt" not in reminder.mail.text


def test_a_mail_that_is_refused_is_named_and_not_recorded_as_sent(shop_log):
    found = gather_reminders(shop_log, OCCASION, CONTEXT)
    done = send_mails(shop_log, OCCASION, found, CONTEXT, SECRET, FakeServer(most=0))
    assert (done.taken, done.refused) == ([], [("Quill Marsh", "550 no")])
    assert sent_mails(shop_log, OCCASION) == []
    again = gather_reminders(shop_log, OCCASION, CONTEXT)
    assert (len(again.mails), again.in_doubt) == (1, ())
    with pytest.raises(MailNotSetUp, match="no password for service"):
        send_mails(shop_log, OCCASION, found, CONTEXT, {}, FakeServer())


def test_without_an_address_to_write_from_the_way_out_is_not_to_write_files(shop_log, tmp_path):
    found = gather_reminders(shop_log, OCCASION, CONTEXT)
    bare = replace(found, mail_setup=None)
    with pytest.raises(MailNotSetUp, match=r"no \[mail\] table .*; put it in, raise the revision"):
        write_mails(shop_log, OCCASION, bare, CONTEXT, tmp_path / "mails", mark_sent=False)


def test_a_server_that_will_not_have_us_stops_the_run(shop_log):
    found = gather_reminders(shop_log, OCCASION, CONTEXT)
    no_sender = FakeServer(most=0, error=SMTPSenderRefused(553, b"who?", "service@marina.example"))
    with pytest.raises(MailNotTaken, match=r"did not take the mail to Quill Marsh: 553 who\?"):
        send_mails(shop_log, OCCASION, found, CONTEXT, SECRET, no_sender)
    assert gather_reminders(shop_log, OCCASION, CONTEXT).in_doubt == ()


@pytest.mark.parametrize("error", [SMTPServerDisconnected("gone"), TimeoutError("timed out")])
def test_a_mail_that_broke_off_is_in_doubt_and_not_sent_again_unasked(shop_log, error):
    found = gather_reminders(shop_log, OCCASION, CONTEXT)
    with pytest.raises(MailNotTaken, match="whether it went out is in doubt"):
        send_mails(shop_log, OCCASION, found, CONTEXT, SECRET, FakeServer(most=0, error=error))
    next_day = gather_reminders(shop_log, later(1), CONTEXT)
    assert next_day.mails == ()
    assert [(doubt.owner.name, len(doubt.things)) for doubt in next_day.in_doubt] == [("Quill Marsh", 4)]
    again = gather_reminders(shop_log, later(1), CONTEXT, doubtful_again=True)
    assert send_mails(shop_log, later(1), again, CONTEXT, SECRET, FakeServer()).taken == ["Quill Marsh"]
    assert gather_reminders(shop_log, later(1), CONTEXT).in_doubt == ()


def test_a_program_killed_right_after_the_server_took_a_mail_sends_it_to_nobody_twice(shop_log):
    class Killed(BaseException):
        """Stands for a power cut."""

    class Dying(FakeServer):
        def send_message(self, message):
            super().send_message(message)
            raise Killed

    found = gather_reminders(shop_log, OCCASION, CONTEXT)
    with pytest.raises(Killed):
        send_mails(shop_log, OCCASION, found, CONTEXT, SECRET, Dying())
    after = gather_reminders(shop_log, later(1), CONTEXT)
    assert (after.mails, len(after.in_doubt)) == ((), 1)


def test_two_runs_at_once_mail_an_owner_once(shop_log):
    server = FakeServer()
    both = [gather_reminders(shop_log, OCCASION, CONTEXT) for _ in range(2)]
    runs = [partial(send_mails, shop_log, OCCASION, found, CONTEXT, SECRET, server) for found in both]
    answers = together(runs)
    assert sorted((len(sent.taken), len(sent.left_out)) for sent in answers) == [(0, 1), (1, 0)]
    assert len(server.taken) == 1


def test_mails_as_files_are_private_and_never_mixed_with_those_of_another_run(shop_log, tmp_path):
    found = gather_reminders(shop_log, OCCASION, CONTEXT)
    (path,) = write_mails(shop_log, OCCASION, found, CONTEXT, tmp_path / "mails", mark_sent=False).values()
    message = message_from_bytes(path.read_bytes(), policy=default)
    assert message["To"].addresses[0].addr_spec == "quill@example.org"
    assert not path.stat().st_mode & 0o077
    assert sent_mails(shop_log, OCCASION) == []
    with pytest.raises(MailFolderTaken):
        write_mails(shop_log, OCCASION, found, CONTEXT, tmp_path / "mails", mark_sent=True)
    write_mails(shop_log, OCCASION, found, CONTEXT, tmp_path / "more", mark_sent=True)
    assert [sent["how"] for sent in sent_mails(shop_log, OCCASION)] == ["file"]


def test_a_password_comes_from_the_environment_or_a_file_that_nobody_else_reads(tmp_path):
    assert smtp_password({}) is None
    assert smtp_password(SECRET) == "geheim"
    secret = tmp_path / "secret"
    secret.write_text("geheim\n", encoding="utf-8")
    secret.chmod(0o644)
    with pytest.raises(SecretOpenToOthers, match="644"):
        smtp_password({"FLEETLOG_SMTP_PASSWORD_FILE": str(secret)})
    secret.chmod(0o600)
    assert smtp_password({"FLEETLOG_SMTP_PASSWORD_FILE": str(secret)}) == "geheim"
    with pytest.raises(MailNotSetUp, match="cannot be read"):
        smtp_password({"FLEETLOG_SMTP_PASSWORD_FILE": str(tmp_path / "none")})

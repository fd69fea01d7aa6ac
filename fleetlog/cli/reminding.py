"""The command that reminds owners by mail: remind."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetlog import __version__
from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import FOLDER, MARINA, REPLY_BY, WINDOW, OfWhom, examples, format_option
from fleetlog.cli.output import fault, remark, show
from fleetlog.errors import counted, one_of

if TYPE_CHECKING:
    from fleetlog.reports.context import ReportContext
    from fleetlog.usecases.reminding import Reminders


@click.command(
    "remind",
    cls=OfWhom,
    epilog=examples(
        "remind", "remind --out mails", "remind --send", "remind --send --no-dry-run", "remind --sent"
    ),
)
@click.option("--out", type=FOLDER, help="Write each mail as an .eml file there.")
@click.option("--mark-sent", is_flag=True, help="With --out: record them as sent, as you send them yourself.")
@click.option("--send", is_flag=True, help="Send them through the mail server of shop.toml.")
@click.option(
    "--dry-run/--no-dry-run",
    default=True,
    show_default=True,
    help="With --send: only say what would be sent.",
)
@click.option("--again", is_flag=True, help="Send mails in doubt again: those broken off while being sent.")
@click.option("--sent", is_flag=True, help="List who was sent what and when.")
@click.option("--owner", help="Only this owner: a name, a part of it, or the id.")
@click.option("--within", "within_days", type=WINDOW, default="60d", show_default=True, help="How far ahead.")
@click.option(
    "--again-after",
    "again_days",
    type=WINDOW,
    help="Not the same thing within.  [default: shop.toml, else 21d]",
)
@MARINA
@REPLY_BY
@format_option
@pass_desk
def remind_command(
    desk: Desk,
    out: Path | None,
    mark_sent: bool,
    send: bool,
    dry_run: bool,
    again: bool,
    sent: bool,
    owner: str | None,
    within_days: int,
    again_days: int | None,
    marina: str | None,
    reply_by: str | None,
    shape: str,
) -> None:
    """Remind owners by mail of what is due, with the days agreed or proposed.

    Without --out or --send it only lists who would be mailed. Nobody is told
    the same thing twice within a set time, and nobody who opted out is mailed.
    A mail that broke off on its way is in doubt: it is said, and not sent again
    without --again.
    The password of the mail server comes from FLEETLOG_SMTP_PASSWORD, or from
    the file that FLEETLOG_SMTP_PASSWORD_FILE names (chmod 600).
    """
    from fleetlog.exchange.mail_file import one_line
    from fleetlog.reports.context import ReportContext
    from fleetlog.usecases.mailing import sent_mails, unusable, write_mails
    from fleetlog.usecases.reminding import gather_reminders

    if sent:
        columns = [("at", "When"), ("owner", "Owner"), ("subject", "Subject"), ("how", "How"), ("by", "By")]
        show(sent_mails(desk.log, desk.occasion), columns, shape, "Nothing was sent yet.")
        return
    if out is not None and send:
        raise click.UsageError("Choose one of --out and --send.")
    if mark_sent and out is None:
        raise click.UsageError("--mark-sent goes with --out.")
    context = ReportContext(desk.signed_by(marina), __version__, reply_by=reply_by, within_days=within_days)
    found = gather_reminders(desk.log, desk.occasion, context, owner, again_days, doubtful_again=again)
    for text in unusable(found):
        remark(text)
    if found.of_nobody:
        engines = one_of(found.of_nobody, 5)
        remark(f"nobody is told of {engines}: work is due there, and whose they are is not on record")
    for doubt in () if again else found.in_doubt:
        remark(
            f"a mail to {one_line(doubt.owner.name)} of {doubt.at.date()} was broken off and"
            " may have gone out or not; --again sends it again"
        )
    if out is not None:
        paths = write_mails(desk.log, desk.occasion, found, context, out, mark_sent=mark_sent)
        if shape == "table":
            click.echo(f"{counted(len(paths), 'mail')} in {out}{', recorded as sent' if mark_sent else ''}.")
        else:
            _show(found, shape, paths)
        _say_not_mailed(found)
        return
    if send and not dry_run:
        _send(desk, found, context, shape)
        _say_not_mailed(found)
        return
    _show(found, shape, {})
    if shape == "table" and send:
        click.echo("\nA dry run: nothing was sent. --send --no-dry-run sends them.")


def _say_not_mailed(found: Reminders) -> None:
    """Say how many owners get no mail, but for those who want no reminders."""
    left = [other for other in found.others if other.owner.remind_by != "none"]
    if left:
        who = counted(len(left), "owner is", "owners are")
        remark(f"{who} not mailed: fleetlog remind says of each why")


_BY_ANOTHER = "another run of remind is mailing them"


def _send(desk: Desk, found: Reminders, context: ReportContext, shape: str) -> None:
    """Send the mails; exit status 1 where the server refused one."""
    from fleetlog.usecases.mailing import send_mails

    done = send_mails(desk.log, desk.occasion, found, context)
    if shape == "table":
        click.echo(
            f"Sent {counted(len(done.taken), 'mail')}{': ' + ', '.join(done.taken) if done.taken else ''}."
        )
    else:
        rows = [{"owner": name, "sent": True, "why_not": None} for name in done.taken]
        rows += [{"owner": name, "sent": False, "why_not": reason} for name, reason in done.refused]
        rows += [{"owner": name, "sent": False, "why_not": _BY_ANOTHER} for name in done.left_out]
        show(rows, [(key, key) for key in ("owner", "sent", "why_not")], shape)
    for name in done.left_out:
        remark(f"{name} was left out: {_BY_ANOTHER}")
    for name, reason in done.refused:
        fault(f"the mail server refused the mail to {name}: {reason}")
    if done.refused:
        raise SystemExit(1)


def _show(found: Reminders, shape: str, files: Mapping[str, Path]) -> None:
    """Who would be mailed, and who not and why; and the files that the mails are in, by the owner's id."""
    rows = [
        {
            "owner": reminder.owner.name,
            "email": reminder.owner.email,
            "subject": reminder.mail.subject,
            "things": len(reminder.things),
            "why_not": None,
            "file": str(files[reminder.owner.owner_id]) if reminder.owner.owner_id in files else None,
        }
        for reminder in found.mails
    ]
    rows += [
        {
            "owner": o.owner.name,
            "email": None,
            "subject": None,
            "things": None,
            "why_not": o.why,
            "file": None,
        }
        for o in found.others
    ]
    columns = [
        ("owner", "Owner"),
        ("email", "To"),
        ("subject", "Subject"),
        ("things", "Things"),
        ("why_not", "Not mailed"),
    ]
    show(rows, columns, shape, "Nobody has to be reminded.")

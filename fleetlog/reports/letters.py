"""What every letter to an owner has: the address, how it goes out, and how to answer."""

from __future__ import annotations

from fleetlog.domain.records import Owner
from fleetlog.reports.context import ReportContext
from fleetlog.reports.words import listed, shortened


def address_lines(owner: Owner) -> list[str]:
    """The postal address in at most five lines, parted at line ends and semicolons."""
    parts = (owner.address or "").replace(";", "\n").splitlines()
    return [shortened(part, 60) for part in parts if part.strip()][:5]


def reach(owner: Owner) -> str:
    """How the letter goes out; nothing where the owner has not said."""
    if owner.remind_by == "email" and owner.email:
        return f"By e-mail to {shortened(owner.email, 60)}"
    return "By post" if owner.remind_by == "post" else ""


def how_to_answer(context: ReportContext, asked: str) -> str:
    """What is asked of the owner, and the ways to answer."""
    ways = []
    if context.reply_email:
        ways.append(f"by e-mail to {context.reply_email}")
    if context.reply_by:
        ways.append(context.reply_by)
    return f"{asked} {listed(ways, 'or')}." if ways else f"{asked} by post or at our counter."

"""The page to an owner whose engine has a part that is asked after: which engine, which part, what to do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fleetlog.domain.part_search import Sighting
from fleetlog.domain.records import Owner
from fleetlog.domain.words import with_position
from fleetlog.reports.context import ReportContext
from fleetlog.reports.index_page import owner_order, wants_reminders
from fleetlog.reports.letters import address_lines, how_to_answer, reach
from fleetlog.reports.names import owner_page_path
from fleetlog.reports.rendering import laid_out
from fleetlog.reports.words import counted, day_text, shortened

ASKED = "Please get in touch with us before you run the engine again, so that we can look at it."
"""What is asked of an owner where the shop says nothing else."""


@dataclass(frozen=True, slots=True)
class PartNotice:
    """What is said of the part: its number, the lot, and why it is asked after, in the shop's own words."""

    part_number: str
    lot: str | None = None
    message: str | None = None


@dataclass(frozen=True, slots=True)
class NoticeRow:
    """One place where the part sits."""

    where: str
    engine: str
    item: str
    part: str
    fitted: str


@dataclass(frozen=True, slots=True)
class NoticePage:
    """The notice as it is laid out."""

    owner: str
    address: Sequence[str]
    reach: str
    part: str
    opening: str
    message: str
    rows: Sequence[NoticeRow]
    reply: str


def render_part_notices(
    found: Sequence[Sighting], part: PartNotice, context: ReportContext, today: date
) -> tuple[dict[str, str], list[str]]:
    """A page for each owner who has the part now, by its path; and the names of owners who want none.

    A page tells of this owner's engines alone.
    """
    owners: dict[str, tuple[Owner, list[Sighting]]] = {}
    for sighting in found:
        if sighting.is_now and sighting.owner is not None:
            owners.setdefault(sighting.owner.owner_id, (sighting.owner, []))[1].append(sighting)
    pages: dict[str, str] = {}
    unwritten = []
    for owner, theirs in sorted(owners.values(), key=lambda pair: owner_order(pair[0])):
        if wants_reminders(owner):
            view = notice_page(owner, theirs, part, context)
            pages[owner_page_path(owner.name, owner.owner_id)] = laid_out(
                "part_notice.html", view, context, today
            )
        else:
            unwritten.append(owner.name)
    return pages, unwritten


def notice_page(
    owner: Owner, theirs: Sequence[Sighting], part: PartNotice, context: ReportContext
) -> NoticePage:
    """What one owner is told."""
    lot = f", lot {shortened(part.lot, 40)}" if part.lot else ""
    named = f"{shortened(part.part_number, 40)}{lot}"
    count = len({s.serial for s in theirs})
    has = "has" if count == 1 else "have"
    engines = "your engine" if count == 1 else f"{counted(count, 'engine')} of yours"
    return NoticePage(
        shortened(owner.name, 70),
        address_lines(owner),
        reach(owner),
        named,
        f"By our service log {engines} {has} a part that we are asking after: {named}.",
        part.message or ASKED,
        [_row(s) for s in theirs],
        how_to_answer(context, "Please answer"),
    )


def _row(sighting: Sighting) -> NoticeRow:
    item, fitted = sighting.leg.item, sighting.named
    place = f", {shortened(sighting.position_on_boat, 20)}" if sighting.position_on_boat else ""
    where = shortened(sighting.boat.name, 40) + place if sighting.boat is not None else "on no boat"
    lot = f", lot {fitted.lot}" if fitted.lot else ""
    since = sighting.leg.stint.from_on
    return NoticeRow(
        where,
        sighting.serial,
        with_position(item.item, item.position),
        f"{fitted.part_number}{lot}",
        "not known" if since is None else day_text(since),
    )

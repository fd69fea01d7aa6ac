"""Finds every engine, boat and owner that has a part or had it, and keeps which number replaced which."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from fleetlog.domain.batch import Batch
from fleetlog.domain.part_search import Sighting, sightings
from fleetlog.domain.records import Entry
from fleetlog.domain.superseded import Supersession, newest_number, one_part, standing_on, would_go_round
from fleetlog.domain.travel import Homes
from fleetlog.domain.words import same_name
from fleetlog.errors.naming import NotKnown
from fleetlog.errors.parts import PartNeeded, SupersededByItself
from fleetlog.errors.recording import AlreadyThere
from fleetlog.reports.context import ReportContext
from fleetlog.reports.part_notice import PartNotice, render_part_notices
from fleetlog.reports.writing import write_pages
from fleetlog.store.log import Log
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.finding import refuse_empty
from fleetlog.usecases.homes import homes_of
from fleetlog.usecases.occasion import Occasion


@dataclass(frozen=True, slots=True)
class PartFound:
    """The numbers that were looked for, the one to order now, and where the part is or was.

    Where a lot was asked for: on which engines the part is now without anybody having said of which lot.
    """

    numbers: list[str]
    order_number: str
    sightings: list[Sighting]
    lot_not_known: list[str]


def find_part(
    log: Log, occasion: Occasion, part_number: str, lot: str | None, *, is_exact: bool
) -> PartFound:
    """Where a part is and was; numbers that replaced each other are one part, unless `is_exact`."""
    if not part_number.strip():
        raise PartNeeded
    if lot is not None:
        refuse_empty("lot", lot)
    with log.reading() as reader:
        holding = standing_on(reader.supersessions(), occasion.today)
        numbers = [part_number.strip()] if is_exact else one_part(holding, part_number.strip())
        homes = homes_of(reader, occasion.today)
        entries = reader.entries_with_part(numbers)
        wanted = [e for e in entries if lot is None or same_name(e.lot, lot)]
        found = sightings(homes, wanted, occasion.today)
        unsaid = [] if lot is None else _of_no_lot(homes, entries, occasion.today)
    return PartFound(numbers, newest_number(holding, part_number.strip()), found, unsaid)


def _of_no_lot(homes: Homes, entries: Sequence[Entry], today: date) -> list[str]:
    """The engines that have the part now where no entry says of which lot it is."""
    told = {id(s.leg.item) for s in sightings(homes, [e for e in entries if e.lot], today)}
    untold = sightings(homes, [e for e in entries if not e.lot], today)
    return sorted({s.serial for s in untold if s.is_now and id(s.leg.item) not in told})


def write_part_notices(
    found: PartFound, part: PartNotice, out: Path, context: ReportContext, today: date
) -> tuple[list[Path], list[str]]:
    """A page for each owner who has the part now; the pages, and the names of owners who want none."""
    pages, unwritten = render_part_notices(found.sightings, part, context, today)
    return write_pages(pages, out), unwritten


@again_if_lost
def supersede(
    log: Log, occasion: Occasion, part_number: str, by_number: str, from_on: date | None, note: str | None
) -> Supersession:
    """A part number was replaced by another. Refused where it would at last be replaced by itself."""
    row = Supersession(part_number.strip(), by_number.strip(), from_on, None, note, occasion.by)
    with log.writing(occasion.by, occasion.at) as writer:
        writer.alone_with("supersessions")
        known = writer.supersessions()
        if any(_is(s, row.part_number, row.superseded_by) for s in known):
            raise AlreadyThere("superseded number", f"{row.part_number} by {row.superseded_by}")
        if would_go_round(standing_on(known, occasion.today), row.part_number, row.superseded_by):
            raise SupersededByItself(row.part_number, row.superseded_by)
        writer.add(Batch(supersessions=[row]))
    return row


@again_if_lost
def withdraw_supersession(
    log: Log, occasion: Occasion, part_number: str, by_number: str, reason: str
) -> Supersession:
    """Say that one number did not replace another after all."""
    with log.writing(occasion.by, occasion.at) as writer:
        writer.alone_with("supersessions")
        known = writer.supersessions()
        for row in known:
            if _is(row, part_number, by_number):
                writer.end("supersessions", (row.part_number, row.superseded_by), occasion.today, reason)
                return row
        raise NotKnown(
            "superseded number", f"{part_number} by {by_number}", [], "fleetlog superseded list shows them"
        )


def list_supersessions(log: Log, today: date) -> Sequence[Supersession]:
    """The supersessions that hold on a day, by number."""
    with log.reading() as reader:
        return sorted(standing_on(reader.supersessions(), today), key=lambda s: s.part_number)


def _is(row: Supersession, part_number: str, by_number: str) -> bool:
    return same_name(row.part_number, part_number) and same_name(row.superseded_by, by_number)

"""The bookings as a calendar: for the shop, for one technician, for one owner."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from fleetlog.domain.bookings import BookingState, bookings_of
from fleetlog.domain.records import Boat, Engine
from fleetlog.domain.schedule import Schedule
from fleetlog.errors import CalendarNotWritten
from fleetlog.exchange.calendar_file import CalendarVisit, calendar_text, visit_uid
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.diary_work import named_in_shop, needed_shop
from fleetlog.usecases.finding import find_owner
from fleetlog.usecases.occasion import Occasion


def make_calendar(
    log: Log, occasion: Occasion, out: Path, technician: str | None = None, owner: str | None = None
) -> int:
    """Write the calendar of the shop, of one technician or of one owner's boats; how many visits are in it.

    Visits that were released are in it as cancelled, so that a calendar that has them takes them out.
    Raises NoShop, NotKnown or CalendarNotWritten.
    """
    with log.reading() as reader:
        setup = needed_shop(reader)
        bookings = bookings_of(reader.rows("bookings"), occasion.today)
        boats, engines, schedules = reader.boats(), reader.engines(), reader.schedules()
        if technician is not None:
            wanted = named_in_shop(
                "technician",
                technician,
                {t.name for t in setup.shop.technicians} | {b.technician for b in bookings},
            )
            bookings = [b for b in bookings if b.technician == wanted]
            name = f"{setup.name}: {wanted}"
        elif owner is not None:
            found = find_owner(reader, owner)
            own = _boats_of(reader, found.owner_id, occasion)
            bookings = [b for b in bookings if b.boat_id in own]
            name = f"{setup.name}: {found.name}"
        else:
            name = setup.name
    for_owner = owner is not None
    visits = [_visit(b, boats, engines, schedules, for_owner=for_owner) for b in bookings]
    write_whole(out, calendar_text(name, visits, setup.time_zone))
    return len(visits)


def _boats_of(reader: Reader, owner_id: str, occasion: Occasion) -> set[str]:
    return {
        boat_id
        for boat_id, ledger in reader.boat_ledgers().items()
        if ledger.owner_id_on(occasion.today) == owner_id
    }


def _visit(
    booking: BookingState,
    boats: Mapping[str, Boat],
    engines: Mapping[str, Engine],
    schedules: Mapping[str, Schedule],
    *,
    for_owner: bool,
) -> CalendarVisit:
    boat = boats.get(booking.boat_id)
    name = boat.name if boat else booking.boat_id
    lines = []
    for job in booking.jobs:
        engine = engines.get(job.serial)
        schedule = schedules.get(engine.schedule_name or "") if engine else None
        rule = schedule.rule(job.rule) if schedule else None
        place = f" ({job.position})" if job.position else ""
        lines.append(f"{job.serial}: {rule.title if rule else job.rule}{place}")
    if not for_owner:
        lines.append(f"{booking.technician}, booking {booking.booking_id}")
    return CalendarVisit(
        uid=visit_uid(booking.booking_id, booking.booked_at),
        sequence=booking.sequence,
        changed_at=booking.changed_at,
        on=booking.on,
        from_tenths=booking.from_tenths,
        tenths=booking.tenths,
        summary=f"Engine service: {name}" if for_owner else name,
        description="\n".join(lines),
        location=booking.place,
        is_cancelled=booking.change == "released",
    )


def write_whole(path: Path, content: bytes) -> None:
    """Write a file whole or not at all, readable by its owner only. Raises CalendarNotWritten."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(prefix=".fleetlog-", dir=path.parent)
        try:
            with open(handle, "wb") as file:
                file.write(content)
            os.replace(temporary, path)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise CalendarNotWritten(path, error.strerror or str(error)) from None

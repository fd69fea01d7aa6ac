"""Looks up the age of an item that comes from another engine of the log, instead of having it typed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Entry
from fleetlog.domain.satisfaction import seen_on
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.stints import item_at, items_of
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import schedule_of


def age_of_item_on(
    ledger: EngineLedger, schedule: Schedule | None, item: str, position: str | None, day: date
) -> tuple[int | None, int | None]:
    """Hours (whole tenths, rounded down) and months the last item of a kind had run on an engine by a day.

    None stands for what nothing tells: an engine without a meter, an item the log never saw fitted.
    """
    seen = seen_on(ledger, day)
    items = items_of(seen, schedule)
    found = item_at(items, item, position) or item_at(items, item, None)
    if found is None:
        return None, None
    tenths = found.age_tenths(seen.hours.tenths_on(day))
    return None if tenths is None else int(tenths), found.age_months(day)


def with_age_looked_up(reader: Reader, entry: Entry) -> Entry:
    """The entry with the prior age of an item from another engine filled in, where it was not stated."""
    if entry.from_serial is None or entry.item is None or entry.action != "fitted":
        return entry
    if entry.prior_tenths is not None or entry.prior_months is not None:
        return entry
    giver = reader.ledger(entry.from_serial)
    schedule = schedule_of(giver, reader.schedules())
    tenths, months = age_of_item_on(giver, schedule, entry.item, entry.position, entry.on)
    return replace(entry, prior_tenths=tenths, prior_months=months)

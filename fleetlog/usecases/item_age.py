"""Looks up the age of an item that comes from another engine of the log, instead of having it typed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Entry
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.travel import Home, RanSoFar, age_on, item_taken, item_there, taken_items, with_prior_age
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import schedule_of


def age_of_item_on(
    ledger: EngineLedger,
    schedule: Schedule | None,
    item: str,
    position: str | None,
    day: date,
    today: date,
    takings: Iterable[Entry],
) -> RanSoFar:
    """What the item taken from an engine had run by a day.

    Hours are those that the readings up to today tell.

    It is the one that came off as transferred by then, else the one that was fitted, else the last that came
    off, else the original one. `takings` are entries on other engines that took something from here before.
    None stands for what nothing tells: an engine without a meter, the original of one that joined used.
    """
    home = Home(ledger, schedule, day, read_until=today)
    gone = list(taken_items(home, takings).values())
    taken = item_taken(home, item, position, day, gone)
    if taken is None and not gone:
        taken = item_there(home, item, position)
    return age_on(home, taken, day)


def with_age_looked_up(reader: Reader, entry: Entry, today: date) -> Entry:
    """The entry with the prior age of an item from another engine filled in, where it was not stated."""
    if entry.from_serial is None or entry.item is None or entry.action != "fitted" or entry.has_prior_age:
        return entry
    giver = reader.ledger(entry.from_serial)
    schedule = schedule_of(giver, reader.schedules())
    takings = [e for e in reader.entries_from(entry.from_serial) if e.on <= entry.on]
    ran = age_of_item_on(giver, schedule, entry.item, entry.position, entry.on, today, takings)
    return with_prior_age(entry, ran)

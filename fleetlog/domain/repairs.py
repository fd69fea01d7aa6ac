"""Repairs of engines by age: what failed and was put right, over the time an engine was watched."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from fleetlog.domain.conditions import Conditions, prevailing, spells
from fleetlog.domain.hours import Tenths
from fleetlog.domain.lives import Age, watched_until
from fleetlog.domain.months import fine_months
from fleetlog.domain.records import Entry
from fleetlog.domain.travel import Home
from fleetlog.domain.values import value_class
from fleetlog.domain.words import same_name

BREAKDOWN = "breakdown"
"""The word with which a visit's `why` begins where the engine had broken down."""


@value_class(frozen=True, slots=True)
class EngineRepairs:
    """One engine's repairs by age, and the ages from which and up to which it was watched.

    An engine logged from new is watched from age 0, any other from the first word of it in the log.
    """

    serial: str
    start: Age
    end: Age
    repairs: tuple[Age, ...]
    conditions: Conditions


def repairs_of(home: Home, item: str | None) -> EngineRepairs:
    """The repairs of an engine, or those of one kind of item.

    A repair is a visit (a day, where there is none) on which an item came off failed, or for which the
    engine came in broken down; of one kind of item, only the former.
    """
    start_on = _first_word(home)
    until = watched_until(home)
    engine, hours = home.seen.engine, home.seen.hours
    from_new = engine.logged_from_new and engine.in_service_on is not None
    start = Age(0.0, 0.0) if from_new else _age(home, start_on, hours.tenths[0] if hours.days else None)
    repairs = [_age(home, day, tenths) for day, tenths in sorted(_repairs(home, item), key=lambda r: r[0])]
    held = spells(home.ledger, min(start_on, until), until)
    return EngineRepairs(
        home.serial, start, _age(home, until, home.now_tenths), tuple(repairs), prevailing(held)
    )


def _first_word(home: Home) -> date:
    engine = home.seen.engine
    if engine.logged_from_new and engine.in_service_on is not None:
        return engine.in_service_on
    days = [entry.on for entry in home.seen.entries] + home.seen.hours.days
    return min(days, default=home.today)


def _age(home: Home, day: date, tenths: Tenths | None) -> Age:
    in_service_on = home.seen.engine.in_service_on
    months = None if in_service_on is None else fine_months((day - in_service_on).days)
    metered = home.seen.hours.metered and tenths is not None
    return Age(float(tenths) / 10 if metered and tenths is not None else None, months)


def _repairs(home: Home, item: str | None) -> Iterator[tuple[date, Tenths | None]]:
    """The day and the engine hours of each repair, one a visit or day."""
    seen_already: set[object] = set()
    for entry in sorted(home.seen.entries, key=lambda e: (e.on, e.sequence)):
        visit = entry.visit_id if entry.visit_id is not None else entry.on
        if visit not in seen_already and _is_repair(home, entry, item):
            seen_already.add(visit)
            yield entry.on, home.seen.hours.tenths_at(entry)


def _is_repair(home: Home, entry: Entry, item: str | None) -> bool:
    if entry.reason == "failed" and (item is None or same_name(entry.item, item)):
        return True
    visit = home.ledger.visits.get(entry.visit_id or "")
    return item is None and visit is not None and (visit.why or "").strip().casefold().startswith(BREAKDOWN)

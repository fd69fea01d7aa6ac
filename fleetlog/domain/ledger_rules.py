"""The rules that the entries of one engine have to keep; what breaks one is returned, not raised.

What is only odd, since records have gaps, is told apart (`taken_off_twice`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from typing import Any

from fleetlog.domain.evidence_rules import evidence_problems
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.problems import LedgerProblem
from fleetlog.domain.records import Engine, Entry
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.words import ORDER_IN_A_DAY, name_key

AHEAD_OF_SERVICE = timedelta(days=366)
"""So long before it comes into service an engine may be worked on: rigging and the check before delivery
(common practice, no source). An earlier day is a slip of the pen, there or in the day of service, or that of
a device without a clock; a figure of such a day would hold all that come after it."""


def ledger_problems(ledger: EngineLedger, schedule: Schedule | None) -> list[LedgerProblem]:
    """What is wrong with the rows of one engine that are not voided or withdrawn, as they stand in order.

    A position has to be one that the schedule knows for the item; only one item is fitted at a place on a
    date, an entry without a position being one at each that the schedule knows; nothing is done or read long
    before the engine came into service.
    """
    standing = ledger.entries_on(date.max)
    problems = list(_unknown_positions(standing, schedule))
    problems.extend(_unknown_rules(ledger, schedule))
    problems.extend(before_service(ledger))
    for entries in _several_by_item(standing):
        has_places = schedule is not None and bool(schedule.positions_of(entries[0].item or ""))
        problems.extend(_fitted_twice(entries, has_places=has_places))
    problems.extend(evidence_problems(ledger))
    return problems


def _several_by_item(entries: Iterable[Entry]) -> list[list[Entry]]:
    by_item: dict[str, list[Entry]] = {}
    for entry in entries:
        if entry.item is not None:
            by_item.setdefault(name_key(entry.item), []).append(entry)
    return [several for several in by_item.values() if len(several) > 1]


def _unknown_positions(entries: list[Entry], schedule: Schedule | None) -> Iterator[LedgerProblem]:
    if schedule is None:
        return
    known: dict[str, dict[str, str]] = {}
    for entry in entries:
        if entry.item is None or entry.position is None:
            continue
        item = name_key(entry.item)
        if item not in known:
            known[item] = {name_key(p): p for p in schedule.positions_of(entry.item)}
        places = known[item]
        if places and name_key(entry.position) not in places:
            expected = (
                f"a position of the {entry.item} in schedule {schedule.name}: {', '.join(places.values())}"
            )
            yield LedgerProblem("entries", entry.entry_id, "position", entry.position, expected)


def _unknown_rules(ledger: EngineLedger, schedule: Schedule | None) -> Iterator[LedgerProblem]:
    if schedule is None:
        return
    for deferral in ledger.deferrals:
        rule = schedule.rule(deferral.rule)
        if rule is None:
            expected = f"the key of a rule of schedule {schedule.name}"
            yield LedgerProblem("deferrals", deferral.deferral_id, "rule", deferral.rule, expected)
            continue
        places = {name_key(p) for p in rule.positions}
        if deferral.position is not None and places and name_key(deferral.position) not in places:
            expected = f"a position of rule {rule.key}: {', '.join(rule.positions)}"
            yield LedgerProblem("deferrals", deferral.deferral_id, "position", deferral.position, expected)


def first_day_of(engine: Engine) -> date | None:
    """The first day of which something can be recorded of an engine, where its day of service is known."""
    return None if engine.in_service_on is None else engine.in_service_on - AHEAD_OF_SERVICE


def before_service(ledger: EngineLedger) -> Iterator[LedgerProblem]:
    """The work, figures and changes of meters that are dated long before the engine came into service."""
    in_service_on, first = ledger.engine.in_service_on, first_day_of(ledger.engine)
    if in_service_on is None or first is None:
        return
    entries = (e for e in ledger.entries_on(date.max) if e.on < first)
    readings = (r for r in ledger.readings if r.on < first and r.status != "withdrawn")
    meters = (m for m in ledger.meters if m.fitted_on < first)
    before: list[tuple[str, Any, str, date]] = [
        *(("entries", e.entry_id, "on", e.on) for e in entries),
        *(("readings", r.reading_id, "on", r.on) for r in readings),
        *(("meters", (m.serial, m.fitted_on), "fitted_on", m.fitted_on) for m in meters),
    ]
    for kind, key, field, on in before:
        expected = (
            f"a day from {first.isoformat()}: the engine came into service on "
            f"{in_service_on.isoformat()} (correct that where it is wrong)"
        )
        yield LedgerProblem(kind, key, field, on.isoformat(), expected)


def _fitted_twice(entries: list[Entry], *, has_places: bool) -> Iterator[LedgerProblem]:
    on_day: dict[date, dict[str | None, Entry]] = {}
    for entry in entries:
        if entry.action != "fitted":
            continue
        place = None if entry.position is None else name_key(entry.position)
        first = on_day.setdefault(entry.on, {})
        earlier = first.get(place)
        if earlier is None and has_places:
            earlier = next(iter(first.values()), None) if place is None else first.get(None)
        if earlier is not None:
            where = f" at {entry.position}" if entry.position else ""
            each = ", at each position," if earlier.position is None and place is not None else ""
            expected = (
                f"one {entry.item} fitted{where} on {entry.on.isoformat()}; "
                f"entry {earlier.entry_id} says so already{each} (void it if it is wrong)"
            )
            yield LedgerProblem("entries", entry.entry_id, "item", entry.item or "", expected)
        first.setdefault(place, entry)


def taken_off_twice(ledger: EngineLedger) -> list[LedgerProblem]:
    """Each removal of what an earlier one took off already, with nothing put on since.

    A record that is taken in may lack what was put on in between; who says so today has it at hand. Taken off
    for access with nothing more said counts as put back, so it can be removed again.
    """
    if sum(entry.action == "removed" for entry in ledger.entries) < 2:
        return []
    several = _several_by_item(ledger.entries_on(date.max))
    return [problem for entries in several for problem in _removed_twice(entries)]


def _removed_twice(entries: list[Entry]) -> Iterator[LedgerProblem]:
    gone: dict[str | None, Entry] = {}
    for entry in sorted(entries, key=lambda e: (e.on, ORDER_IN_A_DAY[e.action])):
        place = None if entry.position is None else name_key(entry.position)
        if entry.action in ("fitted", "reused"):
            if place is None:
                gone.clear()
            else:
                gone.pop(place, None)
                gone.pop(None, None)
        elif entry.action == "removed":
            earlier = gone.get(place) or gone.get(None)
            if earlier is not None:
                where = f" at {entry.position}" if entry.position else ""
                expected = (
                    f"something fitted to remove: entry {earlier.entry_id} took the {entry.item}{where} "
                    f"off on {earlier.on.isoformat()} and nothing was put on since"
                )
                yield LedgerProblem("entries", entry.entry_id, "action", "removed", expected)
            elif entry.reason != "access":
                gone[place] = entry

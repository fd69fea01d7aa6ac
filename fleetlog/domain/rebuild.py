"""A rebuild as one visit: what it has to say of every item whose rules it resets, and what it leaves open.

A rule that replaces wants *fitted* or *reused*, as only these stand before the rebuild in the interval
engine. For it an item that is *carried over* or *left* is written as `reused`, with those words before its
note, so that its line stands where it stood; one that is renewed when disturbed gets that word only where
it was owed before: an untouched gasket owes nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import field
from datetime import date

from fleetlog.domain.evidence import Check, Measurement, Torque
from fleetlog.domain.hours import Tenths
from fleetlog.domain.records import Entry
from fleetlog.domain.satisfaction import Seen, still_owed
from fleetlog.domain.schedule import Rule, Schedule
from fleetlog.domain.stints import items_now
from fleetlog.domain.values import value_class
from fleetlog.domain.words import SATISFIED_BY, name_key, same_name, same_place

ANSWERS = ("renewed", "reused", "carried over", "left", "inspected", "adjusted", "serviced")
"""What a rebuild can say of an item. `left`: looked at and left as it is, so that its line stands."""

CARRIED_OVER = "carried over"
LEFT = "looked at and left"


@value_class(frozen=True, slots=True)
class RebuildItem:
    """What a form says of one item: an answer, and for a new one its part and the age it comes with."""

    item: str
    answer: str
    position: str | None = None
    on: date | None = None
    part_number: str | None = None
    lot: str | None = None
    is_used: bool = False
    prior_tenths: int | None = None
    prior_months: int | None = None
    from_serial: str | None = None
    why_off: str | None = None
    note: str | None = None
    by: str | None = None
    checked_by: str | None = None


@value_class(frozen=True, slots=True)
class FoundItem:
    """What was found when an item was looked at, before anything was done."""

    item: str
    note: str
    position: str | None = None
    on: date | None = None
    measured: str | None = None
    unit: str | None = None
    by: str | None = None


@value_class(frozen=True, slots=True)
class Noted:
    """A row of evidence as a form has it, without ids, and what was done about it where it is off."""

    row: Torque | Measurement | Check
    on: date | None = None
    outcome: str | None = None
    what: str | None = None


@value_class(frozen=True, slots=True)
class RebuildForm:
    """A whole rebuild as it is handed in. `on` is the day it was finished; without `closed_on` the visit
    stays open. `visit_facts` are why, complaint, cause, correction, advised and note of a new visit."""

    serial: str
    scope: str
    on: date
    visit_id: str | None = None
    opened_on: date | None = None
    closed_on: date | None = None
    hours_tenths: int | None = None
    are_engine_hours: bool = False
    visit_facts: dict[str, str | None] = field(default_factory=dict)
    note: str | None = None
    by: str | None = None
    checked_by: str | None = None
    items: tuple[RebuildItem, ...] = ()
    found: tuple[FoundItem, ...] = ()
    evidence: tuple[Noted, ...] = ()


@value_class(frozen=True, slots=True)
class OutlinedItem:
    """An item at a place, the rules of it that a rebuild resets, and what is known of the one that is on.

    `is_least` where it ran at least its age in hours.
    """

    item: str
    position: str | None
    rules: tuple[Rule, ...]
    age_tenths: Tenths | None = None
    age_months: int | None = None
    fitted: Entry | None = None
    is_owed: bool = False
    is_least: bool = False


def lines_reset(schedule: Schedule, scope: str) -> Iterator[tuple[Rule, str | None]]:
    """Every line that a rebuild of a scope resets: its rule and its position."""
    for rule in schedule.rules:
        if scope in rule.reset_by:
            for position in rule.lines():
                yield rule, position


def unanswered(schedule: Schedule, scope: str, entries: Iterable[Entry]) -> list[tuple[Rule, str | None]]:
    """The lines that a rebuild resets and of whose item no entry of its visit says anything that answers.

    A rule that replaces wants to hear that the item was fitted or reused, since only these stand before the
    rebuild; any other rule is content with any word on its item. Work that renews the rule answers too.
    """
    said = list(entries)
    return [
        (rule, position)
        for rule, position in lines_reset(schedule, scope)
        if not _is_answered(schedule, rule, position, said)
    ]


def _is_answered(schedule: Schedule, rule: Rule, position: str | None, entries: list[Entry]) -> bool:
    wanted = ("fitted", "reused") if rule.action == "replace" and not rule.renew_when_disturbed else None
    for entry in entries:
        is_of_line = same_name(entry.item, rule.item) and same_place(entry.position, position)
        if is_of_line and (wanted is None or entry.action in wanted):
            return True
    return any(
        _is_work_of(entry, renewer) and same_place(entry.position, position)
        for renewer in schedule.renewers_of(rule)
        for entry in entries
    )


def _is_work_of(entry: Entry, rule: Rule) -> bool:
    if entry.action not in SATISFIED_BY[rule.action] or not same_name(entry.item, rule.item):
        return False
    return not rule.positions or any(same_place(entry.position, place) for place in rule.positions)


def outline(seen: Seen, schedule: Schedule, scope: str) -> tuple[list[OutlinedItem], list[OutlinedItem]]:
    """The items of which a rebuild has to say something, in the schedule's order, and the others on now."""
    now = {(name_key(i.item), name_key(i.position or "")): i for i in items_now(seen, schedule)}
    hours_now = seen.hours.last.tenths if seen.hours.last else None
    rules: dict[tuple[str, str], list[tuple[Rule, str | None]]] = {}
    for rule, position in lines_reset(schedule, scope):
        rules.setdefault((name_key(rule.item), name_key(position or "")), []).append((rule, position))

    def outlined(key: tuple[str, str], item: str, position: str | None) -> OutlinedItem:
        found = now.get(key) or now.get((key[0], ""))
        own = tuple(rule for rule, _ in rules.get(key, ()))
        owed = any(rule.renew_when_disturbed and still_owed(seen, rule, position) for rule in own)
        if found is None:
            return OutlinedItem(item, position, own, is_owed=owed)
        return OutlinedItem(
            item,
            position,
            own,
            found.age_tenths(hours_now),
            found.age_months(seen.today),
            found.fitted,
            owed,
            found.is_least,
        )

    asked = [outlined(key, lines[0][0].item, lines[0][1]) for key, lines in rules.items()]
    items_asked = {key[0] for key in rules}
    others = [outlined(key, i.item, i.position) for key, i in now.items() if key[0] not in items_asked]
    return asked, others


def is_carried_over(entry: Entry) -> bool:
    """Whether an entry says that an item was carried over to what was rebuilt."""
    return entry.action == "reused" and (entry.note or "").startswith(CARRIED_OVER)


def is_left(entry: Entry) -> bool:
    """Whether an entry says that an item was looked at and left as it is."""
    return entry.action in ("reused", "inspected") and (entry.note or "").startswith(LEFT)


def is_put_back_used(entry: Entry) -> bool:
    """Whether an entry says that an old item went back on where a new one was wanted."""
    return entry.action == "reused" and not is_carried_over(entry) and not is_left(entry)

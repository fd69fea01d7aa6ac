"""Which entries satisfy a rule at a position, and which of them counts as last done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from fleetlog.domain.hour_record import HourRecord, hour_record
from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.records import Boat, Deferral, Engine, Entry
from fleetlog.domain.schedule import Rule, Schedule
from fleetlog.domain.values import value_class
from fleetlog.domain.words import DONE_AS, ORDER_IN_A_DAY, SATISFIED_BY, name_key, same_place

if TYPE_CHECKING:
    from fleetlog.domain.evidence import Measurement
    from fleetlog.domain.evidence_text import Row

BY_REBUILD, BY_RENEWAL, BY_ITSELF = 0, 1, 2
"""How an entry satisfies a rule; on one date the greater outranks the smaller."""


@dataclass(slots=True)
class Seen:
    """What of one engine's ledger is seen on a day, sorted for looking things up."""

    today: date
    engine: Engine
    hours: HourRecord
    boat_ledger: BoatLedger | None
    boat: Boat | None
    position: str | None
    by_item: dict[str, list[Entry]] = field(default_factory=dict)
    rebuilds: list[Entry] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)
    deferrals: list[Deferral] = field(default_factory=list)
    measurements: list[Measurement] = field(default_factory=list)

    def of_item(self, item: str) -> list[Entry]:
        """The entries on a kind of item, in the order of the ledger."""
        return self.by_item.get(name_key(item), [])


def seen_on(ledger: EngineLedger, today: date) -> Seen:
    """The part of an engine's ledger that is dated on or before a day and stands on it."""
    boat_ledger, position = ledger.place_on(today)
    seen = Seen(
        today,
        ledger.engine_on(today),
        hour_record(ledger, today),
        boat_ledger,
        boat_ledger.boat_on(today) if boat_ledger else None,
        position,
        entries=ledger.entries_on(today),
        deferrals=[d for d in ledger.deferrals if d.at.date() <= today],
        measurements=ledger.evidence.measurements_on(today),
    )
    for entry in seen.entries:
        if entry.action == "rebuilt":
            seen.rebuilds.append(entry)
        if entry.item is not None:
            seen.by_item.setdefault(name_key(entry.item), []).append(entry)
    return seen


@value_class(frozen=True, slots=True)
class Done:
    """An entry that satisfies a rule at a position, and how: by itself, by renewal, or by a rebuild."""

    entry: Entry
    how: int

    @property
    def order(self) -> tuple[date, int, int, int]:
        """Its place among others: by date, by how it satisfies, by the order of a day, by the ledger's."""
        return (self.entry.on, self.how, ORDER_IN_A_DAY[self.entry.action], self.entry.sequence)


@value_class(frozen=True, slots=True)
class Satisfaction:
    """All that satisfies a rule at a position, in order, and the rebuild that last started running-in."""

    done: tuple[Done, ...]
    running_in_since: Entry | None

    @property
    def last(self) -> Done | None:
        """The last done."""
        return self.done[-1] if self.done else None


def same_visit(one: Entry | Row, other: Entry) -> bool:
    """Whether two rows of an engine were made together: one visit, or one date where either has none."""
    if one.visit_id is not None and other.visit_id is not None:
        return one.visit_id == other.visit_id
    return one.on == other.on


def satisfaction(seen: Seen, schedule: Schedule, rule: Rule, position: str | None) -> Satisfaction:
    """What satisfies a rule at a position, of the entries seen."""
    done = [Done(e, BY_ITSELF) for e in own_work(seen, rule) if same_place(e.position, position)]
    for renewer in schedule.renewers_of(rule):
        done.extend(Done(e, BY_RENEWAL) for e in own_work(seen, renewer) if same_place(e.position, position))
    running_in_since: Entry | None = None
    for rebuild in seen.rebuilds:
        if rebuild.scope not in rule.reset_by:
            continue
        outranked_by = _outranked_by(seen, rule, position, rebuild)
        if outranked_by is None:
            done.append(Done(rebuild, BY_REBUILD))
        if outranked_by != "reused" and (running_in_since is None or _later(rebuild, running_in_since)):
            running_in_since = rebuild
    done.sort(key=lambda d: d.order)
    return Satisfaction(tuple(done), running_in_since)


def own_work(seen: Seen, rule: Rule) -> Iterable[Entry]:
    """The entries that satisfy a rule by themselves, at any of its positions."""
    actions = SATISFIED_BY[rule.action]
    places = {name_key(p) for p in rule.positions}
    for entry in seen.of_item(rule.item):
        if entry.action not in actions:
            continue
        if not places or entry.position is None or name_key(entry.position) in places:
            yield entry


def not_counted(schedule: Schedule, entry: Entry) -> str | None:
    """Why an entry that says that work was done counts for none of the schedule's; None where it does.

    What was only looked at claims no work, and of items that no rule names nothing is said.
    """
    if entry.item is None or entry.action not in ("adjusted", "serviced"):
        return None
    rules = list(schedule.rules_for(entry.item))
    if not rules or any(entry.action in SATISFIED_BY[rule.action] for rule in rules):
        return None
    work = ", ".join(dict.fromkeys(rule.title for rule in rules))
    return f"{entry.action} does not count for: {work}; {DONE_AS[rules[0].action]} does"


def put_back(seen: Seen, entry: Entry, position: str | None) -> bool:
    """Whether an entry put the old item back: reused, or taken off for access and nothing else said of it.

    `position` is the line's; a removal without a position of its own is judged at each line's.
    """
    if entry.action == "reused":
        return True
    if entry.action != "removed" or entry.reason != "access" or entry.item is None:
        return False
    there = position if position is not None else entry.position
    return not any(
        other.action in ("fitted", "reused")
        and same_place(other.position, there)
        and same_visit(other, entry)
        for other in seen.of_item(entry.item)
    )


def _outranked_by(seen: Seen, rule: Rule, position: str | None, rebuild: Entry) -> str | None:
    """What of a rebuild's own visit stands before it, for rules that replace: fitted, reused or nothing."""
    if rule.action != "replace":
        return None
    found = None
    for entry in seen.of_item(rule.item):
        if same_place(entry.position, position) and same_visit(entry, rebuild):
            if entry.action == "fitted":
                return "fitted"
            if put_back(seen, entry, position):
                found = "reused"
    return found


def _later(one: Entry, other: Entry) -> bool:
    return (one.on, one.sequence) > (other.on, other.sequence)


def still_owed(seen: Seen, rule: Rule, position: str | None) -> Entry | None:
    """For an item renewed when disturbed: the entry that put the old one back, while it is still there.

    It is owed until one is fitted there, or a later rebuild resets the rule.
    """
    latest: Entry | None = None
    latest_order: tuple[date, int, int] | None = None
    for entry in seen.of_item(rule.item):
        if not same_place(entry.position, position):
            continue
        if entry.action == "fitted":
            order = (entry.on, ORDER_IN_A_DAY["fitted"], entry.sequence)
        elif put_back(seen, entry, position):
            order = (entry.on, ORDER_IN_A_DAY["reused"], entry.sequence)
        else:
            continue
        if latest_order is None or order > latest_order:
            latest, latest_order = entry, order
    if latest is None or latest.action == "fitted":
        return None
    for rebuild in seen.rebuilds:
        resets = rebuild.scope in rule.reset_by and _outranked_by(seen, rule, position, rebuild) is None
        if resets and rebuild.on > latest.on:
            return None
    return latest

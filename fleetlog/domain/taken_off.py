"""What came off an engine, with nothing on record that went on since.

Its lines count on from the last fitting, as the rules of intervals say, though what they count is gone:
whoever reads them has to be told.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from fleetlog.domain.out_of_service import why_without_lines
from fleetlog.domain.records import Entry
from fleetlog.domain.satisfaction import Seen, same_visit, satisfaction
from fleetlog.domain.schedule import Rule, Schedule
from fleetlog.domain.stints import TrackedItem, items_of
from fleetlog.domain.words import name_key, same_name, same_place, with_position
from fleetlog.errors import as_word

Off = tuple[str, str, str | None, date]
"""What came off, as it is told: the engine's serial, the item, its position, the day."""


def taken_off(seen: Seen, schedule: Schedule | None) -> list[TrackedItem]:
    """The last item of each place that the schedule has work for, where it came off and none followed.

    An assembly is one where it has work for what rides on it.
    Work that counts as its renewal (a rebuild that resets its rule, other work that does this one) follows
    too; so does what was put back: taken off for access and nothing more said. Of an engine without lines,
    nothing is told.
    """
    if schedule is None or not any(entry.action == "removed" for entry in seen.entries):
        return []
    if why_without_lines(seen.engine, seen.today) is not None:
        return []
    last = {(name_key(item.item), name_key(item.position or "")): item for item in items_of(seen, schedule)}
    return [
        item
        for item in last.values()
        if (off := removal(item)) is not None
        and any(_is_work_for(item, rule) and rule.is_for(seen.engine.serial) for rule in schedule.rules)
        and not _is_renewed_since(seen, schedule, item, off)
    ]


def removal(item: TrackedItem) -> Entry | None:
    """The entry that took an item off; None of one that is on."""
    return item.stints[-1].came_off


def removal_of(
    gone: Sequence[TrackedItem], rule: Rule, position: str | None, done_on: date | None
) -> Entry | None:
    """The latest removal of what a rule's line is of, among what came off: of itself or with its assembly.

    That of an assembly says nothing of a line that was done since (`done_on`).
    """
    there = [
        off
        for one in gone
        if (off := removal(one)) is not None
        and _is_work_for(one, rule)
        and same_place(one.position, position)
        and (same_name(one.item, rule.item) or done_on is None or done_on <= off.on)
    ]
    return max(there, key=lambda entry: (entry.on, entry.sequence), default=None)


def off_of(serial: str, gone: Iterable[TrackedItem]) -> Iterator[Off]:
    """What came off one engine, as it is told."""
    return ((serial, item.item, item.position, off.on) for item in gone if (off := removal(item)) is not None)


def off_texts(off: Iterable[Off]) -> list[str]:
    """What came off and has no successor, a sentence for each engine and day, with the way out.

    One without a position adds nothing to one with.
    """
    together: dict[tuple[date, str], dict[str, dict[str, None]]] = {}
    for serial, item, position, on in off:
        places = together.setdefault((on, serial), {}).setdefault(item, {})
        if position is not None:
            places[position] = None
    return [
        f"{serial}: {_listed(items)} came off on {on.isoformat()} and nothing put on since is on record, so"
        f" the lines count on from before; what went on is recorded with fleetlog fit {as_word(serial)}"
        f" {as_word(next(iter(items)))} --on DATE --hours H"
        for (on, serial), items in sorted(together.items())
    ]


def _listed(items: Mapping[str, Iterable[str]]) -> str:
    return ", ".join(with_position(item, ", ".join(places)) for item, places in items.items())


def _is_work_for(item: TrackedItem, rule: Rule) -> bool:
    return not rule.once and (same_name(rule.item, item.item) or same_name(rule.assembly, item.item))


def _is_renewed_since(seen: Seen, schedule: Schedule, item: TrackedItem, off: Entry) -> bool:
    return any(
        done.entry.on > off.on or same_visit(done.entry, off)
        for rule in schedule.rules_for(item.item)
        if rule.action == "replace"
        for done in satisfaction(seen, schedule, rule, item.position).done
        if done.entry.action != "fitted" or not same_name(done.entry.item, item.item)
    )

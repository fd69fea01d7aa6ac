"""Items and the times they were fitted: an item's age is the sum over its stints, and what it came with."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

from fleetlog.domain.hours import Tenths
from fleetlog.domain.months import months_over
from fleetlog.domain.records import Entry
from fleetlog.domain.satisfaction import Seen, put_back
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.words import ORDER_IN_A_DAY, name_key, same_name, same_place


@dataclass(slots=True)
class Stint:
    """A time an item was fitted. Hours are engine hours in tenths, None where nothing tells them.

    Without `put_on` it was there before the log speaks of it; without `to_on` it still is. `is_least` where
    it began before the first reading, whose hours stand for those of that day: it ran at least so much.
    """

    from_on: date | None
    from_tenths: Tenths | None
    put_on: Entry | None = None
    to_on: date | None = None
    to_tenths: Tenths | None = None
    came_off: Entry | None = None
    why_off: str | None = None
    is_least: bool = False


@dataclass(slots=True)
class TrackedItem:
    """One item at one place of an engine: what it came with, and its stints there.

    Without `fitted` it is the one that the engine had when the log first speaks of it.
    """

    item: str
    position: str | None
    fitted: Entry | None
    prior_tenths: int | None
    prior_months: int | None
    stints: list[Stint] = field(default_factory=list)

    @property
    def is_on(self) -> bool:
        """Whether it is fitted now."""
        return self.stints[-1].to_on is None

    @property
    def is_least(self) -> bool:
        """Whether its age in hours is what it ran at least."""
        came_with_least = self.fitted is not None and self.fitted.prior_is_least
        return came_with_least or any(stint.is_least for stint in self.stints)

    def age_tenths(self, now_tenths: Tenths | None) -> Tenths | None:
        """Hours it has run in tenths, with the engine's hours now; None where a part of them is unknown."""
        total: Tenths | None = self.prior_tenths
        for stint in self.stints:
            end = stint.to_tenths if stint.to_on is not None else now_tenths
            if total is None or end is None or stint.from_tenths is None:
                return None
            total = total + end - stint.from_tenths
        return total

    def age_months(self, today: date) -> int | None:
        """Whole months it has been fitted in all; None where a part of them is unknown."""
        spans = [(s.from_on, s.to_on or today) for s in self.stints if s.from_on is not None]
        if self.prior_months is None or len(spans) < len(self.stints):
            return None
        return self.prior_months + months_over(spans)


def items_of(seen: Seen, schedule: Schedule | None) -> list[TrackedItem]:
    """Every item that was ever at a place of an engine, by item and place, the earlier ones first."""
    found: list[TrackedItem] = []
    for entries in seen.by_item.values():
        named = entries[0].item or ""
        places = schedule.positions_of(named) if schedule is not None else []
        replay = _Places(seen, places)
        for entry in sorted(entries, key=entry_order):
            replay.take(entry)
        found.extend(replay.items)
    return sorted(found, key=lambda i: (name_key(i.item), name_key(i.position or "")))


def items_now(seen: Seen, schedule: Schedule | None) -> list[TrackedItem]:
    """The items fitted now of which the log speaks, by item and place."""
    return [item for item in items_of(seen, schedule) if item.is_on]


def item_at(items: Sequence[TrackedItem], item: str, position: str | None) -> TrackedItem | None:
    """The last item of a kind at a place, whether it is still there or not; any place where none is given."""
    matching = [i for i in items if same_name(i.item, item) and same_place(i.position, position)]
    return matching[-1] if matching else None


def original_item(seen: Seen, item: str, position: str | None) -> TrackedItem:
    """The item that an engine had at a place when the log first speaks of it.

    Of an engine logged from new it is as old as the engine; else nothing tells its age.
    """
    engine = seen.engine
    since_new = engine.logged_from_new and engine.in_service_on is not None
    start = 0 if since_new and seen.hours.metered else None
    stint = Stint(engine.in_service_on if since_new else None, start)
    prior = 0 if since_new else None
    return TrackedItem(item, position, None, prior, prior, [stint])


def entry_order(entry: Entry) -> tuple[date, int, int]:
    """What entries are sorted by: the day, which work of a day comes first, and which was written first."""
    return (entry.on, ORDER_IN_A_DAY[entry.action], entry.sequence)


class _Places:
    """Replays the entries on one kind of item over the places it has on an engine."""

    def __init__(self, seen: Seen, places: Sequence[str]) -> None:
        self._seen = seen
        self._places = list(places)
        self._here: dict[str, TrackedItem] = {}
        self.items: list[TrackedItem] = []

    def take(self, entry: Entry) -> None:
        for position in self._positions(entry):
            key = name_key(position or "")
            here = self._here.get(key)
            if here is None and self._had_one_before(entry):
                here = self._keep(key, self._original(entry, position))
            if entry.action == "fitted":
                if here is not None and here.is_on:
                    self._take_off(here, entry, entry.reason or "scheduled")
                self._keep(key, self._fresh(entry, position))
            elif here is not None and entry.action == "removed" and here.is_on:
                if not put_back(self._seen, entry, position):
                    self._take_off(here, entry, entry.reason)
            elif here is not None and entry.action == "reused" and not here.is_on:
                here.stints.append(self._begun(entry))

    def _had_one_before(self, entry: Entry) -> bool:
        """Whether the first entry at a place speaks of an item that was there already.

        What is fitted to a new engine by the day it goes into service is its first; of a used one the log
        keeps no item that it never saw.
        """
        engine = self._seen.engine
        if entry.action not in ("fitted", "removed"):
            return True
        before = engine.in_service_on is not None and entry.on <= engine.in_service_on
        if engine.logged_from_new:
            return not before
        return entry.action == "removed"

    def _positions(self, entry: Entry) -> Iterator[str | None]:
        if entry.position is not None or not (self._places or self._here):
            yield entry.position
        elif self._places:
            yield from self._places
        else:
            yield from {item.position: None for item in self._here.values()}

    def _keep(self, key: str, item: TrackedItem) -> TrackedItem:
        self._here[key] = item
        self.items.append(item)
        return item

    def _take_off(self, item: TrackedItem, entry: Entry, why: str | None) -> None:
        stint = item.stints[-1]
        stint.to_on, stint.to_tenths = entry.on, self._seen.hours.tenths_at(entry)
        stint.came_off, stint.why_off = entry, why

    def _original(self, entry: Entry, position: str | None) -> TrackedItem:
        return original_item(self._seen, entry.item or "", position)

    def _fresh(self, entry: Entry, position: str | None) -> TrackedItem:
        is_new = entry.condition != "used"
        return TrackedItem(
            entry.item or "",
            position,
            entry,
            entry.prior_tenths if entry.prior_tenths is not None else (0 if is_new else None),
            entry.prior_months if entry.prior_months is not None else (0 if is_new else None),
            [self._begun(entry)],
        )

    def _begun(self, entry: Entry) -> Stint:
        hours = self._seen.hours
        return Stint(entry.on, hours.tenths_at(entry), entry, is_least=hours.is_before_first(entry))

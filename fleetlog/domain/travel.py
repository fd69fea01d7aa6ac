"""Items that travel from engine to engine: which one was taken from where, and its stints on all of them.

Of the items not taken before, an entry with `from_serial` took the one whose age is the stated one; else
the last that came off as transferred; else what was fitted. Where what an item ran before is not known, the
age stated when it was fitted counts (`Journey`). Ages looked up are whole tenths, rounded down.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from itertools import groupby

from fleetlog.domain.hour_record import hour_record
from fleetlog.domain.hours import Tenths
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.months import months_over
from fleetlog.domain.records import Entry
from fleetlog.domain.satisfaction import Seen, seen_on
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.stints import Stint, TrackedItem, item_at, items_of, original_item
from fleetlog.domain.values import value_class
from fleetlog.domain.words import RAN_AT_LEAST, same_name, same_place


@dataclass(frozen=True)
class Home:
    """An engine as items are looked up on it: what is seen of its ledger on a day, and its schedule.

    `known` is what is seen, where that was worked out already. Where it is seen as it stood before, its hours
    are those that the readings up to `read_until` tell: a later one says what it had run by that day.
    """

    ledger: EngineLedger
    schedule: Schedule | None
    today: date
    known: Seen | None = None
    read_until: date | None = None

    @property
    def serial(self) -> str:
        return self.ledger.engine.serial

    @cached_property
    def seen(self) -> Seen:
        if self.known is not None:
            return self.known
        seen = seen_on(self.ledger, self.today)
        if self.read_until is not None:
            seen.hours = hour_record(self.ledger, self.read_until)
        return seen

    @cached_property
    def items(self) -> list[TrackedItem]:
        return items_of(self.seen, self.schedule)

    @property
    def now_tenths(self) -> Tenths | None:
        """Engine hours at the last accepted reading."""
        return self.seen.hours.last.tenths if self.seen.hours.last else None


def item_taken(
    home: Home,
    item: str,
    position: str | None,
    day: date,
    gone: Sequence[TrackedItem],
    prior: tuple[int | None, int | None] = (None, None),
) -> TrackedItem | None:
    """The item of a kind that was taken from an engine by a day to be fitted elsewhere; None without any.

    It is one that came off as transferred by that day, the last of several; without such a one what was
    fitted then, at that position or any other; else the last that came off. `gone` are items that went
    elsewhere before. Items whose age is the `prior` one (hours in tenths, months) go before all others.
    """
    there = _there(home, item, day, gone)
    if prior != (None, None):
        there = [(i, s) for i, s in there if age_on(home, i, day).known == prior] or there
    moved = [(i, s) for i, s in there if _is_off(s, day) and s.why_off == "transferred"]
    if moved:
        return _last_off(moved, position)
    here = [(i, s) for i, s in there if same_place(i.position, position)] or there
    fitted = [i for i, s in here if not _is_off(s, day)]
    return fitted[-1] if fitted else _last_off(here, position)


def shelved_item(
    home: Home, item: str, position: str | None, day: date, gone: Sequence[TrackedItem] = ()
) -> TrackedItem | None:
    """The last item of a kind that came off an engine by a day and is not among those gone elsewhere."""
    there = _there(home, item, day, gone)
    return _last_off([(i, s) for i, s in there if _is_off(s, day)], position)


def _there(home: Home, item: str, day: date, gone: Sequence[TrackedItem]) -> list[tuple[TrackedItem, Stint]]:
    """The items of a kind that had been on an engine by a day, each with its last stint begun by then."""
    return [
        (i, stint)
        for i in home.items
        if same_name(i.item, item)
        and not any(other is i for other in gone)
        and (stint := _stint_on(i, day)) is not None
    ]


def _last_off(found: Sequence[tuple[TrackedItem, Stint]], position: str | None) -> TrackedItem | None:
    latest = max(
        found, key=lambda f: (f[1].to_on or date.max, same_place(f[0].position, position)), default=None
    )
    return None if latest is None else latest[0]


def _stint_on(item: TrackedItem, day: date) -> Stint | None:
    """The last stint that had begun by a day, None where the item was not there yet."""
    begun = [s for s in item.stints if s.from_on is None or s.from_on <= day]
    return begun[-1] if begun else None


def _is_off(stint: Stint, day: date) -> bool:
    return stint.to_on is not None and stint.to_on <= day


def taken_items(home: Home, takings: Iterable[Entry]) -> dict[str, TrackedItem]:
    """Which item each entry elsewhere took from an engine, by the entry's id.

    `takings` are the entries, of any engine, that fitted something from this one.
    """
    taken: dict[str, TrackedItem] = {}
    for entry in sorted(takings, key=lambda e: (e.on, e.sequence, e.entry_id)):
        if entry.item is None or entry.on > home.today:
            continue
        prior = (entry.prior_tenths, entry.prior_months)
        found = item_taken(home, entry.item, entry.position, entry.on, list(taken.values()), prior)
        if found is not None:
            taken[entry.entry_id] = found
    return taken


@value_class(frozen=True, slots=True)
class RanSoFar:
    """Hours (whole tenths, rounded down) and months that an item had run by a day, None where not known.

    `is_least` where the hours are what it ran at least: it was put on before the first reading, or came off,
    or is looked at, after the last.
    """

    tenths: int | None = None
    months: int | None = None
    is_least: bool = False

    @property
    def known(self) -> tuple[int | None, int | None]:
        """Hours and months, as an entry keeps them."""
        return self.tenths, self.months


def with_prior_age(entry: Entry, ran: RanSoFar) -> Entry:
    """The entry with what an item ran before, its note saying so where that is only the least."""
    note = entry.note
    if ran.is_least:
        note = f"{note}; {RAN_AT_LEAST}" if note else RAN_AT_LEAST
    return replace(entry, prior_tenths=ran.tenths, prior_months=ran.months, note=note)


def age_on(home: Home, item: TrackedItem | None, day: date) -> RanSoFar:
    """What an item had run by a day."""
    if item is None:
        return RanSoFar()
    hours = home.seen.hours
    is_least = item.fitted is not None and item.fitted.prior_is_least
    tenths: Tenths | None = item.prior_tenths
    spans: list[tuple[date, date]] | None = None if item.prior_months is None else []
    for stint in item.stints:
        if stint.from_on is not None and stint.from_on > day:
            continue
        is_off = _is_off(stint, day)
        end = stint.to_tenths if is_off else hours.tenths_on(day)
        start = stint.from_tenths
        tenths = None if tenths is None or end is None or start is None else tenths + end - start
        last_day = stint.to_on if is_off and stint.to_on is not None else day
        is_least = is_least or stint.is_least or (hours.last is not None and last_day > hours.last.on)
        if spans is not None:
            spans = None if stint.from_on is None else [*spans, (stint.from_on, last_day)]
    months = None if spans is None or item.prior_months is None else item.prior_months + months_over(spans)
    return RanSoFar(None if tenths is None else int(tenths), months, tenths is not None and is_least)


class Homes:
    """The engines of a log and what was taken from each, looked up when first asked for."""

    def __init__(
        self, find: Callable[[str], Home | None], takings_from: Callable[[str], Iterable[Entry]]
    ) -> None:
        self._find, self._takings_from = find, takings_from
        self._homes: dict[str, Home | None] = {}
        self._taken: dict[str, dict[str, TrackedItem]] = {}
        self._takings: dict[str, list[Entry]] = {}

    def of(self, serial: str) -> Home | None:
        """The engine of that serial, None where the log does not have it."""
        if serial not in self._homes:
            self._homes[serial] = self._find(serial)
        return self._homes[serial]

    def known(self, serial: str) -> Home:
        """The engine of a serial that the log has."""
        home = self.of(serial)
        assert home is not None, serial
        return home

    def takings(self, serial: str) -> list[Entry]:
        """The entries elsewhere that fitted something from an engine."""
        if serial not in self._takings:
            self._takings[serial] = list(self._takings_from(serial))
        return self._takings[serial]

    def taken(self, serial: str) -> dict[str, TrackedItem]:
        """Which item each of these entries took, by the entry's id."""
        if serial not in self._taken:
            home = self.of(serial)
            self._taken[serial] = {} if home is None else taken_items(home, self.takings(serial))
        return self._taken[serial]


def homes_among(homes: Iterable[Home]) -> Homes:
    """These engines, for following items from one to another; others are not known."""
    known = {home.serial: home for home in homes}
    takings: dict[str, list[Entry]] = {}
    for home in known.values():
        for entry in home.ledger.entries_on(home.today):
            if entry.from_serial is not None:
                takings.setdefault(entry.from_serial, []).append(entry)
    return Homes(known.get, lambda serial: takings.get(serial, ()))


@value_class(frozen=True, slots=True)
class Leg:
    """One stint of a travelling item, on one engine; `now_tenths` are that engine's hours now."""

    serial: str
    item: TrackedItem
    stint: Stint
    now_tenths: Tenths | None

    @property
    def end_tenths(self) -> Tenths | None:
        """Engine hours at the end of the stint, or now where it goes on; None where nothing tells them."""
        return self.stint.to_tenths if self.stint.to_on is not None else self.now_tenths

    @property
    def run_tenths(self) -> Tenths | None:
        """Hours run in the stint, in tenths; None where nothing tells them."""
        end, start = self.end_tenths, self.stint.from_tenths
        return None if end is None or start is None else end - start

    def run_months(self, today: date) -> int | None:
        """Whole months of the stint."""
        if self.stint.from_on is None:
            return None
        return months_over([(self.stint.from_on, self.stint.to_on or today)])


@value_class(frozen=True, slots=True)
class Journey:
    """One item through all engines it was on, the first leg first.

    Each leg's item has the age it came there with; where what it ran before is not known, that age counts.
    """

    legs: tuple[Leg, ...]

    @property
    def came_tenths(self) -> int | None:
        """The hours it had before the first leg, in tenths; None where not known."""
        return self.legs[0].item.prior_tenths

    @property
    def came_months(self) -> int | None:
        """The months it had before the first leg; None where not known."""
        return self.legs[0].item.prior_months

    @property
    def is_least(self) -> bool:
        """Whether its age in hours is what it ran at least."""
        came = self.legs[0].item.fitted
        return (came is not None and came.prior_is_least) or any(leg.stint.is_least for leg in self.legs)

    @property
    def is_on(self) -> bool:
        """Whether it is fitted somewhere now."""
        return self.legs[-1].stint.to_on is None

    def age_tenths(self) -> Tenths | None:
        """The sum over all its stints, and what it came with; None where a part is not known."""
        total: Tenths | None = None
        for legs in self._by_engine():
            total = legs[0].item.prior_tenths if total is None else total
            for leg in legs:
                run = leg.run_tenths
                total = None if total is None or run is None else total + run
        return total

    def age_months(self, today: date) -> int | None:
        """The same in whole months, rounded down wherever it went from one engine to another."""
        total: int | None = None
        for legs in self._by_engine():
            total = legs[0].item.prior_months if total is None else total
            spans = [(s, leg.stint.to_on or today) for leg in legs if (s := leg.stint.from_on) is not None]
            total = None if total is None or len(spans) < len(legs) else total + months_over(spans)
        return total

    def _by_engine(self) -> list[list[Leg]]:
        return [list(legs) for _, legs in groupby(self.legs, key=lambda leg: id(leg.item))]


def journey_of(homes: Homes, serial: str, item: TrackedItem) -> Journey:
    """An item's stints on this engine, on those it came from, and on those it went to."""
    chain = [(serial, item)]
    while (before := _came_from(homes, *chain[0])) is not None and not _in_chain(chain, before):
        chain.insert(0, before)
    while (after := _went_to(homes, *chain[-1])) is not None and not _in_chain(chain, after):
        chain.append(after)
    legs: list[Leg] = []
    for there, tracked in chain:
        now_tenths = homes.known(there).now_tenths
        legs.extend(Leg(there, tracked, stint, now_tenths) for stint in tracked.stints)
    return Journey(tuple(legs))


def _in_chain(chain: Sequence[tuple[str, TrackedItem]], link: tuple[str, TrackedItem]) -> bool:
    return any(link[1] is item for _, item in chain)


def _came_from(homes: Homes, _serial: str, item: TrackedItem) -> tuple[str, TrackedItem] | None:
    fitted = item.fitted
    if fitted is None or fitted.from_serial is None:
        return None
    giver = homes.taken(fitted.from_serial).get(fitted.entry_id)
    return None if giver is None else (fitted.from_serial, giver)


def _went_to(homes: Homes, serial: str, item: TrackedItem) -> tuple[str, TrackedItem] | None:
    for entry in homes.takings(serial):
        if homes.taken(serial).get(entry.entry_id) is item:
            for there in homes.known(entry.serial).items:
                if there.fitted is not None and there.fitted.entry_id == entry.entry_id:
                    return entry.serial, there
    return None


def in_two_places(homes: Homes, serial: str) -> list[tuple[Entry, TrackedItem]]:
    """What another engine took from this one although it is fitted here still: the entry there, the item."""
    found = []
    for entry in homes.takings(serial):
        item = homes.taken(serial).get(entry.entry_id)
        stint = None if item is None else _stint_on(item, entry.on)
        if item is not None and stint is not None and not _is_off(stint, entry.on):
            found.append((entry, item))
    return found


def item_there(home: Home, item: str, position: str | None) -> TrackedItem:
    """The last item of a kind at a place; the original one where the log never speaks of it there."""
    return item_at(home.items, item, position) or original_item(home.seen, item, position)

"""What is written when an assembly is swapped whole; one item that moves by itself is in `move`.

The interval engine knows nothing of swaps: everything that rides on the assembly is said in entries of its
own, so that each line follows from what is fitted.

- On the engine that takes: *fitted* of the assembly and of each item that rides on it by the schedule's
  `assembly`, each position by itself, with its own age; *reused*, with "carried over" in its note, of what
  stayed. On the engine that gives: *removed* as transferred, of what is fitted there. Work bound to the
  season and bulletins ride on nothing.
- What is only looked at or set (valve clearance) is fitted with `again_hours` and `again_months`: when it
  would have been due on the other engine, or within a month where nobody knows; *fitted* alone would make
  it younger. An item that has a replace rule too gets none, since a finding would bring the replacement
  nearer as well.
- A gasket that the giving engine owes at its next access is owed where it goes: *fitted*, then *reused*.
- A new or freshly rebuilt powerhead or lower unit comes with a *rebuilt* entry, so that running-in starts;
  what is carried over outranks it. `assemblies` does not count that as a rebuild of a new one.
- A visit is of one boat, so a swap between two boats writes two: nothing told of one owner's boat stands on
  the page of another's engine.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from fleetlog.domain.interval import UNKNOWN, UNKNOWN_AGE, Standing, standings
from fleetlog.domain.months import add_months, whole_months_between
from fleetlog.domain.records import Entry
from fleetlog.domain.satisfaction import still_owed
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.stints import TrackedItem
from fleetlog.domain.transfer import NewId, Place, Written, given_away, with_entries
from fleetlog.domain.travel import Home, RanSoFar, age_on, item_there, shelved_item, with_prior_age
from fleetlog.domain.values import value_class
from fleetlog.domain.words import REBUILD_SCOPES, name_key, same_name, same_place
from fleetlog.errors.travel import NeverCameOff, NothingToTake, NotThereToCarryOver


@value_class(frozen=True, slots=True)
class SaidOfItem:
    """What is said of one riding item, where it is not as old as the assembly. Hours are whole tenths."""

    item: str
    position: str | None
    is_used: bool
    prior_tenths: int | None = None
    prior_months: int | None = None


@value_class(frozen=True, slots=True)
class Swap:
    """Another assembly for an engine: new, or used with the age that is known of it.

    `is_rebuilt` says that it was rebuilt just before; `is_shelved` that it came off the giving engine before,
    so that what that one has now stays there. `why` is the reason the old one came off; what is `carried`
    over stays on its engine. Meter figures are whole tenths, as the two meters showed.
    """

    assembly: str
    on: date
    is_used: bool = False
    is_rebuilt: bool = False
    is_shelved: bool = False
    prior_tenths: int | None = None
    prior_months: int | None = None
    why: str = "scheduled"
    carried: tuple[Place, ...] = ()
    said: tuple[SaidOfItem, ...] = ()
    meter_tenths: int | None = None
    giver_meter_tenths: int | None = None
    part_number: str | None = None
    note: str | None = None
    by: str | None = None
    checked_by: str | None = None


def riding_items(schedule: Schedule | None, assembly: str) -> list[Place]:
    """What rides on an assembly by the schedule, each position by itself, in the schedule's order.

    Work bound to the season or done once speaks of no part, so it rides on nothing.
    """
    found: dict[tuple[str, str], Place] = {}
    for rule in schedule.rules if schedule is not None else ():
        if not same_name(rule.assembly, assembly) or rule.season is not None or rule.once:
            continue
        places: Sequence[str | None] = schedule.positions_of(rule.item) if schedule is not None else ()
        for position in places or (None,):
            found.setdefault((name_key(rule.item), name_key(position or "")), (rule.item, position))
    return list(found.values())


def is_among(places: Sequence[Place], item: str, position: str | None) -> bool:
    """Whether an item at a position is named; a place without a position names all of them."""
    return any(same_name(item, named) and same_place(position, where) for named, where in places)


def write_swap(
    taker: Home,
    giver: Home | None,
    swap: Swap,
    new_id: NewId,
    visit_id: str | None,
    giver_visit_id: str | None,
    gone: Sequence[TrackedItem],
) -> Written:
    """The entries of a swap: what comes off the giving engine, and what that makes of the taking one.

    On the taking engine: the assembly fitted, each riding item fitted with its own age, what is carried over
    reused, and, where the assembly is new or freshly rebuilt, a rebuild, so that running-in starts. `gone`
    are items of the giving engine that went to other engines before.

    Raises NotThereToCarryOver, NothingToTake and NeverCameOff.
    """
    for item, position in swap.carried:
        there = item_there(taker, item, position)
        if not there.is_on:
            raise NotThereToCarryOver(taker.serial, item, position, there.stints[-1].to_on)
    if giver is not None:
        _refuse_what_is_not_there(giver, swap, gone)
    written = Written()
    if giver is not None:
        written.on_giver = list(_coming_off(giver, taker, swap, new_id, giver_visit_id))
        giver = with_entries(giver, written.on_giver, swap.on)
    arriving = _Arrival(taker, giver, swap, new_id, visit_id, gone)
    written.on_taker = list(arriving.entries())
    return written


def _refuse_what_is_not_there(giver: Home, swap: Swap, gone: Sequence[TrackedItem]) -> None:
    """Raises NothingToTake where the assembly is not on the giving engine, or has left its shelf.

    Raises NeverCameOff where one from the shelf is asked for and the log knows of none that came off.
    """
    there = item_there(giver, swap.assembly, None)
    if not swap.is_shelved:
        if not there.is_on:
            raise NothingToTake(giver.serial, swap.assembly, None, None)
        return
    if shelved_item(giver, swap.assembly, None, swap.on, gone) is None:
        left = [item.stints[-1].to_on for item in gone if same_name(item.item, swap.assembly)]
        if not left:
            raise NeverCameOff(giver.serial, swap.assembly)
        raise NothingToTake(giver.serial, swap.assembly, None, left[-1])


def _coming_off(giver: Home, taker: Home, swap: Swap, new_id: NewId, visit_id: str | None) -> Iterator[Entry]:
    """Removals on the giving engine: the assembly and the parts riding on it, but for what is off already."""
    if swap.is_shelved:
        return
    places = [(swap.assembly, None), *riding_items(giver.schedule, swap.assembly)]
    for item, position in places:
        if is_among(swap.carried, item, position) or not _is_part(giver.schedule, item, swap.assembly):
            continue
        if item_there(giver, item, position).is_on:
            note = f"went to engine {taker.serial} with the {swap.assembly}"
            yield given_away(swap, new_id(), giver.serial, visit_id, (item, position), note)


def _is_part(schedule: Schedule | None, item: str, assembly: str) -> bool:
    """Whether an item is a part that is renewed, not only something looked at or set."""
    return same_name(item, assembly) or (
        schedule is not None and any(rule.action == "replace" for rule in schedule.rules_for(item))
    )


class _Arrival:
    """The entries on the engine that gets the assembly."""

    def __init__(
        self,
        taker: Home,
        giver: Home | None,
        swap: Swap,
        new_id: NewId,
        visit_id: str | None,
        gone: Sequence[TrackedItem],
    ) -> None:
        self.taker, self.giver, self.swap, self.new_id, self.visit_id = taker, giver, swap, new_id, visit_id
        self.took = list(gone)
        self.standing: list[Standing] = []
        if giver is not None and giver.schedule is not None:
            self.standing = standings(giver.ledger, giver.schedule, swap.on)[1]

    def entries(self) -> Iterator[Entry]:
        swap = self.swap
        yield self._fitted(swap.assembly, None, swap.why, swap.note, swap.part_number)
        owed: list[Entry] = []
        for item, position in riding_items(self.taker.schedule, swap.assembly):
            if is_among(swap.carried, item, position):
                continue
            note = f"rode in on the {swap.assembly}"
            yield self._fitted(item, position, "transferred", note)
            owed.extend(self._still_owed(item, position))
        yield from owed
        for item, position in swap.carried:
            yield self._entry("reused", item, position, note=f"carried over from the old {swap.assembly}")
        is_new = self.giver is None and not swap.is_used
        if swap.assembly in REBUILD_SCOPES and (swap.is_rebuilt or is_new):
            how = "rebuilt before it was fitted" if swap.is_rebuilt else "new"
            yield replace(
                self._entry("rebuilt", None, None, note=f"{swap.assembly} {how}: running-in starts"),
                scope=swap.assembly,
            )

    def _entry(self, action: str, item: str | None, position: str | None, note: str | None) -> Entry:
        return Entry(
            self.new_id(),
            self.taker.serial,
            self.swap.on,
            action,
            visit_id=self.visit_id,
            meter_tenths=self.swap.meter_tenths,
            item=item,
            position=position,
            note=note,
            by=self.swap.by,
            checked_by=self.swap.checked_by,
        )

    def _fitted(
        self, item: str, position: str | None, why: str, note: str | None, part_number: str | None = None
    ) -> Entry:
        swap = self.swap
        said = next((s for s in swap.said if is_among([(s.item, s.position)], item, position)), None)
        is_used, from_serial = swap.is_used, None
        ran = RanSoFar(swap.prior_tenths, swap.prior_months)
        if said is not None:
            is_used, ran = said.is_used, RanSoFar(said.prior_tenths, said.prior_months)
        elif self.giver is not None:
            is_used, ran = True, RanSoFar()
            taken = self._taken(self.giver, item, position)
            if taken is not None:
                from_serial = self.giver.serial
                ran = age_on(self.giver, taken, swap.on)
        again = (None, None) if said is not None else self._again(item, position, is_used)
        return replace(
            with_prior_age(self._entry("fitted", item, position, note), ran if is_used else RanSoFar()),
            condition="used" if is_used else "new",
            from_serial=from_serial,
            reason=why,
            part_number=part_number,
            again_tenths=again[0],
            again_months=again[1],
        )

    def _taken(self, giver: Home, item: str, position: str | None) -> TrackedItem | None:
        """The part that rode on the assembly when it came off; None for what is no part, or was not on it."""
        if not _is_part(self.taker.schedule, item, self.swap.assembly):
            return None
        shelved = shelved_item(giver, item, position, self.swap.on, self.took)
        if shelved is None or not same_place(shelved.position, position):
            return None
        if not self.swap.is_shelved and shelved.stints[-1].to_on != self.swap.on:
            return None
        self.took.append(shelved)
        return shelved

    def _again(self, item: str, position: str | None, is_used: bool) -> tuple[int | None, int | None]:
        """When to look again at what is only looked at or set: *fitted* must not make such a line younger.

        From another engine: when it would have been due there. From outside nobody knows, so within a month.
        """
        if not is_used or self.swap.is_rebuilt or _is_part(self.taker.schedule, item, self.swap.assembly):
            return None, None
        if self.giver is None:
            return None, 1
        soonest: list[tuple[int | None, int | None]] = []
        now = self.giver.seen.hours.tenths_on(self.swap.on)
        for s in self.standing:
            if not same_name(s.rule.item, item) or not same_place(s.position, position):
                continue
            if s.counts_from in (UNKNOWN, UNKNOWN_AGE):
                soonest.append((1, 1))
            if s.due_tenths is not None and now is not None:
                soonest.append((max(int(s.due_tenths - now), 1), None))
            if s.due_on is not None:
                is_near = s.due_on < add_months(self.swap.on, 1)
                left = max(whole_months_between(self.swap.on, s.due_on), 1)
                soonest.append((1 if is_near else None, left))
        if not soonest:
            return None, 1
        tenths = [t for t, _ in soonest if t is not None]
        months = [m for _, m in soonest if m is not None]
        return min(tenths, default=None), min(months, default=None)

    def _still_owed(self, item: str, position: str | None) -> Iterator[Entry]:
        """A part that the giving engine owes at its next access is owed here."""
        if self.giver is None or self.giver.schedule is None:
            return
        for rule in self.giver.schedule.rules_for(item):
            back = still_owed(self.giver.seen, rule, position) if rule.renew_when_disturbed else None
            if back is not None:
                yield self._entry(
                    "reused",
                    item,
                    position,
                    note=f"put back used on {self.giver.serial} on {back.on.isoformat()}",
                )
                return

"""The lives of items as the ledger tells them: how old each grew, how it ended, and under what conditions.

What the lives say of the next one (distributions, limits) is worked out in `fleetlog.life`.

- **Failed** ends a life at its age; **found worn** ends it somewhere since the last look (inspected,
  adjusted, serviced, put back used, or fitted after a move) *before* the visit that took it off: the look
  of that visit is the one that found it. Any other reason ends the watching only.
- **What an engine logged from new came with** is a life from 0, even where no entry ever speaks of it:
  without those, failures would be counted and what did not fail forgotten. What a used engine came with is
  left out, and named.
- **A used item enters with its age** (left truncation); one from another engine of the log is one life,
  told once.
- **A rebuild that renews the item by the schedule while nothing says so** ends the watching; what sat there
  after is left out, for nobody knows which it was.
- **An engine sold or scrapped** is watched until that day, or the last word of it.
- Months are days over the mean length of a month, so that stints add up.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import Literal

from fleetlog.domain.conditions import Conditions, Spell, prevailing, spells
from fleetlog.domain.hours import Tenths
from fleetlog.domain.months import fine_months
from fleetlog.domain.out_of_service import WITHOUT_LINES
from fleetlog.domain.records import Entry
from fleetlog.domain.satisfaction import Seen, put_back, same_visit
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.stints import TrackedItem, original_item
from fleetlog.domain.travel import Home, Homes, Journey, Leg, journey_of
from fleetlog.domain.values import value_class
from fleetlog.domain.words import name_key, same_name, same_place, with_position

FAILED: Literal["failed"] = "failed"
FOUND_WORN: Literal["found worn"] = "found worn"
SOUND: Literal["sound"] = "sound"
Ending = Literal["failed", "found worn", "sound"]

_ENDINGS: dict[str, Ending] = {"failed": FAILED, "worn": FOUND_WORN}
"""How a reason for coming off ends a life; any other ends the watching of it only."""

_LOOKS = frozenset({"inspected", "adjusted", "serviced"})


@value_class(frozen=True, slots=True)
class Age:
    """An age in hours and in months, as fine as the ledger tells; None where a part of it is not known."""

    hours: float | None
    months: float | None


@value_class(frozen=True, slots=True)
class ItemLife:
    """One item from the age with which it came into the log to its end, or to now.

    `serial` and `position` are where it is, or was last; without `ended_on` it is fitted still.
    `last_sound` is its age when it was last looked at and left on, before the visit that found it worn.
    `doubt` says why the life should not be used, empty where nothing is against it.
    """

    serial: str
    item: str
    position: str | None
    fitted_on: date | None
    part_number: str | None
    entered: Age
    age: Age
    last_sound: Age
    ended: Ending
    ended_on: date | None
    conditions: Conditions
    doubt: str = ""

    @property
    def label(self) -> str:
        """Which life it is, for a person."""
        since = f"fitted {self.fitted_on.isoformat()}" if self.fitted_on else "as the engine came"
        return f"{with_position(self.item, self.position)} of {self.serial}, {since}"


def lives_of(homes: Homes, serials: Iterable[str], item: str | None = None) -> Iterator[ItemLife]:
    """The lives of a kind of item (None: of every kind) that began on these engines or came to them.

    One that went on to another engine of the log is one life, told where it began. Identical items at
    several positions are several lives.
    """
    for serial in serials:
        home = homes.known(serial)
        if _is_ahead(home):
            continue
        for tracked in _items_at(home, item):
            journey = journey_of(homes, serial, tracked)
            if journey.legs[0].item is not tracked:
                continue
            for life in _lives_in(homes, journey):
                doubt = life.doubt or _placeless(home, tracked)
                yield replace(life, doubt=doubt) if doubt else life


def _placeless(home: Home, tracked: TrackedItem) -> str:
    """Of what sat at no named place, beside others of its kind that have one, nothing tells which it was."""
    if tracked.position is None and tracked.fitted is None:
        for other in home.items:
            if other.position is not None and same_name(other.item, tracked.item):
                return "nothing says at which position it sat"
    return ""


def _is_ahead(home: Home) -> bool:
    in_service_on = home.seen.engine.in_service_on
    return in_service_on is not None and in_service_on > home.today


def _items_at(home: Home, item: str | None) -> Iterator[TrackedItem]:
    """Every item an engine ever had, of which the log speaks or which its schedule says that it has."""
    wanted = None if item is None else name_key(item)
    there: dict[str, dict[str, TrackedItem]] = {}
    for tracked in home.items:
        if wanted in (None, name_key(tracked.item)):
            there.setdefault(name_key(tracked.item), {})[name_key(tracked.position or "")] = tracked
            yield tracked
    if home.schedule is None:
        return
    rules = [r for r in home.schedule.rules if r.is_for(home.serial) and not r.once]
    for kind in {name_key(r.item): r.item for r in rules if wanted in (None, name_key(r.item))}.values():
        known = there.get(name_key(kind), {})
        places: Sequence[str | None] = home.schedule.positions_of(kind)
        for place in places or ([] if known else [None]):
            if name_key(place or "") not in known:
                yield original_item(home.seen, kind, place)


def _lives_in(homes: Homes, journey: Journey) -> Iterator[ItemLife]:
    """The life of a journey, cut where it failed, was found worn, or may have been renewed unsaid.

    A rebuild that renews the item by the schedule, while nothing tells what was done to it, ends the
    watching; what sat there after is of an age that nobody knows.
    """
    came = Age(_hours(journey.came_tenths), _months(journey.came_months))
    run, last_sound = came, came
    held: list[Spell] = []
    for number, leg in enumerate(journey.legs):
        home = homes.known(leg.serial)
        if number:  # whoever fitted it here had looked at it
            last_sound = run
        rebuild = _silent_rebuild(home, leg)
        end_on = leg.stint.to_on if rebuild is None else rebuild.on
        until = end_on or watched_until(home)
        look = _last_look(home.seen, leg, until)
        if look is not None:
            last_sound = _later(run, leg, look.on, home.seen.hours.tenths_at(look))
        end_tenths = leg.end_tenths if rebuild is None else home.seen.hours.tenths_at(rebuild)
        run = _later(run, leg, until, end_tenths)
        held.extend(spells(home.ledger, min(leg.stint.from_on or until, until), until))
        ended = _ENDINGS.get(leg.stint.why_off or "", SOUND) if rebuild is None else SOUND
        if ended == SOUND and rebuild is None and number + 1 < len(journey.legs):
            continue
        life = ItemLife(
            leg.serial,
            leg.item.item,
            leg.item.position,
            next((e.on for e in _fittings(journey)), None),
            next((e.part_number for e in _fittings(journey) if e.part_number), None),
            came,
            run,
            last_sound,
            ended,
            end_on,
            prevailing(held),
        )
        yield life
        if rebuild is not None:
            yield _after(life, leg, rebuild)
        return


def _after(life: ItemLife, leg: Leg, rebuild: Entry) -> ItemLife:
    """What sat there after a rebuild that says nothing of the item."""
    unknown = Age(None, None)
    return replace(
        life,
        fitted_on=None,
        part_number=None,
        entered=unknown,
        age=unknown,
        last_sound=unknown,
        ended=_ENDINGS.get(leg.stint.why_off or "", SOUND),
        ended_on=leg.stint.to_on,
        doubt=f"nothing says whether it was renewed with the rebuild of {rebuild.on.isoformat()}",
    )


def watched_until(home: Home) -> date:
    """The day up to which an engine was watched: today, or the day on which it was sold or scrapped.

    Where that day is not on record, it is that of the last entry or reading.
    """
    if home.seen.engine.state not in WITHOUT_LINES:
        return home.today
    changed = [c.until_on for c in home.ledger.changes if c.field == "state" and c.until_on <= home.today]
    days = [entry.on for entry in home.seen.entries] + home.seen.hours.days
    return max(changed or days, default=home.today)


def _silent_rebuild(home: Home, leg: Leg) -> Entry | None:
    """The first rebuild within a stint that renews the item by the schedule, though no entry says so."""
    stint, item, seen = leg.stint, leg.item, home.seen
    scopes = _scopes_that_renew(home.schedule, item) if seen.rebuilds else set()
    for rebuild in sorted(seen.rebuilds, key=lambda e: (e.on, e.sequence)):
        within = (stint.from_on is None or rebuild.on > stint.from_on) and (
            stint.to_on is None or rebuild.on < stint.to_on
        )
        if within and rebuild.scope in scopes:
            named = (e for e in seen.of_item(item.item) if same_place(e.position, item.position))
            if not any(same_visit(entry, rebuild) for entry in named):
                return rebuild
    return None


def _scopes_that_renew(schedule: Schedule | None, item: TrackedItem) -> set[str]:
    """The scopes of rebuilds with which the item counts as renewed."""
    if schedule is None:
        return set()
    return {
        scope
        for rule in schedule.rules_for(item.item)
        if rule.action == "replace"
        and (
            not rule.positions
            or item.position is None
            or any(same_name(p, item.position) for p in rule.positions)
        )
        for scope in rule.reset_by
    }


def _last_look(seen: Seen, leg: Leg, until: date) -> Entry | None:
    """The last time in a stint that an item was looked at and left on, before the visit that took it off."""
    stint, item = leg.stint, leg.item
    looks = [
        e
        for e in seen.of_item(item.item)
        if same_place(e.position, item.position)
        and (e.action in _LOOKS or put_back(seen, e, item.position))
        and (stint.from_on is None or stint.from_on <= e.on)
        and e.on <= until
        and (stint.came_off is None or not same_visit(e, stint.came_off))
    ]
    return max(looks, key=lambda e: (e.on, e.sequence), default=None)


def _fittings(journey: Journey) -> list[Entry]:
    """The entries that fitted it, the first one first."""
    return [leg.item.fitted for leg in journey.legs if leg.item.fitted is not None]


def _later(age: Age, leg: Leg, until: date, tenths: Tenths | None) -> Age:
    """The age at some point of a stint that began at an age."""
    start_on, start = leg.stint.from_on, None if leg.stint.is_least else leg.stint.from_tenths
    hours = months = None
    if age.hours is not None and start is not None and tenths is not None:
        hours = age.hours + float(tenths - start) / 10
    if age.months is not None and start_on is not None:
        months = age.months + fine_months((until - start_on).days)
    return Age(hours, months)


def _hours(tenths: Tenths | None) -> float | None:
    return None if tenths is None else float(tenths) / 10


def _months(months: int | None) -> float | None:
    return None if months is None else float(months)

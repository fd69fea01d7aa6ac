"""The assemblies of an engine: powerhead, midsection, lower unit, rigging, each with an age of its own.

An assembly is an item like any other: swapped whole, it is *fitted* and brings its age along. What it was
rebuilt for follows it from engine to engine.
"""

from __future__ import annotations

from datetime import date

from fleetlog.domain.hours import Tenths
from fleetlog.domain.months import whole_months_between
from fleetlog.domain.records import Entry
from fleetlog.domain.satisfaction import same_visit
from fleetlog.domain.stints import TrackedItem
from fleetlog.domain.travel import Home, Homes, Journey, Leg, item_there, journey_of
from fleetlog.domain.values import value_class
from fleetlog.domain.words import ASSEMBLIES, same_name


@value_class(frozen=True, slots=True)
class AssemblyAge:
    """One assembly of an engine as it is now: its age since new and since it was last rebuilt.

    Hours are tenths; None where a part of them is not known. Without `rebuilt` no rebuild is recorded since
    it was new; `rebuilt_on_serial` is the engine it was on then. `rebuild_is_least` where it ran at least
    those hours since; of those since new the item says so.
    """

    assembly: str
    item: TrackedItem
    journey: Journey
    new_tenths: Tenths | None
    new_months: int | None
    rebuilt: Entry | None = None
    rebuilt_on_serial: str | None = None
    rebuild_tenths: Tenths | None = None
    rebuild_months: int | None = None
    rebuild_is_least: bool = False

    @property
    def fitted(self) -> Entry | None:
        """The entry that fitted it, None for the one the engine came with."""
        return self.item.fitted


def assembly_ages(homes: Homes, home: Home) -> list[AssemblyAge]:
    """The assemblies that an engine's schedule, its rebuilds or its swaps speak of, each with its ages."""
    return [_age_of(homes, home, assembly) for assembly in ASSEMBLIES if _is_spoken_of(home, assembly)]


def _is_spoken_of(home: Home, assembly: str) -> bool:
    rules = home.schedule.rules if home.schedule is not None else ()
    return (
        any(same_name(rule.assembly, assembly) for rule in rules)
        or any(entry.scope == assembly for entry in home.seen.rebuilds)
        or any(same_name(item.item, assembly) for item in home.items)
    )


def _age_of(homes: Homes, home: Home, assembly: str) -> AssemblyAge:
    item = item_there(home, assembly, None)
    today = home.today
    journey = journey_of(homes, home.serial, item)
    age = item.age_tenths(home.now_tenths), item.age_months(today)
    here = [place for place, leg in enumerate(journey.legs) if leg.item is item][-1]
    later_tenths: Tenths | None = 0
    later_months: int | None = 0
    is_least = False
    for leg in reversed(journey.legs[: here + 1]):
        there = homes.known(leg.serial)
        rebuild = _last_rebuild(there, leg, assembly)
        if rebuild is not None:
            since = _since(there, leg, rebuild, today)
            return AssemblyAge(
                assembly,
                item,
                journey,
                *age,
                rebuild,
                leg.serial,
                None if later_tenths is None or since[0] is None else later_tenths + since[0],
                None if later_months is None or since[1] is None else later_months + since[1],
                is_least or there.seen.hours.is_before_first(rebuild),
            )
        run, months = leg.run_tenths, leg.run_months(today)
        later_tenths = None if later_tenths is None or run is None else later_tenths + run
        later_months = None if later_months is None or months is None else later_months + months
        is_least = is_least or leg.stint.is_least
    return AssemblyAge(assembly, item, journey, *age)


def _last_rebuild(home: Home, leg: Leg, assembly: str) -> Entry | None:
    """The last rebuild of an assembly within one of its stints; a new one's own fitting is none."""
    stint = leg.stint
    put_on = stint.put_on
    within = [
        entry
        for entry in home.seen.rebuilds
        if entry.scope == assembly
        and (stint.from_on is None or entry.on >= stint.from_on)
        and (stint.to_on is None or entry.on < stint.to_on)
        and not (put_on is not None and put_on.condition != "used" and same_visit(entry, put_on))
    ]
    return max(within, key=lambda e: (e.on, e.sequence), default=None)


def _since(home: Home, leg: Leg, rebuild: Entry, today: date) -> tuple[Tenths | None, int | None]:
    """Hours in tenths and whole months that an assembly ran in a stint after it was rebuilt there."""
    end, start = leg.end_tenths, home.seen.hours.tenths_at(rebuild)
    run = None if end is None or start is None else end - start
    return run, whole_months_between(rebuild.on, leg.stint.to_on or today)

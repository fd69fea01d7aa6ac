"""The service schedule: the maker's table of periodic work, one rule a row.

Reading a schedule from its TOML text is in `schedule_text`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from fleetlog.domain.hours import Tenths
from fleetlog.domain.serials import SerialRange
from fleetlog.domain.values import value_class
from fleetlog.domain.words import name_key


@value_class(frozen=True, slots=True)
class Limits:
    """Hours (exact tenths) and whole months, whichever comes first; None where there is no such limit."""

    tenths: Tenths | None = None
    months: int | None = None


@value_class(frozen=True, slots=True)
class PartNeed:
    """A part number, and how many of it (or litres) a job uses up."""

    number: str
    quantity: Decimal = Decimal(1)


@value_class(frozen=True, slots=True)
class Deadline:
    """By when one-time work is to be done: a day, engine hours (exact tenths), or whichever comes first."""

    on: date | None = None
    tenths: Tenths | None = None


@value_class(frozen=True, slots=True)
class Condition:
    """The limit of what is measured on an item, in a unit: at least, at most, or a spread.

    `spread` is the most that the positions of one day may differ, in percent of the highest of them.
    """

    unit: str
    at_least: Decimal | None = None
    at_most: Decimal | None = None
    spread: Decimal | None = None

    @property
    def limit(self) -> Decimal:
        """The one limit that it has."""
        given = (self.at_least, self.at_most, self.spread)
        return next(figure for figure in given if figure is not None)

    @property
    def shown_unit(self) -> str:
        """The unit of the limit and of what is compared with it."""
        return self.unit if self.spread is None else "% between positions"


@value_class(frozen=True, slots=True)
class Rule:
    """One row of the schedule.

    `every` is the regular interval and `first` the one while running in; `season` binds the work to the
    boat's lay-up instead; `renew_when_disturbed` asks for a new item whenever the old one came off.
    `severe` holds (water or use, factor in (0, 1]) pairs. `place` is the rule's place in its schedule.

    A bulletin is a rule that is done `once`, `by` a deadline; work dated before `issued_on` does not count
    for it. Where there are `serials`, the rule holds for engines of these only. `condition` is the limit of
    what inspections measure; its trend makes a line due before the interval does.
    """

    key: str
    title: str
    item: str
    action: str
    place: int = 0
    positions: tuple[str, ...] = ()
    every: Limits = Limits()
    first: Limits | None = None
    season: str | None = None
    severe: tuple[tuple[str, Decimal], ...] = ()
    reset_by: tuple[str, ...] = ()
    renews: tuple[str, ...] = ()
    renew_when_disturbed: bool = False
    assembly: str | None = None
    access: str | None = None
    labour_hours: Decimal | None = None
    parts: tuple[PartNeed, ...] = ()
    consequence: str | None = None
    once: bool = False
    by: Deadline = Deadline()
    issued_on: date | None = None
    serials: tuple[SerialRange, ...] = ()
    condition: Condition | None = None

    def is_for(self, serial: str) -> bool:
        """Whether the rule holds for an engine of this serial number."""
        return not self.serials or any(r.covers(serial) for r in self.serials)

    @property
    def is_by_interval(self) -> bool:
        """Whether its work comes round at an interval: not by season, not once, not when disturbed."""
        return self.season is None and not self.once and not self.renew_when_disturbed

    @property
    def opens(self) -> str | None:
        """The access that the work needs open; None where it needs none ("none" in a schedule)."""
        return None if self.access == "none" else self.access

    def lines(self) -> tuple[str | None, ...]:
        """The positions that get a line each; one line without position where there are none."""
        return self.positions or (None,)


@dataclass(frozen=True)
class Schedule:
    """A named, revised table of rules; `name` is the stem of its file, `title` what it calls itself."""

    name: str
    title: str
    revision: int
    rules: tuple[Rule, ...]
    note: str | None = None
    _by_key: dict[str, Rule] = field(init=False, repr=False, compare=False)
    _by_item: dict[str, tuple[Rule, ...]] = field(init=False, repr=False, compare=False)
    _renewers: dict[str, tuple[Rule, ...]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_by_key", {r.key: r for r in self.rules})
        by_item: dict[str, tuple[Rule, ...]] = {}
        for rule in self.rules:
            item = name_key(rule.item)
            by_item[item] = (*by_item.get(item, ()), rule)
        object.__setattr__(self, "_by_item", by_item)
        renewers: dict[str, tuple[Rule, ...]] = {}
        for rule in self.rules:
            for renewed in rule.renews:
                renewers[renewed] = (*renewers.get(renewed, ()), rule)
        object.__setattr__(self, "_renewers", renewers)

    def rule(self, key: str) -> Rule | None:
        """The rule of that key, if there is one."""
        return self._by_key.get(key)

    def renewers_of(self, rule: Rule) -> tuple[Rule, ...]:
        """The rules whose work also does this one."""
        return self._renewers.get(rule.key, ())

    def rules_for(self, item: str) -> Iterator[Rule]:
        """The rules that speak of a kind of item."""
        return iter(self._by_item.get(name_key(item), ()))

    def items(self) -> list[str]:
        """The kinds of item it speaks of, in its own order and spelling."""
        return list({name_key(r.item): r.item for r in reversed(self.rules)}.values())[::-1]

    def positions_of(self, item: str) -> list[str]:
        """The positions that its rules give a kind of item; none where it has no places of its own."""
        places = {name_key(p): p for r in self.rules_for(item) for p in r.positions}
        return list(places.values())


@value_class(frozen=True, slots=True)
class ScheduleText:
    """One revision of a service schedule as it was handed in: the stem of its file, and its TOML text."""

    name: str
    revision: int
    text: str

"""Superseded part numbers: N was replaced by M, so that what bears either number is found by both."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from fleetlog.domain.values import value_class
from fleetlog.domain.words import name_key


@value_class(frozen=True, slots=True)
class Supersession:
    """A part number that another one replaced, from a day on where that is known.

    One that was entered wrongly is withdrawn on a day.
    """

    part_number: str
    superseded_by: str
    from_on: date | None = None
    withdrawn_on: date | None = None
    note: str | None = None
    by: str | None = None
    withdrawn_reason: str | None = None


def standing_on(supersessions: Iterable[Supersession], today: date) -> list[Supersession]:
    """Those that hold on a day."""
    return [s for s in supersessions if s.withdrawn_on is None or s.withdrawn_on > today]


def one_part(supersessions: Iterable[Supersession], part_number: str) -> list[str]:
    """Every number that the part of this number has or had, through all supersessions, the oldest first.

    Numbers compare without case; a number that nothing superseded stands alone.
    """
    rows = list(supersessions)
    order = _oldest_first(rows)
    wanted = {name_key(part_number)}
    while True:
        more = {
            name_key(number)
            for s in rows
            if name_key(s.part_number) in wanted or name_key(s.superseded_by) in wanted
            for number in (s.part_number, s.superseded_by)
        }
        if more <= wanted:
            break
        wanted |= more
    return [number for key, number in order.items() if key in wanted] or [part_number]


def newest_number(supersessions: Iterable[Supersession], part_number: str) -> str:
    """The number to order: the one that no other has replaced, following one after the other."""
    following = {name_key(s.part_number): s.superseded_by for s in supersessions}
    number, passed = part_number, set[str]()
    while (key := name_key(number)) in following and key not in passed:
        passed.add(key)
        number = following[key]
    return number


class OrderNumbers:
    """Under which number each part is ordered: the newest, spelled as those that are known spell it."""

    def __init__(self, supersessions: Iterable[Supersession], known: Iterable[str]) -> None:
        self._supersessions = list(supersessions)
        self._spelled: dict[str, str] = {}
        self._ordered_as: dict[str, str] = {}
        for number in known:
            self.spelled(number)

    def spelled(self, part_number: str) -> str:
        """A number as it was first spelled; numbers compare without case."""
        return self._spelled.setdefault(name_key(part_number), part_number)

    @property
    def known(self) -> list[str]:
        """The numbers that are known, or were asked for, as they are spelled."""
        return list(self._spelled.values())

    def knows(self, part_number: str) -> bool:
        """Whether a number is among those that are known, or were asked for."""
        return name_key(part_number) in self._spelled

    def of(self, part_number: str) -> str:
        """The number to order for a part of this number; looked up once, as fleets ask for few, but often."""
        key = name_key(part_number)
        if key not in self._ordered_as:
            self._ordered_as[key] = self.spelled(newest_number(self._supersessions, part_number))
        return self._ordered_as[key]


def would_go_round(supersessions: Iterable[Supersession], part_number: str, superseded_by: str) -> bool:
    """Whether a number would at last be replaced by itself."""
    rows = [*supersessions, Supersession(part_number, superseded_by)]
    following: dict[str, set[str]] = {}
    for s in rows:
        following.setdefault(name_key(s.part_number), set()).add(name_key(s.superseded_by))
    start, reached, ahead = name_key(part_number), set[str](), [name_key(part_number)]
    while ahead:
        for key in following.get(ahead.pop(), ()):
            if key == start:
                return True
            if key not in reached:
                reached.add(key)
                ahead.append(key)
    return False


def _oldest_first(rows: list[Supersession]) -> dict[str, str]:
    """Every number by its key, each before those that replaced it."""
    spelled = {name_key(n): n for s in rows for n in (s.part_number, s.superseded_by)}
    before: dict[str, set[str]] = {key: set() for key in spelled}
    for s in rows:
        before[name_key(s.superseded_by)].add(name_key(s.part_number))
    order: dict[str, str] = {}
    while len(order) < len(spelled):
        ready = [key for key in spelled if key not in order and before[key] <= order.keys()]
        order.update((key, spelled[key]) for key in ready or [k for k in spelled if k not in order])
    return order

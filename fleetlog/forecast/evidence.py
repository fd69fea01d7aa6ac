"""What is known of the use of engines: readings, lay-ups and changes, as plain values and as arrays."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fleetlog.domain.hours import Tenths
from fleetlog.errors.forecast import UsageArraysDisagree

NEVER = 4_000_000
"""A day ordinal after every date: the end of a lay-up without one."""

Days = NDArray[np.int64]
Hours = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class EngineUsage:
    """One engine's use as known: accepted readings only, by date.

    `readings` are (day, engine hours in tenths), sorted by day; `layups` are (first day stored, first day
    afloat again or None while there is no end). From `changed_on` on, boat, owner and use are today's. Where
    the engine replaced another one on `came_on`, `replaced_readings` are those of that one up to then, by its
    own hours, and `readings` its own since.
    """

    key: str
    use: str | None = None
    is_on_boat: bool = True
    metered: bool = True
    readings: tuple[tuple[date, Tenths], ...] = ()
    layups: tuple[tuple[date, date | None], ...] = ()
    in_service_on: date | None = None
    changed_on: date | None = None
    came_on: date | None = None
    replaced_readings: tuple[tuple[date, Tenths], ...] = ()

    @property
    def readings_of_boat(self) -> tuple[tuple[date, Tenths], ...]:
        """Its readings, before them those of the engine it replaced.

        Theirs are moved so that hours fall where one engine takes the place of the other: nothing is told of
        the time between them.
        """
        if not self.metered:
            return ()
        if not self.replaced_readings:
            return self.readings
        first = self.readings[0][1] if self.readings else 0
        further = first + 1 - self.replaced_readings[-1][1]
        moved = tuple((day, tenths + further) for day, tenths in self.replaced_readings)
        return moved + self.readings


@dataclass(frozen=True, eq=False)
class FleetUsage:
    """The use of many engines as a struct of arrays; engine i owns readings offsets[i] to offsets[i + 1].

    Days are proleptic ordinals, hours are engine hours. `use_code` points into `uses`; `changed_day` is 0
    where nothing changed, `new_day` where it is not known when the engine, with no hours yet, came into
    service. `came_day` is the day on which an engine took the place of the one whose readings stand before
    its own, 0 where it did not.
    """

    uses: tuple[str, ...]
    use_code: Days
    reading_offsets: Days
    reading_day: Days
    reading_hours: Hours
    layup_offsets: Days
    layup_from: Days
    layup_to: Days
    changed_day: Days
    new_day: Days
    came_day: Days

    def __len__(self) -> int:
        return len(self.use_code)

    @classmethod
    def from_arrays(
        cls,
        *,
        uses: Sequence[str],
        use_code: Days,
        reading_offsets: Days,
        reading_day: Days,
        reading_hours: Hours,
        layup_offsets: Days | None = None,
        layup_from: Days | None = None,
        layup_to: Days | None = None,
        changed_day: Days | None = None,
        new_day: Days | None = None,
        came_day: Days | None = None,
    ) -> FleetUsage:
        """A fleet straight from arrays; raises UsageArraysDisagree where their sizes or order cannot be."""
        count = len(use_code)

        def whole(values: Days | None, default: Days) -> Days:
            return default if values is None else np.asarray(values, dtype=np.int64)

        none = np.zeros(0, dtype=np.int64)
        fleet = cls(
            uses=tuple(uses),
            use_code=np.asarray(use_code, dtype=np.int64),
            reading_offsets=np.asarray(reading_offsets, dtype=np.int64),
            reading_day=np.asarray(reading_day, dtype=np.int64),
            reading_hours=np.asarray(reading_hours, dtype=np.float64),
            layup_offsets=whole(layup_offsets, np.zeros(count + 1, dtype=np.int64)),
            layup_from=whole(layup_from, none),
            layup_to=whole(layup_to, none),
            changed_day=whole(changed_day, np.zeros(count, dtype=np.int64)),
            new_day=whole(new_day, np.zeros(count, dtype=np.int64)),
            came_day=whole(came_day, np.zeros(count, dtype=np.int64)),
        )
        fleet._check()
        return fleet

    @classmethod
    def of(cls, engines: Iterable[EngineUsage]) -> FleetUsage:
        """The arrays of the given engines, in the order given."""
        listed = list(engines)
        uses = tuple(sorted({engine.use or "" for engine in listed}))
        use_of = {use: code for code, use in enumerate(uses)}
        layups = [layup for engine in listed for layup in engine.layups]
        readings_of = [engine.readings_of_boat for engine in listed]
        readings = [reading for of_one in readings_of for reading in of_one]
        return cls.from_arrays(
            uses=uses,
            use_code=np.array([use_of[engine.use or ""] for engine in listed], dtype=np.int64),
            reading_offsets=_offsets([len(of_one) for of_one in readings_of]),
            reading_day=np.array([day.toordinal() for day, _ in readings], dtype=np.int64),
            reading_hours=np.array([float(tenths) / 10 for _, tenths in readings], dtype=np.float64),
            layup_offsets=_offsets([len(engine.layups) for engine in listed]),
            layup_from=np.array([begin.toordinal() for begin, _ in layups], dtype=np.int64),
            layup_to=np.array([end.toordinal() if end else NEVER for _, end in layups], dtype=np.int64),
            changed_day=np.array(
                [e.changed_on.toordinal() if e.changed_on else 0 for e in listed], dtype=np.int64
            ),
            new_day=np.array(
                [e.in_service_on.toordinal() if e.in_service_on else 0 for e in listed], dtype=np.int64
            ),
            came_day=np.array([e.came_on.toordinal() if e.came_on else 0 for e in listed], dtype=np.int64),
        )

    def _check(self) -> None:
        for name, offsets, rows in (
            ("reading_offsets", self.reading_offsets, len(self.reading_day)),
            ("layup_offsets", self.layup_offsets, len(self.layup_from)),
        ):
            if len(offsets) != len(self) + 1 or offsets[0] != 0 or offsets[-1] != rows:
                raise UsageArraysDisagree(name, len(self), rows)
        if len(self.reading_hours) != len(self.reading_day):
            raise UsageArraysDisagree("reading_hours", len(self), len(self.reading_day))
        if len(self.layup_to) != len(self.layup_from):
            raise UsageArraysDisagree("layup_to", len(self), len(self.layup_from))
        if bool((self.goes_on & (self.days_apart < 0)).any()):
            raise UsageArraysDisagree("reading_day", len(self), len(self.reading_day))

    @cached_property
    def reading_engine(self) -> Days:
        """The index of the engine of each reading."""
        return np.arange(len(self)).repeat(self.readings)

    @cached_property
    def goes_on(self) -> NDArray[np.bool_]:
        """Whether each reading but the last one is followed by one of the same engine."""
        same: NDArray[np.bool_] = self.reading_engine[1:] == self.reading_engine[:-1]
        return same

    @cached_property
    def days_apart(self) -> Days:
        """The days from each reading but the last one to the next one, be it of another engine."""
        return self.reading_day[1:] - self.reading_day[:-1]

    @cached_property
    def readings(self) -> Days:
        """How many readings each engine has."""
        return self.reading_offsets[1:] - self.reading_offsets[:-1]

    @cached_property
    def times_read(self) -> Days:
        """How often each engine was read: that a new one has 0 h on its first day needs no look."""
        first, count = self.reading_offsets[:-1], self.readings
        of_new = np.zeros(len(self), dtype=np.int64)
        some = count > 0
        day, hours = self.reading_day[first[some]], self.reading_hours[first[some]]
        of_new[some] = (day == self.new_day[some]) & (hours == 0)
        return count - of_new

    @cached_property
    def layup_engine(self) -> Days:
        """The index of the engine of each lay-up."""
        return np.arange(len(self)).repeat(self.layup_offsets[1:] - self.layup_offsets[:-1])

    def chosen(self, engines: Days) -> FleetUsage:
        """The fleet of the engines with these indices, in this order."""
        rows, offsets = _rows_of(self.reading_offsets, engines)
        layup_rows, layup_offsets = _rows_of(self.layup_offsets, engines)
        return replace(
            self,
            use_code=self.use_code[engines],
            reading_offsets=offsets,
            reading_day=self.reading_day[rows],
            reading_hours=self.reading_hours[rows],
            layup_offsets=layup_offsets,
            layup_from=self.layup_from[layup_rows],
            layup_to=self.layup_to[layup_rows],
            changed_day=self.changed_day[engines],
            new_day=self.new_day[engines],
            came_day=self.came_day[engines],
        )

    def read_until(self, day: int) -> FleetUsage:
        """The same fleet without the readings after a day; lay-ups, which are plans, stay as they are."""
        return self._seen_alone(self.reading_day <= day)

    def _seen_alone(self, seen: NDArray[np.bool_]) -> FleetUsage:
        if bool(seen.all()):
            return self
        return replace(
            self,
            reading_offsets=_offsets(np.bincount(self.reading_engine[seen], minlength=len(self))),
            reading_day=self.reading_day[seen],
            reading_hours=self.reading_hours[seen],
        )

    def as_known_on(self, day: int) -> FleetUsage:
        """The fleet as it could be known on a past day: later readings, lay-ups and changes are hidden.

        So are the end of a lay-up that was under way, and readings of engines that were replaced later.
        """
        begun = self.layup_from <= day
        fleet = self._seen_alone((self.reading_day <= day) & (self.came_day <= day)[self.reading_engine])
        return replace(
            fleet,
            layup_offsets=_offsets(np.bincount(self.layup_engine[begun], minlength=len(self))),
            layup_from=self.layup_from[begun],
            layup_to=np.where(self.layup_to[begun] <= day, self.layup_to[begun], NEVER),
            changed_day=np.where(self.changed_day <= day, self.changed_day, 0),
        )


def _offsets(counts: Sequence[int] | Days) -> Days:
    return np.concatenate([[0], np.cumsum(np.asarray(counts, dtype=np.int64))]).astype(np.int64)


def _rows_of(offsets: Days, engines: Days) -> tuple[Days, Days]:
    counts = np.diff(offsets)[engines]
    chosen = _offsets(counts)
    rows = np.arange(chosen[-1]) - np.repeat(chosen[:-1] - offsets[:-1][engines], counts)
    return rows, chosen

"""Reads rows of the log as they are kept: by key, by kind, and all at once.

What is known of engines is put together from them in `engine_reader`, all else in `reader`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from operator import attrgetter
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, select

from fleetlog.domain.renumbered import NAMING
from fleetlog.store.among import among
from fleetlog.store.direct import Direct
from fleetlog.store.shapes import ITEMS, RULINGS, SHAPES, Names, Shape

if TYPE_CHECKING:
    from fleetlog.domain.batch import Batch

KEYS_AT_ONCE = 20_000
"""How many keys one statement asks for, and how many rows are fetched at once: bounds the memory in use."""

NUMBERED = (SHAPES["engines"].table.c.engine_no, SHAPES["engines"].table.c.serial)
_SERIALS = Direct(select(*NUMBERED).where(among(NUMBERED[0], numbers=True)))
_BY_SERIAL = select(*NUMBERED).where(among(NUMBERED[1])).order_by(NUMBERED[0])
_NUMBERS, _NUMBERS_HELD = Direct(_BY_SERIAL), Direct(_BY_SERIAL.with_for_update(key_share=True))
"""All are held at once and in one order, so that no two writers wait for each other."""

_ENGINES = SHAPES["engines"].table.c
_CORRECTED = Direct(
    select(_ENGINES.entered_as, _ENGINES.serial).where(_ENGINES.entered_as != _ENGINES.serial)
)
_ITEM_NAMES = Direct(select(ITEMS.c.item_no, ITEMS.c.spelling))


def corrected_serials(connection: Connection) -> dict[str, str]:
    """The serials of the engines that were entered with another one, by that one."""
    return dict(_CORRECTED.rows(connection))


def in_chunks(keys: Iterable[Any], size: int = KEYS_AT_ONCE) -> Iterator[list[Any]]:
    """The keys in lists of at most `size`."""
    rest = iter(keys)
    while chunk := list(islice(rest, size)):
        yield chunk


class RowReader:
    """Rows of one state of the log."""

    locks_engines = False
    """Whether engines asked for by serial are held for this transaction (a writer's are)."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._numbers: dict[str, int] = {}
        """Engines that were asked for by serial, and are held if `locks_engines`."""
        self._serials: dict[int, str] = {}
        self._items: dict[int | None, str | None] | None = None
        self._corrected: dict[str, str] | None = None

    def batch(self) -> Batch:
        """Everything the log holds: each kind in the order in which it was written, engine by engine."""
        from fleetlog.domain.batch import Batch

        return Batch(**{kind: list(rows) for kind, rows in self.by_kind()})

    def by_kind(self) -> Iterator[tuple[str, Iterator[Any]]]:
        """Everything the log holds, as `batch` has it, of which some thousand rows are in memory at once."""
        names = Names(items=self._item_names(), statuses=self._statuses(None), corrected=self.corrected)
        for kind, shape in SHAPES.items():
            if shape.of_engine and not names.serials:
                rows = self._connection.execute(select(*NUMBERED)).all()
                names.serials = {row[0]: row[1] for row in rows}
            yield kind, self._each(shape, names)

    def _each(self, shape: Shape, names: Names) -> Iterator[Any]:
        found = self._connection.execute(shape.listed, execution_options={"yield_per": KEYS_AT_ONCE})
        for rows in found.partitions():
            yield from shape.values(rows, names)

    def rows(self, kind: str) -> list[Any]:
        """Every row of a kind (a field of `Batch`) that is of no one engine, as they were written."""
        shape = SHAPES[kind]
        return shape.values(shape.every_row.rows(self._connection), self._names_for(kind))

    def row(self, kind: str, key: str) -> Any:
        """The row of a kind that is of no one engine, by its id; None where there is none."""
        shape = SHAPES[kind]
        found = shape.by_key.rows(self._connection, keys=[key])
        return shape.made(*found[0]) if found else None

    def has_any(self, kind: str) -> bool:
        """Whether the log holds rows of a kind (a field of `Batch`)."""
        return bool(SHAPES[kind].any_row.rows(self._connection))

    def known(self, kind: str, ids: Iterable[str]) -> set[str]:
        """Those of the ids under which the log holds rows of a kind that has ids."""
        found = SHAPES[kind].ids
        return {row[0] for some in in_chunks(ids) for row in found.rows(self._connection, keys=some)}

    def existing(self, kind: str, keys: Iterable[Any]) -> dict[Any, Any]:
        """The rows of a kind (a field of `Batch`) that the log holds under these keys.

        A key is the row's id, or a tuple where it takes two fields: (boat_id, from_on) of ownership and
        lay-ups, (serial, from_on) of mounts, (serial, fitted_on) of meters, (name, revision) of
        schedules, (key, kind, field, until_on, changed_at) of changes.
        """
        shape, wanted = SHAPES[kind], set(keys)
        found: dict[Any, Any] = {}
        if not wanted or not self.has_any(kind):
            return found
        firsts = dict.fromkeys(key if isinstance(key, str) else key[0] for key in wanted)
        for chunk in in_chunks(firsts):
            for value in self._values_where(shape, chunk):
                key = shape.key_of(value)
                if key in wanted:
                    found[key] = value
        return found

    def last_changes(self, kind: str, keys: Iterable[str]) -> dict[tuple[str, str], Any]:
        """The latest change of each fact of some owners, boats or engines, by key and field."""
        found = (c for some in in_chunks(keys) for c in self._values_where(SHAPES["changes"], some))
        return {(c.key, c.field): c for c in sorted(found, key=attrgetter("sequence")) if c.kind == kind}

    def _values_where(self, shape: Shape, firsts: list[str]) -> list[Any]:
        names, asked = self._names_for(shape.kind), list[Any](firsts)
        if shape.kind == "entries":
            names.items = self._item_names()
        if shape.kind == "changes":
            asked = self.as_entered(firsts)
        if shape.is_by_engine:
            numbers = self.engine_numbers(firsts)
            names.serials = {number: serial for serial, number in numbers.items()}
            asked = list(numbers.values())
        rows = shape.by_key.rows(self._connection, keys=asked)
        if shape.of_engine and not names.serials:
            names.serials = self._serials_of({row[-1] for row in rows})
        if shape.kind == "readings":
            names.statuses = self._statuses(firsts)
        return shape.values(rows, names)

    def _names_for(self, kind: str) -> Names:
        return Names(corrected=self.corrected) if kind in NAMING else Names()

    @property
    def corrected(self) -> dict[str, str]:
        """The serials of the engines that were entered with another one, by that one."""
        if self._corrected is None:
            self._corrected = corrected_serials(self._connection)
        return self._corrected

    def as_entered(self, serials: Iterable[str]) -> list[str]:
        """The serials with which engines were entered, by which rows name them in a text."""
        first = self.first_serials()
        return [first.get(serial, serial) for serial in serials]

    def first_serials(self) -> dict[str, str]:
        """The serials that engines were entered with, by the one each is known by now, if another."""
        return {serial: first for first, serial in self.corrected.items()}

    def engine_numbers(self, serials: Iterable[str]) -> dict[str, int]:
        """The numbers that engines have in the tables; unknown serials are left out.

        A writer holds these engines until its transaction ends, so that ledgers grow in one order.
        """
        wanted = list(serials)
        self._forget_many()
        new = [serial for serial in wanted if serial not in self._numbers]
        if new:
            query = _NUMBERS_HELD if self.locks_engines else _NUMBERS
            self._know(query.rows(self._connection, keys=new))
        return {serial: self._numbers[serial] for serial in wanted if serial in self._numbers}

    def _serials_of(self, numbers: Iterable[int]) -> dict[int, str]:
        wanted = list(numbers)
        self._forget_many()
        new = [number for number in wanted if number not in self._serials]
        if new:
            self._serials.update(_SERIALS.rows(self._connection, keys=new))
        return {number: self._serials[number] for number in wanted}

    def _know(self, engines: Iterable[Sequence[Any]]) -> None:
        """Remembers the numbers and serials of engines that were asked for."""
        for number, serial in engines:
            self._numbers[serial], self._serials[number] = number, serial

    def _forget_many(self) -> None:
        """Lets go of engines that were asked for, where they are many; they are asked for again."""
        if len(self._numbers) > KEYS_AT_ONCE:
            self._numbers.clear()
            self._serials.clear()

    def _statuses(self, reading_ids: list[str] | None) -> dict[str, str]:
        """The latest rulings on some readings, or on all (None)."""
        rulings = RULINGS.c
        query = select(rulings.reading_id, rulings.status).order_by(rulings.engine_no, rulings.sequence)
        if reading_ids is None:
            rows = self._connection.execute(query)
        else:
            rows = self._connection.execute(query.where(among(rulings.reading_id)), {"keys": reading_ids})
        return {row[0]: row[1] for row in rows}

    def _item_names(self) -> dict[int | None, str | None]:
        if self._items is None:
            self._items = {None: None, **dict(_ITEM_NAMES.rows(self._connection))}
        return self._items

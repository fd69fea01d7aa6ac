"""Reads which engines there are, and their ledgers: one, some, or all of them by the thousand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cache

from sqlalchemy import BindParameter, Text, bindparam, func, literal_column, or_, select, type_coerce, union

from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Engine
from fleetlog.domain.renumbered import SERIAL
from fleetlog.errors.log import EngineNotInLog, WrittenMeanwhile
from fleetlog.store.among import among
from fleetlog.store.direct import Direct, OfRows
from fleetlog.store.engine_ledgers import ledgers_of
from fleetlog.store.row_reader import RowReader, in_chunks
from fleetlog.store.shapes import SHAPES, Names, light_table, schedule_followed

ENGINES_AT_ONCE = 1_000
"""How many engines' ledgers are in memory at once when the whole fleet is read."""

_ENGINE = SHAPES["engines"].table.c
_EVERY_ENGINE = SHAPES["engines"].select.add_columns(_ENGINE.engine_no).order_by(_ENGINE.engine_no)
_LATER_ENGINES = OfRows(_EVERY_ENGINE.where(_ENGINE.engine_no > bindparam("after")).limit(bindparam("most")))
_SERIAL = Direct(select(_ENGINE.serial).where(_ENGINE.serial == bindparam("serial")))
_NAMED_ENGINES = _EVERY_ENGINE.where(among(_ENGINE.serial))
_ENGINES, _ENGINES_HELD = OfRows(_NAMED_ENGINES), OfRows(_NAMED_ENGINES.with_for_update(key_share=True))


@cache
def _corrections_of_serials() -> Direct:
    changes = SHAPES["changes"]
    of_serials = changes.select.where(
        changes.table.c.kind == bindparam("kind"), changes.table.c.field == bindparam("field")
    )
    return Direct(of_serials.order_by(changes.table.c.changed_at))


@cache
def _serials_of_boat() -> Direct:
    mounts = SHAPES["mounts"].table.c
    boat_id: BindParameter[str] = bindparam("boat_id")
    mounted = select(mounts.engine_no).where(mounts.boat_id == boat_id)
    corrections = light_table("corrections", ("kind", "key", "boat_id")).c
    corrected = select(corrections.key).where(
        corrections.boat_id == boat_id, corrections.kind == literal_column("'mounts'")
    )
    return Direct(
        select(_ENGINE.serial).where(
            or_(
                _ENGINE.boat_id == boat_id,
                _ENGINE.engine_no.in_(mounted),
                _ENGINE.entered_as.in_(corrected),
            )
        )
    )


class EngineReader(RowReader):
    """Engines of one state of the log."""

    # Ledgers

    def ledger(self, serial: str) -> EngineLedger:
        """The ledger of one engine, by its whole serial. Raises EngineNotInLog."""
        return next(iter(self.ledgers([serial])))

    def ledgers(self, serials: Iterable[str] | None = None) -> Iterator[EngineLedger]:
        """The ledgers of the engines named, or of all, in the order in which the engines were added.

        Within a stretch of 1,000 engines boats and owners are shared. Raises EngineNotInLog, and
        WrittenMeanwhile where a writer asks for one whose number was corrected since it was looked up.
        """
        if serials is None:
            yield from self._all_ledgers()
            return
        for chunk in in_chunks(dict.fromkeys(serials), ENGINES_AT_ONCE):
            found = self._engine_rows(chunk)
            missing = set(chunk) - {engine.serial for engine, _ in found}
            if missing and self.locks_engines and min(missing) in self.former_serials():
                raise WrittenMeanwhile(min(missing))
            if missing:
                raise EngineNotInLog(min(missing))
            numbers = [number for _, number in found]
            span = (numbers[0], numbers[0]) if len(numbers) == 1 else numbers
            yield from ledgers_of(self._connection, found, span, self._item_names())

    def _all_ledgers(self) -> Iterator[EngineLedger]:
        after = 0
        while True:
            rows = _LATER_ENGINES.rows(self._connection, after=after, most=ENGINES_AT_ONCE)
            if not rows:
                return
            found = [(Engine(*row[:-1]), row[-1]) for row in rows]
            after = found[-1][1]
            yield from ledgers_of(self._connection, found, (found[0][1], after), self._item_names())

    def _engine_rows(self, serials: Sequence[str]) -> list[tuple[Engine, int]]:
        query = _ENGINES_HELD if self.locks_engines else _ENGINES
        found = [(Engine(*row[:-1]), row[-1]) for row in query.each(self._connection, keys=list(serials))]
        self._know((number, engine.serial) for engine, number in found)
        return found

    # Which engines

    def serials(self) -> list[str]:
        """Every serial, in the order in which the engines were added."""
        return list(self._connection.scalars(select(_ENGINE.serial).order_by(_ENGINE.engine_no)))

    def has_engine(self, serial: str) -> bool:
        """Whether there is an engine of just this serial."""
        return bool(_SERIAL.rows(self._connection, serial=serial))

    def uses(self) -> dict[str, str | None]:
        """The use of each engine's boat as it is now, by serial, in the order of `serials`."""
        boats = SHAPES["boats"].table
        query = (
            select(_ENGINE.serial, boats.c.use)
            .join(boats, boats.c.boat_id == _ENGINE.boat_id, isouter=True)
            .order_by(_ENGINE.engine_no)
        )
        return {row[0]: row[1] for row in self._connection.execute(query)}

    def former_serials(self) -> dict[str, str]:
        """Serials that engines were once known by and none has now, each with that engine's serial of now."""
        found = _corrections_of_serials().rows(self._connection, kind="engines", field=SERIAL)
        if not found:
            return {}
        told = SHAPES["changes"].values(found, Names(corrected=self.corrected))
        former = {change.was: change.key for change in told}
        return {was: serial for was, serial in former.items() if not self.has_engine(was)}

    def rows_by_serial(self, kind: str, begins: str) -> dict[str, int]:
        """How many rows of a kind (readings, entries) each engine has whose id begins so, by serial."""
        shape = SHAPES[kind]
        query = (
            select(_ENGINE.serial, func.count())
            .join(shape.table, shape.table.c.engine_no == _ENGINE.engine_no)
            .where(shape.key_column.startswith(begins, autoescape=True))
            .group_by(_ENGINE.serial)
        )
        return {row[0]: row[1] for row in self._connection.execute(query)}

    def serials_like(self, fragment: str) -> list[str]:
        """The serials that hold a fragment, whatever its case, sorted."""
        query = select(_ENGINE.serial).where(
            type_coerce(_ENGINE.serial_key, Text).contains(fragment.casefold(), autoescape=True)
        )
        return sorted(self._connection.scalars(query))

    def serials_of_boat(self, boat_id: str) -> list[str]:
        """The engines that ever stood on a boat, by their own row or by a mount, sorted.

        Which of them stand there on a day is the ledger's to say (`EngineLedger.place_on`).
        """
        return sorted(row[0] for row in _serials_of_boat().rows(self._connection, boat_id=boat_id))

    def has_engines(self) -> bool:
        """Whether there is any engine."""
        return self._connection.scalar(select(_ENGINE.engine_no).limit(1)) is not None

    def unscheduled(
        self, owner_id: str | None, boat_id: str | None, serial: str | None, *, states_aside: Sequence[str]
    ) -> list[str]:
        """The engines without a service schedule in the log, sorted; of an owner, a boat, or just the one."""
        boats = SHAPES["boats"].table.c
        named = schedule_followed()
        query = select(_ENGINE.serial).where(
            or_(named.is_(None), named.not_in(select(SHAPES["schedules"].table.c.name))),
            _ENGINE.state.not_in(states_aside),
        )
        if owner_id is not None:
            query = query.where(_ENGINE.boat_id.in_(select(boats.boat_id).where(boats.owner_id == owner_id)))
        if boat_id is not None:
            query = query.where(_ENGINE.boat_id == boat_id)
        if serial is not None:
            query = query.where(_ENGINE.serial == serial)
        return sorted(self._connection.scalars(query))

    def serials_of_visit(self, visit_id: str) -> list[str]:
        """The engines on which something was done, measured or checked in a visit, sorted."""
        tables = [SHAPES[kind].table.c for kind in ("entries", "torques", "measurements", "checks")]
        numbers = union(*(select(t.engine_no).where(t.visit_id == visit_id) for t in tables))
        return sorted(
            self._connection.scalars(
                select(_ENGINE.serial).where(_ENGINE.engine_no.in_(numbers.scalar_subquery()))
            )
        )

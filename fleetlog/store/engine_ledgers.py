"""Puts the ledgers of engines together: one statement a kind for a whole stretch, grouped in memory."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from functools import cache
from typing import TYPE_CHECKING, Any

from sqlalchemy import (
    Connection,
    Select,
    TableClause,
    bindparam,
    literal_column,
    select,
    union_all,
)

from fleetlog.domain.ledger import EngineLedger, Evidence, as_corrected
from fleetlog.domain.records import Change, Correction, Engine, Mount, Visit
from fleetlog.store.among import among
from fleetlog.store.boat_ledgers import boat_ledgers_of, owners_of
from fleetlog.store.direct import Direct, OfRows
from fleetlog.store.keyed_rows import changes_by_key, corrections_by_key, rows_by_keys
from fleetlog.store.row_reader import corrected_serials
from fleetlog.store.shapes import RULINGS, SHAPES, Names, light_table

if TYPE_CHECKING:
    from fleetlog.domain.evidence import CardStep, Check, ToolLedger, Torque
    from fleetlog.domain.papers import Paper, PaperWithdrawal

_IN_VISITS = ("entries", "torques", "measurements", "checks")
_OF_A_LEDGER = (
    *_IN_VISITS,
    "readings",
    "meters",
    "mounts",
    "voids",
    "deferrals",
    "answers",
    "terms",
    "advice",
)

Stays = tuple[tuple[Mount, ...], tuple[tuple[Mount, Correction], ...]]
"""The stays of an engine as they were, and those that were recorded otherwise, each with its word."""

Span = tuple[int, int] | Sequence[int]
"""Numbers of engines: a tuple is a stretch from the first to the last, a list is those alone."""


def _within(query: Select[Any], table: TableClause, stretch: bool) -> Select[Any]:
    engine_no = table.c.engine_no
    if stretch:
        return query.where(engine_no.between(bindparam("first"), bindparam("last")))
    return query.where(among(engine_no, numbers=True))


@cache
def _rows_of_engines(kind: str, stretch: bool) -> Direct:
    return OfRows(_within(SHAPES[kind].listed, SHAPES[kind].table, stretch))


@cache
def _kinds_of_engines(stretch: bool) -> Direct:
    """The kinds of which there are rows: most ledgers have few, and each kind is a statement more.

    Changes of engines, of boats, mounts and papers are told where the log has any at all. The tables are
    named here, since a kind's own brings its class along.
    """
    one: Select[Any] = select(literal_column("1"))
    changes = light_table("changes", ("kind",))
    rows = {
        kind: _within(one, light_table(kind, ("engine_no",)), stretch) for kind in (*_OF_A_LEDGER, "rulings")
    }
    rows["papers"] = one.select_from(light_table("papers", ("paper_id",)))
    rows["mounts of any"] = one.select_from(_FORMER)
    rows["corrected engines"] = one.where(_ENGINES.c.entered_as != _ENGINES.c.serial)
    rows["corrections"] = one.select_from(light_table("corrections", ("correction_id",)))
    rows["layup_changes"] = one.select_from(light_table("layup_changes", ("change_id",)))
    for kind in ("engines", "boats"):
        rows[f"changes of {kind}"] = one.where(changes.c.kind == literal_column(f"'{kind}'"))
    return Direct(
        union_all(
            *(select(literal_column(f"'{kind}'")).where(found.exists()) for kind, found in rows.items())
        )
    )


@cache
def _statuses_of_engines(stretch: bool) -> Direct:
    query = select(RULINGS.c.reading_id, RULINGS.c.status)
    return Direct(_within(query.order_by(RULINGS.c.engine_no, RULINGS.c.sequence), RULINGS, stretch))


_FORMER = light_table("mounts", ("engine_no", "boat_id", "to_on"))
_ENGINES = SHAPES["engines"].table
_CAME_OFF = Direct(
    select(_FORMER.c.boat_id, _FORMER.c.engine_no)
    .where(among(_FORMER.c.boat_id), _FORMER.c.to_on.is_not(None))
    .distinct()
)
_BY_NUMBER = OfRows(
    SHAPES["engines"]
    .select.add_columns(_ENGINES.c.engine_no)
    .where(among(_ENGINES.c.engine_no, numbers=True))
    .order_by(_ENGINES.c.engine_no)
)

_PAPERS = light_table("papers", ("serial", "visit_id"))
_VISITS_OF_PAPERS = Direct(select(_PAPERS.c.visit_id).where(among(_PAPERS.c.serial)))


def ledgers_of(
    connection: Connection,
    engines: Sequence[tuple[Engine, int]],
    span: Span,
    items: Mapping[int | None, str | None],
    *,
    with_replaced: bool = True,
) -> Iterator[EngineLedger]:
    """The ledgers of some engines, each given with its number in the tables, in that order.

    `span` are the same numbers as the statements ask for them: the first and the last one, where no other
    engine has a number between, else a list of all. `with_replaced` adds to each ledger those of the engines
    that came off its boats (`EngineLedger.replaced`).
    """
    stretch = isinstance(span, tuple)
    asked = {"first": span[0], "last": span[-1]} if stretch else {"keys": list(span)}
    there = {row[0] for row in _kinds_of_engines(stretch).rows(connection, **asked)}
    names = Names({number: engine.serial for engine, number in engines}, items)
    if "corrected engines" in there:
        names.corrected = corrected_serials(connection)
    if "rulings" in there:
        names.statuses = dict(_statuses_of_engines(stretch).rows(connection, **asked))
    rows: dict[str, dict[int, tuple[Any, ...]]] = {
        kind: _grouped(connection, kind, _rows_of_engines(kind, stretch), asked, names)
        if kind in there
        else {}
        for kind in _OF_A_LEDGER
    }
    entered = {serial: first for first, serial in names.corrected.items()}
    serials = [entered.get(engine.serial, engine.serial) for engine, _ in engines]
    in_visits = (row for kind in _IN_VISITS for of_one in rows[kind].values() for row in of_one)
    wanted = {row.visit_id for row in in_visits} - {None}
    if "papers" in there:
        wanted.update(row[0] for row in _VISITS_OF_PAPERS.rows(connection, keys=serials))
    visits = {v[0]: Visit(*v) for v in rows_by_keys(connection, "visits", "visit_id", wanted)}
    papers = _PapersOfVisits(connection, visits if "papers" in there else (), names)
    changes = changes_by_key(connection, "engines", serials if "changes of engines" in there else [], names)
    corrections = corrections_by_key(connection, "mounts", serials, names) if "corrections" in there else {}
    stays: dict[int, Stays] = {
        number: as_corrected(rows["mounts"].get(number, ()), corrections.get(engine.serial, ()))
        for engine, number in engines
    }
    came_off: Mapping[str, Sequence[EngineLedger]] = {}
    if with_replaced and "mounts of any" in there:
        stood_on = {mount.boat_id for mounts, _ in stays.values() for mount in mounts}
        stood_on.update(engine.boat_id for engine, _ in engines)
        came_off = _came_off(connection, {boat_id for boat_id in stood_on if boat_id is not None}, items)
    boats = boat_ledgers_of(
        connection,
        _boats_named(engines, stays, visits, changes),
        changed="changes of boats" in there,
        corrected="corrections" in there,
        replanned="layup_changes" in there,
    )
    owners = owners_of(connection, boats.values())
    tools = _tools_used(connection, rows["torques"].values())
    for_two = _steps_for_two(connection, rows["checks"].values())
    for engine, number in engines:
        of = {kind: found.get(number, ()) for kind, found in rows.items()}
        mounts, not_moved = stays[number]
        seen = {row.visit_id for kind in _IN_VISITS for row in of[kind]}
        own_papers = papers.of_engine(engine.serial, seen)
        seen.update(paper.visit_id for paper in own_papers)
        yield EngineLedger(
            engine=engine,
            entries=of["entries"],
            readings=of["readings"],
            meters=of["meters"],
            mounts=mounts,
            voids=of["voids"],
            deferrals=of["deferrals"],
            changes=tuple(changes.get(engine.serial, ())),
            evidence=Evidence(of["torques"], of["measurements"], of["checks"], of["answers"], tools, for_two),
            terms=of["terms"],
            advice=of["advice"],
            papers=own_papers,
            paper_withdrawals=papers.withdrawals_of(own_papers),
            visits={visit_id: visits[visit_id] for visit_id in seen if visit_id is not None},
            boats=boats,
            owners=owners,
            replaced=_replaced_by(engine, mounts, came_off) if came_off else (),
            not_moved=not_moved,
        )


def _boats_named(
    engines: Sequence[tuple[Engine, int]],
    stays: Mapping[int, Stays],
    visits: Mapping[str, Visit],
    changes: Mapping[str, Sequence[Change]],
) -> set[str]:
    """The boats that the rows of engines speak of."""
    named = {engine.boat_id for engine, _ in engines}
    for mounts, not_moved in stays.values():
        named.update(mount.boat_id for mount in mounts)
        named.update(mount.boat_id for mount, _ in not_moved)
    named.update(visit.boat_id for visit in visits.values())
    named.update(c.was for of_one in changes.values() for c in of_one if c.field == "boat_id")
    return {boat_id for boat_id in named if boat_id is not None}


def _tools_used(connection: Connection, torques: Iterable[Sequence[Torque]]) -> dict[str, ToolLedger]:
    """The tools that torques were made with, by their ids."""
    rows = (torque for of_one in torques for torque in of_one)
    used = {torque.tool_id for torque in rows if torque.tool_id is not None}
    if not used:
        return {}
    from fleetlog.store.evidence import tool_ledgers_of

    return tool_ledgers_of(connection, used)


def _steps_for_two(connection: Connection, checks: Iterable[Sequence[Check]]) -> Set[CardStep]:
    """The steps of cards that ask for a second person, where one may be missing."""
    of_all = [check for of_one in checks for check in of_one]
    if not of_all:
        return frozenset()
    from fleetlog.store.evidence import steps_for_two

    return steps_for_two(connection, of_all)


def _came_off(
    connection: Connection, boat_ids: Iterable[str], items: Mapping[int | None, str | None]
) -> dict[str, list[EngineLedger]]:
    """The ledgers of the engines that came off some boats, by boat."""
    pairs = _CAME_OFF.rows(connection, keys=sorted(boat_ids))
    if not pairs:
        return {}
    numbers = sorted({number for _, number in pairs})
    engines = [(Engine(*row[:-1]), row[-1]) for row in _BY_NUMBER.each(connection, keys=numbers)]
    ledgers = dict(
        zip(numbers, ledgers_of(connection, engines, numbers, items, with_replaced=False), strict=True)
    )
    found: dict[str, list[EngineLedger]] = defaultdict(list)
    for boat_id, number in sorted(pairs):
        found[boat_id].append(ledgers[number])
    return found


def _replaced_by(
    engine: Engine, mounts: Iterable[Mount], came_off: Mapping[str, Sequence[EngineLedger]]
) -> tuple[EngineLedger, ...]:
    boat_ids = {engine.boat_id, *(mount.boat_id for mount in mounts)}
    others = [ledger for boat_id, came in came_off.items() if boat_id in boat_ids for ledger in came]
    found = {ledger.engine.serial: ledger for ledger in others if ledger.engine.serial != engine.serial}
    return tuple(found.values())


class _PapersOfVisits:
    """The papers of some visits, told apart by the engine they name, and what was taken back of them."""

    def __init__(self, connection: Connection, visit_ids: Iterable[str], names: Names) -> None:
        self._of: defaultdict[tuple[str | None, str | None], list[tuple[int, Paper]]] = defaultdict(list)
        self._withdrawals: defaultdict[str, list[PaperWithdrawal]] = defaultdict(list)
        rows = list(rows_by_keys(connection, "papers", "visit_id", visit_ids))
        for place, paper in enumerate(SHAPES["papers"].values(rows, names) if rows else ()):
            key = (paper.visit_id, None) if paper.serial is None else (None, paper.serial)
            self._of[key].append((place, paper))
        if self._of:
            paper_ids = {paper.paper_id for papers in self._of.values() for _, paper in papers}
            for row in rows_by_keys(connection, "paper_withdrawals", "paper_id", paper_ids):
                self._withdrawals[row[0]].append(SHAPES["paper_withdrawals"].made(*row))

    def of_engine(self, serial: str, visit_ids: Iterable[str | None]) -> tuple[Paper, ...]:
        """The papers of an engine that is in these visits, in the order in which they were written."""
        if not self._of:
            return ()
        keys = [(None, serial), *((visit_id, None) for visit_id in visit_ids if visit_id is not None)]
        found = [placed for key in keys for placed in self._of.get(key, ())]
        return tuple(paper for _, paper in sorted(found, key=lambda placed: placed[0]))

    def withdrawals_of(self, papers: Iterable[Paper]) -> tuple[PaperWithdrawal, ...]:
        """What was taken back of some papers."""
        return tuple(w for paper in papers for w in self._withdrawals.get(paper.paper_id, ()))


def _grouped(
    connection: Connection, kind: str, statement: Direct, asked: Mapping[str, Any], names: Names
) -> dict[int, tuple[Any, ...]]:
    """The values of a kind by their engine's number; the rows come engine by engine."""
    rows = statement.rows(connection, **asked)
    values = SHAPES[kind].values(rows, names)
    grouped, start = {}, 0
    for number, count in Counter([row[-1] for row in rows]).items():
        grouped[number] = tuple(values[start : start + count])
        start += count
    return grouped

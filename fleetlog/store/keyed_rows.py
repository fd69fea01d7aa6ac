"""Reads the rows of a kind by a key that is not the number of an engine: of boats, owners, visits, papers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from functools import cache
from typing import Any

from sqlalchemy import Connection, bindparam

from fleetlog.domain.records import Change, Correction
from fleetlog.store.among import among
from fleetlog.store.direct import Direct, OfRows
from fleetlog.store.shapes import SHAPES, Names


@cache
def _rows_by(kind: str, name: str) -> Direct:
    shape = SHAPES[kind]
    query = shape.select.where(among(shape.table.c[name]))
    return OfRows(query.order_by(*(shape.table.c[column] for column in shape.order)))


def rows_by_keys(
    connection: Connection, kind: str, name: str, keys: Iterable[Any]
) -> Iterable[Sequence[Any]]:
    """The rows of a kind whose column `name` is one of some keys, in the order of the kind."""
    asked = sorted(keys)
    return _rows_by(kind, name).rows(connection, keys=asked) if asked else ()


@cache
def _changes_of(keyed: bool) -> Direct:
    shape = SHAPES["changes"]
    query = shape.select.where(shape.table.c.kind == bindparam("kind")).order_by(shape.table.c.sequence)
    return OfRows(query.where(among(shape.table.c.key)) if keyed else query)


def changes_by_key(
    connection: Connection, kind: str, keys: Sequence[Any] | None, names: Names | None = None
) -> dict[str, list[Change]]:
    """What was changed of boats, or of engines, by boat or serial (keys None: of all)."""
    grouped: dict[str, list[Change]] = defaultdict(list)
    if keys == []:
        return grouped
    asked = {"kind": kind} if keys is None else {"kind": kind, "keys": keys}
    rows = _changes_of(keys is not None).rows(connection, **asked)
    for change in SHAPES["changes"].values(rows, names or Names()):
        grouped[change.key].append(change)
    return grouped


def corrections_by_key(
    connection: Connection, kind: str, keys: Sequence[Any] | None, names: Names | None = None
) -> dict[str, list[Correction]]:
    """What was said of sales of boats, or of moves of engines, by boat or serial (keys None: of all)."""
    shape = SHAPES["corrections"]
    rows = (
        shape.every_row.rows(connection)
        if keys is None
        else list(rows_by_keys(connection, "corrections", "key", keys))
    )
    grouped: dict[str, list[Correction]] = defaultdict(list)
    for correction in shape.values(rows, names or Names()) if rows else ():
        if correction.kind == kind:
            grouped[correction.key].append(correction)
    return grouped

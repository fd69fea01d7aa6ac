"""Which rows of the tables are chained, and how they are read as they are kept.

Facts that change (owners, boats, engines) are sealed one by one; every other kind of row belongs to the
chain of its engine, or to the log's where it is no engine's.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

from sqlalchemy import Connection

from fleetlog.domain.chain import RowContent
from fleetlog.store.bulk import ROWS_AT_ONCE
from fleetlog.store.shapes import SEQUENCED, SHAPES, YES_OR_NO

FACTS = ("owners", "boats", "engines")

FILLED = {
    "visits": "closed_on",
    "mounts": "to_on",
    "layups": "to_on",
    "tools": "retired_on",
    "terms": "withdrawn_on",
    "supersessions": "withdrawn_on",
    "wishes": "withdrawn_on",
}
"""The column of a kind that is filled in later: to fill it in is a row of its own in the chain."""

END_REASON = "end_reason"
"""The column that says why an end came, in the kinds that have one; it is filled in with the end."""

_LEFT_OUT = ("engine_no", "sequence")


@dataclass(frozen=True)
class ChainedKind:
    """A kind of row in the chains: its columns as they are kept, its key and its order."""

    kind: str
    columns: tuple[str, ...]
    key: tuple[str, ...]
    order: tuple[str, ...]
    of_engine: bool

    @property
    def ordered(self) -> bool:
        """Whether the order of the rows means something."""
        return self.kind in SEQUENCED

    @property
    def filled(self) -> tuple[str, ...]:
        """The columns that are filled in later: the end, and why it came where that is kept."""
        end = FILLED.get(self.kind)
        return tuple(name for name in (end, END_REASON) if name in self.columns)


@cache
def chained_kinds() -> Mapping[str, ChainedKind]:
    """Every kind of row that the chains hold, by name."""
    kinds = [
        ChainedKind("items", ("name_key", "spelling"), ("spelling",), ("item_no",), False),
        ChainedKind(
            "rulings",
            ("reading_id", "status", "reason"),
            ("reading_id",),
            ("engine_no", "sequence"),
            True,
        ),
        ChainedKind(
            "extracts",
            ("serial", "made_on", "document_sha256", "engine_head", "log_head"),
            ("document_sha256",),
            ("extract_no",),
            False,
        ),
    ]
    for shape in SHAPES.values():
        if shape.kind not in FACTS:
            key = tuple(
                shape.renamed.get(name) or name
                for name in shape.key
                if name != "serial" or not shape.of_engine
            )
            of_engine = shape.of_engine or shape.kind == "voids"
            kinds.append(ChainedKind(shape.kind, shape.columns, key, shape.order, of_engine))
    return {kind.kind: kind for kind in kinds}


@cache
def content_of(kind: str) -> RowContent:
    """How rows of a kind become bytes."""
    if kind in FACTS:
        return RowContent(SHAPES[kind].columns, (), YES_OR_NO)
    return RowContent(chained_kinds()[kind].columns, _LEFT_OUT, YES_OR_NO)


@cache
def ended_content(kind: str) -> RowContent:
    """How the filling in of an end becomes bytes: the row's key, the day, and the reason if one was given."""
    return RowContent(ended_columns(kind))


def ended_columns(kind: str) -> tuple[str, ...]:
    """The columns that tell of the filling in of an end, in the order in which they are hashed."""
    chained = chained_kinds()[kind]
    return (*chained.key, *chained.filled)


class KeptRow(NamedTuple):
    """A row as it is kept: what the chain takes of it, and which writing it came with."""

    kind: str
    engine_no: int | None
    writing_no: int
    values: Sequence[Any]
    ended: bool = False

    @property
    def label(self) -> str:
        """The name of its stretch in the chain."""
        return f"{self.kind} ended" if self.ended else self.kind


def kept_rows(connection: Connection, only: Mapping[str, int] | None = None) -> Iterator[KeptRow]:
    """Every chained row, kind by kind in its order, and a second one where an end was filled in later.

    `only` narrows it to an `engine_no`.
    """
    items = {row[0]: row[1] for row in connection.exec_driver_sql("SELECT item_no, spelling FROM items")}
    for chained in chained_kinds().values():
        if only and not chained.of_engine:
            continue
        yield from _rows_of(connection, chained, items, only)


def _rows_of(
    connection: Connection,
    chained: ChainedKind,
    items: Mapping[int, str],
    only: Mapping[str, int] | None,
) -> Iterator[KeptRow]:
    quote = connection.dialect.identifier_preparer.quote
    extra = ["engine_no"] if chained.of_engine else []
    extra += ["writing_no"] + (["end_writing_no"] if chained.filled else [])
    wanted = ", ".join(quote(name) for name in (*chained.columns, *extra))
    where = "".join(f" WHERE {name} = {int(number)}" for name, number in (only or {}).items())
    order = ", ".join(quote(name) for name in chained.order)
    statement = f"SELECT {wanted} FROM {quote(chained.kind)}{where} ORDER BY {order}"
    width = len(chained.columns)
    item = chained.columns.index("item_no") if "item_no" in chained.columns else None
    filled = [chained.columns.index(name) for name in chained.filled]
    key = [chained.columns.index(name) for name in chained.key]
    for row in connection.exec_driver_sql(statement, execution_options={"yield_per": ROWS_AT_ONCE}):
        engine_no = row[width] if chained.of_engine else None
        if not filled:
            if item is not None:
                values = list(row)
                values[item] = items.get(row[item])
                yield KeptRow(chained.kind, engine_no, row[-1], values)
            else:
                yield KeptRow(chained.kind, engine_no, row[-1], row)
        elif row[-1] is None:
            yield KeptRow(chained.kind, engine_no, row[-2], row)
        else:
            values = list(row)
            for place in filled:
                values[place] = None
            yield KeptRow(chained.kind, engine_no, row[-2], values)
            ended = [row[place] for place in (*key, *filled)]
            yield KeptRow(chained.kind, engine_no, row[-1], ended, True)


def kept_facts(connection: Connection) -> Iterator[tuple[str, str, int, Sequence[Any]]]:
    """Every fact as it is now: its kind, its key, the writing that left it so, and its values as kept."""
    for kind in FACTS:
        shape = SHAPES[kind]
        key = shape.columns.index(shape.key[0])
        quote = connection.dialect.identifier_preparer.quote
        wanted = ", ".join(quote(name) for name in (*shape.columns, "writing_no"))
        for row in connection.exec_driver_sql(
            f"SELECT {wanted} FROM {quote(kind)} ORDER BY {shape.order[0]}"
        ):
            yield kind, row[key], row[-1], row

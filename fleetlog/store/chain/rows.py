"""Which rows of the tables are chained, and how they are read as they are kept.

Facts that change (owners, boats, engines) are sealed one by one; every other kind of row belongs to the
chain of its engine, or to the log's where it is no engine's.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import compress, groupby
from operator import itemgetter
from typing import Any, NamedTuple

from sqlalchemy import Connection

from fleetlog.domain.batch import FILLED_LATER
from fleetlog.domain.chain import RowContent, digest_of
from fleetlog.store.bulk import read_rows
from fleetlog.store.shapes import SEQUENCED, SHAPES, YES_OR_NO

FACTS = ("owners", "boats", "engines")

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
        end = FILLED_LATER.get(self.kind)
        return tuple(name for name in (end, END_REASON) if name in self.columns)


_NO_VALUES = (
    ChainedKind("items", ("name_key", "spelling"), ("spelling",), ("item_no",), False),
    ChainedKind(
        "rulings", ("reading_id", "status", "reason"), ("reading_id",), ("engine_no", "sequence"), True
    ),
    ChainedKind(
        "extracts",
        ("serial", "made_on", "document_sha256", "engine_head", "log_head"),
        ("document_sha256",),
        ("extract_no",),
        False,
    ),
)
CHAINED = (*(kind.kind for kind in _NO_VALUES), *(kind for kind in SHAPES if kind not in FACTS))
"""Every kind of row that the chains hold, by name."""


@cache
def chained_kind(name: str) -> ChainedKind:
    """A kind of row that the chains hold; what it is a class of is loaded when first asked for."""
    for kind in _NO_VALUES:
        if kind.kind == name:
            return kind
    shape = SHAPES[name]
    key = tuple(
        shape.renamed.get(field) or field for field in shape.key if field != "serial" or not shape.of_engine
    )
    return ChainedKind(name, shape.columns, key, shape.order, shape.of_engine)


@cache
def content_of(kind: str) -> RowContent:
    """How rows of a kind become bytes."""
    if kind in FACTS:
        return RowContent(SHAPES[kind].columns, (), YES_OR_NO)
    return RowContent(chained_kind(kind).columns, _LEFT_OUT, YES_OR_NO)


@cache
def ended_content(kind: str) -> RowContent:
    """How the filling in of an end becomes bytes: the row's key, the day, and the reason if one was given."""
    return RowContent(ended_columns(kind))


def ended_columns(kind: str) -> tuple[str, ...]:
    """The columns that tell of the filling in of an end, in the order in which they are hashed."""
    chained = chained_kind(kind)
    return (*chained.key, *chained.filled)


class ChainedRows(NamedTuple):
    """Rows of a kind as they are kept, column by column, each with its engine and its writing."""

    kind: str
    columns: Sequence[Sequence[Any]]
    engine_nos: Sequence[int | None]
    writing_nos: Sequence[int]
    ended: bool = False

    @property
    def label(self) -> str:
        """The name of their stretch in the chain."""
        return f"{self.kind} ended" if self.ended else self.kind

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the columns."""
        return ended_columns(self.kind) if self.ended else chained_kind(self.kind).columns

    @property
    def content(self) -> RowContent:
        """How they become bytes."""
        return ended_content(self.kind) if self.ended else content_of(self.kind)

    @property
    def ordered(self) -> bool:
        """Whether the order of the rows means something."""
        return not self.ended and chained_kind(self.kind).ordered

    def runs(self, commitments: Mapping[str, str]) -> Iterator[tuple[tuple[int | None, int], list[bytes]]]:
        """The lines of rows that follow each other and are of one engine and one writing, with these two."""
        places = zip(self.engine_nos, self.writing_nos, strict=True)
        placed = zip(places, self.content.lines(self.columns, commitments), strict=True)
        for place, run in groupby(placed, key=itemgetter(0)):
            yield place, [line for _, line in run]


def chained_rows(connection: Connection, only: Mapping[str, int] | None = None) -> Iterator[ChainedRows]:
    """Every chained row, kind by kind in its order, and a second one where an end was filled in later.

    `only` narrows it to an `engine_no`.
    """
    items = item_spellings(connection)
    for chained in map(chained_kind, CHAINED):
        if only and not chained.of_engine:
            continue
        names = (*chained.columns, "writing_no")
        names += ("end_writing_no",) if chained.filled else ()
        names += ("engine_no",) if chained.of_engine and "engine_no" not in names else ()
        where = "".join(f" WHERE {name} = {int(number)}" for name, number in (only or {}).items())
        for columns in _columns_of(connection, chained.kind, names, chained.order, where):
            yield from as_chained(chained.kind, columns, items)


def item_spellings(connection: Connection) -> dict[int, str]:
    """The items of the log as they are spelled, by the numbers that stand for them in other rows."""
    return {row[0]: row[1] for row in connection.exec_driver_sql("SELECT item_no, spelling FROM items")}


def _columns_of(
    connection: Connection, table: str, names: Sequence[str], order: Sequence[str], where: str = ""
) -> Iterator[dict[str, Sequence[Any]]]:
    """Some columns of a table by name, some thousand rows at a time."""
    quote = connection.dialect.identifier_preparer.quote
    wanted, ordered = (", ".join(map(quote, some)) for some in (names, order))
    statement = f"SELECT {wanted} FROM {quote(table)}{where} ORDER BY {ordered}"
    for rows in read_rows(connection, statement):
        yield dict(zip(names, zip(*rows, strict=True), strict=True))


def as_chained(
    kind: str, columns: Mapping[str, Sequence[Any]], items: Mapping[int, str]
) -> Iterator[ChainedRows]:
    """What the chains take of rows of a kind as their table has them."""
    chained, writing_nos = chained_kind(kind), columns["writing_no"]
    told = [columns[name] for name in chained.columns]
    if "item_no" in chained.columns:
        told[chained.columns.index("item_no")] = list(map(items.get, columns["item_no"]))
    engine_nos = columns["engine_no"] if chained.of_engine else [None] * len(writing_nos)
    rows = ChainedRows(kind, told, engine_nos, writing_nos)
    if chained.filled:
        yield from _with_ends(rows, columns["end_writing_no"])
    else:
        yield rows


def _with_ends(rows: ChainedRows, end_writing_nos: Sequence[int | None]) -> Iterator[ChainedRows]:
    """The rows as they were before their ends were filled in later, and the filling in of those ends."""
    chained = chained_kind(rows.kind)
    ended = [number is not None for number in end_writing_nos]
    columns = list(rows.columns)
    for name in chained.filled:
        place = chained.columns.index(name)
        columns[place] = [None if end else value for end, value in zip(ended, columns[place], strict=True)]
    yield rows._replace(columns=columns)
    if any(ended):
        told = [rows.columns[chained.columns.index(name)] for name in ended_columns(rows.kind)]
        yield ChainedRows(
            rows.kind,
            [list(compress(column, ended)) for column in told],
            list(compress(rows.engine_nos, ended)),
            [number for number in end_writing_nos if number is not None],
            ended=True,
        )


FACT_KEYS = {"owners": "owner_id", "boats": "boat_id", "engines": "entered_as"}
"""The column by which the chains know each kind of fact; it never changes."""


class Facts(NamedTuple):
    """Owners, boats or engines as they are now, column by column, and which writings left them so.

    `keys` are what the chains know them by.
    """

    kind: str
    keys: Sequence[str]
    columns: Sequence[Sequence[Any]]
    writing_nos: Sequence[int]

    def digests(self, commitments: Mapping[str, str]) -> list[str]:
        """What is sealed of each."""
        return list(map(digest_of, content_of(self.kind).lines(self.columns, commitments)))


def kept_facts(connection: Connection) -> Iterator[Facts]:
    """Every fact as it is now."""
    for kind in FACTS:
        shape = SHAPES[kind]
        key = FACT_KEYS[kind]
        names = dict.fromkeys((*shape.columns, key, "writing_no"))
        for columns in _columns_of(connection, kind, tuple(names), shape.order):
            told = [columns[name] for name in shape.columns]
            yield Facts(kind, columns[key], told, columns["writing_no"])

"""Seals what a transaction writes: rows are hashed as they go by, links are added at its end.

One insert of a link an engine and one for the log, whatever the number of rows; nothing is asked of the
database row by row.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from itertools import chain
from operator import attrgetter
from typing import Any

from sqlalchemy import Connection, select, text

from fleetlog.domain.chain import Segment, digest_of, engine_content, first_head, log_content, next_head
from fleetlog.store.among import among
from fleetlog.store.bulk import insert_rows
from fleetlog.store.chain_heads import engine_heads, last_link
from fleetlog.store.chain_rows import KeptRow, chained_kinds, content_of, ended_content
from fleetlog.store.column_types import moment_number
from fleetlog.store.salts import Commitments
from fleetlog.store.shapes import SHAPES

_ENGINES = SHAPES["engines"].table.c
_SERIALS = select(_ENGINES.engine_no, _ENGINES.serial).where(among(_ENGINES.engine_no, numbers=True))


def add_kept(segment: Segment, kept: KeptRow, commitments: Mapping[str, str]) -> None:
    """Adds a row, or the filling in of its end, to what a writing added."""
    if kept.ended:
        segment.add(f"{kept.kind} ended", ended_content(kept.kind).of(kept.values, commitments), False)
    else:
        ordered = chained_kinds()[kept.kind].ordered
        segment.add(kept.kind, content_of(kept.kind).of(kept.values, commitments), ordered)


Take = Callable[[int | None, Sequence[Any]], None]


class Sealer:
    """Gathers what one writing adds; `seal` makes its links."""

    def __init__(self, connection: Connection, commitments: Commitments | None = None) -> None:
        self._connection = connection
        self._commitments = Commitments(connection) if commitments is None else commitments
        self._engines: dict[int, Segment] = defaultdict(Segment)
        self._general = Segment()
        self._facts: dict[tuple[str, str], str] = {}

    def taking(self, kind: str, rows_of_texts: Iterable[Sequence[Any]] | None = None) -> Take:
        """What takes rows of a kind, each with its engine's number or None.

        `rows_of_texts` holds the values of their committed columns; without it the texts were prepared.
        """
        content, ordered = content_of(kind), chained_kinds()[kind].ordered
        if rows_of_texts is not None:
            self._commitments.prepare(chain.from_iterable(rows_of_texts))
        bytes_of, commitments, general, engines = content.of, self._commitments, self._general, self._engines

        def take(engine_no: int | None, row: Sequence[Any]) -> None:
            segment = general if engine_no is None else engines[engine_no]
            segment.add(kind, bytes_of(row, commitments), ordered)

        return take

    def taking_values(self, kind: str, values: Iterable[Any]) -> Take:
        """What takes rows of values of the domain, whose texts are looked up first."""
        shape = SHAPES[kind]
        names = {shape.renamed.get(name, name): name for name in shape.made.__dataclass_fields__}
        texts: set[str | None] = set()
        for place in content_of(kind).committed:
            texts.update(map(attrgetter(names[shape.columns[place]]), values))
        self._commitments.prepare(texts)
        return self.taking(kind)

    def take_kept(self, kept: KeptRow) -> None:
        """Takes a row that is in its table already."""
        segment = self._general if kept.engine_no is None else self._engines[kept.engine_no]
        add_kept(segment, kept, self._commitments)

    def take_rows(self, kind: str, rows: Sequence[tuple[int | None, Sequence[Any]]]) -> None:
        """Takes rows whose values are as kept."""
        committed = content_of(kind).committed
        take = self.taking(kind, [[row[place] for place in committed] for _, row in rows])
        for engine_no, row in rows:
            take(engine_no, row)

    def take_end(self, kind: str, engine_no: int | None, row: Sequence[Any]) -> None:
        """Takes the filling in of an end: the row's key, the day, and why it came where that is kept."""
        self._commitments.prepare(row[place] for place in ended_content(kind).committed)
        self.take_kept(KeptRow(kind, engine_no, 0, row, ended=True))

    def take_facts(self, kind: str, rows: Iterable[tuple[str, Sequence[Any]]]) -> None:
        """Takes owners, boats or engines, each with its key and its values as kept."""
        content = content_of(kind)
        facts = list(rows)
        self._commitments.prepare(row[place] for _, row in facts for place in content.committed)
        for key, row in facts:
            self._facts[kind, key] = digest_of(content.of(row, self._commitments))

    def seal(self, writing_no: int, by: str, at: datetime) -> None:
        """Adds the links of a writing, as the last ones of their chains."""
        self._commitments.prepare([by])
        self._commitments.keep_new()
        if self._connection.dialect.name == "postgresql":  # others who write wait from here on
            self._connection.execute(text("LOCK TABLE log_links IN EXCLUSIVE MODE"))
        link_no, before = last_link(self._connection)
        ends = {number: segment.end() for number, segment in self._engines.items()}
        serials = self._serials(ends)
        heads = {number: first_head(serial) for number, serial in serials.items()}
        heads |= engine_heads(self._connection, serials)
        links = []
        for number in sorted(ends):
            rows, marks = ends[number]
            content = engine_content(rows)
            heads[number] = next_head(heads[number], content)
            links.append((number, link_no + 1, content, marks, heads[number]))
        rows, marks = self._general.end()
        content = log_content(
            moment_number(at),
            self._commitments[by],
            rows,
            ((kind, key, digest) for (kind, key), digest in self._facts.items()),
            ((serials[number], heads[number]) for number in ends),
        )
        columns = ("link_no", "writing_no", "content", "marks", "head")
        link = (link_no + 1, writing_no, content, marks, next_head(before, content))
        insert_rows(self._connection, "log_links", columns, [link])
        columns = ("engine_no", "link_no", "content", "marks", "head")
        insert_rows(self._connection, "engine_links", columns, links)
        seals = [(kind, key, link_no + 1, digest) for (kind, key), digest in self._facts.items()]
        insert_rows(self._connection, "fact_seals", ("kind", "key", "link_no", "digest"), seals)

    def _serials(self, numbers: Iterable[int]) -> dict[int, str]:
        return {row[0]: row[1] for row in self._connection.execute(_SERIALS, {"keys": list(numbers)})}

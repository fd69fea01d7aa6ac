"""Seals what a transaction writes: rows are hashed as they go by, links are added at its end.

One insert of a link an engine and one for the log, whatever the number of rows; nothing is asked of the
database row by row.
"""

from __future__ import annotations

import pickle
from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import chain
from typing import Any

from sqlalchemy import Connection, text

from fleetlog.domain.chain import RowContent, Segment, engine_content, joined, log_content, next_head
from fleetlog.store.bulk import insert_rows
from fleetlog.store.chain.heads import heads_of
from fleetlog.store.chain.rows import ChainedRows, Facts, content_of
from fleetlog.store.chain.salts import Commitments
from fleetlog.store.column_types import moment_number
from fleetlog.store.direct import Direct
from fleetlog.store.row_reader import in_chunks

_LOCK = Direct(text("LOCK TABLE log_links IN EXCLUSIVE MODE"))


class Sealer:
    """Gathers what one writing adds; `seal` makes its links."""

    def __init__(self, connection: Connection, commitments: Commitments | None = None) -> None:
        self._connection = connection
        self._commitments = Commitments(connection) if commitments is None else commitments
        self._engines: dict[int, Segment] = defaultdict(Segment)
        self._ended: dict[int, bytes] = {}
        """What engines' rows came to of which there are no more, packed: of a whole fleet there are many."""
        self._general = Segment()
        self._facts: dict[str, dict[str, str]] = defaultdict(dict)

    def take(self, rows: ChainedRows) -> None:
        """Takes rows of this writing."""
        self._prepare(rows.content, rows.columns)
        for (engine_no, _), lines in rows.runs(self._commitments):
            self.take_lines(engine_no, rows, lines)

    def take_lines(self, engine_no: int | None, rows: ChainedRows, lines: Sequence[bytes]) -> None:
        """Takes those of the rows that are of one engine, or of none, and became these lines."""
        segment = self._general if engine_no is None else self._engines[engine_no]
        segment.add(rows.label, lines, rows.ordered)

    def take_facts(self, facts: Facts) -> None:
        """Takes owners, boats or engines as this writing leaves them."""
        self._prepare(content_of(facts.kind), facts.columns)
        for key, digest in zip(facts.keys, facts.digests(self._commitments), strict=True):
            self.take_digest(facts.kind, key, digest)

    def take_digest(self, kind: str, key: str, digest: str) -> None:
        """Takes one owner, boat or engine by its digest."""
        self._facts[kind][key] = digest

    def _prepare(self, content: RowContent, columns: Sequence[Sequence[Any]]) -> None:
        self._commitments.prepare(chain.from_iterable(columns[place] for place in content.committed))

    def end_kinds(self, kinds: Sequence[str]) -> None:
        """Says that no engine that has rows of these kinds gets more of them, which saves memory."""
        for number, segment in list(self._engines.items()):
            self._end(number, segment.taken_out(kinds))
            if not segment:
                del self._engines[number]

    def _end(self, number: int, segment: Segment) -> None:
        ended = segment.end()
        if number in self._ended:
            ended = joined(pickle.loads(self._ended[number]), ended)
        self._ended[number] = pickle.dumps(ended)

    def seal(self, writing_no: int, by: str, at: datetime) -> None:
        """Adds the links of a writing, as the last ones of their chains."""
        self._commitments.prepare([by])
        self._commitments.keep_new()
        while self._engines:
            self._end(*self._engines.popitem())
        general, general_marks = self._general.end()
        if self._connection.dialect.name == "postgresql":  # others who write wait from here on
            _LOCK.do(self._connection, {})
        last_no, before, heads = self._new_heads()
        link_no = last_no + 1
        content = log_content(moment_number(at), self._commitments[by], general, self._facts_taken(), heads)
        columns = ("link_no", "writing_no", "content", "marks", "head")
        link = (link_no, writing_no, content, general_marks, next_head(before, content))
        insert_rows(self._connection, "log_links", columns, [link])
        links = (
            (number, link_no, *self._link_of(number), head)
            for number, (_, head) in zip(sorted(self._ended), heads, strict=True)
        )
        columns = ("engine_no", "link_no", "content", "marks", "head")
        insert_rows(self._connection, "engine_links", columns, links)
        seals = ((kind, key, link_no, digest) for kind, key, digest in self._facts_taken())
        insert_rows(self._connection, "fact_seals", ("kind", "key", "link_no", "digest"), seals)

    def _facts_taken(self) -> Iterator[tuple[str, str, str]]:
        """Kind, key and digest of each fact."""
        return ((kind, *fact) for kind, of_kind in self._facts.items() for fact in of_kind.items())

    def _new_heads(self) -> tuple[int, str, list[tuple[str, str]]]:
        """Number and head of the log's last link; serial and new head of each engine with one, by number."""
        heads = []
        for numbers in list(in_chunks(sorted(self._ended))) or [[]]:
            last_no, before, before_of = heads_of(self._connection, numbers)
            for number in numbers:
                serial, head = before_of[number]
                heads.append((serial, next_head(head, self._link_of(number)[0])))
        return last_no, before, heads

    def _link_of(self, number: int) -> tuple[str, bytes]:
        """Content and marks of an engine's link."""
        rows, marks = pickle.loads(self._ended[number])
        return engine_content(rows), marks

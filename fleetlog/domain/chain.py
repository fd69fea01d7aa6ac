"""The hash chain: how rows become digests, how links follow each other, and what a difference means.

Everything here is a pure function of bytes and texts; SHA-256 and HMAC are FIPS 180-4 and FIPS 198-1. Salts
are arguments. What a function gives for the same arguments never changes: chains were made with it.
"""

from __future__ import annotations

import hmac
import json
import pickle
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from hashlib import sha256
from heapq import merge
from itertools import chain, islice, starmap
from json.encoder import encode_basestring_ascii
from struct import pack
from typing import Any, NamedTuple
from zlib import compress, crc32, decompress

from fleetlog.domain.values import value_class

MARK_BYTES = 4
"""A row's short mark, which says where rows differ; it protects nothing, the digests do."""

NOT_COMPARED = "not compared"
"""The kind of fault of a row of a damaged log that has lost what would vouch for it."""

_HASHED_AT_ONCE = 10_000

NO_HEAD = "0" * 64
"""What the first link of a log follows."""

FREE_TEXT = frozenset(
    {"name", "email", "phone", "address", "registration", "was", "source", "note", "reason", "complaint"}
    | {"cause", "correction", "advised", "what", "told_to", "toml", "certificate", "subject", "things"}
    | {"technician", "end_reason"}
)
"""Columns of free text; with those that name a person (`_by`) they enter a chain as commitments."""

_FORGOTTEN = re.compile(r"forgotten ([0-9a-f]{64})")
_row_text = '["{}",{},"{}"]'.format


@value_class(frozen=True, slots=True)
class Fault:
    """What is wrong. `kind`: changed, deleted, inserted, reordered, salt missing, cut off, not compared."""

    kind: str
    engine: str | None
    text: str


def is_committed(column: str) -> bool:
    """Whether a column enters the chain as a salted commitment."""
    return column.endswith("_by") or column in FREE_TEXT


def salt_digest(text: str) -> str:
    """What the salt of a text is found by."""
    return sha256(text.encode()).hexdigest()


def digest_of(content: bytes) -> str:
    """The digest of one row's bytes."""
    return sha256(content).hexdigest()


def commitment(text: str, salt: bytes) -> str:
    """The commitment to a text: HMAC-SHA-256 under its salt, as hexadecimal."""
    return hmac.digest(salt, text.encode(), "sha256").hex()


def forgotten(committed: str) -> str:
    """What stands in a row in place of a text that was forgotten: it carries the commitment."""
    return f"forgotten {committed}"


def commitment_in(text: str) -> str | None:
    """The commitment that a forgotten text carries; None for any other text."""
    found = _FORGOTTEN.fullmatch(text)
    return found[1] if found else None


def is_forgotten(value: object) -> bool:
    """Whether a value of a row is what stands in place of a text that was forgotten."""
    return isinstance(value, str) and commitment_in(value) is not None


class RowContent:
    """How rows of a kind become the bytes that are hashed: names and values of what is not empty.

    Each value is told with its length, so that no two rows come to the same bytes. A column that is added
    later and left empty changes nothing. `left_out` names columns that say where a
    row is kept and not what it says.
    """

    def __init__(
        self, columns: Sequence[str], left_out: Iterable[str] = (), yes_or_no: Iterable[str] = ()
    ) -> None:
        self._cells = [
            (place, f"{name}=", is_committed(name), name in yes_or_no)
            for place, name in enumerate(columns)
            if name not in left_out
        ]
        self.committed = [place for place, _, committed, _ in self._cells if committed]

    def lines(self, columns: Sequence[Sequence[Any]], commitments: Mapping[str, str]) -> list[bytes]:
        """Rows' bytes, a line each, of rows that are given column by column.

        `commitments` has every text of the committed columns.
        """
        cells, has_gaps = [], False
        for place, name, committed, flag in self._cells:
            column = columns[place]
            if not any(column) and column.count(None) == len(column):
                continue
            texts = dict.fromkeys(column, "")
            for value in texts:
                if value is not None:
                    text = commitments[value] if committed else str(int(value) if flag else value)
                    texts[value] = f"{name}{len(text)}:{text}"
            cells.append(map(texts.__getitem__, column))
            has_gaps = has_gaps or None in texts
        ends = ["\n"] * len(columns[0])
        rows: Iterable[Iterable[str]] = zip(*cells, ends, strict=True)
        if has_gaps:
            rows = (filter(None, row) for row in rows)
        return list(map(str.encode, map(";".join, rows)))


class _Waiting:
    """Lines to be sorted once all are there. Of many, sorted runs are packed: a fifth of the memory."""

    __slots__ = ("_last", "_runs")

    _OF_A_RUN = 20_000
    _PACKED_TOGETHER = 500

    def __init__(self) -> None:
        self._runs: list[list[bytes]] = []
        self._last: list[bytes] = []

    def add(self, lines: Sequence[bytes]) -> None:
        self._last += lines
        if len(self._last) >= self._OF_A_RUN:
            run, at_once = sorted(self._last), self._PACKED_TOGETHER
            self._last = []
            blocks = (run[start : start + at_once] for start in range(0, len(run), at_once))
            self._runs.append([compress(pickle.dumps(block), 1) for block in blocks])

    def in_order(self) -> Iterator[bytes]:
        runs = (chain.from_iterable(pickle.loads(decompress(block)) for block in run) for run in self._runs)
        return merge(sorted(self._last), *runs)


class Stretch:
    """Rows of one kind, hashed as they come; `ordered` is false where they have no order of their own."""

    __slots__ = ("_digest", "_marks", "_waiting")

    def __init__(self, ordered: bool) -> None:
        self._digest = sha256()
        self._marks = bytearray()
        self._waiting = None if ordered else _Waiting()

    def add(self, lines: Sequence[bytes]) -> None:
        """Adds rows, a line each."""
        if self._waiting is not None:
            self._waiting.add(lines)
        else:
            self._hash(lines)

    def _hash(self, lines: Sequence[bytes]) -> None:
        self._digest.update(b"".join(lines))
        self._marks += pack(f">{len(lines)}I", *map(crc32, lines))

    def end(self) -> tuple[int, str, bytes]:
        """How many rows there are, their digest and their marks."""
        if self._waiting is not None:
            left, self._waiting = self._waiting.in_order(), None
            while lines := list(islice(left, _HASHED_AT_ONCE)):
                self._hash(lines)
        return len(self._marks) // MARK_BYTES, self._digest.hexdigest(), bytes(self._marks)


Ended = tuple[list[list[Any]], bytes]
"""Kind, count and digest of each kind of row, by name, and all their marks in that order."""


class Segment:
    """What one writing added in one chain, kind by kind."""

    __slots__ = ("_stretches",)

    def __init__(self) -> None:
        self._stretches: dict[str, Stretch] = {}

    def add(self, kind: str, lines: Sequence[bytes], ordered: bool) -> None:
        """Adds rows of a kind, a line each."""
        stretch = self._stretches.get(kind)
        if stretch is None:
            stretch = self._stretches[kind] = Stretch(ordered)
        stretch.add(lines)

    def __bool__(self) -> bool:
        return bool(self._stretches)

    def taken_out(self, kinds: Iterable[str]) -> Segment:
        """Its rows of some kinds, which are in it no longer."""
        part = Segment()
        for kind in kinds:
            if kind in self._stretches:
                part._stretches[kind] = self._stretches.pop(kind)
        return part

    def end(self) -> Ended:
        """What it comes to."""
        rows: list[list[Any]] = []
        marks = b""
        for kind in sorted(self._stretches):
            count, digest, of_kind = self._stretches[kind].end()
            rows.append([kind, count, digest])
            marks += of_kind
        return rows, marks


def joined(one: Ended, other: Ended) -> Ended:
    """What two parts of a segment come to. Raises ValueError where both have rows of one kind."""
    marked = []
    for rows, marks in (one, other):
        at = 0
        for row in rows:
            size = row[1] * MARK_BYTES
            marked.append((row, marks[at : at + size]))
            at += size
    marked.sort(key=lambda row_and_marks: row_and_marks[0][0])
    rows = [row for row, _ in marked]
    if len({kind for kind, _, _ in rows}) < len(rows):
        raise ValueError("rows of a kind came after it was said that there are no more")
    return rows, b"".join(marks for _, marks in marked)


def engine_content(rows: list[list[Any]]) -> str:
    """The content of a link of an engine's chain: kind, count and digest of each kind of row, as JSON."""
    return f"[{','.join(starmap(_row_text, rows))}]"


def log_content(
    at: int,
    by: str,
    rows: list[list[Any]],
    facts: Iterable[Sequence[str]],
    engines: Iterable[Sequence[str]],
) -> str:
    """The content of a link of the log's chain.

    `at` is the moment of the writing in microseconds since 1970 and `by` the commitment to its person;
    `facts` are kind, key and digest of the facts written, `engines` serial and head of the engines.
    """
    counted = '"facts":[{},"{}"],"engines":[{},"{}"]'.format(*listed(facts), *listed(engines))
    return f'{{"at":{at},"by":"{by}","rows":{engine_content(rows)},{counted}}}'


class LogContent(NamedTuple):
    """The content of a link of the log's chain, read again: the arguments of `log_content`, as digests."""

    at: int
    by: str
    rows: list[Any]
    facts: list[Any]
    engines: list[Any]


def read_log_content(content: str) -> LogContent | None:
    """What `log_content` made; None where it made no such text."""
    try:
        read = LogContent(**json.loads(content))
        counts = [[int(count), digest] for count, digest in (read.facts, read.engines)]
        return read._replace(rows=_read_rows(read.rows), facts=counts[0], engines=counts[1])
    except (ValueError, TypeError):
        return None


def read_engine_content(content: str) -> list[Any] | None:
    """What `engine_content` was given; None where it made no such text."""
    try:
        return _read_rows(json.loads(content))
    except (ValueError, TypeError):
        return None


def _read_rows(rows: Any) -> list[Any]:
    """Rows as a link tells them. Raises TypeError and ValueError where these are none."""
    return [[str(kind), int(count), digest] for kind, count, digest in rows]


def listed(rows: Iterable[Sequence[str]]) -> list[object]:
    """How many rows of texts there are, and their digest, whatever their order."""
    content = sorted(f"[{','.join(map(encode_basestring_ascii, row))}]" for row in rows)
    digest = sha256()
    for place, text in enumerate(content):  # joined in one text they would take the place twice over
        digest.update(f"\n{text}".encode("ascii") if place else text.encode("ascii"))
    return [len(content), digest.hexdigest()]


def first_head(serial: str) -> str:
    """What the first link of an engine's chain follows."""
    return sha256(f"engine {serial}".encode()).hexdigest()


def next_head(before: str, content: str) -> str:
    """The head of a chain after a link with this content."""
    return sha256(f"{before}\n{content}".encode()).hexdigest()


@value_class(frozen=True, slots=True)
class Difference:
    """A row that is not as it was sealed: its place among the rows of now, or among those sealed."""

    kind: str
    now: int | None
    sealed: int | None


def differences(sealed: bytes, now: bytes, digest_differs: bool) -> list[Difference]:
    """Where the marks of the rows of now differ from those that were sealed.

    A row taken out and another put in are told as one that was changed. Rows that differ though no mark
    does were changed so that the marks fit: then there is one difference without a place.
    """
    before, after = _marks(sealed), _marks(now)
    gone, new = _surplus(before, after), _surplus(after, before)
    pairs = min(len(gone), len(new))
    found = [Difference("changed", n, s) for n, s in zip(new[:pairs], gone[:pairs], strict=True)]
    found += [Difference("inserted", place, None) for place in new[pairs:]]
    found += [Difference("deleted", None, place) for place in gone[pairs:]]
    if not found and before != after:
        moved = [place for place, pair in enumerate(zip(before, after, strict=True)) if pair[0] != pair[1]]
        return [Difference("reordered", place, place) for place in moved]
    return found or ([Difference("changed", None, None)] if digest_differs else [])


def _marks(marks: bytes) -> list[bytes]:
    return [marks[start : start + MARK_BYTES] for start in range(0, len(marks), MARK_BYTES)]


def _surplus(marks: list[bytes], others: list[bytes]) -> list[int]:
    """The places of the marks that the others do not have, the first ones of equal marks spared."""
    spare = Counter(others)
    places = []
    for place, mark in enumerate(marks):
        if spare[mark]:
            spare[mark] -= 1
        else:
            places.append(place)
    return places

"""Reads the rows on the pages of a SQLite file, one page at a time.

By the published format of the file (https://sqlite.org/fileformat2.html): pages of trees, their cells,
records, chains of overflow pages, the list of free pages. Nothing that a page says is believed before it is
within bounds, and no page is followed twice, so that a damaged file costs rows and nothing else. Which table
a page belongs to is not known here but in `page_owners`.
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import dataclass

Value = int | float | str | bytes | None
ReadAt = Callable[[int, int], bytes]
"""Gives bytes of a file: from where, how many. Fewer come where the file ends or cannot be read."""

INDEX_INNER, TABLE_INNER, INDEX_LEAF, TABLE_LEAF = 2, 5, 10, 13
_INNER = frozenset({INDEX_INNER, TABLE_INNER})
_KINDS = frozenset({INDEX_INNER, TABLE_INNER, INDEX_LEAF, TABLE_LEAF})

USUAL_SIZE = 4096
SIZES = tuple(1 << power for power in range(9, 17))
_LOOKED_AT = 1 << 20
"""How many bytes at the beginning of a file tell the size of its pages."""

_INTEGER_SIZES = (0, 1, 2, 3, 4, 6, 8)


@dataclass(frozen=True, slots=True)
class Row:
    """A row as it is kept; `number` is None where rows are kept by their own columns."""

    number: int | None
    values: tuple[Value, ...]


@dataclass(frozen=True, slots=True)
class _Head:
    kind: int
    data: bytes
    pointers: tuple[int, ...]
    cells_from: int
    last_child: int


@dataclass(frozen=True, slots=True)
class Pages:
    """The pages of a file, from 1 on: `read` gives the bytes of one, fewer than `size` where it is cut."""

    read: Callable[[int], bytes]
    size: int
    count: int

    def kind(self, number: int) -> int | None:
        """The kind of a tree's page; None for any other page, and for one that is not there."""
        head = self._head(number)
        return None if head is None else head.kind

    def children(self, number: int) -> list[int]:
        """The pages that an inner page leads to, 0 for one that cannot be told; of a leaf none."""
        head = self._head(number)
        if head is None or head.kind not in _INNER:
            return []
        cells = [head.data[at : at + 4] if at >= head.cells_from else b"" for at in head.pointers]
        return [int.from_bytes(c, "big") if len(c) == 4 else 0 for c in cells] + [head.last_child]

    def rows(self, number: int) -> tuple[list[Row], int]:
        """The rows on a page, and how many more there were that cannot be read."""
        head = self._head(number)
        if head is None or head.kind == TABLE_INNER:
            return [], 0
        cells: list[tuple[int, int, Row]] = []
        for at in sorted(set(head.pointers)):
            try:
                if at < head.cells_from:
                    raise ValueError("a cell within the list of cells")
                end, row = self._cell(head, at)
            except (ValueError, IndexError):
                continue
            cells.append((at, end, row))
        starts, ends = [*(at for at, _, _ in cells), self.size], [0, *(end for _, end, _ in cells)]
        apart = [row for n, (at, end, row) in enumerate(cells) if ends[n] <= at and end <= starts[n + 1]]
        return apart, len(head.pointers) - len(apart)

    def free(self) -> frozenset[int]:
        """The pages that are in no tree any more, by the list of them; none where it is damaged."""
        first = self.read(1)[32:40]
        trunk, count = int.from_bytes(first[:4], "big"), int.from_bytes(first[4:], "big")
        free: set[int] = set()
        while trunk and trunk <= self.count and trunk not in free:
            data = self.read(trunk)
            size = int.from_bytes(data[4:8], "big")
            if len(data) < self.size or size > self.size // 4 - 2:
                break
            free |= {trunk, *struct.unpack_from(f">{size}I", data, 8)}
            trunk = int.from_bytes(data[:4], "big")
        return frozenset(free) if len(free) == count and not trunk else frozenset()

    def looks_whole(self, number: int) -> bool:
        """Whether it is a tree's page whose cells lie within it and reach into its second half.

        One without cells names the place where they will begin from: its end.
        """
        head = self._head(number)
        if head is None:
            return False
        if not head.pointers:
            at = 105 if number == 1 else 5
            return (int.from_bytes(head.data[at : at + 2], "big") or 65536) == self.size
        return head.cells_from <= min(head.pointers) and self.size // 2 <= max(head.pointers) < self.size

    def _head(self, number: int) -> _Head | None:
        if not 1 <= number <= self.count:
            return None
        data = self.read(number)
        at = 100 if number == 1 else 0
        if len(data) < at + 12 or data[at] not in _KINDS:
            return None
        count = int.from_bytes(data[at + 3 : at + 5], "big")
        first = at + (12 if data[at] in _INNER else 8)
        if first + 2 * count > len(data):
            return None
        pointers = struct.unpack_from(f">{count}H", data, first)
        last_child = int.from_bytes(data[at + 8 : at + 12], "big")
        return _Head(data[at], data, pointers, first + 2 * count, last_child)

    def _cell(self, head: _Head, at: int) -> tuple[int, Row]:
        """Where a cell ends, and its row. Raises ValueError, IndexError."""
        data, number = head.data, None
        if head.kind == INDEX_INNER:
            at += 4
        size, at = _varint(data, at)
        if head.kind == TABLE_LEAF:
            number, at = _varint(data, at)
            number -= (number >> 63) << 64
        local = self._local(size, head.kind)
        end = at + local
        payload = data[at:end]
        if len(payload) < local:
            raise ValueError("a cell beyond its page")
        if size > local:
            payload += self._overflow(data[end : end + 4], size - local)
            end += 4
        return end, Row(number, _record(payload))

    def _local(self, size: int, kind: int) -> int:
        """How many bytes of a record are on the page itself."""
        most = self.size - 35 if kind == TABLE_LEAF else (self.size - 12) * 64 // 255 - 23
        if size <= most:
            return size
        least = (self.size - 12) * 32 // 255 - 23
        fitting = least + (size - least) % (self.size - 4)
        return fitting if fitting <= most else least

    def _overflow(self, pointer: bytes, size: int) -> bytes:
        parts: list[bytes] = []
        seen: set[int] = set()
        number = int.from_bytes(pointer, "big")
        while size:
            if not 2 <= number <= self.count or number in seen:
                raise ValueError("a chain of pages that leads nowhere")
            seen.add(number)
            data = self.read(number)
            part = data[4 : 4 + min(size, self.size - 4)]
            if len(part) < min(size, self.size - 4):
                raise ValueError("a page that was cut")
            parts.append(part)
            size -= len(part)
            number = int.from_bytes(data[:4], "big")
        if number:
            raise ValueError("a chain of pages that goes on")
        return b"".join(parts)


def page_size(read_at: ReadAt, length: int) -> int:
    """The size of a file's pages: the one by which the most of its beginning looks like pages.

    What the file says, or else the usual size, decides between sizes by which as much does.
    """
    said = int.from_bytes(read_at(16, 2), "big")
    said = 65536 if said == 1 else said

    def looking_whole(size: int) -> int:
        pages = Pages(lambda n: read_at((n - 1) * size, size), size, min(length, _LOOKED_AT) // size)
        return size * sum(map(pages.looks_whole, range(1, pages.count + 1)))

    likely = dict.fromkeys((said, USUAL_SIZE, *SIZES))
    return max((size for size in likely if size in SIZES), key=looking_whole)


def _varint(data: bytes, at: int) -> tuple[int, int]:
    """A number of one to nine bytes, and where it ends. Raises IndexError."""
    value = 0
    for _ in range(8):
        byte = data[at]
        at += 1
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at
    return value << 8 | data[at], at + 1


def _record(payload: bytes) -> tuple[Value, ...]:
    """The values of a record. Raises ValueError, IndexError."""
    body, at = _varint(payload, 0)
    header = body
    values: list[Value] = []
    while at < header:
        kind, at = _varint(payload, at)
        if kind >= 12:
            size = (kind - 12) // 2
        elif kind <= 6:
            size = _INTEGER_SIZES[kind]
        elif kind in (10, 11):
            raise ValueError("a kind of value that is not used")
        else:
            size = 8 if kind == 7 else 0
        part = payload[body : body + size]
        body += size
        if body > len(payload):
            raise ValueError("a value beyond its record")
        values.append(_value(kind, part))
    if at != header or body != len(payload):
        raise ValueError("a record of another length")
    return tuple(values)


def _value(kind: int, part: bytes) -> Value:
    if kind == 0:
        return None
    if kind <= 6:
        return int.from_bytes(part, "big", signed=True)
    if kind == 7:
        value: float = struct.unpack(">d", part)[0]
        return value
    if kind <= 9:
        return kind - 8
    return part.decode("utf-8", "replace") if kind % 2 else part

"""Reads the pages that stand in a write-ahead log and not yet in its SQLite file.

By the published format (https://sqlite.org/fileformat2.html, "The Write-Ahead Log"). As SQLite does, frames
count up to the last commit before the first one whose checksum is off.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

_MAGIC = {0x377F0682: "<", 0x377F0683: ">"}
"""The first number of a log, and the order of bytes in which its checksums read it."""

_HEAD, _FRAME_HEAD = 32, 24


@dataclass(frozen=True, slots=True)
class Ahead:
    """Pages written ahead, by number, the size of a page in bytes, and how many pages the file is to have."""

    pages: dict[int, memoryview]
    size: int
    count: int


def pages_ahead(wal: bytes) -> Ahead | None:
    """What a write-ahead log holds; None where no commit in it can be read."""
    if len(wal) < _HEAD:
        return None
    magic, _, size, _, *salts, first, second = struct.unpack_from(">8I", wal)
    order = _MAGIC.get(magic)
    if order is None or not 512 <= size <= 65536 or _checksum(order, wal[:24], (0, 0)) != (first, second):
        return None
    view, so_far = memoryview(wal), (first, second)
    pages: dict[int, memoryview] = {}
    written: dict[int, memoryview] = {}
    count = 0
    for at in range(_HEAD, len(wal) - size - _FRAME_HEAD + 1, size + _FRAME_HEAD):
        number, committed, *salt, first, second = struct.unpack_from(">6I", wal, at)
        content = view[at + _FRAME_HEAD : at + _FRAME_HEAD + size]
        so_far = _checksum(order, content, _checksum(order, view[at : at + 8], so_far))
        if salt != salts or so_far != (first, second):
            break
        written[number] = content
        if committed:
            pages |= written
            written, count = {}, committed
    return Ahead(pages, size, count) if count else None


def _checksum(order: str, data: bytes | memoryview, so_far: tuple[int, int]) -> tuple[int, int]:
    first, second = so_far
    words = struct.unpack(f"{order}{len(data) // 4}I", data)
    for one, other in zip(words[::2], words[1::2], strict=True):
        first = first + one + second & 0xFFFFFFFF
        second = second + other + first & 0xFFFFFFFF
    return first, second

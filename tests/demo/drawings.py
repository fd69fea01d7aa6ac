"""Small line drawings as PNG files, the same bytes on every system: they stand in for the shop's photos."""

from __future__ import annotations

import struct
from itertools import pairwise
from zlib import adler32, crc32

WIDTH, HEIGHT = 160, 120

Point = tuple[int, int]

GEAR_CASE: list[list[Point]] = [
    [(38, 12), (112, 12), (112, 26), (98, 30), (98, 58), (122, 62), (140, 74), (122, 86), (98, 88), (88, 112),
     (76, 112), (72, 88), (48, 84), (40, 74), (48, 64), (60, 58), (60, 30), (38, 26), (38, 12)],
    [(140, 74), (152, 60), (152, 88), (140, 74)],
]  # fmt: skip
CRACK: list[list[Point]] = [
    [(72, 88), (76, 80), (70, 74), (78, 68), (74, 60)], [(20, 100), (64, 82)], [(56, 80), (64, 82), (60, 90)],
]  # fmt: skip
CAM_MARKS: list[list[Point]] = [
    *([(x + dx, 40 + dy) for dx, dy in ((0, -24), (17, -17), (24, 0), (17, 17), (0, 24), (-17, 17), (-24, 0),
                                        (-17, -17), (0, -24))] for x in (45, 115)),
    [(21, 40), (69, 100), (91, 100), (139, 40)], [(45, 16), (115, 16)],
    [(45, 30), (45, 10)], [(115, 30), (115, 10)], [(80, 92), (80, 112)],
]  # fmt: skip


def drawing(lines: list[list[Point]]) -> bytes:
    """A PNG of black lines on white, one bit a pixel, in stored blocks (ISO/IEC 15948, RFC 1950, 1951)."""
    rows = [bytearray(b"\xff" * (WIDTH // 8)) for _ in range(HEIGHT)]
    for line in lines:
        for start, end in pairwise(line):
            _draw(rows, start, end)
    data = b"".join(b"\0" + bytes(row) for row in rows)
    size = struct.pack("<HH", len(data), len(data) ^ 0xFFFF)
    packed = b"\x78\x01\x01" + size + data + struct.pack(">I", adler32(data))
    head = struct.pack(">IIBBBBB", WIDTH, HEIGHT, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + _chunk(b"IHDR", head) + _chunk(b"IDAT", packed) + _chunk(b"IEND", b"")


def _draw(rows: list[bytearray], start: Point, end: Point) -> None:
    steps = max(abs(end[0] - start[0]), abs(end[1] - start[1]), 1)
    for step in range(steps + 1):
        x, y = (a + (b - a) * step // steps for a, b in zip(start, end, strict=True))
        for column in (x, x + 1):
            rows[y][column // 8] &= 0xFF ^ (0x80 >> column % 8)


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", crc32(kind + data))

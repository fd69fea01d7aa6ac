"""Takes a CSV file apart into lists of cells, and says where it cannot be: encoding, quotes, a torn end."""

from __future__ import annotations

import csv
import re
import threading
from collections.abc import Generator, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import accumulate, islice
from pathlib import Path
from typing import Any

from fleetlog.exchange.csv.cells import MOST_IN_A_CELL, Memo

ROWS_AT_ONCE = 2_000

Block = tuple[Sequence[int], list[list[str]]]
"""Rows as lists of cells, after the lines on which they begin."""

_MOST_TAKEN_IN = 2_000_000
_LINE_END = re.compile(r"\r\n|\r|\n")
_LIMIT_LOCK = threading.Lock()
_UTF8 = ("utf-8", "utf8", "utf-8-sig")


@dataclass(frozen=True, slots=True)
class CsvManner:
    """How files are written: what stands between cells, whether figures have decimal commas, the encoding.

    `read` keeps what cells say that come again and again, for all files that are read in this manner.
    """

    separator: str = ","
    decimal_comma: bool = False
    encoding: str = "utf-8"
    read: dict[Any, Memo] = field(default_factory=dict, compare=False, repr=False)

    @property
    def codec(self) -> str:
        """The encoding to open files with; a byte order mark before UTF-8 is passed over."""
        return "utf-8-sig" if self.encoding.lower().replace("_", "-") in _UTF8 else self.encoding


class NotTakenApart(Exception):
    """A place from which on the file cannot be told apart into cells: what was found and expected there."""

    def __init__(self, line: int | None, found: str | None, expected: str) -> None:
        super().__init__(expected)
        self.line, self.found, self.expected = line, found, expected


def rows_of(path: Path, manner: CsvManner) -> Generator[Block, None, None]:
    """The rows of a file, some thousand at a time, those before a place that cannot be read too.

    Raises NotTakenApart where the file cannot be read on.
    """
    line = 1
    try:
        refuse_endless(path)
        with path.open(encoding=manner.codec, newline="") as stream, _long_cells():
            reader = csv.reader(_without_nul(stream), delimiter=manner.separator, strict=True)
            while True:
                rows, fault = _next_rows(reader)
                *lines, line = _begins(rows, line, reader.line_num + 1)
                if rows:
                    yield lines, rows
                if fault is not None:
                    raise fault
                if not rows:
                    return
    except UnicodeError:
        raise _not_decodable(path, manner) from None
    except csv.Error as error:
        raise NotTakenApart(line, *_fault(str(error))) from None
    except OSError as error:
        raise NotTakenApart(None, error.strerror or str(error), "a file that can be read") from None


def _next_rows(rows: Iterator[list[str]]) -> tuple[list[list[str]], Exception | None]:
    """Some more rows, and what kept from reading on."""
    taken: list[list[str]] = []
    try:
        for row in islice(rows, ROWS_AT_ONCE):
            taken.append(row)
    except (csv.Error, OSError, UnicodeError, NotTakenApart) as fault:
        return taken, fault
    return taken, None


def _begins(rows: Sequence[Sequence[str]], first: int, after: int) -> Iterable[int]:
    """The lines on which rows begin, and that after the last one, where all before `after` are read."""
    if after - first == len(rows):
        return range(first, after + 1)
    lines = (1 + sum(len(_LINE_END.findall(cell)) for cell in row) for row in rows)
    return accumulate(lines, initial=first)


def refuse_endless(path: Path) -> None:
    """Raises OSError for what stands in a folder in the place of a file and may never end."""
    if path.exists() and not path.is_file() and not path.is_dir():
        raise OSError("a pipe or a device")


@contextmanager
def _long_cells() -> Iterator[None]:
    """Lets the csv module take in longer cells than usual for a while, so that they can be spoken of."""
    with _LIMIT_LOCK:
        before = csv.field_size_limit(_MOST_TAKEN_IN)
        try:
            yield
        finally:
            csv.field_size_limit(before)


def _without_nul(stream: Iterable[str]) -> Iterator[str]:
    for number, line in enumerate(stream, 1):
        if "\0" in line:
            raise NotTakenApart(number, "a NUL byte", "text: the file is half-written or no CSV file")
        yield line


def _fault(message: str) -> tuple[str, str]:
    """What was found and expected where the csv module gave up."""
    if "unexpected end of data" in message:
        return (
            "a cell that begins with a quote and never ends",
            "a closing quote: the file is half-written, or the quote does not belong there",
        )
    if "field limit" in message:
        return (
            f"a cell of more than {_MOST_TAKEN_IN:,} characters",
            f"at most {MOST_IN_A_CELL:,}; perhaps a quote is not closed",
        )
    return "text after the closing quote of a cell", "quotes inside a quoted cell to be written twice"


def _not_decodable(path: Path, manner: CsvManner) -> NotTakenApart:
    """The first line that is not text in the encoding, and which encoding might do."""
    with path.open("rb") as stream:
        for number, line in enumerate(stream, 1):
            try:
                line.decode(manner.codec)
            except UnicodeDecodeError as error:
                if number == 1 and line.startswith((b"\xff\xfe", b"\xfe\xff")):
                    return NotTakenApart(1, "a file in UTF-16", "UTF-8; for this file say --encoding utf-16")
                piece = line[max(0, error.start - 12) : error.start + 8].decode("latin-1")
                found = f'a byte that is not {manner.encoding.upper()} in "{piece.strip()}"'
                return NotTakenApart(number, found, _OTHER_ENCODING)
    return NotTakenApart(None, f"bytes that are not {manner.encoding.upper()}", _OTHER_ENCODING)


_OTHER_ENCODING = "UTF-8, or the encoding named, as in --encoding latin-1 (spreadsheets: cp1252)"

"""Rows taken apart some at a time stand where a reading of one after the other finds them."""

from __future__ import annotations

import csv
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetlog.exchange.csv import text as module
from fleetlog.exchange.csv.text import CsvManner, NotTakenApart, rows_of

PIECES = st.sampled_from(["a", "b c", ",", '"', '"x\ny"', '"x\r\n\r\ny"', '"x\ry"', "\n", "\r\n", "\r", "\0"])


def one_by_one(content: str) -> tuple[list[tuple[int, list[str]]], bool]:
    """The rows, each after the line on which it begins, and whether all could be read."""
    lines = StringIO(content, newline="")
    reader = csv.reader((line for line in lines), strict=True)
    found: list[tuple[int, list[str]]] = []
    begins = 1
    try:
        for row in reader:
            if "\0" in "".join(row):
                return found, False
            found.append((begins, row))
            begins = reader.line_num + 1
    except csv.Error:
        return found, False
    return found, True


@given(st.lists(PIECES, max_size=30).map("".join), st.integers(1, 4))
@settings(max_examples=300, deadline=None)
def test_rows_and_the_lines_they_begin_on_are_those_of_reading_one_by_one(content: str, at_once: int) -> None:
    expected, whole = one_by_one(content)
    with TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "ROWS_AT_ONCE", at_once)
        path = Path(folder) / "rows.csv"
        path.write_text(content, encoding="utf-8", newline="")
        found: list[tuple[int, list[str]]] = []
        stopped: NotTakenApart | None = None
        try:
            for lines, rows in rows_of(path, CsvManner()):
                assert 0 < len(rows) <= at_once
                found += zip(lines, rows, strict=True)
        except NotTakenApart as fault:
            stopped = fault
    assert (found, stopped is None) == (expected, whole)
    if stopped is not None:
        assert stopped.line is not None
        assert stopped.line > (found[-1][0] if found else 0)

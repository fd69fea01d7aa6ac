"""Rows that are put aside come back engine by engine, whole and in their order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path

import pytest

from fleetlog.domain.records import Entry, Reading
from fleetlog.errors.folders import NoRoomForRows
from fleetlog.exchange import rows_aside
from fleetlog.exchange.csv.columns import CsvFile
from fleetlog.exchange.csv.files import ENTRIES, READINGS
from fleetlog.exchange.csv.folder import read_folder
from fleetlog.exchange.rows_aside import RowsAside
from tests.exchange.folders import folder_of

ON = date(2026, 3, 4)
HEAD = "reading_id,serial,on,meter\n"


@pytest.fixture
def aside(monkeypatch: pytest.MonkeyPatch) -> Iterator[RowsAside]:
    """With two engines at a time, in a file on the disk from the tenth byte on."""
    monkeypatch.setattr(rows_aside, "ENGINES_AT_ONCE", 2)
    monkeypatch.setattr(rows_aside, "_BYTES_IN_MEMORY", 10)
    made = RowsAside()
    yield made
    made.close()


def put(aside: RowsAside, file: CsvFile, rows: Sequence[object], lines: Sequence[int]) -> None:
    aside.put(file, file.columns_from(rows), lines)


def reading(number: int, serial: str) -> Reading:
    return Reading(f"r{number}", serial, ON, number, by="Kim")


def test_rows_of_an_engine_come_back_in_the_order_of_the_file(aside: RowsAside) -> None:
    rows = [reading(n, f"A{n * 7 % 5}") for n in range(40)]
    for start in range(0, 40, 8):
        put(aside, READINGS, rows[start : start + 8], range(2 + start, 10 + start))
    put(aside, ENTRIES, [Entry("e1", "A9", ON, "serviced", item="belt")], [2])
    stretches = list(aside.stretches())
    assert stretches == [["A0", "A2"], ["A4", "A1"], ["A3", "A9"]]
    for serials in stretches:
        back, lines = aside.rows_of(READINGS, serials)
        assert back == [row for row in rows if row.serial in serials]
        assert [rows[line - 2] for line in lines] == back
    assert aside.rows_of(ENTRIES, ["A9", "A0"]) == ([Entry("e1", "A9", ON, "serviced", item="belt")], [2])


def test_rows_of_engines_of_several_stretches_come_back_in_the_order_of_the_file(aside: RowsAside) -> None:
    rows = [reading(n, f"A{n}") for n in (0, 1, 2, 3, 0)]
    put(aside, READINGS, rows, range(2, 7))
    assert aside.rows_of(READINGS, ["A3", "A0", "unknown"]) == ([rows[0], rows[3], rows[4]], [2, 5, 6])


def test_engines_that_are_named_come_even_without_rows(aside: RowsAside) -> None:
    aside.name(["A1", "A2", "A1", "A3"])
    assert list(aside.stretches()) == [["A1", "A2"], ["A3"]]
    assert aside.rows_of(READINGS, ["A1"]) == ([], [])


def test_entries_of_items_from_other_engines_are_at_hand(aside: RowsAside) -> None:
    moved = Entry("e2", "A1", ON, "fitted", item="belt", from_serial="A2")
    put(aside, ENTRIES, [Entry("e1", "A1", ON, "serviced", item="belt"), moved], [2, 3])
    assert aside.moved == [(3, moved)]
    aside.forget(ENTRIES)
    assert aside.moved == []
    assert aside.rows_of(ENTRIES, ["A1"]) == ([], [])


def test_a_temporary_file_that_cannot_be_written_is_told(
    aside: RowsAside, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_content: bytes) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(aside._file, "write", full)
    with pytest.raises(NoRoomForRows, match=r"nothing was imported.*\(No space left on device\).*TMPDIR"):
        put(aside, READINGS, [reading(1, "A1")], [2])


def test_what_is_wrong_is_told_the_same_and_usable_rows_are_put_aside(
    aside: RowsAside, tmp_path: Path
) -> None:
    """A key that stands twice, far apart and near, among some thousand rows and beside a bad cell."""
    rows = [f"r{n},A{n % 3},2026-03-04,{n}" for n in range(5_000)]
    rows[10] = "r10,A1,2026-03-04,bad"
    rows[4_900] = "r7,A2,2026-03-04,7"
    rows[4_901] = rows[4_902]
    folder = folder_of(tmp_path, readings=HEAD + "\n".join(rows) + "\n")
    contents, in_memory = read_folder(folder, aside=aside), read_folder(folder)
    assert contents.problems == in_memory.problems
    assert [(p.line, p.first_line) for p in contents.problems] == [(12, None), (4902, 9), (4904, 4903)]
    assert contents.files["readings"].rows == []
    assert aside.rows_of(READINGS, ["A0", "A1", "A2"]) == (
        in_memory.batch.readings,
        list(in_memory.files["readings"].lines),
    )

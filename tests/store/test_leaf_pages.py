"""The reader of pages against SQLite itself: what SQLite wrote is read back as it was."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleetlog.store.salvage.leaf_pages import INDEX_INNER, INDEX_LEAF, TABLE_LEAF, Pages, Row, page_size
from fleetlog.store.salvage.wal_pages import pages_ahead

VALUES = st.one_of(
    st.none(),
    st.integers(-(1 << 63), (1 << 63) - 1),
    st.sampled_from([0, 1, -1, 127, -128, 1 << 15, 1 << 23, -(1 << 31), 1 << 47, 1 << 62]),
    st.floats(allow_nan=False),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=40),
    st.binary(max_size=40),
    st.builds(lambda text, times: text * times, st.text("aé✓", min_size=1), st.integers(100, 3000)),
    st.builds(lambda data, times: data * times, st.binary(min_size=1, max_size=9), st.integers(100, 3000)),
)
NUMBERS = st.one_of(st.integers(-(1 << 63), (1 << 63) - 1), st.integers(-300, 300))
PROPERTY = settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@contextmanager
def _file(path: Path, size: int = 4096) -> Iterator[sqlite3.Connection]:
    for old in path.parent.glob(path.name + "*"):
        old.unlink()
    with closing(sqlite3.connect(path, isolation_level=None)) as file:
        file.execute(f"PRAGMA page_size = {size}")
        yield file


def _pages(data: bytes, size: int) -> Pages:
    return Pages(lambda n: data[(n - 1) * size : n * size], size, -(-len(data) // size))


def _all(pages: Pages, *kinds: int) -> list[Row]:
    """The rows of all pages of some kinds but the first, which lists the tables."""
    rows = []
    free = pages.free()
    for number in range(2, pages.count + 1):
        if number not in free and pages.kind(number) in kinds:
            found, unreadable = pages.rows(number)
            assert unreadable == 0
            rows += found
    return rows


def _typed(values: tuple[Any, ...]) -> tuple[Any, ...]:
    return tuple((type(value), value) for value in values)


@settings(PROPERTY, max_examples=40)
@given(
    rows=st.dictionaries(NUMBERS, st.tuples(VALUES, VALUES, VALUES), max_size=25),
    size=st.sampled_from([512, 1024, 4096, 65536]),
)
def test_rows_of_a_table_are_read_as_sqlite_reads_them(
    tmp_path: Path, rows: dict[int, tuple[Any, ...]], size: int
) -> None:
    with _file(tmp_path / "a.db", size) as file:
        file.execute("CREATE TABLE t (a, b, c)")
        inserted = ((number, *row) for number, row in rows.items())
        file.executemany("INSERT INTO t (rowid, a, b, c) VALUES (?, ?, ?, ?)", inserted)
    data = (tmp_path / "a.db").read_bytes()
    found = _all(_pages(data, size), TABLE_LEAF)
    assert {row.number: _typed(row.values) for row in found} == {n: _typed(row) for n, row in rows.items()}
    assert page_size(lambda place, length: data[place : place + length], len(data)) == size


@settings(PROPERTY, max_examples=40)
@given(
    rows=st.dictionaries(st.tuples(NUMBERS, NUMBERS), VALUES, max_size=60),
    size=st.sampled_from([512, 1024, 4096]),
)
def test_rows_kept_by_their_own_columns_are_read_from_inner_pages_too(
    tmp_path: Path, rows: dict[tuple[int, int], Any], size: int
) -> None:
    with _file(tmp_path / "a.db", size) as file:
        file.execute("CREATE TABLE t (a INTEGER, b INTEGER, c, PRIMARY KEY (a, b)) WITHOUT ROWID")
        file.executemany("INSERT INTO t VALUES (?, ?, ?)", ((*key, value) for key, value in rows.items()))
    found = _all(_pages((tmp_path / "a.db").read_bytes(), size), INDEX_LEAF, INDEX_INNER)
    assert sorted(map(repr, (row.values for row in found))) == sorted(
        repr((*key, value)) for key, value in rows.items()
    )
    assert all(row.number is None for row in found)


def test_pages_that_are_free_are_known(tmp_path: Path) -> None:
    with _file(tmp_path / "a.db", 512) as file:
        file.execute("CREATE TABLE t (a)")
        file.executemany("INSERT INTO t VALUES (?)", [("x" * 400,)] * 900)
        file.execute("DELETE FROM t WHERE rowid > 40")
        (free,) = file.execute("PRAGMA freelist_count").fetchone()
    data = bytearray((tmp_path / "a.db").read_bytes())
    pages = _pages(data, 512)
    assert len(pages.free()) == free > 500
    assert len(_all(pages, TABLE_LEAF)) == 40
    data[36:40] = (free + 1).to_bytes(4, "big")
    assert pages.free() == frozenset()  # a list that does not add up is not believed


def _one_long_row(tmp_path: Path) -> bytearray:
    with _file(tmp_path / "a.db", 512) as file:
        file.execute("CREATE TABLE t (a)")
        file.execute("INSERT INTO t VALUES (?)", ("x" * 3000,))
        file.execute("INSERT INTO t VALUES ('short')")
    return bytearray((tmp_path / "a.db").read_bytes())


@pytest.mark.parametrize("leads_to", [0, 1, 3, 4, 9999])
def test_a_chain_of_pages_that_leads_elsewhere_costs_its_row_alone(tmp_path: Path, leads_to: int) -> None:
    data = _one_long_row(tmp_path)
    assert len(_pages(data, 512).rows(2)[0]) == 2
    data[3 * 512 : 3 * 512 + 4] = leads_to.to_bytes(4, "big")  # page 4, the second of the chain
    assert _pages(data, 512).rows(2) == ([Row(2, ("short",))], 1)


def test_a_chain_of_pages_that_goes_on_costs_its_row(tmp_path: Path) -> None:
    data = _one_long_row(tmp_path)
    data[-512:-508] = (3).to_bytes(4, "big")
    assert _pages(data, 512).rows(2) == ([Row(2, ("short",))], 1)


@pytest.mark.parametrize("pointer", [0, 8, 70, 509, 511, 512, 65535])
def test_a_cell_that_cannot_be_is_left_out(tmp_path: Path, pointer: int) -> None:
    with _file(tmp_path / "a.db", 512) as file:
        file.execute("CREATE TABLE t (a)")
        file.executemany("INSERT INTO t VALUES (?)", [("one",), ("two",), ("three",)])
    data = bytearray((tmp_path / "a.db").read_bytes())
    first = 512 + 8
    data[first : first + 2] = pointer.to_bytes(2, "big")
    assert _pages(data, 512).rows(2) == ([Row(3, ("three",)), Row(2, ("two",))], 1)


def test_of_a_page_that_is_cut_the_rows_in_what_is_left_are_read(tmp_path: Path) -> None:
    with _file(tmp_path / "a.db") as file:
        file.execute("CREATE TABLE t (a)")
        file.executemany("INSERT INTO t VALUES (?)", [(f"{n} ".ljust(300),) for n in range(12)])
    data = (tmp_path / "a.db").read_bytes()[: 4096 + 2048]
    rows, unreadable = _pages(data, 4096).rows(2)
    assert [row.number for row in rows] == [12, 11, 10, 9, 8]
    assert unreadable == 7


@settings(PROPERTY, max_examples=100)
@given(data=st.binary(max_size=3000), kind=st.sampled_from([2, 5, 10, 13]), count=st.integers(0, 9))
def test_no_page_is_a_bug(data: bytes, kind: int, count: int) -> None:
    page = bytes([kind, 0, 0]) + count.to_bytes(2, "big") + data
    pages = _pages(page, 512)
    for number in range(-1, 9):
        pages.kind(number)
        pages.children(number)
        pages.rows(number)
    pages.free()
    page_size(lambda place, length: page[place : place + length], len(page))


# Written ahead


@pytest.fixture
def written_ahead(tmp_path: Path) -> tuple[bytes, bytes, bytes]:
    """A file, the log written ahead of it, and the file as it is with that log in it."""
    path = tmp_path / "a.db"
    with _file(path, 1024) as file:
        file.execute("PRAGMA journal_mode = WAL")
        file.execute("CREATE TABLE t (a)")
        file.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        for n in range(5):
            file.executemany("INSERT INTO t VALUES (?)", [(f"{n} {row}" * 9,) for row in range(40)])
        before, wal = path.read_bytes(), Path(f"{path}-wal").read_bytes()
        file.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return before, wal, path.read_bytes()


def test_pages_written_ahead_are_those_that_sqlite_would_take_over(
    written_ahead: tuple[bytes, bytes, bytes],
) -> None:
    before, wal, after = written_ahead
    ahead = pages_ahead(wal)
    assert ahead is not None
    assert (ahead.size, ahead.count) == (1024, len(after) // 1024)
    taken = [bytes(ahead.pages.get(n, before[(n - 1) * 1024 : n * 1024])) for n in range(1, ahead.count + 1)]
    assert b"".join(taken) == after


def test_what_was_written_ahead_counts_up_to_the_last_whole_commit(
    written_ahead: tuple[bytes, bytes, bytes], tmp_path: Path
) -> None:
    before, wal, _ = written_ahead
    for kept in (len(wal) - 1, len(wal) // 2, 5000, 1100):
        (tmp_path / "b.db").write_bytes(before)
        (tmp_path / "b.db-wal").write_bytes(wal[:kept])
        with closing(sqlite3.connect(tmp_path / "b.db")) as file:
            there = file.execute("SELECT count(*) FROM t").fetchone()
        ahead = pages_ahead(wal[:kept])
        own = _pages(before, 1024)
        if ahead is not None:
            written = ahead.pages
            own = Pages(
                lambda n, w=written: bytes(w[n]) if n in w else own_page(before, n), 1024, ahead.count
            )
        assert (len(_all(own, TABLE_LEAF)),) == there


def own_page(data: bytes, number: int) -> bytes:
    """A page of 1024 bytes."""
    return data[(number - 1) * 1024 : number * 1024]


@pytest.mark.parametrize("place", [0, 5, 20, 30, 40])
def test_a_damaged_head_of_what_was_written_ahead_counts_for_nothing(
    written_ahead: tuple[bytes, bytes, bytes], place: int
) -> None:
    _, wal, _ = written_ahead
    damaged = bytearray(wal)
    damaged[place] ^= 1
    assert pages_ahead(bytes(damaged)) is None
    assert pages_ahead(b"") is None

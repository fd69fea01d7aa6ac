"""Of a damaged log every row on a whole page comes back, and no row that was not in it."""

from __future__ import annotations

import random
import sqlite3
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from datetime import UTC, date, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection

from fleetlog.domain.batch import Batch
from fleetlog.domain.chain import NOT_COMPARED
from fleetlog.domain.records import Boat, Engine, Entry, Owner, Reading, Visit
from fleetlog.errors.safekeeping import NoRoomToRescue, NothingToRescue
from fleetlog.store import migrating
from fleetlog.store.chain.check import ChainReport, check_chains
from fleetlog.store.opening import open_log
from fleetlog.store.salvage import reading
from fleetlog.store.salvage.leaf_pages import INDEX_INNER, INDEX_LEAF, TABLE_LEAF, Pages
from fleetlog.store.salvage.page_owners import layouts, owners
from fleetlog.store.salvage.reading import rebuilt, salvage
from tests.cli.conftest import demo_log  # noqa: F401  (fixture)
from tests.conftest import empty_log as an_empty_log

AT = datetime(2026, 4, 1, 12, 0, tzinfo=UTC)
SIZE = 4096
Tables = dict[str, Counter[Any]]


@pytest.fixture(autouse=True)
def empty_logs_made_once(monkeypatch: pytest.MonkeyPatch, empty_log: sqlite3.Connection) -> None:
    """Gives every rescue a copy of one empty log, as the migrations take longer than all the rest."""

    def copied(connection: Connection, _: str) -> None:
        target: Any = connection.connection.driver_connection
        empty_log.backup(target)

    monkeypatch.setattr("fleetlog.store.salvage.reading.migrating.migrate", copied)


@pytest.fixture(scope="module")
def empty_log(tmp_path_factory: pytest.TempPathFactory) -> Iterator[sqlite3.Connection]:
    """A log with nothing in it, as this version makes it."""
    path = tmp_path_factory.mktemp("empty") / "log.db"
    an_empty_log(str(path)).dispose()
    with closing(sqlite3.connect(path)) as file:
        yield file


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log of forty engines, whose large tables have inner pages, and with overflow pages of long texts."""
    path = tmp_path_factory.mktemp("filled") / "log.db"
    log = open_log(str(path), at=AT)
    first = date(2020, 3, 1)
    engines = [f"TB-{n:03}" for n in range(40)]
    for part in range(4):
        chosen = engines[part * 10 : part * 10 + 10]
        with log.writing("Kim", AT + timedelta(days=part)) as writer:
            writer.add(
                Batch(
                    owners=[Owner(f"o {s}", f"Owner of {s}", f"{s}@example.org") for s in chosen],
                    boats=[Boat(f"b {s}", f"o {s}", f"Boat of {s}") for s in chosen],
                    engines=[Engine(s, boat_id=f"b {s}", in_service_on=first) for s in chosen],
                    readings=[
                        Reading(f"r {s} {n}", s, first + timedelta(days=9 * n), 55 * n)
                        for s in chosen
                        for n in range(30)
                    ],
                    visits=[
                        Visit(f"v {s} {n}", f"b {s}", first + timedelta(days=n), note="long " * (n % 5) ** 4)
                        for s in chosen
                        for n in range(10)
                    ],
                    entries=[
                        Entry(f"e {s} {n}", s, first + timedelta(days=n), "serviced", f"v {s} {n % 10}")
                        for s in chosen
                        for n in range(20)
                    ],
                )
            )
    log.dispose()
    return path


def _rows(path: Path) -> tuple[Tables, list[str]]:
    """All rows that are rescued of a file, as they are kept, and what is said of it."""
    with rebuilt(path) as (connection, remarks, _):
        return _tables(connection.connection.driver_connection), list(remarks)


def _tables(file: Any) -> Tables:
    names = file.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
    return {name: Counter(file.execute(f"SELECT * FROM {name}").fetchall()) for (name,) in names}


def _compared(path: Path) -> tuple[ChainReport, dict[str, Counter[Any]]]:
    """What the chains say of the rows that are rescued of a file, and the rows of each of its engines."""
    with rebuilt(path) as log:
        file = log.connection.connection.driver_connection
        return check_chains(log.connection, log.lost), _by_engine(file)


def _by_engine(file: Any) -> dict[str, Counter[Any]]:
    """All rows of each engine, its own among them."""
    serials = dict(file.execute("SELECT engine_no, serial FROM engines").fetchall())
    found: dict[str, Counter[Any]] = {serial: Counter() for serial in serials.values()}
    for table in ("engines", "readings", "entries"):
        rows = file.execute(f"SELECT engine_no, * FROM {table}").fetchall()
        for number, *row in rows:
            if number in serials:
                found[serials[number]][table, tuple(row)] += 1
    return found


def _kept(path: Path) -> Tables:
    with closing(sqlite3.connect(path)) as file:
        return _tables(file)


def _pages(data: bytes) -> Pages:
    return Pages(lambda n: bytes(data[(n - 1) * SIZE : n * SIZE]), SIZE, -(-len(data) // SIZE))


def _with_pages(data: bytes, content: Callable[[int], bytes], *numbers: int) -> bytes:
    damaged = bytearray(data)
    for number in numbers:
        damaged[(number - 1) * SIZE : number * SIZE] = content(number)
    return bytes(damaged)


def _zeros(_: int) -> bytes:
    return bytes(SIZE)


def _roots(path: Path) -> dict[str, int]:
    with closing(sqlite3.connect(path)) as file:
        return dict(file.execute("SELECT name, rootpage FROM sqlite_master WHERE rootpage > 0").fetchall())


def _pages_of_schema(data: bytes) -> list[int]:
    pages = _pages(data)
    return [1, *pages.children(1)]


@cache
def _standing(whole: bytes, known: sqlite3.Connection) -> dict[str, list[tuple[int, list[tuple[Any, Any]]]]]:
    """By table the pages that are reached: the number of each, and its rows as they stand and as kept."""
    pages = _pages(whole)

    def kept(layout: Any, row: Any) -> tuple[Any, ...]:
        named = layout.named(row)
        return tuple(named.get(column.name) for column in layout.columns)

    return {
        name: [
            (number, [(row, kept(owned.layout, row)) for row in pages.rows(number)[0]])
            for number in owned.reached
        ]
        for name, owned in owners(pages, layouts(known)).tables.items()
    }


def _expected(whole: bytes, damaged: bytes, known: sqlite3.Connection) -> dict[str, list[tuple[Any, ...]]]:
    """The rows by table that stand, overflow and all, on pages that are as they were."""
    before, after = _pages(whole), _pages(damaged)
    expected: dict[str, list[tuple[Any, ...]]] = {}
    for name, pages in _standing(whole, known).items():
        rows = expected.setdefault(name, [])
        for number, standing in pages:
            if before.read(number) == after.read(number):
                there = after.rows(number)[0]
                rows += [kept for row, kept in standing if row in there]
    return expected


@pytest.fixture
def bad(tmp_path: Path) -> Path:
    """Where the damaged file stands."""
    return tmp_path / "bad.db"


def test_all_of_a_sound_log_comes_through_its_trees(demo_log: Path) -> None:  # noqa: F811
    assert _rows(demo_log) == (_kept(demo_log), [])


def test_a_lost_page_of_the_list_of_tables_costs_no_row(filled: Path, bad: Path) -> None:
    whole, kept = filled.read_bytes(), _kept(filled)
    listing = _pages_of_schema(whole)
    assert len(listing) > 4
    for number in listing:
        bad.write_bytes(_with_pages(whole, _zeros, number))
        rows, remarks = _rows(bad)
        assert {name for name in kept if rows[name] != kept[name]} <= {"alembic_version"}
        assert all("cannot be read" not in remark for remark in remarks)


@pytest.mark.parametrize("table", ["entries", "readings", "visits", "engines", "layups"])
def test_a_lost_root_costs_no_row_on_the_pages_below(
    demo_log: Path,  # noqa: F811
    bad: Path,
    table: str,
) -> None:
    whole = demo_log.read_bytes()
    root = _roots(demo_log)[table]
    on_root = _pages(whole).rows(root)[0]
    bad.write_bytes(_with_pages(whole, _zeros, root))
    kept = _kept(demo_log)
    rows, remarks = _rows(bad)
    assert rows[table] <= kept[table]
    assert kept[table].total() - rows[table].total() == len(on_root) < 40
    (told,) = remarks
    read = rows[table].total()
    assert told == (
        f"{table}: rows read: {read}; on pages that nothing leads to any more: {read};"
        " pages that cannot be read: 1"
    )
    assert all(rows[name] == kept[name] for name in kept if name != table)


@pytest.mark.parametrize("share", [1 / 3, 2 / 3])
def test_of_a_log_cut_short_all_rows_in_the_rest_are_read(
    demo_log: Path,  # noqa: F811
    bad: Path,
    empty_log: sqlite3.Connection,
    share: float,
) -> None:
    whole = demo_log.read_bytes()
    damaged = whole[: int(len(whole) * share) + 1000]
    bad.write_bytes(damaged)
    _all_of_it_and_nothing_else(whole, damaged, bad, _kept(demo_log), empty_log)


def test_a_lost_header_costs_nothing(demo_log: Path, bad: Path) -> None:  # noqa: F811
    whole = demo_log.read_bytes()
    for header in (bytes(100), b"\xff" * 100, whole[:16] + (8192).to_bytes(2, "big") + whole[18:100]):
        bad.write_bytes(header + whole[100:])
        assert _rows(bad) == (_kept(demo_log), [])


def _damaged(whole: bytes, seed: int) -> bytes:
    """A file with pages lost, changed, doubled, or with bytes changed that say what is on a page."""
    chance = random.Random(seed)
    count = len(whole) // SIZE
    damaged = bytearray(whole)
    for _ in range(chance.choice((1, 2, 5, 15, count // 2))):
        at = chance.randrange(count) * SIZE
        kind = seed % 5
        if kind == 0:
            damaged[at : at + SIZE] = bytes(SIZE)
        elif kind == 1:
            damaged[at : at + SIZE] = chance.randbytes(SIZE)
        elif kind == 2:
            other = chance.randrange(count) * SIZE
            damaged[at : at + SIZE] = whole[other : other + SIZE]
        elif whole[at] in (INDEX_INNER, INDEX_LEAF, TABLE_LEAF, 5) and at:
            cells = int.from_bytes(whole[at + 3 : at + 5], "big")
            place = at + chance.randrange(12 if kind == 3 else 12 + 2 * cells)
            damaged[place] ^= 1 << chance.randrange(8)
    return bytes(damaged[: chance.randrange(SIZE, len(damaged))] if seed % 6 == 0 else damaged)


@pytest.mark.parametrize("seeds", [range(n, n + 10) for n in range(0, 100, 10)], ids=lambda r: str(r.start))
def test_a_hundred_damages_cost_what_they_hit_and_bring_nothing_new(
    filled: Path, bad: Path, empty_log: sqlite3.Connection, seeds: range
) -> None:
    whole, kept = filled.read_bytes(), _kept(filled)
    for seed in seeds:
        damaged = _damaged(whole, seed)
        bad.write_bytes(damaged)
        _all_of_it_and_nothing_else(whole, damaged, bad, kept, empty_log)
        assert bad.read_bytes() == damaged
    with suppress(NothingToRescue):
        salvage(bad)


@pytest.mark.parametrize("seeds", [range(n, n + 10) for n in range(0, 60, 10)], ids=lambda r: str(r.start))
def test_no_engine_is_called_whole_that_lacks_a_row(filled: Path, bad: Path, seeds: range) -> None:
    whole = filled.read_bytes()
    with closing(sqlite3.connect(filled)) as file:
        kept = _by_engine(file)
    for seed in seeds:
        bad.write_bytes(_damaged(whole, seed))
        with suppress(NothingToRescue):
            report, found = _compared(bad)
            assert [serial for serial in report.whole if found[serial] != kept[serial]] == []
            assert {f.kind for f in report.faults if f.engine} <= {"deleted", NOT_COMPARED}


def _leaves(path: Path, table: str) -> list[int]:
    data = path.read_bytes()
    pages = _pages(data)
    root = _roots(path)[table]
    return pages.children(root) or [root]


def _without(filled: Path, bad: Path, table: str, *places: int) -> ChainReport:
    """What the chains say of a log that lost some pages of a table."""
    lost = [_leaves(filled, table)[place] for place in places]
    bad.write_bytes(_with_pages(filled.read_bytes(), _zeros, *lost))
    return _compared(bad)[0]


def test_rows_that_are_lost_are_counted_by_engine_and_the_others_are_whole(filled: Path, bad: Path) -> None:
    report = _without(filled, bad, "readings", 0)
    assert {fault.kind for fault in report.faults} == {"deleted"}
    lacking = {fault.engine for fault in report.faults}
    assert (
        "readings: rows 1 to 30 of the 30 that were written are gone (writing 1 of" in report.faults[0].text
    )
    assert len(report.faults) == len(lacking)
    assert 0 < len(lacking) < 10
    assert len(report.whole) == 40 - len(lacking)


def test_links_of_engines_that_are_lost_are_made_anew_from_their_rows(filled: Path, bad: Path) -> None:
    report = _without(filled, bad, "engine_links", 0)
    assert report.faults == []
    assert len(report.whole) == 40


def _without_links(filled: Path, bad: Path, *numbers: int, also: str = "kept_lines") -> ChainReport:
    """What the chains say of a log that lost some links of its own chain, and all rows of a table."""
    with closing(sqlite3.connect(filled)) as file:
        file.execute("VACUUM INTO ?", (str(bad),))
    with closing(sqlite3.connect(bad)) as file:
        file.execute("DROP TRIGGER IF EXISTS log_links_never_deleted")
        file.executemany("DELETE FROM log_links WHERE link_no = ?", [(number,) for number in numbers])
        file.commit()
    bad.write_bytes(_with_pages(bad.read_bytes(), _zeros, *_leaves(bad, also)))
    return _compared(bad)[0]


@pytest.mark.parametrize("lost", [(1,), (3,), (1, 2, 3)], ids=str)
def test_links_of_the_log_that_are_lost_are_made_anew_where_a_later_one_proves_them(
    filled: Path, bad: Path, lost: tuple[int, ...]
) -> None:
    report = _without_links(filled, bad, *lost)
    assert report.faults == []
    assert len(report.whole) == 40


def test_a_link_of_the_log_is_not_made_anew_where_anything_that_it_sealed_is_lost(
    filled: Path, bad: Path
) -> None:
    report = _without_links(filled, bad, 2, also="fact_seals")
    assert "link 2 of the log's chain is gone" in {fault.text for fault in report.faults}
    assert report.whole == []


def test_where_rows_and_the_seals_of_others_are_lost_nothing_is_called_whole(filled: Path, bad: Path) -> None:
    whole, roots = filled.read_bytes(), _roots(filled)
    lost = [roots["engine_links"], *_leaves(filled, "engine_links"), *_leaves(filled, "readings")]
    bad.write_bytes(_with_pages(whole, _zeros, *lost))
    report, _ = _compared(bad)
    assert report.whole == []
    assert {fault.kind for fault in report.faults if fault.engine} == {NOT_COMPARED}
    assert any("20 entries: no seal of them is left (writing 1 of" in fault.text for fault in report.faults)


def test_a_text_whose_salt_is_lost_is_not_called_changed(filled: Path, bad: Path) -> None:
    report = _without(filled, bad, "salts", 0)
    told = [fault for fault in report.faults if "owners o TB-" in fault.text]
    assert told
    assert {fault.kind for fault in told} == {NOT_COMPARED}
    assert "is not the text that was written, or its salt is lost" in told[0].text
    assert len(report.whole) == 40


def test_an_engine_whose_own_row_is_lost_is_named_by_its_chain(filled: Path, bad: Path) -> None:
    report = _without(filled, bad, "engines", 0)
    gone = [fault for fault in report.faults if fault.text.endswith("it is gone")]
    assert len(gone) > 1
    assert {fault.engine for fault in report.faults} == {fault.engine for fault in gone}
    serials = [f"TB-{n:03}" for n in range(40)]
    assert sorted([*report.whole, *(str(fault.engine) for fault in gone)]) == serials
    rescued = salvage(bad).batch
    assert Counter(entry.serial for entry in rescued.entries) == Counter(serials * 20)


def test_of_a_log_without_a_link_nothing_is_compared(filled: Path, bad: Path) -> None:
    lost = [_roots(filled)["log_links"], *_leaves(filled, "log_links")]
    bad.write_bytes(_with_pages(filled.read_bytes(), _zeros, *lost))
    found = salvage(bad)
    assert found.chains is None
    assert found.not_compared is not None
    assert "no link of its chains is left" in found.not_compared


def test_what_may_have_been_written_last_and_is_lost_makes_no_engine_whole(filled: Path, bad: Path) -> None:
    report = _without_links(filled, bad, 4)
    assert report.whole == []
    assert {fault.kind for fault in report.faults} == {NOT_COMPARED}
    told = "what sealed its last rows may be lost, so it is not known whether they are all there"
    assert sorted(str(f.engine) for f in report.faults if f.text == told) == report.engines


def _all_of_it_and_nothing_else(
    whole: bytes, damaged: bytes, path: Path, kept: Tables, known: sqlite3.Connection
) -> None:
    rows, remarks = _rows(path)
    del rows["alembic_version"]
    assert {name: found - kept[name] for name, found in rows.items() if found - kept[name]} == {}
    doubtful = {
        name for remark in remarks if "may be their table" in remark for name in kept if name in remark
    }
    for name, expected in _expected(whole, damaged, known).items():
        if name not in doubtful and name in rows:
            missing = Counter(expected) - rows[name]
            assert not missing, (name, list(missing)[:3])


def test_where_there_is_no_room_for_what_is_read_that_is_said(
    filled: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def small(connection: Connection, _: str) -> None:
        an_empty_one(connection, _)
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")

    an_empty_one = reading.migrating.migrate
    monkeypatch.setattr(reading.migrating, "migrate", small)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    with pytest.raises(NoRoomToRescue, match=rf"{tmp_path}, .*\(database or disk is full\).* by TMPDIR"):
        salvage(filled)
    assert list(tmp_path.iterdir()) == []


def test_what_stands_in_the_log_written_ahead_is_read(filled: Path, bad: Path) -> None:
    kept = _kept(filled)
    bad.write_bytes(filled.read_bytes())
    with closing(sqlite3.connect(bad)) as file:
        file.execute("PRAGMA wal_autocheckpoint = 0")
        file.execute("INSERT INTO owners VALUES (99, 'new', 'New Owner', NULL, NULL, NULL, NULL, 1, 1)")
        file.commit()
        rows, remarks = _rows(bad)
    assert remarks == []
    (added,) = rows["owners"] - kept["owners"]
    assert added[1] == "new"


def test_rows_deleted_do_not_come_back(filled: Path, bad: Path) -> None:
    bad.write_bytes(filled.read_bytes())
    with closing(sqlite3.connect(bad)) as file:
        file.execute("DROP TRIGGER visits_never_deleted")
        file.execute("DELETE FROM visits WHERE visit_no > 100")
        file.commit()
        file.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        assert file.execute("PRAGMA freelist_count").fetchone() > (5,)
    left = _kept(bad)["visits"]
    root = _roots(bad)["visits"]
    bad.write_bytes(_with_pages(bad.read_bytes(), _zeros, root))
    assert _rows(bad)[0]["visits"] == left


def test_of_a_log_of_an_older_version_all_rows_are_read(bad: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    an_empty_log(str(bad)).dispose()
    from fleetlog.store.connecting import begin_to_write, connect
    from fleetlog.store.place import place_of

    engine = connect(place_of(str(bad)), foreign_keys=False)
    with engine.connect() as connection, begin_to_write(connection):
        migrating.migrate(connection, "0011")
    engine.dispose()
    with closing(sqlite3.connect(bad)) as file:
        file.execute("INSERT INTO writings VALUES (1, 5, 'Kim')")
        file.execute("INSERT INTO changes VALUES ('owners', 'o', 1, 'name', 'A', 737000, 6, 'Kim', 1)")
        file.commit()
    (change,) = salvage(bad).batch.changes
    assert (change.key, change.was, change.reason) == ("o", "A", None)

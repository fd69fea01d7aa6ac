"""A log copied between databases is the same on both sides, or not there."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import Connection, text

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Owner
from fleetlog.errors.log import RowsRefused
from fleetlog.errors.safekeeping import CopyDiffers, CopyNeedsEmptyLog
from fleetlog.store import copying
from fleetlog.store.connecting import connect
from fleetlog.store.log import Log
from fleetlog.store.models.ledger import Base
from fleetlog.store.opening import open_log
from tests.store.rows import AT, a_marina
from tests.store.schemas import schema_text


@pytest.fixture
def file_log(whole_file: Path, tmp_path: Path) -> Iterator[Log]:
    """A log of every kind of row in a SQLite file."""
    path = tmp_path / "source.sqlite"
    path.write_bytes(whole_file.read_bytes())
    log = open_log(str(path), at=AT)
    with log.writing("Kim", AT) as writer:
        writer.add(a_marina())
    with log.writing("Lou", AT) as writer:
        writer.rule_on_reading("r1", "confirmed", "asked")
    yield log
    log.dispose()


def _head(log: Log) -> tuple[Batch, str]:
    with log.reading() as reader:
        return reader.batch(), reader.head()


def test_a_copy_from_a_file_holds_the_same_rows_and_chains(file_log: Log, log: Log) -> None:
    copied, chains = file_log.copy_into(log)
    assert set(copied.rows) == set(Base.metadata.tables)
    assert copied.rows["entries"] == 3
    assert copied.rows["rulings"] == 3
    assert copied.rows["log_links"] == 2
    assert chains.faults == []
    assert _head(log) == _head(file_log)
    assert [said.partition(":")[0] for said in copied.paper_faults] == ["paper p1 of visit v1"]


def test_a_copy_back_into_a_file_is_the_first_log_again(
    file_log: Log, log: Log, whole_file: Path, tmp_path: Path
) -> None:
    file_log.copy_into(log)
    path = tmp_path / "back.sqlite"
    path.write_bytes(whole_file.read_bytes())
    back = open_log(str(path), at=AT)
    _, chains = log.copy_into(back)
    assert chains.faults == []
    assert _head(back) == _head(file_log)
    back.dispose()


def test_a_copy_goes_on_like_any_log(file_log: Log, log: Log) -> None:
    file_log.copy_into(log)
    with log.writing("Lou", AT) as writer:
        writer.add(Batch(owners=[Owner("new", "New")], entries=[]))
    with log.reading() as reader:
        assert reader.check_chains().faults == []
        assert reader.owners()["new"] == Owner("new", "New")


def test_a_copy_leaves_the_tables_as_they_were_made(file_log: Log, log: Log) -> None:
    def made(of: Log) -> list[str]:
        with of.reading() as reader:
            return schema_text(reader._connection)

    before = made(log)
    assert any("FOREIGN KEY" in line for line in before)
    file_log.copy_into(log)
    assert made(log) == before


def test_a_row_that_refers_to_nothing_takes_the_whole_copy_back(file_log: Log, log: Log) -> None:
    engine = connect(file_log.place, foreign_keys=False)
    with engine.begin() as connection:
        connection.execute(text("UPDATE boats SET owner_id = 'nobody' WHERE boat_id = 'tern'"))
    engine.dispose()
    with pytest.raises(RowsRefused):
        file_log.copy_into(log)
    assert _head(log)[0] == Batch()


@pytest.mark.usefixtures("spoiled")
def test_a_copy_that_is_taken_back_leaves_no_file(file_log: Log, tmp_path: Path) -> None:
    place = tmp_path / "copy" / "log.sqlite"
    copy = open_log(str(place), at=AT)
    with pytest.raises(CopyDiffers):
        file_log.copy_into(copy)
    copy.dispose()
    assert not place.parent.exists()


def test_nothing_is_copied_into_a_log_that_holds_rows(file_log: Log, new_log: Callable[[], Log]) -> None:
    target = new_log()
    with target.writing("Kim", AT) as writer:
        writer.add(Batch(owners=[Owner("ann", "Ann")]))
    before = _head(target)
    with pytest.raises(CopyNeedsEmptyLog, match="holds rows already"):
        file_log.copy_into(target)
    assert _head(target) == before


@pytest.fixture
def spoiled(monkeypatch: pytest.MonkeyPatch) -> None:
    """Has a row of the copy read back otherwise."""

    def insert_and_spoil(connection: Connection, table: str, columns: list[str], rows: object) -> None:
        insert(connection, table, columns, rows)  # type: ignore[arg-type]
        if table == "owners":
            connection.execute(text("UPDATE owners SET phone = '0124' WHERE phone = '0123'"))

    insert = copying.insert_rows
    monkeypatch.setattr(copying, "insert_rows", insert_and_spoil)


@pytest.mark.usefixtures("spoiled")
def test_a_row_that_reads_back_otherwise_takes_the_whole_copy_back(file_log: Log, log: Log) -> None:
    with pytest.raises(CopyDiffers, match="row 1 of owners"):
        file_log.copy_into(log)
    assert _head(log)[0] == Batch()

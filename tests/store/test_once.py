"""Nothing is recorded twice: keys, races that were lost, and confirmations that never came."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Engine, Entry, Owner
from fleetlog.errors import FleetlogError
from fleetlog.errors.log import (
    AlreadyRecorded,
    ConnectionLost,
    KeyOfAnother,
    LogBusy,
    LostRace,
    OutcomeUnknown,
    RowsRefused,
)
from fleetlog.store import connecting, once
from fleetlog.store import log as log_module
from fleetlog.store.log import Log
from fleetlog.store.once import Once, mark_of
from tests.conftest import AT, on_postgresql


def add_owner(log: Log, owner_id: str) -> None:
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(owners=[Owner(owner_id, owner_id)]))


def owners(log: Log) -> list[str]:
    with log.reading() as reader:
        return sorted(reader.owners())


def test_under_one_key_something_is_recorded_once(log: Log) -> None:
    log.once = Once("visit 7")
    add_owner(log, "a")
    log.once = Once("visit 7")
    with pytest.raises(AlreadyRecorded, match=r"under the key visit 7, by Kim on 2026-04-01 at 12:00 UTC"):
        add_owner(log, "b")
    assert owners(log) == ["a"]


def test_something_else_under_a_used_key_is_refused(log: Log) -> None:
    said, other = mark_of(["owner", "add", "a"]), mark_of(["owner", "add", "b"])
    assert said != other
    log.once = Once("k", said)
    add_owner(log, "a")
    for again, refusal in ((said, AlreadyRecorded), (None, AlreadyRecorded), (other, KeyOfAnother)):
        log.once = Once("k", again)
        with pytest.raises(refusal, match=r"the key k.*by Kim on 2026-04-01 at 12:00 UTC"):
            add_owner(log, "b")
    assert owners(log) == ["a"]


def test_a_key_without_a_mark_stands_for_whatever_is_said(log: Log) -> None:
    log.once = Once("k")
    add_owner(log, "a")
    log.once = Once("k", mark_of(["x"]))
    with pytest.raises(AlreadyRecorded):
        add_owner(log, "b")


def test_a_key_is_used_up_by_one_writing(log: Log) -> None:
    log.once = Once("k")
    add_owner(log, "a")
    add_owner(log, "b")
    assert owners(log) == ["a", "b"]


def test_what_was_refused_or_wrote_nothing_leaves_its_key_free(log: Log) -> None:
    add_owner(log, "a")
    log.once = Once("k")
    with pytest.raises(RowsRefused):
        add_owner(log, "a")
    with log.writing("Kim", AT):
        pass
    log.once = Once("k")
    add_owner(log, "b")
    assert owners(log) == ["a", "b"]


def test_the_chains_hold_with_keys(log: Log) -> None:
    log.once = Once("k")
    add_owner(log, "a")
    with log.reading() as reader:
        assert reader.check_chains().faults == []


def test_of_two_at_once_under_one_key_one_is_recorded(log_place: Callable[[], str]) -> None:
    place, said = log_place(), []
    start = threading.Barrier(2)

    def write(owner_id: str) -> None:
        log = log_module.Log(*opened(place))
        log.once = Once("k")
        start.wait()
        try:
            add_owner(log, owner_id)
        except FleetlogError as error:
            said.append(type(error))
        log.dispose()

    threads = [threading.Thread(target=write, args=(owner_id,)) for owner_id in "ab"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    log = log_module.Log(*opened(place))
    assert len(owners(log)) == 1
    log.dispose()
    assert len(said) == 1
    assert said[0] is AlreadyRecorded or issubclass(said[0], LostRace)


def test_who_says_the_same_under_one_key_meanwhile_waits_before_anything_is_looked_at(
    log_place: Callable[[], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connecting, "BUSY_SECONDS", 0.05)
    place = log_place()
    first, again = log_module.Log(*opened(place)), log_module.Log(*opened(place))
    first.once = again.once = Once("k")
    with first.writing("Kim", AT) as writer:
        writer.add(Batch(owners=[Owner("a", "A")]))
        with pytest.raises(LogBusy), again.writing("Kim", AT):
            pytest.fail("it would be judged beside the first, and refused as said already")
    with pytest.raises(AlreadyRecorded):
        add_owner(again, "a")
    first.dispose()
    again.dispose()


def opened(place: str) -> tuple[Any, Any, list[str]]:
    from fleetlog.store.connecting import connect
    from fleetlog.store.place import place_of

    return place_of(place), connect(place_of(place)), []


# PostgreSQL: what may be lost on the way


@pytest.fixture
def postgresql_log(log: Log, store: str) -> Log:
    """A log on PostgreSQL."""
    return log


@on_postgresql
def test_a_connection_that_breaks_before_the_commit_keeps_nothing_and_may_be_tried_again(
    postgresql_log: Log,
) -> None:
    def break_off() -> None:
        with postgresql_log.writing("Kim", AT) as writer:
            writer.add(Batch(owners=[Owner("a", "A")]))
            pid = writer._connection.exec_driver_sql("SELECT pg_backend_pid()").scalar()
            writer.seal()
            with postgresql_log._engine.connect() as other:
                other.execute(text("SELECT pg_terminate_backend(:pid, 5000)"), {"pid": pid})

    with pytest.raises(ConnectionLost, match="nothing was recorded; try again"):
        break_off()
    assert owners(postgresql_log) == []


@on_postgresql
@pytest.mark.parametrize("said_by", ["the driver", "the server"])
def test_a_connection_that_breaks_amid_a_writing_keeps_nothing_and_may_be_tried_again(
    postgresql_log: Log, said_by: str
) -> None:
    def break_off() -> None:
        with postgresql_log.writing("Kim", AT) as writer:
            writer.add(Batch(owners=[Owner("a", "A")]))
            pid = writer._connection.exec_driver_sql("SELECT pg_backend_pid()").scalar()
            with postgresql_log._engine.connect() as other:
                other.execute(text("SELECT pg_terminate_backend(:pid, 5000)"), {"pid": pid})
            if said_by == "the driver":
                with pytest.raises(DBAPIError):
                    writer.owners()
            writer.owners()

    with pytest.raises(ConnectionLost, match="nothing was recorded; try again"):
        break_off()
    assert owners(postgresql_log) == []
    add_owner(postgresql_log, "a")
    assert owners(postgresql_log) == ["a"]


def lose_the_answer(log: Log, monkeypatch: pytest.MonkeyPatch) -> None:
    """Lets the next commit reach the server while its answer is lost."""
    dialect = log._engine.dialect
    commit = dialect.do_commit

    def commit_and_break(dbapi_connection: Any) -> None:
        monkeypatch.setattr(dialect, "do_commit", commit)
        commit(dbapi_connection)
        dbapi_connection.driver_connection.close()
        raise dialect.loaded_dbapi.OperationalError("server closed the connection unexpectedly")

    monkeypatch.setattr(dialect, "do_commit", commit_and_break)


@on_postgresql
def test_a_confirmation_that_was_lost_is_found_out(
    postgresql_log: Log, monkeypatch: pytest.MonkeyPatch
) -> None:
    lose_the_answer(postgresql_log, monkeypatch)
    add_owner(postgresql_log, "a")
    assert owners(postgresql_log) == ["a"]


@on_postgresql
def test_where_nobody_answers_the_person_is_told_that_it_is_not_known(
    postgresql_log: Log, monkeypatch: pytest.MonkeyPatch
) -> None:
    lose_the_answer(postgresql_log, monkeypatch)
    monkeypatch.setattr(once, "was_kept", lambda *_: None)
    with pytest.raises(OutcomeUnknown, match="not known: look it up"):
        add_owner(postgresql_log, "a")


@on_postgresql
def test_a_deadlock_is_a_lost_race(log_place: Callable[[], str]) -> None:
    place, lost = log_place(), []
    log = log_module.Log(*opened(place))
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(engines=[Engine("A"), Engine("B")]))
    start = threading.Barrier(2)

    def write(first: str, second: str) -> None:
        own = log_module.Log(*opened(place))
        try:
            with own.writing("Kim", AT) as writer:
                writer.engine_numbers([first])
                start.wait()
                writer.engine_numbers([second])
                writer.add(Batch(entries=[Entry(first, first, AT.date(), "serviced")]))
        except LostRace as error:
            lost.append(error)
        own.dispose()

    threads = [threading.Thread(target=write, args=pair) for pair in (("A", "B"), ("B", "A"))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(lost) == 1
    with log.reading() as reader:
        assert len(reader.batch().entries) == 1
    log.dispose()

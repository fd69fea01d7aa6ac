"""A refresh comes to the same on one process and on two, and a check finds what is kept wrongly."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import Connection, event, text

from fleetlog.domain.ledger import EngineLedger
from fleetlog.errors.log import LogDiskFull
from fleetlog.store.connecting import connect
from fleetlog.store.kept.lines import KeptRows, Seen, keep_engines
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases import learning, refreshing
from fleetlog.usecases.checking import check_log
from fleetlog.usecases.demo import DEMO_TODAY
from fleetlog.usecases.learning import serving_fit
from fleetlog.usecases.refreshing import bring_up_to_date, kept_problems, refresh_log


def execute(log: Log, statement: str) -> None:
    """A statement of somebody who does not go through the store's functions."""
    engine = connect(log.place)
    with engine.begin() as connection:
        connection.execute(text(statement))
    engine.dispose()


def problems(log: Log, today: date = DEMO_TODAY) -> list[str]:
    with log.reading() as reader:
        return kept_problems(reader, today)


def everything_kept(log: Log) -> object:
    with log.reading() as reader:
        return reader.kept.engines(reader.serials())


def test_two_processes_keep_what_one_keeps(small_log: Log, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(refreshing, "WORTH_A_PROCESS", 1)
    monkeypatch.setattr(refreshing, "ENGINES_AT_ONCE", 6)
    told: list[tuple[int, int]] = []
    found = []
    for processes in (1, 2):
        done = refresh_log(
            small_log, DEMO_TODAY, processes=processes, advance=lambda *done: told.append(done)
        )
        assert done.kept == done.engines == told[-1][0] == told[-1][1]
        found.append(everything_kept(small_log))
    assert found[0] == found[1]
    assert problems(small_log) == []


def test_a_refresh_learns_the_use_of_the_fleet_anew(small_log: Log) -> None:
    later = DEMO_TODAY + timedelta(days=3)
    refresh_log(small_log, later)
    with small_log.reading() as reader:
        fit = serving_fit(reader, later)
        assert fit is not None
        assert fit.fitted_on == later
        assert reader.kept.out_of_date(fit.content_id, later) == []


def test_a_small_fleet_is_read_once_for_its_fit_and_its_lines(
    small_log: Log, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[str] = []
    ledgers = Reader.ledgers

    def noted(reader: Reader, serials: Iterable[str]) -> Iterator[EngineLedger]:
        asked = list(serials)
        read.extend(asked)
        return ledgers(reader, asked)

    monkeypatch.setattr(Reader, "ledgers", noted)
    refresh_log(small_log, DEMO_TODAY)
    at_once = everything_kept(small_log)
    with small_log.reading() as reader:
        assert read == reader.serials()
    monkeypatch.setattr(refreshing, "ENGINES_AT_ONCE", 6)
    refresh_log(small_log, DEMO_TODAY)
    assert len(read) == 3 * len(set(read))
    assert everything_kept(small_log) == at_once


@pytest.mark.parametrize("days", [-300, 0, 5, 300])
def test_what_is_kept_is_sound_whatever_the_day_of_the_check(small_log: Log, days: int) -> None:
    assert problems(small_log, DEMO_TODAY + timedelta(days=days)) == []


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE kept_lines SET due_on = due_on + 1", "due_on: "),
        ("UPDATE kept_lines SET late_on = late_on - 1", "late_on: "),
        ("UPDATE kept_lines SET shows_on = NULL", "shows_on: None is kept, the ledger tells "),
        ("DELETE FROM kept_lines", "is missing, and the ledger has it"),
        ("UPDATE kept_lines SET rule = 'no such rule' WHERE line_no = 0", "is kept, and the ledger has none"),
        ("UPDATE kept_engines SET read_tenths = 7", "read_tenths: 7 is kept, the ledger tells "),
        ("UPDATE kept_engines SET last_on = last_on - 1", "last_on: "),
        ("DELETE FROM forecast_parameters", "rest on a fit "),
    ],
)
def test_what_differs_from_the_ledgers_is_named(small_log: Log, statement: str, said: str) -> None:
    execute(small_log, statement)
    found = problems(small_log)
    assert any(said in problem for problem in found)
    assert all("`fleetlog refresh`" in problem for problem in found)


def test_a_check_finds_it_and_a_refresh_puts_it_right(small_log: Log) -> None:
    execute(small_log, "UPDATE kept_lines SET due_on = due_on + 1")
    assert check_log(small_log, DEMO_TODAY).problems
    refresh_log(small_log, DEMO_TODAY)
    assert check_log(small_log, DEMO_TODAY).problems == []


def test_what_rests_on_a_fit_of_another_version_is_out_of_date_and_no_problem(
    small_log: Log, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(learning, "FIT_FORM", learning.FIT_FORM + 1)
    learning.is_readable.cache_clear()
    assert problems(small_log) == []
    learning.is_readable.cache_clear()


def test_lines_of_another_form_are_out_of_date_though_the_parameters_are_the_same(
    small_log: Log, monkeypatch: pytest.MonkeyPatch
) -> None:
    refresh_log(small_log, DEMO_TODAY)
    monkeypatch.setattr(learning, "FIT_FORM", learning.FIT_FORM + 1)
    for cached in (learning.is_readable, learning.fit_name):
        cached.cache_clear()
    with small_log.reading() as reader:
        parameters = learning.learn_use(reader, DEMO_TODAY)
        assert reader.kept.out_of_date(learning.fit_name(parameters), DEMO_TODAY) == reader.serials()
    for cached in (learning.is_readable, learning.fit_name):
        cached.cache_clear()


def test_an_engine_that_is_out_of_date_is_no_problem(small_log: Log) -> None:
    with small_log.reading() as reader:
        reading = next(r for ledger in reader.ledgers() for r in ledger.readings)
    with small_log.writing("Kim", datetime(2026, 4, 15, tzinfo=UTC)) as writer:
        writer.rule_on_reading(reading.reading_id, "withdrawn")
    assert problems(small_log) == []


def test_a_refresh_that_a_full_disk_refuses_is_not_said_to_be_done(
    small_log: Log, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: object) -> None:
        error = sqlite3.OperationalError("database or disk is full")
        error.sqlite_errorcode = sqlite3.SQLITE_FULL
        raise error

    def keep_and_fill(connection: Connection, engines: Sequence[KeptRows], seen: Mapping[str, Seen]) -> int:
        event.listen(connection, "commit", full)
        return keep_engines(connection, engines, seen)

    with small_log.reading() as reader:
        serials = reader.serials()
    with monkeypatch.context() as patched:
        patched.setattr("fleetlog.store.kept.lines.keep_engines", keep_and_fill)
        assert bring_up_to_date(small_log, DEMO_TODAY, serials) == 0
        with pytest.raises(LogDiskFull, match="is full"):
            refresh_log(small_log, DEMO_TODAY)
    assert refresh_log(small_log, DEMO_TODAY).kept == len(serials)

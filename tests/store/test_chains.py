"""The chains: what is written is sealed, and each kind of corruption behind its back is found and named."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import text

from fleetlog.domain.batch import Batch
from fleetlog.domain.chain import Fault, salt_digest
from fleetlog.domain.records import Reading
from fleetlog.store import row_reader
from fleetlog.store.chain import salts
from fleetlog.store.chain.check import ChainReport, seal_all
from fleetlog.store.connecting import connect
from fleetlog.store.forgetting import Cell
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from tests.store.rows import AT, a_marina

SERIAL = a_marina().engines[0].serial


def a_reading(reading_id: str, tenths: int, by: str = "Kim") -> Reading:
    return Reading(reading_id, SERIAL, date(2026, 3, 1), tenths, "seen on the berth", None, by)


@pytest.fixture
def filled(log: Log) -> Log:
    """A log written to by two people, with ends filled in and facts changed."""
    with log.writing("Kim", AT) as writer:
        writer.add(a_marina())
    with log.writing("Jo", AT) as writer:
        writer.add(Batch(readings=[a_reading(f"later-{n}", 9000 + n) for n in range(4)]))
        writer.change("owners", replace(a_marina().owners[0], phone="0999"), date(2026, 3, 2))
    return log


def report_of(log: Log) -> ChainReport:
    with log.reading() as reader:
        return reader.check_chains()


def behind_its_back(log: Log, *statements: str) -> None:
    """What somebody does who knows SQL and takes the guards off first."""
    engine = connect(log.place, foreign_keys=False)
    with engine.begin() as connection:
        if connection.dialect.name == "postgresql":
            connection.exec_driver_sql("SET LOCAL session_replication_role = replica")
        else:
            names = connection.exec_driver_sql(
                "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
            ).all()
            for name, _ in names:
                connection.exec_driver_sql(f"DROP TRIGGER {name}")
        for statement in statements:
            connection.execute(text(statement))
    engine.dispose()


def only_fault(log: Log) -> Fault:
    faults = report_of(log).faults
    assert len(faults) == 1, faults
    return faults[0]


def test_a_writing_of_many_rows_is_sealed_as_one_of_few(log: Log, monkeypatch: pytest.MonkeyPatch) -> None:
    """Texts are let go of, and engines are told to get no more rows of some kinds, amid the writing."""
    monkeypatch.setattr(salts, "_AT_ONCE", 1)
    monkeypatch.setattr(row_reader, "KEYS_AT_ONCE", 0)
    marina = a_marina()
    before = [*marina.readings]
    late = {kind: getattr(marina, kind) for kind in ("deferrals", "voids", "torques", "answers")}
    for kind in late:
        setattr(marina, kind, [])
    with log.writing("Kim", AT) as writer:
        writer.add(marina)
        writer.end_kinds("readings", "entries")
        writer.add(Batch(**late))
    report = report_of(log)
    assert report.faults == []
    with log.reading() as reader:
        assert reader.batch().readings == before


def test_rows_of_a_kind_that_was_said_to_have_no_more_are_not_kept(log: Log) -> None:
    with log.writing("Kim", AT) as writer:
        writer.add(a_marina())

    def one_and_another() -> None:
        with log.writing("Kim", AT) as writer:
            writer.add(Batch(readings=[a_reading("one", 9000)]))
            writer.end_kinds("readings")
            writer.add(Batch(readings=[a_reading("two", 9001)]))

    with pytest.raises(ValueError, match="came after"):
        one_and_another()
    with log.reading() as reader:
        assert reader.batch().readings == a_marina().readings


def test_what_the_log_wrote_itself_is_in_order(filled: Log) -> None:
    report = report_of(filled)
    assert report.faults == []
    with filled.reading() as reader:
        assert report.heads[-1] == reader.head() != report.heads[0]


def test_what_is_written_after_a_seal_is_sealed_on_its_own(filled: Log) -> None:
    with filled.writing("Jo", AT) as writer:
        writer.add(Batch(readings=[a_reading("before", 9100)]))
        writer.seal()
        writer.add(Batch(readings=[a_reading("after", 9200)]))
    report = report_of(filled)
    assert report.faults == []
    assert len(report.heads) == 4


def test_ends_filled_in_later_are_sealed_too(filled: Log) -> None:
    marina = a_marina()
    open_visit = next(visit for visit in marina.visits if visit.closed_on is None)
    with filled.writing("Jo", AT) as writer:
        writer.end("visits", open_visit.visit_id, date(2026, 5, 1))
    assert report_of(filled).faults == []
    number = date(2026, 5, 2).toordinal()
    behind_its_back(
        filled, f"UPDATE visits SET closed_on = {number} WHERE visit_id = '{open_visit.visit_id}'"
    )
    fault = only_fault(filled)
    assert fault.kind == "changed"
    assert f"visits ended {open_visit.visit_id}" in fault.text


@pytest.fixture
def ended(filled: Log) -> Log:
    """A log in which a tool, a term, a supersession and a wish came to an end, each for a reason."""
    day = date(2026, 5, 1)
    with filled.writing("Jo", AT) as writer:
        writer.end("tools", next(t.tool_id for t in a_marina().tools if t.retired_on is None), day, "worn")
        writer.end("terms", "w2", day, "sold")
        writer.end("supersessions", ("P-2", "P-3"), day, None)
        writer.end("wishes", "w2", day, "back early")
    return filled


def test_why_an_end_came_is_sealed_with_it(ended: Log) -> None:
    assert report_of(ended).faults == []
    with ended.reading() as reader:
        assert reader.existing("terms", ["w2"])["w2"].withdrawn_reason == "sold"
    behind_its_back(ended, "UPDATE wishes SET end_reason = 'forgot' WHERE wish_id = 'w2'")
    fault = only_fault(ended)
    assert "wishes ended w2" in fault.text
    assert "end_reason" in fault.text


def test_a_reason_cannot_be_put_to_an_end_afterwards_unseen(ended: Log) -> None:
    behind_its_back(ended, "UPDATE supersessions SET end_reason = 'x' WHERE part_number = 'P-2'")
    assert "supersessions ended P-2" in only_fault(ended).text


def test_why_an_end_came_can_be_forgotten(ended: Log) -> None:
    with ended.writing("Jo", AT) as writer:
        writer.erase(
            [Cell("tools", (1 + [t.retired_on for t in a_marina().tools].index(None),), "end_reason", "worn")]
        )
    assert report_of(ended).faults == []


def test_a_row_that_was_edited_is_named(filled: Log) -> None:
    behind_its_back(filled, "UPDATE readings SET meter_tenths = 1 WHERE reading_id = 'later-2'")
    fault = only_fault(filled)
    assert (fault.kind, fault.engine) == ("changed", SERIAL)
    assert fault.text == ("readings later-2: it is not as it was written (writing 2 of 2026-04-01 by Jo)")


def test_a_text_that_was_edited_is_told_from_one_whose_salt_is_gone(filled: Log) -> None:
    behind_its_back(filled, "UPDATE entries SET note = 'nothing was wrong' WHERE note IS NOT NULL")
    faults = report_of(filled).faults
    assert {fault.kind for fault in faults} == {"changed"}
    assert "its note is not the text that was written" in faults[0].text


def test_a_salt_that_is_missing_is_found(filled: Log) -> None:
    digest = salt_digest("seen on the berth")
    behind_its_back(filled, f"DELETE FROM salts WHERE digest = '{digest}'")
    faults = report_of(filled).faults
    assert [fault.kind for fault in faults] == ["salt missing"] * 4
    assert "readings later-0: the salt of its source is gone" in faults[0].text


def test_a_row_that_was_deleted_is_counted(filled: Log) -> None:
    behind_its_back(filled, "DELETE FROM readings WHERE reading_id = 'later-1'")
    fault = only_fault(filled)
    assert (fault.kind, fault.engine) == ("deleted", SERIAL)
    assert fault.text.startswith("readings: row 2 of the 4 that were written is gone (writing 2")


def test_rows_that_were_deleted_are_told_together(filled: Log) -> None:
    behind_its_back(filled, "DELETE FROM readings WHERE reading_id IN ('later-0', 'later-1', 'later-3')")
    assert only_fault(filled).text.startswith(
        "readings: rows 1 to 2, 4 of the 4 that were written are gone ("
    )


def test_a_row_that_was_put_in_is_named(filled: Log) -> None:
    behind_its_back(
        filled,
        "INSERT INTO readings (engine_no, sequence, reading_id, read_on, meter_tenths, writing_no)"
        " SELECT engine_no, sequence + 1, 'made-up', read_on, 5, writing_no FROM readings"
        " WHERE reading_id = 'later-3'",
    )
    fault = only_fault(filled)
    assert (fault.kind, fault.engine) == ("inserted", SERIAL)
    assert "readings made-up: no writing sealed it" in fault.text


def test_rows_that_changed_places_are_named(filled: Log) -> None:
    behind_its_back(
        filled,
        "UPDATE readings SET sequence = sequence + 1000 WHERE reading_id = 'later-0'",
        "UPDATE readings SET sequence = sequence - 1 WHERE reading_id = 'later-1'",
        "UPDATE readings SET sequence = sequence - 999 WHERE reading_id = 'later-0'",
    )
    faults = report_of(filled).faults
    assert [(fault.kind, fault.engine) for fault in faults] == [("reordered", SERIAL)] * 2
    assert "readings later-1" in faults[0].text
    assert "readings later-0" in faults[1].text


def test_a_tail_that_was_cut_off_is_found_by_the_head_that_was_printed(filled: Log) -> None:
    printed = report_of(filled).heads[-1]
    behind_its_back(
        filled,
        "DELETE FROM readings WHERE writing_no = 2",
        "DELETE FROM changes WHERE writing_no = 2",
        "DELETE FROM fact_seals WHERE link_no = 2",
        "DELETE FROM engine_links WHERE link_no = 2",
        "DELETE FROM log_links WHERE link_no = 2",
        "UPDATE owners SET phone = '0123', writing_no = 1 WHERE writing_no = 2",
        "DELETE FROM writings WHERE writing_no = 2",
    )
    report = report_of(filled)
    assert report.faults == []
    assert printed not in report.heads


@pytest.mark.parametrize(
    ("statement", "kind", "said"),
    [
        ("UPDATE owners SET email = 'x@example.org' WHERE owner_id = 'bo'", "changed", "owners bo"),
        ("UPDATE engines SET model = 'other' WHERE engine_no = 1", "changed", f"engines {SERIAL}"),
        ("UPDATE writings SET recorded_by = 'Sam' WHERE writing_no = 2", "changed", "its person is not"),
        ("UPDATE writings SET recorded_at = 5 WHERE writing_no = 2", "changed", "its moment was changed"),
        ("UPDATE log_links SET head = 'x' WHERE link_no = 2", "changed", "link 2 of the log's chain"),
        ("UPDATE fact_seals SET digest = 'x' WHERE link_no = 2", "changed", "seals of owners"),
        ("UPDATE engine_links SET head = 'x' WHERE link_no = 2", "changed", "links of engines"),
        ("DELETE FROM engine_links WHERE link_no = 2", "changed", "links of engines"),
        ("DELETE FROM log_links WHERE link_no = 1", "deleted", "link 1 of the log's chain is gone"),
        ("DELETE FROM visits WHERE visit_no = 1", "deleted", "visits: row"),
        ("INSERT INTO writings (recorded_at, recorded_by) VALUES (5, 'Sam')", "inserted", "by Sam is in no"),
        (
            "INSERT INTO owners (owner_id, name, writing_no) VALUES ('new', 'Sam', 2)",
            "inserted",
            "owners new: no writing sealed it",
        ),
    ],
)
def test_each_kind_of_corruption_is_told(filled: Log, statement: str, kind: str, said: str) -> None:
    behind_its_back(filled, statement)
    found = [fault for fault in report_of(filled).faults if fault.kind == kind and said in fault.text]
    assert found, report_of(filled).faults


def test_a_log_made_before_there_were_chains_gets_its_own(new_place: Callable[[], str]) -> None:
    place = new_place()
    log = open_log(place, at=AT)
    with log.writing("Kim", AT) as writer:
        writer.add(a_marina())
    behind_its_back(
        log, *(f"DELETE FROM {table}" for table in ("fact_seals", "engine_links", "log_links", "salts"))
    )
    assert report_of(log).faults
    engine = connect(log.place)
    with engine.begin() as connection:
        seal_all(connection)
    engine.dispose()
    assert report_of(log).faults == []
    with log.writing("Jo", AT) as writer:
        writer.add(Batch(readings=[a_reading("after", 9000)]))
    assert report_of(log).faults == []
    log.dispose()

"""An engine whose serial number was corrected is the same one: rows, chain, and what names it in a text."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import select

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Engine, Entry
from fleetlog.domain.renumbered import renumbered
from fleetlog.errors.log import WrittenMeanwhile
from fleetlog.store.log import Log
from fleetlog.store.shapes import SHAPES
from tests.conftest import on_postgresql
from tests.store.rows import AT, a_marina, in_ledger_order
from tests.store.test_chains import behind_its_back

ON = date(2026, 4, 1)
RIGHT = {"AB-1001": "AB-1010", "ab-1002": "AB-2001"}


def a_corrected_marina() -> Batch:
    """The marina with the engines' right numbers in all that names them, and the two corrections."""
    marina = a_marina()
    rows = {kind: renumbered(kind, rows, RIGHT, own=True) for kind, rows in marina.by_kind()}
    return Batch(**rows)


@pytest.fixture
def corrected(log: Log) -> Log:
    with log.writing("Kim", AT) as writer:
        writer.add(a_marina())
    with log.writing("Kim", AT) as writer:
        writer.note_extract("AB-1001", ON, "0" * 64)
    for wrong, right in RIGHT.items():
        with log.writing("Jo", AT) as writer:
            writer.correct_serial(wrong, right, ON, "read off the plate")
    return log


@on_postgresql
def test_a_number_corrected_by_another_since_it_was_looked_up_is_no_unknown_engine(
    log: Log, store: str
) -> None:
    with log.writing("Kim", AT) as writer:
        writer.add(a_marina())
    with pytest.raises(
        WrittenMeanwhile, match="AB-1001 at the same time, so nothing was recorded; try again"
    ):
        _look_up_correct_and_go_on(log)


def _look_up_correct_and_go_on(log: Log) -> None:
    with log.writing("Kim", AT) as writer:
        assert writer.has_engine("AB-1001")
        with log.writing("Jo", AT) as other:
            other.correct_serial("AB-1001", "AB-1010", ON, "read off the plate")
        writer.ledger("AB-1001")


def test_all_that_names_the_engine_names_it_by_the_right_number(corrected: Log) -> None:
    expected = a_corrected_marina()
    with corrected.reading() as reader:
        batch = reader.batch()
        ledger = reader.ledger("AB-1010")
        noted = reader.extract_of("0" * 64)
    told = [(c.key, c.was, c.by, c.reason) for c in batch.changes if c.field == "serial"]
    assert sorted(told) == [
        ("AB-1010", "AB-1001", "Jo", "read off the plate"),
        ("AB-2001", "ab-1002", "Jo", "read off the plate"),
    ]
    batch.changes = [c for c in batch.changes if c.field != "serial"]
    assert in_ledger_order(batch) == in_ledger_order(expected)
    assert '"AB-1010"' in (batch.bookings[0].jobs or "")
    assert (ledger.engine.serial, ledger.entries[0].from_serial) == ("AB-1010", "AB-2001")
    assert [c.field for c in ledger.changes] == ["boat_id", "serial"]
    assert [paper.paper_id for paper in ledger.papers] == ["p1", "p2"]
    assert ledger.engine_on(date(2021, 1, 1)).serial == "AB-1010"
    assert noted is not None
    assert noted.serial == "AB-1010"


def test_the_chains_hold_and_go_on(corrected: Log) -> None:
    with corrected.writing("Jo", AT) as writer:
        writer.add(Batch(entries=[Entry("later", "AB-1010", ON, "serviced", from_serial=None)]))
        writer.change("engines", replace(writer.ledger("AB-1010").engine, model="B"), ON)
    with corrected.reading() as reader:
        chains = reader.check_chains()
        heads = reader.engine_chain("AB-1010")
        noted = reader.extract_of("0" * 64)
    assert chains.faults == []
    assert chains.engines == ["AB-1010", "AB-2001", "X_9%"]
    assert noted is not None
    assert noted.engine_head in heads


def test_what_was_changed_is_told_by_the_right_number(corrected: Log) -> None:
    behind_its_back(
        corrected,
        "UPDATE engines SET model = 'other' WHERE serial = 'AB-1010'",
        "UPDATE changes SET was = 'other' WHERE field = 'serial'",
    )
    with corrected.reading() as reader:
        told = [str(fault) for fault in reader.check_chains().faults]
    assert any("engines AB-1010: it is not as it was last written" in text for text in told)
    assert sum("changes AB-1010 engines serial" in text for text in told) == 1
    assert not any("AB-1001" in text for text in told)


def test_rows_are_found_by_their_keys_under_the_right_number(corrected: Log) -> None:
    expected = a_corrected_marina()
    with corrected.reading() as reader:
        for kind, shape in SHAPES.items():
            rows = {shape.key_of(row): row for row in getattr(expected, kind)}
            assert reader.existing(kind, rows) == rows, kind
        assert reader.known("engines", [*RIGHT, *RIGHT.values()]) == set(RIGHT.values())
        assert reader.former_serials() == RIGHT


def test_what_is_written_later_names_it_as_it_was_entered(corrected: Log) -> None:
    fitted = Entry("given", "X_9%", ON, "fitted", item="pump", from_serial="AB-1010")
    with corrected.writing("Jo", AT) as writer:
        writer.add(Batch(entries=[fitted]))
    with corrected.reading() as reader:
        assert [e.from_serial for e in reader.entries_from("AB-1010")] == ["AB-1010"]
        entries = SHAPES["entries"].table.c
        query = select(entries.from_serial).where(entries.entry_id == "given")
        assert reader._connection.scalar(query) == "AB-1001"


def test_two_numbers_that_were_taken_for_each_other_are_changed_about(log: Log) -> None:
    entries = [
        Entry("of A", "A", ON, "fitted", item="pump", from_serial="B", sequence=1),
        Entry("of B", "B", ON, "fitted", item="pump", from_serial="A", sequence=1),
    ]
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(engines=[Engine("A"), Engine("B")], entries=entries))
    with log.writing("Kim", AT) as writer:
        for wrong, right in (("A", "C"), ("B", "A"), ("C", "B")):
            writer.correct_serial(wrong, right, ON, "twins")
    with log.reading() as reader:
        ledgers = list(reader.ledgers())
        assert reader.check_chains().faults == []
    assert [(led.engine.serial, led.entries[0].entry_id, led.entries[0].from_serial) for led in ledgers] == [
        ("B", "of A", "A"),
        ("A", "of B", "B"),
    ]


def test_a_correction_can_be_corrected(new_log: Callable[[], Log]) -> None:
    log = new_log()
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(engines=[Engine("A")]))
    for wrong, right in (("A", "B"), ("B", "C"), ("C", "A"), ("A", "D")):
        with log.writing("Kim", AT) as writer:
            writer.correct_serial(wrong, right, ON, "again")
    with log.reading() as reader:
        assert reader.former_serials() == {"A": "D", "B": "D", "C": "D"}
        assert [c.was for c in reader.ledger("D").changes] == ["A", "B", "C", "A"]
        assert reader.check_chains().faults == []

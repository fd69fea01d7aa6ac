"""Rows made many at once are those that their class makes one by one."""

from __future__ import annotations

from dataclasses import fields
from datetime import date
from decimal import Decimal

import pytest

from fleetlog.domain.evidence import Torque
from fleetlog.domain.many_rows import columns_of, rows_from
from fleetlog.domain.records import Entry, Reading

ON = date(2026, 3, 4)
ROWS = {
    Reading: [Reading("r1", "A1", ON, 120), Reading("r2", "A1", ON, 130, "dock", "confirmed", "Kim", 7)],
    Entry: [
        Entry("e1", "A1", ON, "fitted", item="impeller"),
        Entry("e2", "A2", ON, "rebuilt", scope="powerhead"),
    ],
    Torque: [Torque("t1", "A1", ON, "cover", Decimal(10), "lbf·ft", target=Decimal(12))],
}


@pytest.mark.parametrize("row_type", ROWS)
def test_rows_from_columns_are_as_their_class_makes_them(row_type: type) -> None:
    rows = ROWS[row_type]
    made = rows_from(row_type, columns_of(row_type, rows))
    assert made == rows
    assert list(map(hash, made)) == list(map(hash, rows))


def test_what_a_class_fills_in_by_itself_is_filled_in() -> None:
    [torque] = ROWS[Torque]
    columns = columns_of(Torque, [torque])
    columns[[f.name for f in fields(Torque)].index("applied_nm")] = [None]
    assert rows_from(Torque, columns) == [torque]
    assert torque.applied_nm is not None


def test_a_column_too_few_is_a_bug() -> None:
    with pytest.raises(ValueError, match="shorter"):
        rows_from(Reading, [["r1"], ["A1"]])

"""What lies beyond the bounds counts for nothing, and what lies at their very ends counts."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from fleetlog.domain.beyond import apart, is_within
from fleetlog.domain.bounds import MOST_MONTHS, YEARS
from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.promises import Term
from fleetlog.domain.records import Boat, Deferral, Engine, Entry, Layup, Meter, Mount, Reading, Void

FIRST, LAST = date(YEARS[0], 1, 1), date(YEARS[-1], 12, 31)
A_DAY = timedelta(days=1)
AT = datetime(2024, 5, 2, tzinfo=UTC)


def ledger_of(on: date, months: int) -> EngineLedger:
    """Every row that leads to a date, on a day, and each number of months."""
    layup = Layup("B", on, on)
    return EngineLedger(
        Engine("E1", in_service_on=on, boat_id="B"),
        entries=(
            Entry("e1", "E1", on, "fitted", item="belt"),
            Entry("e2", "E1", date(2024, 1, 1), "fitted", item="belt", prior_months=months),
            Entry("e3", "E1", date(2024, 1, 2), "inspected", item="belt", again_months=months),
        ),
        readings=(Reading("r", "E1", on, 10),),
        meters=(Meter("E1", on, 20),),
        mounts=(Mount("E1", "B", on), Mount("E1", "B", date(2024, 1, 1), to_on=on)),
        deferrals=(Deferral("d", "E1", "belt", "ann", AT, "busy", until_on=on),),
        terms=(
            Term("w", "E1", "warranty", on, tenths=10),
            Term("x", "E1", "warranty", date(2024, 1, 1), months=months),
        ),
        boats={"B": BoatLedger(Boat("B", None, "B"), layups=(layup,))},
    )


@pytest.mark.parametrize("on", [FIRST, LAST])
@pytest.mark.parametrize("months", [0, MOST_MONTHS])
def test_what_lies_at_the_ends_of_the_bounds_counts(on: date, months: int) -> None:
    ledger = ledger_of(on, months)
    assert apart(ledger) == (ledger, [])
    assert is_within(Layup("B", on))


@pytest.mark.parametrize("on", [FIRST - A_DAY, LAST + A_DAY])
def test_what_lies_beyond_them_is_set_apart_and_named(on: date) -> None:
    sound, beyond = apart(ledger_of(on, MOST_MONTHS + 1))
    assert [(row.kind, row.field) for row in beyond] == [
        ("entries", "on"),
        ("entries", "prior_months"),
        ("entries", "again_months"),
        ("readings", "on"),
        ("meters", "fitted_on"),
        ("mounts", "from_on"),
        ("mounts", "to_on"),
        ("deferrals", "until_on"),
        ("terms", "starts_on"),
        ("terms", "months"),
        ("layups", "from_on"),
        ("engines", "in_service_on"),
    ]
    assert sound.engine.in_service_on is None
    assert (sound.entries, sound.readings, sound.meters, sound.mounts, sound.deferrals) == ((),) * 5
    assert (sound.terms, sound.boats["B"].layups) == ((), ())


def test_only_the_rows_beyond_them_are_set_apart() -> None:
    readings = tuple(Reading(f"r{on}", "E1", on, 10) for on in (FIRST, LAST, LAST + A_DAY))
    winter, endless = Layup("B", date(2024, 10, 1), date(2025, 4, 1)), Layup("B", LAST + A_DAY)
    boats = {"B": BoatLedger(Boat("B", None, "B"), layups=(winter, endless))}
    engine = Engine("E1", in_service_on=FIRST, boat_id="B")
    sound, beyond = apart(EngineLedger(engine, readings=readings, boats=boats))
    assert [(row.kind, row.row) for row in beyond] == [("readings", readings[-1]), ("layups", endless)]
    assert (sound.engine, sound.readings, sound.boats["B"].layups) == (engine, readings[:-1], (winter,))


def test_an_age_below_nothing_is_set_apart() -> None:
    aged = Entry("e1", "E1", date(2024, 1, 1), "fitted", item="belt", prior_months=-1)
    sound, beyond = apart(EngineLedger(Engine("E1"), entries=(aged,)))
    assert (sound.entries, [row.field for row in beyond]) == ((), ["prior_months"])


def test_what_was_taken_back_is_set_apart_and_not_named() -> None:
    beyond_them = LAST + A_DAY
    entry = Entry("e1", "E1", beyond_them, "fitted", item="belt")
    reading = Reading("r", "E1", beyond_them, 10, status="withdrawn")
    term = Term("w", "E1", "warranty", beyond_them, months=1, withdrawn_on=date(2024, 1, 1))
    voids = (Void("e1", AT, "ann", "wrong"),)
    ledger = EngineLedger(Engine("E1"), (entry,), readings=(reading,), terms=(term,), voids=voids)
    sound, named = apart(ledger)
    assert (sound.entries, sound.readings, sound.terms, named) == ((), (), (), [])
    standing = replace(reading, status="confirmed"), replace(term, withdrawn_on=None)
    _, named = apart(replace(ledger, voids=(), readings=standing[:1], terms=standing[1:]))
    assert [row.kind for row in named] == ["entries", "readings", "terms"]


@pytest.mark.parametrize(
    ("layup", "is_sound"),
    [
        (Layup("B", date(2024, 5, 2), date(2024, 5, 2)), True),
        (Layup("B", date(2024, 5, 2), date(2024, 5, 1)), False),
        (Layup("B", date(2024, 5, 2), LAST + A_DAY), False),
    ],
)
def test_a_lay_up_ends_no_earlier_than_it_begins(layup: Layup, is_sound: bool) -> None:
    assert is_within(layup) == is_sound

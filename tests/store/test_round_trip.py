"""What is written is what is read, row by row and all at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from datetime import UTC, date, datetime, timedelta, timezone

import pendulum
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Engine, Entry, Reading, Void
from fleetlog.errors.log import EngineNotInLog, EntryNotInLog, RowsRefused
from fleetlog.store.log import Log
from fleetlog.store.shapes import SHAPES
from tests.store.rows import AT, a_marina, in_ledger_order


def test_every_kind_of_row_comes_back_as_it_was_written(log: Log) -> None:
    marina = a_marina()
    with log.writing("Kim", AT) as writer:
        writer.add(marina)
    with log.reading() as reader:
        assert reader.batch() == in_ledger_order(marina)


def test_the_marina_of_these_tests_fills_every_field_of_every_kind() -> None:
    marina = a_marina()
    for kind, shape in SHAPES.items():
        for field in fields(shape.made):
            values = [getattr(row, field.name) for row in getattr(marina, kind)]
            assert any(value is not None for value in values), (kind, field.name)


def test_rows_are_found_by_their_keys_and_only_those_asked_for(log: Log) -> None:
    marina = a_marina()
    with log.writing("Kim", AT) as writer:
        writer.add(marina)
    with log.reading() as reader:
        for kind, shape in SHAPES.items():
            rows = {shape.key_of(row): row for row in getattr(marina, kind)}
            assert reader.existing(kind, rows) == rows, kind
            first = next(iter(rows))
            assert reader.existing(kind, [first]) == {first: rows[first]}, kind
            unknown = ("nothing", *first[1:]) if isinstance(first, tuple) else "nothing"
            assert reader.existing(kind, [unknown]) == {}, kind
            assert reader.existing(kind, []) == {}, kind
            if isinstance(first, str):
                assert reader.known(kind, [first, "nothing"]) == {first}, kind
                assert reader.known(kind, []) == set(), kind


def test_ledgers_hold_the_rows_of_their_engine_with_its_boats_and_owners(log: Log) -> None:
    marina = a_marina()
    with log.writing("Kim", AT) as writer:
        writer.add(marina)
    with log.reading() as reader:
        ledger = reader.ledger("AB-1001")
        fleet = list(reader.ledgers())
        boats = reader.boat_ledgers()
    for kind in ("entries", "readings", "meters", "mounts", "deferrals"):
        assert list(getattr(ledger, kind)) == [r for r in getattr(marina, kind) if r.serial == "AB-1001"]
    assert ledger.engine == marina.engines[0]
    assert ledger.voids == (marina.voids[0],)
    assert ledger.changes == (marina.changes[1],)
    assert ledger.visits == {"v1": marina.visits[0]}
    assert set(ledger.boats) == {"gull", "tern"}
    assert set(ledger.owners) == {"ann", "bo"}
    assert ledger.boats["gull"] == boats["gull"]
    assert [o.owner_id for o in boats["gull"].ownership] == ["bo", "ann"]
    assert boats["gull"].layups == tuple(marina.layups[:1])
    assert boats["gull"].replanned == tuple((marina.layups[1], word) for word in marina.layup_changes)
    assert [one.engine for one in fleet] == marina.engines
    assert fleet[0].entries == ledger.entries


def test_ledgers_asked_for_by_serial_are_those_of_the_fleet(log: Log) -> None:
    with log.writing("Kim", AT) as writer:
        writer.add(a_marina())
    with log.reading() as reader:
        fleet = {one.engine.serial: one for one in reader.ledgers()}
        some = list(reader.ledgers(["X_9%", "AB-1001"]))
    assert [one.engine.serial for one in some] == ["AB-1001", "X_9%"]
    for one in some:
        whole = fleet[one.engine.serial]
        assert replace(one, boats={}, owners={}) == replace(whole, boats={}, owners={})


def test_rows_added_later_stand_after_the_earlier_ones_of_their_engine(log: Log) -> None:
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(engines=[Engine("A"), Engine("B")]))
        writer.add(Batch(entries=[Entry(f"first {s}", s, date(2025, 1, 2), "serviced") for s in "AB"]))
    with log.writing("Kim", AT) as writer:
        writer.add(
            Batch(entries=[Entry(f"then {n}", "A", date(2025, 1, 1), "serviced", sequence=9) for n in (1, 2)])
        )
    with log.reading() as reader:
        entries = reader.ledger("A").entries
    assert [e.entry_id for e in entries] == ["first A", "then 1", "then 2"]
    assert [e.sequence for e in entries] == [1, 2, 3]


def test_a_row_that_is_there_already_is_refused_and_nothing_of_the_batch_stays(log: Log) -> None:
    marina = a_marina()
    with log.writing("Kim", AT) as writer:
        writer.add(marina)
    for kind in SHAPES:
        if kind == "changes":  # two changes of one fact on one day are two changes
            continue
        again = Batch(**{"engines": [Engine("NEW")], kind: getattr(marina, kind)[:1]})
        with pytest.raises(RowsRefused), log.writing("Kim", AT) as writer:
            writer.add(again)
    with log.reading() as reader:
        assert reader.batch() == in_ledger_order(marina)


def test_rows_of_an_unknown_engine_or_entry_are_refused_by_name(log: Log) -> None:
    with pytest.raises(EngineNotInLog, match="'Q-1'"), log.writing("Kim", AT) as writer:
        writer.add(Batch(readings=[Reading("r", "Q-1", date(2025, 1, 1), 10)]))
    with pytest.raises(EntryNotInLog, match="'e-9'"), log.writing("Kim", AT) as writer:
        writer.add(Batch(voids=[Void("e-9", AT, "Kim", "wrong")]))
    with pytest.raises(EngineNotInLog, match="'ab-1001'"), log.reading() as reader:
        reader.ledger("ab-1001")


texts = st.none() | st.text(st.characters(exclude_characters="\x00", exclude_categories=["Cs"]), max_size=40)
whole = st.none() | st.integers(0, 99_999_999)
moments = st.datetimes(
    timezones=st.sampled_from(
        [UTC, timezone(timedelta(hours=-9, minutes=-30)), timezone(timedelta(hours=14))]
    ),
    min_value=datetime(1900, 1, 2),
    max_value=datetime(2199, 12, 30),
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    days=st.lists(st.dates(), min_size=1, max_size=4),
    figure=whole,
    item=texts,
    note=texts,
    moment=moments,
)
def test_any_day_figure_text_and_moment_comes_back(
    new_log: Callable[[], Log],
    opened: list[Log],
    days: list[date],
    figure: int | None,
    item: str | None,
    note: str | None,
    moment: datetime,
) -> None:
    log = opened[0] if opened else new_log()
    opened[:] = [log]
    with log.reading() as reader:
        serial = f"S{len(reader.serials())}"
    entries = [
        Entry(f"{serial} {n}", serial, day, "inspected", None, figure, item=item, note=note, sequence=n)
        for n, day in enumerate(days, start=1)
    ]
    void = Void(f"{serial} 1", moment, "Kim", "wrong")
    with log.writing("Kim", moment) as writer:
        writer.add(Batch(engines=[Engine(serial)], entries=entries, voids=[void]))
    with log.reading() as reader:
        ledger = reader.ledger(serial)
    assert list(ledger.entries) == entries
    assert ledger.voids == (void,)
    assert ledger.voids[0].voided_at.tzinfo is UTC


@pytest.fixture
def opened() -> list[Log]:
    """Keeps one log over the examples of a property."""
    return []


def test_dates_and_moments_of_pendulum_come_back_as_plain_ones(log: Log) -> None:
    moment = pendulum.datetime(2026, 3, 29, 3, 30, tz="Europe/Paris")
    with log.writing("Kim", moment) as writer:
        writer.add(
            Batch(
                engines=[Engine("A", in_service_on=pendulum.date(2024, 2, 29))],
                entries=[Entry("e", "A", pendulum.date(2025, 1, 1), "serviced")],
                voids=[Void("e", moment, "Kim", "wrong")],
            )
        )
    with log.reading() as reader:
        ledger = reader.ledger("A")
    assert type(ledger.engine.in_service_on) is date
    assert type(ledger.voids[0].voided_at) is datetime
    assert ledger.voids[0].voided_at.isoformat() == "2026-03-29T01:30:00+00:00"


def test_a_moment_without_a_time_zone_is_not_guessed(log: Log) -> None:
    with pytest.raises(ValueError, match="no time zone"), log.writing("Kim", datetime(2026, 1, 1)):
        pass

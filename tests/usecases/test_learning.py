"""The fleet's use is learnt once and kept, and learnt anew by a rule that can be told."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import AbstractContextManager
from datetime import date, timedelta
from pathlib import Path

import pytest

from fleetlog.domain.batch import Batch
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Boat, Engine, Reading
from fleetlog.store.kept.fits import KeptFit
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.store.reader import Reader
from fleetlog.usecases import learning
from fleetlog.usecases.learning import FIT_SERVES_DAYS, known_use
from tests.store.rows import AT

READ_ON = date(2026, 3, 1)
TODAY = date(2026, 4, 1)


@pytest.fixture
def three_engines(tmp_path: Path) -> Iterator[Log]:
    """A log of three engines with thirty readings in all."""
    log = open_log(str(tmp_path / "log.db"), at=AT)
    engines = [Engine(f"S{n}", in_service_on=date(2024, 1, 1)) for n in range(3)]
    readings = [
        Reading(f"r{n}-{k}", f"S{n}", READ_ON - timedelta(days=60 * k), 1000 - 50 * k)
        for n in range(3)
        for k in range(10)
    ]
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(engines=engines, readings=readings))
    yield log
    log.dispose()


@pytest.fixture
def fits(monkeypatch: pytest.MonkeyPatch) -> list[date]:
    """The days for which the fleet is fitted, as it happens."""
    made: list[date] = []
    learn: Callable[..., object] = learning.learn_use

    def counted(reader: object, today: date, at_hand: object) -> object:
        made.append(today)
        return learn(reader, today, at_hand)

    monkeypatch.setattr(learning, "learn_use", counted)
    return made


def content_id(log: Log, today: date) -> str:
    with log.reading() as reader:
        return known_use(reader, today).content_id


def test_the_fleet_is_fitted_once_and_the_same_parameters_come_back(
    three_engines: Log, fits: list[date]
) -> None:
    first = content_id(three_engines, TODAY)
    assert content_id(three_engines, TODAY) == first
    assert content_id(three_engines, TODAY + timedelta(days=FIT_SERVES_DAYS)) == first
    assert fits == [TODAY]


def test_of_a_large_fleet_the_ledgers_are_read_that_a_fit_looks_at(
    three_engines: Log, monkeypatch: pytest.MonkeyPatch
) -> None:
    boats = [
        Boat(f"b{n}", None, f"Boat {n}", use="charter" if n % 20 == 0 else "private") for n in range(100)
    ]
    with three_engines.writing("Kim", AT) as writer:
        writer.add(Batch(boats=boats, engines=[Engine(f"L{n}", boat_id=f"b{n}") for n in range(100)]))
    asked: list[str] = []
    ledgers = Reader.ledgers

    def noted(reader: Reader, serials: Iterable[str]) -> Iterator[EngineLedger]:
        asked.extend(serials)
        return ledgers(reader, asked)

    monkeypatch.setattr(Reader, "ledgers", noted)
    monkeypatch.setattr("fleetlog.forecast.fit.LOOKED_AT", 40)
    with three_engines.reading() as reader:
        parameters = known_use(reader, TODAY)
    assert parameters.engines == len(asked) == 3 + 5 + 39
    assert {"S0", "S1", "S2", *(f"L{n}" for n in range(0, 100, 20))} < set(asked)


def test_a_fit_grows_old(three_engines: Log, fits: list[date]) -> None:
    later = TODAY + timedelta(days=FIT_SERVES_DAYS + 1)
    assert content_id(three_engines, TODAY) != content_id(three_engines, later)
    assert fits == [TODAY, later]


def test_a_past_day_is_fitted_as_of_that_day_and_kept_too(three_engines: Log, fits: list[date]) -> None:
    content_id(three_engines, TODAY)
    past = TODAY - timedelta(days=1)
    assert content_id(three_engines, past) == content_id(three_engines, past)
    content_id(three_engines, TODAY)
    assert fits == [TODAY, past]


def test_a_fifth_more_figures_call_for_a_new_fit(three_engines: Log, fits: list[date]) -> None:
    content_id(three_engines, TODAY)

    def read_more(first: int, last: int) -> None:
        more = [Reading(f"m{k}", "S0", READ_ON + timedelta(days=k), 1000 + k) for k in range(first, last)]
        with three_engines.writing("Kim", AT) as writer:
            writer.add(Batch(readings=more))

    read_more(1, 16)
    content_id(three_engines, TODAY)
    assert fits == [TODAY]
    read_more(16, 17)
    content_id(three_engines, TODAY)
    content_id(three_engines, TODAY)
    assert fits == [TODAY, TODAY]


@pytest.mark.parametrize("stored", ['{"form": 1, "rates": [1.0]}', '{"stationary": []}', "[]", "no JSON"])
def test_a_fit_of_another_form_counts_as_not_kept(three_engines: Log, fits: list[date], stored: str) -> None:
    three_engines.keep([KeptFit("older", TODAY, 30, stored)])
    first = content_id(three_engines, TODAY)
    assert content_id(three_engines, TODAY) == first
    assert fits == [TODAY]


def test_readings_after_the_day_asked_about_are_no_growth(three_engines: Log, fits: list[date]) -> None:
    content_id(three_engines, TODAY)
    later = [Reading(f"m{k}", "S0", TODAY + timedelta(days=k), 1000 + k) for k in range(1, 40)]
    with three_engines.writing("Kim", AT) as writer:
        writer.add(Batch(readings=later))
    content_id(three_engines, TODAY)
    assert fits == [TODAY]


def test_a_writer_keeps_a_fit_within_its_own_transaction(three_engines: Log, fits: list[date]) -> None:
    def left_halfway() -> None:
        with three_engines.writing("Kim", AT) as writer:
            known_use(writer, TODAY)
            assert writer.kept.latest_fit(TODAY, TODAY) is not None
            raise KeyError

    with pytest.raises(KeyError):
        left_halfway()
    with three_engines.reading() as reader:
        assert reader.kept.latest_fit(TODAY, TODAY) is None


def test_a_log_that_cannot_be_written_to_is_asked_all_the_same(
    three_engines: Log, fits: list[date], held_by_another: Callable[[Log], AbstractContextManager[None]]
) -> None:
    with held_by_another(three_engines):
        assert content_id(three_engines, TODAY) == content_id(three_engines, TODAY)
    assert fits == [TODAY, TODAY]

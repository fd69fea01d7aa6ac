"""What a recording asks the log: each thing once, and an engine by its key where it is told whole."""

from __future__ import annotations

from datetime import date

import pytest

from fleetlog.domain.records import Layup, Reading
from fleetlog.errors.recording import RowRefused
from fleetlog.store.log import Log
from fleetlog.usecases.demo import DEMO_TODAY
from fleetlog.usecases.hours import HowRead, record_hours
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.recording import Work, record_work, refuse_row
from fleetlog.usecases.register import launch, lay_up
from fleetlog.usecases.whose_hours import Figure
from tests.store.said import statements
from tests.usecases.conftest import AT

NOW = Occasion("Kim", AT, DEMO_TODAY)


def _nobody(question: str) -> None:
    """Answers no question."""


def _ledgers_read(said: list[str]) -> int:
    return sum(text.startswith("SELECT 'entries'") for text in said)


@pytest.fixture
def serial(small_log: Log) -> str:
    with small_log.reading() as reader:
        return next(ledger.engine.serial for ledger in reader.ledgers() if ledger.readings)


def test_an_entry_reads_its_engine_and_the_schedules_once(small_log: Log, serial: str) -> None:
    work = Work("inspected", DEMO_TODAY, item="tell-tale", is_new_kind=True)
    with statements() as said:
        record_work(small_log, NOW, serial, work, ask=_nobody)
    assert _ledgers_read(said) == 1
    assert sum("FROM schedules" in text for text in said) == 1


def test_hours_of_a_whole_serial_look_through_no_other(small_log: Log, serial: str) -> None:
    figure = Figure(serial, DEMO_TODAY, {None: 99_999})
    with statements() as said:
        record_hours(small_log, NOW, [figure], HowRead(), ask=_nobody)
    assert _ledgers_read(said) == 1
    assert not [text for text in said if "LIKE" in text]


def test_a_launch_reads_the_lay_ups_of_its_own_boat_alone(small_log: Log) -> None:
    with small_log.reading() as reader:
        boat_id = next(iter(reader.boats()))
    lay_up(small_log, NOW, boat_id, DEMO_TODAY, None)
    with statements() as said:
        launch(small_log, NOW, boat_id, DEMO_TODAY)
    read = [text for text in said if text.startswith("SELECT") and "FROM layups" in text.replace("\n", "")]
    assert read
    assert all("boat_id IN" in text for text in read)


def test_a_row_that_cannot_be_is_refused_with_its_field() -> None:
    with pytest.raises(RowRefused, match=r"2026-04-01.*2026-05-01"):
        refuse_row(Layup("B", date(2026, 5, 1), date(2026, 4, 1)))
    refuse_row(Layup("B", date(2026, 5, 1), date(2026, 5, 1)))
    refuse_row(Reading("r", "E1", date(2026, 5, 1), 0))

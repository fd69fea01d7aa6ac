"""A person who is asked keeps nobody waiting: meanwhile others record, and what they recorded is seen."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date

import pytest

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Engine, Reading
from fleetlog.errors.recording import NotConfirmed
from fleetlog.store import connecting
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.usecases.asking import Ask, asked_between
from fleetlog.usecases.hours import HowRead, record_hours
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.recording import JudgedFigure, Work, record_work
from fleetlog.usecases.whose_hours import Figure
from tests.conftest import AT

NOW = Occasion("Kim", AT, date(2026, 6, 1))
FAR = Figure("A", date(2026, 6, 1), {None: 9_000})


@pytest.fixture
def two(log_place: Callable[[], str], monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Log, Log]]:
    """One log opened by two people, with an engine that runs an hour in ten days."""
    monkeypatch.setattr(connecting, "BUSY_SECONDS", 0.2)
    place = log_place()
    logs = open_log(place, at=AT), open_log(place, at=AT)
    with logs[0].writing("Kim", AT) as writer:
        readings = [Reading("R1", "A", date(2026, 1, 1), 1_000), Reading("R2", "A", date(2026, 4, 11), 1_100)]
        writer.add(Batch(engines=[Engine("A"), Engine("B")], readings=readings))
    yield logs
    for log in logs:
        log.dispose()


def _nobody(_question: str) -> None:
    """Answers no question."""


def _hours(log: Log, figure: Figure, ask: Ask) -> list[JudgedFigure]:
    return record_hours(log, NOW, [figure], HowRead(), ask=ask)


def _figures(log: Log) -> list[tuple[date, int]]:
    with log.reading() as reader:
        return [(reading.on, reading.meter_tenths) for reading in reader.ledger("A").readings]


def test_somebody_else_records_while_a_person_thinks(two: tuple[Log, Log]) -> None:
    mine, theirs = two
    questions = []

    def think(question: str) -> bool:
        questions.append(question)
        _hours(theirs, Figure("B", date(2026, 5, 30), {None: 50}), _nobody)
        return True

    (recorded,) = _hours(mine, FAR, think)
    assert len(questions) == 1
    assert recorded.above_habit is not None
    assert _figures(mine)[-1] == (date(2026, 6, 1), 9_000)
    with mine.reading() as reader:
        assert [reading.meter_tenths for reading in reader.ledger("B").readings] == [50]


def test_what_was_recorded_meanwhile_is_judged_by(two: tuple[Log, Log]) -> None:
    mine, theirs = two
    questions = []

    def think(question: str) -> bool:
        questions.append(question)
        if len(questions) == 1:  # by a figure of the day before, mine is no longer far above its habit
            _hours(theirs, Figure("A", date(2026, 5, 31), {None: 8_890}), _nobody)
        return True

    _hours(mine, FAR, think)
    assert len(questions) == 1
    assert _figures(mine)[-2:] == [(date(2026, 5, 31), 8_890), (date(2026, 6, 1), 9_000)]


def test_a_no_leaves_nothing(two: tuple[Log, Log]) -> None:
    mine, _ = two
    work = Work("inspected", date(2026, 6, 1), item="tell-tale", is_new_kind=True, hours_tenths=9_000)
    with pytest.raises(NotConfirmed):
        record_work(mine, NOW, "A", work, ask=lambda _: False)
    assert len(_figures(mine)) == 2


def test_each_question_is_asked_once() -> None:
    done, questions = [], []

    @asked_between
    def use_case(*, ask: Ask) -> list[bool | None]:
        done.append("begun")
        return [ask("one?"), ask("two?"), ask("one?")]

    def answer(question: str) -> bool | None:
        questions.append(question)
        return None if question == "one?" else True

    assert use_case(ask=answer) == [None, True, None]
    assert questions == ["one?", "two?"]
    assert len(done) == 3

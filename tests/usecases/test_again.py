"""A writing that lost a race is done again, and nothing is done twice."""

from __future__ import annotations

import ast
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

import fleetlog.usecases
from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Engine
from fleetlog.errors import FleetlogError
from fleetlog.errors.log import LostRace, RowsClash, RowsRefused
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.usecases import again
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.imports.folder import import_folder
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.recording import Work, record_work
from tests.cli.conftest import PLAIN_TWINS
from tests.conftest import AT
from tests.usecases.together import together


@pytest.fixture
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tries again without waiting."""
    monkeypatch.setattr(again, "WAITS_SECONDS", (0.0, 0.0, 0.0, 0.0))


class Losing:
    """Loses so many races, then answers."""

    def __init__(self, races: int, refusal: FleetlogError) -> None:
        self.calls, self._races, self._refusal = 0, races, refusal

    def __call__(self, answer: str) -> str:
        self.calls += 1
        if self.calls <= self._races:
            raise self._refusal
        return answer


@pytest.mark.usefixtures("at_once")
@pytest.mark.parametrize("refusal", [LostRace("x"), RowsClash("x")])
@pytest.mark.parametrize("races", range(5))
def test_a_lost_race_is_run_again(races: int, refusal: FleetlogError) -> None:
    losing = Losing(races, refusal)
    assert again_if_lost(losing.__call__)("done") == "done"
    assert losing.calls == races + 1


@pytest.mark.usefixtures("at_once")
def test_after_four_more_tries_the_person_is_told() -> None:
    losing = Losing(99, LostRace("the log"))
    with pytest.raises(LostRace, match="nothing was recorded; try again"):
        again_if_lost(losing.__call__)("never")
    assert losing.calls == 5


@pytest.mark.usefixtures("at_once")
def test_what_is_refused_for_good_is_refused_at_once() -> None:
    losing = Losing(1, RowsRefused("x"))
    with pytest.raises(RowsRefused):
        again_if_lost(losing.__call__)("never")
    assert losing.calls == 1


def test_every_use_case_that_writes_is_done_again() -> None:
    unmarked = []
    for path in Path(fleetlog.usecases.__path__[0]).rglob("*.py"):
        for function in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(function, ast.FunctionDef) and "log.writing(" in ast.unparse(function):
                marks = [ast.unparse(mark) for mark in function.decorator_list]
                unmarked += [] if marks.count("again_if_lost") == 1 else [f"{path.name}: {function.name}"]
    assert unmarked == []


def test_two_programs_that_take_in_one_folder_at_once_take_it_in_once(
    log_place: Callable[[], str], tmp_path: Path
) -> None:
    place, folder = log_place(), tmp_path / "in"
    folder.mkdir()
    for name, content in PLAIN_TWINS.items():
        (folder / name).write_text(content, encoding="utf-8")

    def take_in() -> int:
        log = open_log(place, at=AT)
        try:
            return sum(import_folder(log, Occasion("Kim", AT, AT.date()), folder).new.values())
        finally:
            log.dispose()

    answers = together([take_in] * 3)
    rows = sum(len(content.splitlines()) - 1 for content in PLAIN_TWINS.values())
    assert sorted(answers) == [0, 0, rows]


def test_kinds_of_items_that_two_people_name_first_are_both_recorded(new_log: Callable[[], Log]) -> None:
    log = new_log()
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(engines=[Engine("A", hour_meter=False), Engine("B", hour_meter=False)]))
    occasion = Occasion("Kim", AT, AT.date())

    def fit(serial: str) -> Callable[[], object]:
        work = Work("fitted", date(2026, 3, 1), item="kill cord", is_new_kind=True)
        return lambda: record_work(log, occasion, serial, work, ask=lambda _: None)

    answers = together([fit("A"), fit("B")])
    assert not [answer for answer in answers if isinstance(answer, FleetlogError)]
    with log.reading() as reader:
        assert [(e.serial, e.item) for e in reader.batch().entries] == [
            ("A", "kill cord"),
            ("B", "kill cord"),
        ]

"""Pages come out the same from one process and from several; one that is lost leaves nothing half done."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.records import Boat, Engine, Entry
from fleetlog.errors.processes import ProcessLost
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.usecases import reporting
from fleetlog.usecases.demo import DEMO_CONTEXT, DEMO_OCCASION, DEMO_TODAY, fill_demo
from fleetlog.usecases.reporting import make_reports, parts_of
from tests.files import files_in


@pytest.fixture(scope="module")
def marina(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Log]:
    """The invented marina, with items that went from engine to engine."""
    log = open_log(str(tmp_path_factory.mktemp("marina") / "log.db"), at=DEMO_OCCASION.at)
    fill_demo(log)
    yield log
    log.dispose()


def test_several_processes_write_what_one_writes(
    marina: Log, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    in_one = make_reports(marina, DEMO_OCCASION, tmp_path / "one", DEMO_CONTEXT)
    monkeypatch.setattr(reporting, "WORTH_A_PROCESS", 1)
    monkeypatch.setattr(reporting, "ENGINES_OF_A_PART", 9)
    told: list[tuple[int, int]] = []
    in_parts = make_reports(
        marina,
        DEMO_OCCASION,
        tmp_path / "several",
        DEMO_CONTEXT,
        processes=2,
        advance=lambda *done: told.append(done),
    )
    assert [p.relative_to(tmp_path / "several") for p in in_parts] == [
        p.relative_to(tmp_path / "one") for p in in_one
    ]
    assert files_in(tmp_path / "several") == files_in(tmp_path / "one")
    assert told[-1] == (180, 180)
    assert told == sorted(told)


def end_at_once(*_: object) -> None:
    """What a process begins with that is ended from outside."""
    if multiprocessing.parent_process() is not None:
        os._exit(9)


def test_a_process_that_is_lost_is_one_clear_line_and_writes_nothing(
    marina: Log, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_reports(marina, DEMO_OCCASION, tmp_path / "out", replace(DEMO_CONTEXT, marina="Earlier"))
    earlier = files_in(tmp_path / "out")
    monkeypatch.setattr(reporting, "WORTH_A_PROCESS", 1)
    monkeypatch.setattr(reporting, "ENGINES_OF_A_PART", 9)
    monkeypatch.setattr(reporting, "_begin", end_at_once)
    with pytest.raises(ProcessLost, match="--processes 1"):
        make_reports(marina, DEMO_OCCASION, tmp_path / "out", DEMO_CONTEXT)
    assert files_in(tmp_path / "out") == earlier


def an_engine(serial: str, owner_id: str | None = None, taken_from: str | None = None) -> EngineLedger:
    """An engine on a boat of its own, that took an item from another."""
    boat = Boat(f"boat of {serial}", owner_id, "Boat")
    fitted = Entry(f"E-{serial}", serial, date(2025, 5, 1), "fitted", item="starter", from_serial=taken_from)
    entries = (fitted,) if taken_from else ()
    return EngineLedger(
        Engine(serial, boat_id=boat.boat_id), entries=entries, boats={boat.boat_id: BoatLedger(boat)}
    )


def test_engines_whose_pages_tell_of_each_other_are_in_one_part(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reporting, "ENGINES_OF_A_PART", 1)
    fleet = [
        an_engine("A", "ada"),
        an_engine("B"),
        an_engine("C", "bram"),
        an_engine("D", taken_from="gone"),
        an_engine("E", "ada", taken_from="C"),
        an_engine("F", "bram"),
        an_engine("G", taken_from="D"),
    ]
    parts = [[ledger.engine.serial for ledger in part] for part in parts_of(fleet, DEMO_TODAY)]
    assert parts == [["A", "C", "E", "F"], ["B"], ["D", "G"]]
    assert parts_of([], DEMO_TODAY) == [[]]

"""The due list of the demo marina on its day is a believable mix, and says what the hard cases say."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from fleetlog.domain.due import DEFAULT_WINDOW_DAYS, DueLine
from fleetlog.domain.words import DUE, LATER, NEEDS_A_READING, NEXT_ACCESS, NO_RECORD, OVERDUE
from fleetlog.store.opening import open_log
from fleetlog.usecases.demo import DEMO_OCCASION, DEMO_TODAY, fill_demo
from fleetlog.usecases.fleet import fleet_state
from tests.demo.marina import TODAY


@pytest.fixture(scope="module")
def lines(tmp_path_factory: pytest.TempPathFactory) -> list[DueLine]:
    """Every due line of the demo marina on its day."""
    folder: Path = tmp_path_factory.mktemp("demo")
    log = open_log(str(folder / "log.sqlite"), at=DEMO_OCCASION.at)
    try:
        report = fill_demo(log)
        assert [text.split(":")[0] for text in report.findings] == ["ML4-0512", "ML4-0513"]
        assert all("is held" in text for text in report.findings)
        with log.reading() as reader:
            fleet = fleet_state(reader, DEMO_TODAY, DEFAULT_WINDOW_DAYS)
        return [line for engine in fleet.engines for line in engine.lines]
    finally:
        log.dispose()


def states(lines: list[DueLine], serial: str) -> dict[tuple[str, str | None], str]:
    """The state of each line of an engine that is not later, by rule and position."""
    return {(x.rule.key, x.position): x.state for x in lines if x.serial == serial and x.state != LATER}


def test_the_maker_and_the_program_mean_the_same_day() -> None:
    assert TODAY == DEMO_TODAY


def test_the_list_is_a_mix_and_no_wall_of_red(lines: list[DueLine]) -> None:
    count = Counter(line.state for line in lines)
    assert 15 <= count[OVERDUE] <= 45
    assert 8 <= count[NO_RECORD] <= 20
    assert 3 <= count[NEEDS_A_READING] <= 20
    assert 40 <= count[DUE] <= 90
    assert 4 <= count[NEXT_ACCESS] <= 12
    assert count[LATER] > 1_000


def test_overdue_lines_are_those_of_a_few_boats(lines: list[DueLine]) -> None:
    late = Counter(line.facts.boat.name for line in lines if line.state == OVERDUE and line.facts.boat)
    assert len(late) <= 14
    assert {name for name, count in late.items() if count >= 4} == {
        "Lady Garstone", "Gannet Sound", "Nachtreiher",
    }  # fmt: skip


def test_the_rebuilt_engine_still_owes_its_gaskets(lines: list[DueLine]) -> None:
    assert states(lines, "VK6-20417") == {
        ("cam-cover-gasket-renew", "bank 1"): NEXT_ACCESS,
        ("cam-cover-gasket-renew", "bank 2"): NEXT_ACCESS,
        ("lower-unit-cover-gasket-renew", None): NEXT_ACCESS,
    }


def test_an_engine_without_records_and_a_part_without_age_have_no_record(lines: list[DueLine]) -> None:
    assert states(lines, "VK6-19872")["timing-belt-replace", None] == NO_RECORD
    assert states(lines, "ML4-0031")["timing-belt-replace", None] == NO_RECORD
    assert states(lines, "VK6-20391")["belt-tensioner-replace", None] == NO_RECORD


def test_a_deferred_belt_is_later_and_its_twin_due(lines: list[DueLine]) -> None:
    belts = {x.serial: x for x in lines if x.rule.key == "timing-belt-replace"}
    assert (belts["ML4-0552"].state, belts["ML4-0554"].state) == (LATER, DUE)
    assert belts["ML4-0552"].deferral is not None
    assert belts["ML4-0554"].deferral is None


def test_a_finding_makes_the_belt_due_long_before_its_interval(lines: list[DueLine]) -> None:
    looked_at = {x.serial: x for x in lines if x.rule.key == "timing-belt-inspect"}
    assert (looked_at["VK6-20902"].state, looked_at["VK6-20903"].state) == (DUE, LATER)


def test_engines_sold_and_scrapped_have_no_lines(lines: list[DueLine]) -> None:
    assert not {"T2/0613", "VK6-18114"} & {line.serial for line in lines}

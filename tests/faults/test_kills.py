"""A program killed at any write point leaves a log that opens, is sound, and holds whole writings only.

FLEETLOG_KILLS says how many kills there are in all: 30 where it is not set, 500 for a night.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Owner
from fleetlog.store.connecting import connect, for_writing
from fleetlog.store.migrating import known_revisions, migrate
from fleetlog.store.opening import open_log
from fleetlog.store.place import place_of
from fleetlog.usecases.checking import check_log
from fleetlog.usecases.demo import DEMO_OCCASION, DEMO_TODAY
from tests.cli.conftest import take_in_twins

KILLS = int(os.environ.get("FLEETLOG_KILLS", "30"))

VISIT = [
    ["visit", "open", "Plain Twins", "--on", "2026-04-15", "--id", "V-1", "--why", "booked service"],
    ["hours", "TT-0017", "350.5", "--on", "2026-04-15"],
    ["fit", "TT-0017", "timing belt", "--on", "2026-04-15", "--hours", "350.5", "--visit", "V-1"],
]
STEPS: dict[str, list[list[str]]] = {
    "creation": [["due"]],
    "import": [["import", "in"]],
    "visit": VISIT,
    "refresh": [["refresh", "--processes", "1"]],
    "migration": [["due"]],
    "backup": [["backup", "--keep", "1"]],
}
"""What is killed, as commands; each command is one step, saved when it has answered."""


class Victim:
    """The program that does a thing and dies on the way, ready for the next order."""

    def __init__(self) -> None:
        root = Path(__file__).parents[2]
        self._program = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.victim"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=root,
            env=os.environ | {"PYTHONPATH": str(root), "FLEETLOG_TODAY": DEMO_TODAY.isoformat()},
        )

    def order(self, folder: Path, what: str, die_at: int) -> dict[str, Any]:
        """Does a thing in a folder; `die_at` 0 lets it live."""
        before = ["--log", str(folder / "log.db"), "--by", "Tess"]
        steps = [[*before, *(str(folder / w) if w == "in" else w for w in step)] for step in STEPS[what]]
        assert self._program.stdin is not None
        assert self._program.stdout is not None
        self._program.stdin.write(json.dumps({"steps": steps, "die_at": die_at}) + "\n")
        self._program.stdin.flush()
        answer: dict[str, Any] = json.loads(self._program.stdout.readline())
        assert answer["failed"] is None, answer["failed"]
        return answer

    def close(self) -> None:
        self._program.communicate()


@pytest.fixture(scope="module")
def victim() -> Iterator[Victim]:
    made = Victim()
    yield made
    made.close()


@pytest.fixture(scope="module")
def beginnings(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A folder for each thing, as it is before it begins."""
    root = tmp_path_factory.mktemp("beginnings")
    folders = {what: root / what for what in STEPS}
    for folder in folders.values():
        folder.mkdir()
    (folders["import"] / "in").mkdir()
    log = open_log(str(root / "twins.db"), at=DEMO_OCCASION.at)
    take_in_twins(log, root / "in")
    log.dispose()
    shutil.copytree(root / "in", folders["import"] / "in", dirs_exist_ok=True)
    open_log(str(folders["import"] / "log.db"), at=DEMO_OCCASION.at).dispose()
    for what in ("visit", "refresh", "migration", "backup"):
        shutil.copy(root / "twins.db", folders[what] / "log.db")
    _take_down(folders["migration"] / "log.db")
    return folders


def _take_down(path: Path) -> None:
    engine = connect(place_of(str(path)), foreign_keys=False)
    with for_writing(engine).begin() as connection:
        migrate(connection, known_revisions()[2])
    engine.dispose()


@dataclass(frozen=True)
class State:
    """What a log holds, but for ids that are made by chance and what is kept for speed."""

    counts: tuple[tuple[str, int], ...]
    problems: tuple[str, ...]


def _state(path: Path) -> State:
    log = open_log(str(path), at=DEMO_OCCASION.at)
    with log.reading() as reader:
        counts = reader.batch().counts()
    report = check_log(log, DEMO_TODAY)
    log.dispose()
    return State(tuple(sorted(counts.items())), tuple(map(str, report.problems)))


def _begin(beginnings: dict[str, Path], what: str, folder: Path) -> Path:
    shutil.copytree(beginnings[what], folder)
    return folder


CASES = [(what, n, -(-KILLS // len(STEPS))) for what in STEPS for n in range(-(-KILLS // len(STEPS)))]


class Whole:
    """What each thing passes and leaves behind when nobody kills it, found out once."""

    def __init__(self, victim: Victim, beginnings: dict[str, Path], root: Path) -> None:
        @cache
        def of(what: str) -> tuple[int, list[State]]:
            folder = _begin(beginnings, what, root / what)
            answer = victim.order(folder, what, 0)
            states = [
                _state_after(beginnings, victim, what, steps, root) for steps in range(len(STEPS[what]))
            ]
            return answer["points"], [*states, _state(folder / "log.db")]

        self.of = of


def _state_after(beginnings: dict[str, Path], victim: Victim, what: str, steps: int, root: Path) -> State:
    folder = _begin(beginnings, what, root / f"{what}-{steps}")
    if steps:
        whole = STEPS[what]
        STEPS[what] = whole[:steps]
        try:
            victim.order(folder, what, 0)
        finally:
            STEPS[what] = whole
    return _state(folder / "log.db")


@pytest.fixture(scope="module")
def whole(victim: Victim, beginnings: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> Whole:
    return Whole(victim, beginnings, tmp_path_factory.mktemp("whole"))


@pytest.mark.parametrize(("what", "number", "of"), CASES)
def test_what_was_saved_is_there_and_nothing_is_half_there(
    victim: Victim, beginnings: dict[str, Path], whole: Whole, tmp_path: Path, what: str, number: int, of: int
) -> None:
    points, states = whole.of(what)
    assert states[-1].problems == ()
    die_at = 1 + number * (points - 1) // max(of - 1, 1)
    folder = _begin(beginnings, what, tmp_path / "killed")
    answer = victim.order(folder, what, die_at)
    assert answer["killed"], "it lived"
    found = _state(folder / "log.db")
    assert found.problems == ()
    saved = answer["steps"]
    assert found in states[saved : saved + 2], f"killed at point {die_at} of {points}"
    for backup in (folder / "log-backups").glob("*.db"):
        assert _state(backup) == states[0]
    log = open_log(str(folder / "log.db"), at=DEMO_OCCASION.at)
    with log.writing("Tess", DEMO_OCCASION.at) as writer:
        writer.add(Batch(owners=[Owner("O-new", "New")]))
    log.dispose()

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
from pathlib import Path
from typing import Any

import pytest

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Owner
from fleetlog.store.connecting import begin_to_write, connect
from fleetlog.store.migrating import known_revisions, migrate
from fleetlog.store.opening import open_log
from fleetlog.store.place import place_of
from fleetlog.usecases.checking import check_log
from fleetlog.usecases.copying import copy_log
from fleetlog.usecases.demo import DEMO_OCCASION, DEMO_TODAY
from tests.cli.conftest import take_in_twins
from tests.conftest import STORES, Schemas, empty_log

KILLS = int(os.environ.get("FLEETLOG_KILLS", "30"))

VISIT = [
    ["visit", "open", "Plain Twins", "--on", "2026-04-15", "--id", "V-1", "--reason", "booked service"],
    ["hours", "TT-0017", "350.5", "--on", "2026-04-15"],
    ["fit", "TT-0017", "timing belt", "--on", "2026-04-15", "--hours", "350.5", "--visit", "V-1"],
]
BECAUSE = ["--reason", "it was not so"]
CORRECTIONS = [
    *VISIT,
    ["visit", "void", "V-1", *BECAUSE],
    ["boat", "sell", "Plain Twins", "--to", "Arden Reed", "--on", "2026-04-01"],
    ["boat", "not-sold", "Plain Twins", "--on", "2026-04-01", *BECAUSE],
    ["engine", "move", "TT-0125", "--to", "Plain Twins", "--on", "2026-04-01"],
    ["engine", "not-moved", "TT-0125", "--on", "2026-04-01", *BECAUSE],
    ["engine", "correct", "TT-0021", "TT-0012", *BECAUSE],
]
STEPS: dict[str, list[list[str]]] = {
    "creation": [["owner", "add", "Someone"]],
    "import": [["import", "in"]],
    "visit": VISIT,
    "corrections": CORRECTIONS,
    "papers": [VISIT[0], ["paper", "add", "V-1", "photo.txt", "figures.txt"]],
    "refresh": [["refresh", "--processes", "1"]],
    "migration": [["due"]],
    "backup": [["backup", "--keep", "1"]],
}
"""What is killed, as commands; each command is one step, saved when it has answered."""

INPUTS = ("in", "photo.txt", "figures.txt")
"""Words of commands that are files or folders where a thing is done."""


class Victim:
    """The program that does a thing and dies on the way, ready for the next order."""

    def __init__(self) -> None:
        root = Path(__file__).parents[2]
        self._program = subprocess.Popen(
            [sys.executable, "-B", "-m", "tests.faults.victim"],  # a module is compiled and written but once
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=root,
            env=os.environ | {"PYTHONPATH": str(root), "FLEETLOG_TODAY": DEMO_TODAY.isoformat()},
        )

    def order(self, ground: Ground, steps: list[list[str]], die_at: int) -> dict[str, Any]:
        """Does steps one after the other; `die_at` 0 lets it live."""
        before = ["--log", ground.place, "--by", "Tess", "--papers", str(ground.papers)]
        words = [[*before, *(str(ground.folder / w) if w in INPUTS else w for w in step)] for step in steps]
        assert self._program.stdin is not None
        assert self._program.stdout is not None
        self._program.stdin.write(json.dumps({"steps": words, "die_at": die_at}) + "\n")
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


@dataclass(frozen=True)
class Ground:
    """Where a thing is done: a folder, and the place of the log."""

    folder: Path
    place: str

    @property
    def papers(self) -> Path:
        """Where the log's photos and papers are, on every kind of database."""
        return self.folder / "log-papers"


@pytest.fixture(scope="module")
def beginnings(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A folder for each thing, as it is before it begins, with its log in a file."""
    root = tmp_path_factory.mktemp("beginnings")
    folders = {what: root / what for what in STEPS}
    for folder in folders.values():
        folder.mkdir()
    (folders["import"] / "in").mkdir()
    log = open_log(str(root / "twins.db"), at=DEMO_OCCASION.at)
    take_in_twins(log, root / "in")
    log.dispose()
    shutil.copytree(root / "in", folders["import"] / "in", dirs_exist_ok=True)
    empty_log(str(folders["import"] / "log.db"), DEMO_OCCASION.at).dispose()
    for what in ("visit", "corrections", "papers", "refresh", "migration", "backup"):
        shutil.copy(root / "twins.db", folders[what] / "log.db")
    _take_down(str(folders["migration"] / "log.db"))
    return folders


def _take_down(place: str) -> None:
    engine = connect(place_of(place), foreign_keys=False)
    with engine.connect() as connection, begin_to_write(connection):
        migrate(connection, known_revisions()[2])
    engine.dispose()


def _write_papers(folder: Path) -> None:
    for name in ("photo.txt", "figures.txt"):
        (folder / name).write_text(f"{name}: " + "a line of it\n" * 5_000, encoding="utf-8")


class Files:
    """Grounds with the log in a file."""

    def __init__(self, beginnings: dict[str, Path]) -> None:
        self._beginnings = beginnings

    def begin(self, what: str, folder: Path) -> Ground:
        shutil.copytree(self._beginnings[what], folder)
        _write_papers(folder)
        return Ground(folder, str(folder / "log.db"))

    def close(self) -> None:
        """Folders of tests go by themselves."""


class Databases:
    """Grounds with the log in a PostgreSQL database, made after one of the same content."""

    def __init__(self, schemas: Schemas, beginnings: dict[str, Path]) -> None:
        self._schemas, self._made = schemas, []
        self._inputs = beginnings["import"] / "in"
        empty, twins, older = (self._new() for _ in range(3))
        open_log(empty, at=DEMO_OCCASION.at).dispose()
        for url in (twins, older):
            copy_log(str(beginnings["visit"] / "log.db"), url, DEMO_OCCASION)
        _take_down(older)
        self._like = {"creation": None, "import": empty, "migration": older}
        self._like |= dict.fromkeys(("visit", "corrections", "papers", "refresh"), twins)

    def _new(self, like: str | None = None) -> str:
        self._made.append(self._schemas.new_database(like))
        return self._made[-1]

    def begin(self, what: str, folder: Path) -> Ground:
        folder.mkdir()
        shutil.copytree(self._inputs, folder / "in")
        _write_papers(folder)
        return Ground(folder, self._new(self._like[what]))

    def close(self) -> None:
        for url in self._made:
            self._schemas.drop_database(url)


@pytest.fixture(scope="module")
def grounds(beginnings: dict[str, Path], request: pytest.FixtureRequest) -> Iterator[dict[str, Any]]:
    """The grounds on each kind of database."""
    made: dict[str, Any] = {"sqlite": Files(beginnings)}
    if "postgresql" in STORES:
        made["postgresql"] = Databases(request.getfixturevalue("schemas"), beginnings)
    yield made
    for one in made.values():
        one.close()


@dataclass(frozen=True)
class State:
    """What a log holds, but for ids that are made by chance and what is kept for speed."""

    counts: tuple[tuple[str, int], ...]
    problems: tuple[str, ...]


def _state(place: str, papers: Path | None = None) -> State:
    log = open_log(place, at=DEMO_OCCASION.at, papers=papers)
    with log.reading() as reader:
        counts = reader.batch().counts()
    report = check_log(log, DEMO_TODAY)
    log.dispose()
    return State(tuple(sorted(counts.items())), tuple(map(str, report.problems)))


THINGS = {"sqlite": list(STEPS), "postgresql": [what for what in STEPS if what != "backup"]}
"""What is killed on which database: PostgreSQL's backups are its own."""

CASES = [(store, what) for store in STORES for what in THINGS[store]]


def _whole(victim: Victim, ground_kind: Any, what: str, folder: Path) -> tuple[int, list[State]]:
    """The points that a thing passes when nobody kills it, and what it leaves behind after each step."""
    ground = ground_kind.begin(what, folder / "by-steps")
    states = [_state(ground.place, ground.papers)]
    for step in STEPS[what]:
        victim.order(ground, [step], 0)
        states.append(_state(ground.place, ground.papers))
    at_once = ground_kind.begin(what, folder / "at-once")
    points = victim.order(at_once, STEPS[what], 0)["points"]
    assert _state(at_once.place, at_once.papers) == states[-1]
    return points, states


@pytest.mark.parametrize(("kind", "what"), CASES)
def test_what_was_saved_is_there_and_nothing_is_half_there(
    victim: Victim, grounds: dict[str, Any], tmp_path: Path, kind: str, what: str
) -> None:
    points, states = _whole(victim, grounds[kind], what, tmp_path)
    assert states[-1].problems == ()
    kills = -(-KILLS // len(STORES) // len(THINGS[kind]))
    for number in range(kills):
        die_at = 1 + number * (points - 1) // max(kills - 1, 1)
        ground = grounds[kind].begin(what, tmp_path / f"killed-{number}")
        answer = victim.order(ground, STEPS[what], die_at)
        assert answer["killed"], "it lived"
        found = _state(ground.place, ground.papers)
        assert found.problems == ()
        saved = answer["steps"]
        assert found in states[saved : saved + 2], f"killed at point {die_at} of {points}"
        for backup in (ground.folder / "log-backups").glob("*.db"):
            assert _state(str(backup)) == states[0]
        log = open_log(ground.place, at=DEMO_OCCASION.at)
        with log.writing("Tess", DEMO_OCCASION.at) as writer:
            writer.add(Batch(owners=[Owner("O-new", "New")]))
        log.dispose()

"""A log of a small part of the invented marina, with every due line kept on its day."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from fleetlog.domain.batch import Batch
from fleetlog.exchange.csv.folder import read_folder
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.store.shapes import OF_ENGINE
from fleetlog.usecases.demo import DEMO_TODAY, demo_folder
from fleetlog.usecases.due import DueQuestion, list_due
from fleetlog.usecases.imports.folder import import_folder
from fleetlog.usecases.occasion import Occasion
from tests.usecases.twins_shop import FILES, OCCASION

AT = datetime(2026, 4, 15, 7, 0, tzinfo=UTC)


def a_part_of_the_marina(engines: int) -> Batch:
    """Every so many of the invented marina's engines, with their ledgers; without photos and papers."""
    batch = read_folder(demo_folder()).batch
    step = len(batch.engines) // engines
    chosen = {engine.serial for engine in batch.engines[::step]}
    for kind in ("engines", *(OF_ENGINE - {"voids"})):
        setattr(batch, kind, [row for row in getattr(batch, kind) if row.serial in chosen])
    entries = {entry.entry_id for entry in batch.entries}
    batch.papers = [p for p in batch.papers if p.serial is None or p.serial in chosen]
    batch.voids = [void for void in batch.voids if void.entry_id in entries]
    batch.papers, batch.paper_withdrawals = [], []
    batch.changes = [c for c in batch.changes if c.kind != "engines" or c.key in chosen]
    return batch


@pytest.fixture(scope="session")
def small_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The log, to be copied."""
    path = tmp_path_factory.mktemp("small") / "log.db"
    log = open_log(str(path), at=AT)
    with log.writing("Kim", AT) as writer:
        writer.add(a_part_of_the_marina(15))
    list_due(log, Occasion("Kim", AT, DEMO_TODAY), DueQuestion())
    log.dispose()
    return path


@pytest.fixture
def small_log(small_path: Path, tmp_path: Path) -> Iterator[Log]:
    """A copy of the log."""
    shutil.copy(small_path, tmp_path / "log.db")
    opened = open_log(str(tmp_path / "log.db"), at=AT)
    yield opened
    opened.dispose()


@pytest.fixture
def shop_log(log: Log, tmp_path: Path) -> Log:
    """A log of two boats whose belts come due in May, and of a shop of one technician."""
    for name, text in FILES.items():
        path = tmp_path / "in" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    import_folder(log, OCCASION, tmp_path / "in")
    return log

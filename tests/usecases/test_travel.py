"""Items that go from engine to engine while others move theirs."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Engine, Entry
from fleetlog.store.log import Log
from fleetlog.usecases import again
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.travel import MoveSaid, move_item
from tests.conftest import AT
from tests.usecases.together import together

NOW = Occasion("Kim", AT, date(2026, 4, 15))
ITEMS = ("thermostat", "starter motor")


def test_items_that_cross_between_two_engines_do_not_wait_for_each_other(
    log: Log, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(again, "WAITS_SECONDS", ())
    fitted = [
        Entry(f"{serial}-{item}", serial, date(2025, 4, 1), "fitted", item=item, condition="new")
        for serial in "AB"
        for item in ITEMS
    ]
    with log.writing("Kim", AT) as writer:
        writer.add(
            Batch(engines=[Engine("A", hour_meter=False), Engine("B", hour_meter=False)], entries=fitted)
        )

    def move(item: str, giver: str, taker: str) -> Callable[[], object]:
        said = MoveSaid(item, taker, date(2026, 4, 1))
        return lambda: move_item(log, NOW, giver, said, is_tried=False)

    answers = together([move("thermostat", "A", "B"), move("starter motor", "B", "A")])
    assert [type(answer).__name__ for answer in answers] == ["Written", "Written"]

"""Telemetry that two programs take in at the same time."""

from __future__ import annotations

import json
from datetime import date
from functools import partial
from pathlib import Path

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Engine
from fleetlog.store.log import Log
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.telemetry import TelemetryTaken, take_telemetry
from tests.conftest import AT
from tests.usecases.together import together


def test_a_day_is_recorded_once_though_two_take_the_file_in_at_once(log: Log, tmp_path: Path) -> None:
    with log.writing("Kim", AT) as writer:
        writer.add(Batch(engines=[Engine("A")]))
    values = [{"path": "propulsion.port.runTime", "value": 361_800}]
    updates = [{"timestamp": "2026-04-10T17:00:00Z", "$source": "gauge", "values": values}]
    file = tmp_path / "delta.json"
    file.write_text(json.dumps({"updates": updates}), encoding="utf-8")
    occasion, way = Occasion("Kim", AT, date(2026, 4, 15)), {"source": None, "utc_offset_hours": 0}
    taking = partial(take_telemetry, log, occasion, file, {"port": "A"}, **way)
    answers = together([taking] * 2)
    assert all(isinstance(answer, TelemetryTaken) for answer in answers)
    assert sorted((len(answer.recorded), answer.known_days) for answer in answers) == [(0, 1), (1, 0)]
    with log.reading() as reader:
        assert [(r.on, r.meter_tenths) for r in reader.ledger("A").readings] == [(date(2026, 4, 10), 1_005)]

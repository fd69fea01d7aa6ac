"""How many hours engines run from their last readings to given days, for many engines at once."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import chain

import numpy as np

from fleetlog.forecast.evidence import EngineUsage, FleetUsage
from fleetlog.forecast.fleet import FleetForecast
from fleetlog.forecast.parameters import FleetParameters

_EVENLY = 0.5


def hours_to(
    parameters: FleetParameters,
    engines: Sequence[EngineUsage],
    days: Sequence[Sequence[date]],
    today: date,
) -> list[list[float | None]]:
    """For each engine the hours likely run since its last reading by the end of each of its days.

    They are exceeded as likely as not. None before the last reading, and where none was ever taken.
    """
    if not engines:
        return []
    forecast = FleetForecast(parameters, FleetUsage.of(engines), today)
    engine = np.repeat(np.arange(len(engines)), [len(asked) for asked in days])
    wanted = np.array([day.toordinal() for day in chain(*days)], dtype=np.int64)
    if not wanted.size:
        return [[] for _ in engines]
    last = forecast.last_day[engine]
    (hours,) = forecast.hours_by(engine, wanted, (_EVENLY,))
    known = (last > 0) & (wanted >= last)
    found = iter(zip(hours.tolist(), known.tolist(), strict=True))
    return [[h if is_known else None for h, is_known in (next(found) for _ in asked)] for asked in days]

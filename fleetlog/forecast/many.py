"""The forecasts of many engines at once, in the terms of the interval engine: for lists of a whole fleet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import chain

import numpy as np

from fleetlog.domain.usage import DateWindow, HoursTarget
from fleetlog.forecast.basis import bases_in_words
from fleetlog.forecast.evidence import EngineUsage, FleetUsage
from fleetlog.forecast.fleet import FleetForecast
from fleetlog.forecast.parameters import FleetParameters


@dataclass(frozen=True, slots=True)
class Outlook:
    """The windows of an engine's targets in the order given, and what they rest on in plain words."""

    windows: Sequence[DateWindow]
    basis: str


def outlooks(
    parameters: FleetParameters,
    engines: Sequence[EngineUsage],
    targets: Sequence[Sequence[HoursTarget]],
    today: date,
) -> list[Outlook]:
    """For each engine what `EngineForecast` says of its targets, worked out for all of them together."""
    if not engines:
        return []
    forecast = FleetForecast(parameters, FleetUsage.of(engines), today)
    windows = iter(_windows(forecast, engines, targets, today))
    return [
        Outlook([next(windows) for _ in wanted], basis)
        for wanted, basis in zip(targets, bases_in_words(forecast, engines), strict=True)
    ]


def _windows(
    forecast: FleetForecast,
    engines: Sequence[EngineUsage],
    targets: Sequence[Sequence[HoursTarget]],
    today: date,
) -> list[DateWindow]:
    start, shown = [], []
    for usage in engines:
        read = [r for r in usage.readings if r[0] <= today][-1:] if usage.metered else []
        start.append(read[0][0] if read else today)
        shown.append(read[0][1] if read else 0)
    every = list(chain.from_iterable(targets))
    if not every:
        return []
    engine = np.repeat(np.arange(len(engines)), [len(wanted) for wanted in targets])
    since = [(t.since or start[i]).toordinal() for i, t in zip(engine, every, strict=True)]
    hours = [
        max(float(t.tenths - (0 if t.since else shown[i])) / 10, 0.0)
        for i, t in zip(engine, every, strict=True)
    ]
    days = forecast.windows(engine, np.array(hours), np.array(since, dtype=np.int64))
    return [
        DateWindow(*map(date.fromordinal, window)) for window in zip(*(d.tolist() for d in days), strict=True)
    ]

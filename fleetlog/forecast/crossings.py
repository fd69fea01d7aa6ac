"""Between which readings given engine hours were reached."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleetlog.forecast.evidence import Days, FleetUsage

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Crossings:
    """Between which days each case's hours were reached; `high_day` 0 where no reading shows it yet."""

    low_day: Days
    high_day: Days


def crossings(fleet: FleetUsage, engine: Days, engine_hours: Floats) -> Crossings:
    """Between which readings of the whole fleet the engine hours of each case were reached.

    The low day is the last one that shows less, the high day the next reading after it.
    """
    span = float(np.max(fleet.reading_hours, initial=0.0)) + np.max(engine_hours, initial=0.0) + 1.0
    hours = fleet.reading_hours.copy()
    starts = fleet.reading_offsets[:-1]
    running = np.maximum.accumulate(fleet.reading_engine * span + hours) if len(hours) else hours
    at = np.searchsorted(running, engine * span + engine_hours - 1e-6)
    at = np.clip(at, starts[engine], fleet.reading_offsets[1:][engine])
    days = np.append(fleet.reading_day, 0)
    before = np.maximum(at - 1, 0)
    low = np.where(at > starts[engine], days[before], 0)
    high = np.where(at < fleet.reading_offsets[1:][engine], days[at], 0)
    return Crossings(low, high)

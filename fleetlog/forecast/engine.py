"""The forecast of one engine, as the interval engine asks for it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import cached_property

from fleetlog.domain.usage import DateWindow, HoursTarget
from fleetlog.forecast.basis import bases_in_words
from fleetlog.forecast.evidence import EngineUsage, FleetUsage
from fleetlog.forecast.fleet import FleetForecast
from fleetlog.forecast.many import windows_of
from fleetlog.forecast.parameters import FleetParameters


class EngineForecast:
    """What one engine is expected to run, as known on one day; implements `UsageForecast`.

    Its first answer takes some milliseconds and fits nothing: `parameters` are those of the fleet, and say
    when they were fitted. Readings after `today` are not seen. Of many engines ask `forecast.many`.
    """

    def __init__(self, parameters: FleetParameters, usage: EngineUsage, today: date) -> None:
        self.parameters = parameters
        self._usage, self._today = usage, today

    @cached_property
    def _fleet(self) -> FleetForecast:
        return FleetForecast(self.parameters, FleetUsage.of([self._usage]), self._today)

    def windows(self, targets: Sequence[HoursTarget]) -> Sequence[DateWindow]:
        """The days by which each target is reached with a chance of 10, 50 and 90 %, in the order given.

        Hours count from the last reading, or from the target's own `since`; without either from today.
        """
        return windows_of(self._fleet, [self._usage], [targets], self._today) if targets else []

    def basis(self) -> str:
        """In plain words, what the forecast rests on."""
        return bases_in_words(self._fleet, [self._usage])[0]

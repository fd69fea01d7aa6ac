"""Refusals of telemetry."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from fleetlog.errors import FleetlogError


class TelemetryUnreadable(FleetlogError):
    """A telemetry file that is not in a form that is known."""

    def __init__(self, path: Path, line: int | None, why: str) -> None:
        where = f"{path}, line {line}" if line else f"{path}"
        super().__init__(f"{where}: {why}; nothing was recorded")


class TelemetryEngineUnknown(FleetlogError):
    """Ids in a telemetry file that nobody has said the engine of."""

    def __init__(self, ids: Sequence[str]) -> None:
        maps = " ".join(f"--map {one}=SERIAL" for one in ids)
        super().__init__(f"which engine is {', '.join(ids)}? Say so, such as: {maps}")


class TelemetryEngineTwice(FleetlogError):
    """Two ids of a telemetry file that were said to be one engine."""

    def __init__(self, serial: str, ids: Sequence[str]) -> None:
        super().__init__(f"{' and '.join(ids)} cannot both be engine {serial}; map each to its own")


class TelemetrySourceUnknown(FleetlogError):
    """A device to believe that tells nothing in the file."""

    def __init__(self, source: str, sources: Sequence[str]) -> None:
        super().__init__(f"no figure comes from {source!r}; the file has: {', '.join(sources) or 'none'}")


class TelemetrySeveralSources(FleetlogError):
    """Two devices that tell the hours of one engine."""

    def __init__(self, engine: str, sources: Sequence[str]) -> None:
        super().__init__(
            f"the hours of {engine} come from {len(sources)} sources ({', '.join(sources)}), which need not"
            " agree; choose one with --source"
        )

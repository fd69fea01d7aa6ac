"""Records hours from telemetry: one reading a day and engine, and none twice."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from fleetlog.errors.telemetry import TelemetryEngineUnknown, TelemetrySeveralSources
from fleetlog.exchange.telemetry import RunTime, read_telemetry
from fleetlog.store.log import Log
from fleetlog.usecases.finding import find_serial
from fleetlog.usecases.hours import Figure, RecordedReading, record_hours
from fleetlog.usecases.occasion import Occasion

SOURCE = "telemetry"


@dataclass(frozen=True, slots=True)
class TelemetryTaken:
    """The readings recorded, how many days were there already, and how many figures were passed over.

    `without_figure` counts messages that tell none, `in_future` figures of days after today.
    """

    recorded: list[RecordedReading]
    known_days: int
    without_figure: int
    in_future: int


def take_telemetry(
    log: Log,
    occasion: Occasion,
    path: Path,
    engines: Mapping[str, str],
    *,
    source: str | None = None,
    utc_offset_hours: float = 0,
) -> TelemetryTaken:
    """Records the last figure of each day from a file; `engines` has the serial (or a part of it) of each id.

    `utc_offset_hours` is the marina's time less UTC: it decides which day a moment belongs to. A day that
    telemetry has a reading of already is left as it is, a day after today left out. Raises
    TelemetryEngineUnknown, TelemetrySeveralSources, and what `read_telemetry` and `record_hours` raise.
    """
    found = read_telemetry(path)
    run_times = [r for r in found.run_times if source is None or r.source == source]
    unknown = sorted({r.engine for r in run_times} - engines.keys())
    if unknown:
        raise TelemetryEngineUnknown(unknown)
    _refuse_several_sources(run_times)
    with log.reading() as reader:
        serials = {one: find_serial(reader, engines[one]) for one in {r.engine for r in run_times}}
        known = {
            (ledger.engine.serial, reading.on)
            for ledger in reader.ledgers(sorted(set(serials.values())))
            for reading in ledger.readings
            if reading.source == SOURCE
        }
    last: dict[tuple[str, date], RunTime] = {}
    in_future = 0
    for one in sorted(run_times, key=lambda r: (r.at, r.tenths)):
        day = (one.at + timedelta(hours=utc_offset_hours)).date()
        if day > occasion.today:
            in_future += 1
        else:
            last[serials[one.engine], day] = one
    new = {place: one for place, one in last.items() if place not in known}
    figures = [
        Figure(serial, day, {None: one.tenths})
        for (serial, day), one in sorted(new.items(), key=lambda p: (p[0][1], p[0][0]))
    ]
    recorded = record_hours(
        log, occasion, figures, are_engine_hours=False, source=SOURCE, ask=lambda _question: None
    )
    return TelemetryTaken(recorded, len(last) - len(new), found.without_figure, in_future)


def _refuse_several_sources(run_times: list[RunTime]) -> None:
    sources: dict[str, set[str]] = defaultdict(set)
    for one in run_times:
        sources[one.engine].add(one.source)
    for engine, told in sources.items():
        if len(told) > 1:
            raise TelemetrySeveralSources(engine, sorted(told))

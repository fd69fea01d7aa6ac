"""Records hours from telemetry: one reading a day and engine, and none twice."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from fleetlog.domain.ledger_rules import first_day_of
from fleetlog.errors.telemetry import (
    TelemetryEngineTwice,
    TelemetryEngineUnknown,
    TelemetrySeveralSources,
    TelemetrySourceUnknown,
)
from fleetlog.exchange.telemetry import RunTime, read_telemetry
from fleetlog.store.log import Log
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.finding import find_serial
from fleetlog.usecases.hours import HowRead, write_hours
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.recording import JudgedFigure
from fleetlog.usecases.whose_hours import Figure

SOURCE = "telemetry"


@dataclass(frozen=True, slots=True)
class TelemetryTaken:
    """The readings recorded, how many days were there already, and how many figures were passed over.

    `without_figure` counts messages that tell none, `misdated` figures of days after today, or of long before
    the engine came into service.
    """

    recorded: list[JudgedFigure]
    known_days: int
    without_figure: int
    misdated: int


@again_if_lost
def take_telemetry(
    log: Log,
    occasion: Occasion,
    path: Path,
    engines: Mapping[str, str],
    *,
    source: str | None,
    utc_offset_hours: float,
) -> TelemetryTaken:
    """Records the last figure of each day from a file; `engines` has the serial (or a part of it) of each id.

    `utc_offset_hours` is the marina's time less UTC: it decides which day a moment belongs to. A day that
    telemetry has a reading of already is left as it is, a day that cannot be left out. Raises
    TelemetryEngineUnknown, TelemetryEngineTwice, TelemetrySourceUnknown, TelemetrySeveralSources, and what
    `read_telemetry` and `write_hours` raise.
    """
    found = read_telemetry(path)
    run_times = [r for r in found.run_times if source is None or r.source == source]
    if source is not None and not run_times:
        raise TelemetrySourceUnknown(source, sorted({r.source for r in found.run_times}))
    unknown = sorted({r.engine for r in run_times} - engines.keys())
    if unknown:
        raise TelemetryEngineUnknown(unknown)
    _refuse_several_sources(run_times)
    with log.writing(occasion.by, occasion.at) as writer:
        serials = {one: find_serial(writer, engines[one]) for one in sorted({r.engine for r in run_times})}
        _refuse_one_engine_twice(serials)
        ledgers = {ledger.engine.serial: ledger for ledger in writer.ledgers(sorted(set(serials.values())))}
        known = {
            (serial, reading.on)
            for serial, ledger in ledgers.items()
            for reading in ledger.readings
            if reading.source == SOURCE
        }
        first_days = {serial: first_day_of(ledger.engine) or date.min for serial, ledger in ledgers.items()}
        last: dict[tuple[str, date], RunTime] = {}
        misdated = 0
        for one in sorted(run_times, key=lambda r: (r.at, r.tenths)):
            day = (one.at + timedelta(hours=utc_offset_hours)).date()
            serial = serials[one.engine]
            if first_days[serial] <= day <= occasion.today:
                last[serial, day] = one
            else:
                misdated += 1
        new = {place: one for place, one in last.items() if place not in known}
        figures = [
            Figure(serial, day, {None: one.tenths})
            for (serial, day), one in sorted(new.items(), key=lambda p: (p[0][1], p[0][0]))
        ]
        recorded = write_hours(writer, occasion, figures, HowRead(source=SOURCE), lambda _question: None)
    return TelemetryTaken(recorded, len(last) - len(new), found.without_figure, misdated)


def _refuse_one_engine_twice(serials: Mapping[str, str]) -> None:
    for serial in serials.values():
        ids = [one for one in serials if serials[one] == serial]
        if len(ids) > 1:
            raise TelemetryEngineTwice(serial, ids)


def _refuse_several_sources(run_times: list[RunTime]) -> None:
    sources: dict[str, set[str]] = defaultdict(set)
    for one in run_times:
        sources[one.engine].add(one.source)
    for engine, told in sources.items():
        if len(told) > 1:
            raise TelemetrySeveralSources(engine, sorted(told))

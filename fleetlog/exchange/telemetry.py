"""Reads run times of engines out of telemetry: the open marine data model's JSON, and logs of messages.

JSON: `propulsion.<id>.runTime` in seconds, as a whole document, as a delta, or a delta a line. Logs: lines
of `time, priority, PGN, source, destination, length, bytes in hexadecimal`, of which two messages tell hours:
NMEA 2000 PGN 127489 (bytes 12 to 15, seconds) and J1939 PGN 65253 (bytes 1 to 4, 0.05 h a bit), both
little-endian.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from fleetlog.domain.bounds import YEARS
from fleetlog.errors import counted
from fleetlog.errors.files import FileUnreadable
from fleetlog.errors.telemetry import TelemetryUnreadable

ENGINE_PARAMETERS, ENGINE_HOURS = 127489, 65253
_NO_FIGURE = {0xFFFFFFFF: "unknown", 0xFFFFFFFE: "out of range", 0xFFFFFFFD: "reserved"}
_MOST_BYTES = 100_000_000
_MOST_SECONDS = 36_000_000 * 3  # 30,000 h: more than any outboard runs
_PATH = re.compile(r"propulsion\.([A-Za-z0-9]+)\.runTime")
_ID = re.compile(r"[A-Za-z0-9]+")


@dataclass(frozen=True, slots=True)
class RunTime:
    """How long an engine had run at a UTC moment, in tenths of an hour, and which device said so."""

    engine: str
    at: datetime
    tenths: int
    source: str


@dataclass(slots=True)
class Telemetry:
    """The run times of a file, how many figures said that they are none, and the vessels that were named.

    `own` is the name of the vessel that the file calls its own, by which `self` goes as well.
    """

    run_times: list[RunTime] = field(default_factory=list)
    without_figure: int = 0
    vessels: set[str] = field(default_factory=set)
    own: str = "self"


def tenths_of_seconds(seconds: int) -> int:
    """Whole tenths of an hour, as a meter shows them: 361,800 s are 100.5 h."""
    return seconds // 360


def tenths_of_counts(counts: int) -> int:
    """Whole tenths of an hour from counts of 0.05 h: 2,010 are 100.5 h."""
    return counts // 2


def read_telemetry(path: Path) -> Telemetry:
    """Every run time in a file. Raises FileUnreadable, TelemetryUnreadable."""
    try:
        with path.open("rb") as stream:  # a device tells no size, and may never end
            data = stream.read(_MOST_BYTES + 1)
    except OSError as error:
        raise FileUnreadable(path, error.strerror or str(error)) from error
    if len(data) > _MOST_BYTES:
        raise TelemetryUnreadable(path, None, f"larger than {_MOST_BYTES // 1_000_000} MB: take it in parts")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise TelemetryUnreadable(path, None, "it is not UTF-8 text") from None
    found = Telemetry()
    if text.lstrip()[:1] in ("{", "["):
        for line, value in _documents(path, text):
            _from_json(path, line, value, found)
    else:
        for number, line_text in enumerate(text.splitlines(), start=1):
            if line_text.strip() and not line_text.startswith("#"):
                _from_message(path, number, line_text, found)
    vessels = {found.own if name == "self" else name for name in found.vessels}
    if len(vessels) > 1:
        named = ", ".join(sorted(vessels))[:200]
        raise TelemetryUnreadable(
            path, None, f"it tells of several vessels ({named}): keep those of one boat"
        )
    if not found.run_times and not found.without_figure:
        raise TelemetryUnreadable(path, None, "no run time of an engine is in it")
    return found


# JSON


def _documents(path: Path, text: str) -> Iterator[tuple[int | None, Any]]:
    try:
        yield None, json.loads(text)
        return
    except (ValueError, RecursionError):
        lines = text.splitlines()
    if len(lines) == 1:
        raise TelemetryUnreadable(path, 1, "it is not JSON")
    for number, line in enumerate(lines, start=1):
        if line.strip():
            try:
                yield number, json.loads(line)
            except (ValueError, RecursionError):
                raise TelemetryUnreadable(path, number, "it is not JSON") from None


def _from_json(path: Path, line: int | None, value: Any, found: Telemetry) -> None:
    if isinstance(value, list):
        for one in value:
            _from_json(path, line, one, found)
    elif isinstance(value, dict) and isinstance(value.get("updates"), list):
        for update in value["updates"]:
            _from_update(path, line, value.get("context"), update, found)
    elif isinstance(value, dict):
        vessels = value.get("vessels")
        for name, vessel in vessels.items() if isinstance(vessels, dict) else [(None, value)]:
            _from_vessel(path, line, name, vessel, found)
        if isinstance(value.get("self"), str):
            found.own = value["self"].removeprefix("vessels.")


def _from_update(path: Path, line: int | None, context: Any, update: Any, found: Telemetry) -> None:
    if not isinstance(update, dict):
        return
    for engine, meta in _of_run_times(update.get("meta")):
        _refuse_other_unit(path, line, engine, meta)
    for engine, seconds in _of_run_times(update.get("values")):
        _note_vessel(context, found)
        _take(path, line, engine, seconds, update, found)


def _of_run_times(told: Any) -> Iterator[tuple[str, Any]]:
    """What a list of paths and values tells of run times, by engine."""
    for one in told if isinstance(told, list) else ():
        match = _PATH.fullmatch(str(one.get("path"))) if isinstance(one, dict) else None
        if match:
            yield match[1], one.get("value")


def _note_vessel(name: Any, found: Telemetry) -> None:
    """Notes whose engines are told of, where it is told: one id is the port engine's of every boat."""
    if name is not None:
        found.vessels.add(str(name).removeprefix("vessels."))


def _refuse_other_unit(path: Path, line: int | None, engine: str, meta: Any) -> None:
    unit = meta.get("units", "s") if isinstance(meta, dict) else "s"
    if unit != "s":
        raise TelemetryUnreadable(path, line, f"the run time of {engine} is in {unit!r}, not in seconds")


def _from_vessel(path: Path, line: int | None, vessel_name: Any, vessel: Any, found: Telemetry) -> None:
    engines = vessel.get("propulsion") if isinstance(vessel, dict) else None
    for name, engine in engines.items() if isinstance(engines, dict) else ():
        run_time = engine.get("runTime") if isinstance(engine, dict) else None
        if not isinstance(engine, dict) or "runTime" not in engine:
            continue
        if not isinstance(run_time, dict):
            run_time = {"value": run_time}
        if not _ID.fullmatch(name):
            raise TelemetryUnreadable(path, line, f"{name[:40]!r} is no id of an engine (letters and digits)")
        _refuse_other_unit(path, line, name, run_time.get("meta"))
        _note_vessel(vessel_name, found)
        _take(path, line, name, run_time.get("value"), run_time, found)


def _take(
    path: Path, line: int | None, engine: str, seconds: Any, said: dict[str, Any], found: Telemetry
) -> None:
    if seconds is None:
        found.without_figure += 1
        return
    what = f"the run time of {engine}, {json.dumps(seconds)[:40]},"
    why = _why_no_seconds(seconds)
    if why is not None:
        raise TelemetryUnreadable(path, line, f"{what} cannot be seconds: {why}")
    if said.get("timestamp") is None:
        raise TelemetryUnreadable(path, line, f"{what} has no timestamp, so its day is not known")
    source = said.get("$source") or said.get("source") or "not said"
    if isinstance(source, dict):
        source = source.get("label") or source.get("src") or "not said"
    at = _moment(path, line, said.get("timestamp"))
    found.run_times.append(RunTime(engine, at, tenths_of_seconds(int(seconds)), str(source)[:80]))


def _why_no_seconds(said: Any) -> str | None:
    if isinstance(said, bool) or not isinstance(said, int | float) or said != said:
        return "it is no number"
    if said < 0:
        return "it is below 0"
    return f"it is above {_MOST_SECONDS // 3600:,} h" if said > _MOST_SECONDS else None


def _moment(path: Path, line: int | None, text: Any) -> datetime:
    try:
        at = datetime.fromisoformat(str(text).strip())
    except ValueError:
        raise TelemetryUnreadable(
            path, line, f"{str(text)[:40]!r} is no time such as 2026-04-15T07:30:00Z"
        ) from None
    if at.year not in YEARS:
        raise TelemetryUnreadable(
            path, line, f"{str(text)[:40]!r} is of no year from {YEARS[0]} to {YEARS[-1]}"
        )
    return (at if at.tzinfo else at.replace(tzinfo=UTC)).astimezone(UTC)


# Messages


def _from_message(path: Path, line: int, text: str, found: Telemetry) -> None:
    cells = [cell.strip() for cell in text.split(",")]
    if len(cells) < 6 or not (cells[2].isascii() and cells[2].isdigit()):
        if line == 1:
            return  # a line of headings
        raise TelemetryUnreadable(
            path, line, "it is not: time, priority, PGN, source, destination, length, bytes"
        )
    pgn = int(cells[2][:9])
    if pgn not in (ENGINE_PARAMETERS, ENGINE_HOURS):
        return
    try:
        data = bytes(int(cell, 16) for cell in cells[6:])
    except ValueError:
        raise TelemetryUnreadable(path, line, "its bytes are not hexadecimal") from None
    if cells[5] != str(len(data)):
        raise TelemetryUnreadable(path, line, f"it has {counted(len(data), 'byte')} and says {cells[5][:20]}")
    at = _moment(path, line, cells[0])
    first, last = (11, 15) if pgn == ENGINE_PARAMETERS else (0, 4)
    if len(data) < last:
        raise TelemetryUnreadable(
            path, line, f"its {counted(len(data), 'byte is', 'bytes are')} too few to tell the hours"
        )
    figure = int.from_bytes(data[first:last], "little")
    if figure in _NO_FIGURE:
        found.without_figure += 1
        return
    if figure * (1 if pgn == ENGINE_PARAMETERS else 180) > _MOST_SECONDS:
        unit = "s" if pgn == ENGINE_PARAMETERS else "counts of 0.05 h"
        raise TelemetryUnreadable(
            path, line, f"{figure} {unit} cannot be the hours of an engine: above {_MOST_SECONDS // 3600:,} h"
        )
    if pgn == ENGINE_PARAMETERS:
        run_time = RunTime(str(data[0]), at, tenths_of_seconds(figure), f"device {cells[3]}")
    else:
        run_time = RunTime(cells[3], at, tenths_of_counts(figure), f"device {cells[3]}")
    found.run_times.append(run_time)

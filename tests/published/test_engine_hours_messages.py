"""Engine hours as the standard messages carry them.

Sources, printed: the open marine data model's schema (`propulsion.<id>.runTime`, seconds); the open
description of NMEA 2000 and J1939 messages: PGN 127489, field 7, unsigned 32 bit, seconds, bit offset 88,
with 0xFFFFFFFF
unknown, 0xFFFFFFFE out of range and 0xFFFFFFFD reserved; PGN 65253, SPN 247, bytes 1 to 4, little-endian,
0.05 h a bit. Computed: 100.5 h are 361,800 s and 2,010 counts.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fleetlog.exchange.telemetry import Telemetry, read_telemetry


def _read(folder: Path, text: str) -> Telemetry:
    path = folder / "log.csv"
    path.write_text(text, encoding="utf-8")
    return read_telemetry(path)


def _message(pgn: int, data: bytes) -> str:
    return ",".join(
        ["2026-04-01T10:00:00.000Z", "6", str(pgn), "20", "255", str(len(data)), *map("{:02x}".format, data)]
    )


def _parameters(figure: int) -> bytes:
    """A whole message 127489: engine 1, and the figure 88 bits in."""
    return bytes([1]) + b"\x11" * 10 + figure.to_bytes(4, "little") + b"\x22" * 11


def test_the_hours_of_127489_are_seconds_88_bits_in(tmp_path: Path) -> None:
    (found,) = _read(tmp_path, _message(127489, _parameters(361_800))).run_times
    assert (found.engine, found.tenths) == ("1", 1005)


def test_the_hours_of_65253_are_twentieths_of_an_hour_in_the_first_four_bytes(tmp_path: Path) -> None:
    data = (2010).to_bytes(4, "little") + b"\xff" * 4
    assert data[:2] == b"\xda\x07"
    (found,) = _read(tmp_path, _message(65253, data)).run_times
    assert (found.engine, found.tenths) == ("20", 1005)


@pytest.mark.parametrize("figure", [0xFFFFFFFF, 0xFFFFFFFE, 0xFFFFFFFD])
def test_figures_that_say_there_is_none_are_none(tmp_path: Path, figure: int) -> None:
    found = _read(tmp_path, _message(127489, _parameters(figure)))
    assert (found.run_times, found.without_figure) == ([], 1)


def test_the_run_time_of_the_open_data_model_is_in_seconds(tmp_path: Path) -> None:
    run_time = {"value": 361800, "timestamp": "2026-04-01T10:00:00Z"}
    text = json.dumps({"vessels": {"self": {"propulsion": {"port": {"runTime": run_time}}}}})
    (found,) = _read(tmp_path, text).run_times
    assert (found.engine, found.tenths) == ("port", 1005)

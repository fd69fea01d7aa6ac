"""Hours as owners send them, read from text."""

from __future__ import annotations

from datetime import date

import pytest

from fleetlog.errors.recording import HoursNotRead
from fleetlog.usecases.hours_text import figures_from_text

TODAY = date(2026, 4, 15)


@pytest.mark.parametrize(
    ("line", "about", "on", "figures"),
    [
        ("Sea Spray: port 412, starboard 415.5", "Sea Spray", TODAY, {"port": 4120, "starboard": 4155}),
        (
            "Sea Spray: port=412 starboard=415 on 2026-04-10",
            "Sea Spray",
            date(2026, 4, 10),
            {"port": 4120, "starboard": 4150},
        ),
        ("Sea Spray port=412,5 starboard=415", "Sea Spray", TODAY, {"port": 4125, "starboard": 4150}),
        ("Old Argument: hours=345.5 on 2026-04-15", "Old Argument", TODAY, {None: 3455}),
        ("Old Argument 345.5 h", "Old Argument", TODAY, {None: 3455}),
        ("2026-04-09 VK6-20125: 275", "VK6-20125", date(2026, 4, 9), {None: 2750}),
        ("\ufeffBoat 7 12", "Boat 7", TODAY, {None: 120}),
        (
            "Trio: port-outer=1 starboard=2 centre=3 h",
            "Trio",
            TODAY,
            {"port-outer": 10, "starboard": 20, "centre": 30},
        ),
    ],
)
def test_a_line_says_a_boat_a_day_and_hours(line, about, on, figures):
    (figure,) = figures_from_text([line], TODAY)
    assert (figure.about, figure.on, dict(figure.by_position)) == (about, on, figures)


def test_empty_lines_and_remarks_are_passed_over():
    assert list(figures_from_text(["", "  ", "# hours of May"], TODAY)) == []


@pytest.mark.parametrize(
    "line",
    ["Sea Spray", "Sea Spray: port=____ starboard=12", "412", "Sea Spray: 12.55", "a: port 2026-02-30 3"],
)
def test_what_cannot_be_read_is_refused_with_its_line(line):
    with pytest.raises(HoursNotRead, match="line 2"):
        list(figures_from_text(["Good 12", line], TODAY))

"""Hours as owners send them, read from text."""

from __future__ import annotations

from datetime import date

import pytest

from fleetlog.errors.recording import HoursNotRead
from fleetlog.usecases.hours_text import figure_from_words, figures_from_text

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
        ("> > Sea Spray: port=412 stbd=415 on ____", "Sea Spray", TODAY, {"port": 4120, "stbd": 4150}),
        ("\ufeff>Boat 7 12 h", "Boat 7", TODAY, {None: 120}),
        (
            "Trio: port-outer=1 starboard=2 centre=3 h",
            "Trio",
            TODAY,
            {"port-outer": 10, "starboard": 20, "centre": 30},
        ),
    ],
)
def test_a_line_says_a_boat_a_day_and_hours(line, about, on, figures):
    (figure,) = figures_from_text([line], TODAY).figures
    assert (figure.about, figure.on, dict(figure.by_position)) == (about, on, figures)


def test_empty_lines_and_remarks_are_passed_over():
    read = figures_from_text(["", "  ", "# hours of May", "> "], TODAY)
    assert (read.figures, read.without) == ([], [])


def test_a_greeting_and_what_was_left_open_in_a_reminders_line_are_told():
    lines = [
        "Good evening, here they are:",
        "> Sea Spray: port=412 starboard=____ on 2026-04-10",
        "Trio: port= centre=7.5 starboard= on 2026-04-15",
        "Boat 7: hours=____ on ____",
        "Boat 7 port=____",
        "Kind regards",
    ]
    read = figures_from_text(lines, TODAY)
    assert [(f.about, dict(f.by_position), f.line) for f in read.figures] == [
        ("Sea Spray", {"port": 4120}, 2),
        ("Trio", {"centre": 75}, 3),
    ]
    assert read.without == [
        (1, "Good evening, here they are:"),
        (2, "starboard=____"),
        (3, "port="),
        (3, "starboard="),
        (4, "Boat 7: hours=____ on ____"),
        (5, "Boat 7 port=____"),
        (6, "Kind regards"),
    ]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("412", "a boat and hours"),
        ("Sea Spray: port 412 + 415", "a boat and hours"),
        ("Sea Spray: 12.55", "at most one decimal, below ten million, such as 1234.5, not 12.55"),
        ("Sea Spray 1,234.5", "not 1,234.5"),
        ("Sea Spray 99999999", "not 99999999"),
        ("Sea Spray 412 on 14/04/2026", "the day as YYYY-MM-DD, not 14/04/2026"),
        ("Sea Spray: port=412 on 14 April", "the day as YYYY-MM-DD, not 14 April"),
        ("a: port 2026-02-30 3", "a day that exists, not 2026-02-30"),
        ("call 555-0188", "a boat and hours"),
        (f"Sea Spray: {'a' * 1_000}", "at most 1,000 characters in a line"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_line_and_what_was_expected(line, expected):
    with pytest.raises(HoursNotRead, match="line 2") as refused:
        figures_from_text(["Good 12", line], TODAY)
    assert expected in str(refused.value)


def test_all_lines_that_cannot_be_read_are_told_at_once():
    with pytest.raises(HoursNotRead) as refused:
        figures_from_text(["Sea Spray 12.55", "Good 12", "Trio: port 1 on 1.2.2026"], TODAY)
    said = str(refused.value).splitlines()
    assert said[0] == "no hours were recorded, as there are 2 problems:"
    assert [line.partition(":")[0] for line in said[1:]] == ["line 1", "line 3"]


@pytest.mark.parametrize("word", ["abc", "port=", "port=____", "12.55"])
def test_the_words_of_a_command_have_to_say_hours(word):
    with pytest.raises(HoursNotRead, match="no hours were recorded: 'Sea Spray: "):
        figure_from_words("Sea Spray", [word], TODAY)

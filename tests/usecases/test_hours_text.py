"""Hours as owners send them, read from text."""

from __future__ import annotations

from datetime import date

import pytest

from fleetlog.errors.recording import HoursNotRead
from fleetlog.usecases import pasted_mail
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
        (f"Sea Spray: {'a' * 1_000}", "at most 1,000 characters in a line"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_line_and_what_was_expected(line, expected):
    with pytest.raises(HoursNotRead, match="line 2") as refused:
        figures_from_text(["Good 12", line], TODAY)
    assert expected in str(refused.value)


@pytest.mark.parametrize(
    "line",
    [
        "call 555-0188",
        "Tel. 5550188",
        "Mobile: 0170 5550188",
        "phone no. 555 0188",
        "+49 (170) 555 01 88",
        "(555) 010-0188",
        "06.12.34.56.78",
        "1-555-010-0188",
        "Ida Brandwall, 555-0188 / 555-0199",
        "ida22@example.org, www.site24.example",
    ],
)
def test_a_number_to_call_is_never_taken_for_hours(line):
    read = figures_from_text(["Sea Spray 412", line], TODAY)
    assert [(f.about, dict(f.by_position)) for f in read.figures] == [("Sea Spray", {None: 4120})]
    assert read.without == [(2, line)]


@pytest.mark.parametrize(
    ("line", "about", "figures", "apart"),
    [
        ("Sea Spray 412, tel 555-0188", "Sea Spray", {None: 4120}, ["tel 555-0188"]),
        ("Sea Spray: port=412 stbd=415 (call +1 555 0188)", "Sea Spray", {"port": 4120, "stbd": 4150},
         ["call +1 555 0188"]),
        ("555-0188: 412", "555-0188", {None: 4120}, []),
        ("Call Girl 412.5", "Call Girl", {None: 4125}, []),
        ("Ring 412.5 2026-04-10", "Ring", {None: 4125}, []),
        ("Mobile 1 1412.5", "Mobile 1", {None: 14125}, []),
        ("2026-04-13 Sea Spray 1234567.5", "Sea Spray", {None: 12345675}, []),
        ("VK6-1951700 275", "VK6-1951700", {None: 2750}, []),
        ("0123456 412", "0123456", {None: 4120}, []),
        ("01-234567 412 2026-04-10", "01-234567", {None: 4120}, []),
        ("@ Anchor: 0001234.5", "@ Anchor", {None: 12345}, []),
    ],
)  # fmt: skip
def test_hours_beside_a_number_to_call_or_like_one_are_taken(line, about, figures, apart):
    read = figures_from_text([line], TODAY)
    assert [(f.about, dict(f.by_position)) for f in read.figures] == [(about, figures)]
    assert [part for _, part in read.without] == apart


def test_in_a_line_that_is_too_long_nothing_is_looked_for(monkeypatch):
    monkeypatch.setattr(pasted_mail, "_ADDRESS", None)
    with pytest.raises(HoursNotRead, match="at most 1,000 characters in a line"):
        figures_from_text(["a" * 1_001], TODAY)


def test_quoted_text_says_hours_only_in_a_reminders_own_line():
    lines = [
        "As of today:",
        "Boat 7 12",
        "> Boat 7 was at 11 h in 2025",
        "> Sea Spray: port=412 starboard=415 on 2026-04-10",
        ">> Boat 7 10",
        "Trio 33",
    ]
    read = figures_from_text(lines, TODAY)
    assert [(f.about, f.line) for f in read.figures] == [("Boat 7", 2), ("Sea Spray", 4), ("Trio", 6)]
    assert [line for line, _ in read.without] == [1, 3, 5]
    with pytest.raises(HoursNotRead, match="line 2"):
        figures_from_text(["Boat 7 12", "> Sea Spray: port=412x"], TODAY)


def test_a_mail_that_is_quoted_as_a_whole_is_read_as_said():
    read = figures_from_text(["> Boat 7 12", ">", "> Regards", "> > Boat 7 11"], TODAY)
    assert [(f.about, dict(f.by_position)) for f in read.figures] == [("Boat 7", {None: 120})]


@pytest.mark.parametrize("ends", ["-- ", "Kind regards,", "Thanks!", "Yours sincerely"])
def test_a_signature_below_the_figures_says_no_hours(ends):
    lines = ["Thank you!", "Boat 7 12", ends, "Ida Brandwall", "12 Harbour Road", "Berth 14", "Trio: bow=3"]
    read = figures_from_text(lines, TODAY)
    assert [f.line for f in read.figures] == [2, 7]
    assert [line for line, _ in read.without] == [1, 3, 4, 5, 6]


@pytest.mark.parametrize("opens", ["Hello,", "Good morning Tess", "From: Ida Brandwall <ida@example.org>"])
def test_a_mail_pasted_below_the_signature_of_another_is_read(opens):
    lines = ["Boat 7 12", "Regards", "Dearborn Lane 5", opens, "Sea Spray 30", "Thanks", "Berth 14"]
    read = figures_from_text(lines, TODAY)
    assert [(f.about, f.line) for f in read.figures] == [("Boat 7", 1), ("Sea Spray", 5)]
    assert [line for line, _ in read.without] == [2, 3, 4, 6, 7]


@pytest.mark.parametrize(
    "above", [["-----Original Message-----", "Sent: 13 April 2026"], ["On 13 April 2026 the shop wrote:"]]
)
def test_the_mail_that_is_answered_says_no_hours_of_its_own(above):
    mark = "" if len(above) == 2 else "> "
    lines = ["Boat 7 12", *above, f"{mark}Boat 7 should be near 500 h", f"{mark}Trio: centre=7"]
    read = figures_from_text(lines, TODAY)
    assert [f.about for f in read.figures] == ["Boat 7", "Trio"]
    assert len(read.without) == len(above) + 1


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

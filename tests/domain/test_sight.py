"""Hours that no forecast sees in the years it looks ahead are told as such, and never with a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import pytest

from fleetlog.domain.explain import explain
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Engine, Reading
from fleetlog.domain.schedule import Limits, Rule, Schedule
from fleetlog.domain.usage import NOT_IN_SIGHT, DateWindow, HoursTarget, in_sight, meeting_window
from tests.domain.lines import due_lines

TODAY = date(2024, 6, 1)
BELT = Rule("belt", "Belt", "belt", "replace", every=Limits(1000, None))
LEDGER = EngineLedger(
    Engine("E1", in_service_on=date(2023, 1, 1), logged_from_new=True),
    readings=(Reading("r", "E1", date(2024, 5, 1), 90),),
)
BY_2031, BY_2032 = date(2031, 3, 1), date(2032, 2, 1)


@dataclass(frozen=True)
class Forecast:
    """Answers every target with one window."""

    window: DateWindow

    def windows(self, targets: Sequence[HoursTarget]) -> Sequence[DateWindow]:
        return [self.window for _ in targets]

    def basis(self) -> str:
        return "a guess"


@pytest.mark.parametrize(
    ("window", "said"),
    [
        (DateWindow.of_day(NOT_IN_SIGHT), "The hours are hardly reached within 8 years."),
        (
            DateWindow(BY_2031, NOT_IN_SIGHT, NOT_IN_SIGHT),
            "The hours are hardly reached before 2031-03-01, and likely not within 8 years.",
        ),
        (
            DateWindow(BY_2031, BY_2032, NOT_IN_SIGHT),
            "The hours are likely reached on 2032-02-01, hardly before 2031-03-01, maybe not within 8 years.",
        ),
        (
            DateWindow(BY_2031, BY_2031, BY_2032),
            "The hours are likely reached on 2031-03-01, between 2031-03-01 and 2032-02-01.",
        ),
    ],
)
def test_a_line_says_how_far_its_hours_are_in_sight(window: DateWindow, said: str) -> None:
    [line] = due_lines(LEDGER, Schedule("s", "S", 1, (BELT,)), TODAY, Forecast(window))
    assert (line.state, line.governs) == ("later", "hours")
    assert f"{said} The forecast rests on a guess." in explain(line)
    assert "9999" not in explain(line)


def test_a_date_governs_before_hours_that_are_not_in_sight_however_far_it_is() -> None:
    in_twelve_years = replace(BELT, every=Limits(1000, 144))
    schedule, unseen = Schedule("s", "S", 1, (in_twelve_years,)), Forecast(DateWindow.of_day(NOT_IN_SIGHT))
    [line] = due_lines(LEDGER, schedule, TODAY, unseen)
    assert line.governs == "date"
    assert line.window == DateWindow.of_day(date(2035, 1, 1))
    assert meeting_window(date(2035, 1, 1), [DateWindow(BY_2031, NOT_IN_SIGHT, NOT_IN_SIGHT)]) == (
        DateWindow(BY_2031, date(2035, 1, 1), date(2035, 1, 1)),
        "date",
    )


def test_for_reckoning_what_is_not_in_sight_comes_when_sight_ends() -> None:
    window = DateWindow(BY_2031, NOT_IN_SIGHT, NOT_IN_SIGHT)
    assert window.within_sight(TODAY) == DateWindow(BY_2031, date(2032, 6, 1), date(2032, 6, 1))
    assert [in_sight(day) for day in (BY_2031, NOT_IN_SIGHT, None)] == [BY_2031, None, None]

"""Whichever limit comes first, on the terms of a printed warranty.

California Code of Regulations, title 13, §2445.1(a), (c)(1): outboards, emission defects: 4 years or 250
hours of use, whichever first, from delivery or first use (printed). Without a meter age alone counts: 40 CFR
1039.120(b), a sister part (printed). The worked dates at 40 and 100 h a year are computed from those terms.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from math import ceil

import pytest

from fleetlog.domain.due import DueLine
from fleetlog.domain.hour_record import hour_record
from fleetlog.domain.hours import Tenths
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.promises import Term
from fleetlog.domain.records import Engine, Reading
from fleetlog.domain.schedule import Limits, Rule, Schedule
from fleetlog.domain.terms import TermStanding, term_standings
from fleetlog.domain.usage import DateWindow, HoursTarget
from tests.domain.lines import due_lines

FIRST_USE = date(2022, 6, 1)
TERMS = Rule("warranty-ends", "Warranty ends", "engine", "inspect", every=Limits(tenths=2500, months=48))


@dataclass(frozen=True)
class EvenUse:
    """The same hours every day since first use, known exactly."""

    hours_a_year: int

    def tenths_on(self, day: date) -> Tenths:
        return Fraction(self.hours_a_year * 10 * (day - FIRST_USE).days * 4, 1461)

    def windows(self, targets: Sequence[HoursTarget]) -> Sequence[DateWindow]:
        days = [ceil(Fraction(t.tenths) * 1461 / (self.hours_a_year * 40)) for t in targets]
        reached = [FIRST_USE + timedelta(days=d) for d in days]
        return [DateWindow(on, on, on) for on in reached]

    def basis(self) -> str:
        return "even use"


def warranty(hours_a_year: int, today: date, *, hour_meter: bool = True) -> DueLine:
    use = EvenUse(hours_a_year)
    reading = Reading("r", "E1", today, int(use.tenths_on(today)))
    engine = Engine("E1", in_service_on=FIRST_USE, logged_from_new=True, hour_meter=hour_meter)
    ledger = EngineLedger(engine, readings=(reading,) if hour_meter else ())
    [line] = due_lines(ledger, Schedule("terms", "Terms", 1, (TERMS,)), today, use)
    return line


def test_at_40_hours_a_year_it_ends_by_age_after_four_years() -> None:
    line = warranty(40, date(2024, 6, 1))
    assert (line.due_on, line.due_tenths, line.governs) == (date(2026, 6, 1), 2500, "date")
    assert line.window is not None
    assert line.window.likely_on == date(2026, 6, 1)


def test_at_100_hours_a_year_it_ends_by_hours_after_two_and_a_half_years() -> None:
    line = warranty(100, date(2024, 6, 1))
    assert (line.due_on, line.due_tenths, line.governs) == (date(2026, 6, 1), 2500, "hours")
    assert line.window is not None
    assert line.window.likely_on == date(2024, 12, 1)


@pytest.mark.parametrize(("hours_a_year", "last_day"), [(40, date(2026, 6, 1)), (100, date(2024, 11, 30))])
def test_on_the_last_day_it_holds_and_after_it_no_longer(hours_a_year: int, last_day: date) -> None:
    assert warranty(hours_a_year, last_day).state != "overdue"
    assert warranty(hours_a_year, last_day + timedelta(days=2)).state == "overdue"


def test_without_an_hour_meter_age_alone_counts() -> None:
    line = warranty(100, date(2025, 6, 1), hour_meter=False)
    assert (line.due_on, line.due_tenths) == (date(2026, 6, 1), None)
    assert line.state != "overdue"
    assert warranty(100, date(2026, 6, 2), hour_meter=False).state == "overdue"


def standing_term(hours_a_year: int, today: date, *, hour_meter: bool = True) -> TermStanding:
    """The same terms, recorded as a warranty of the engine."""
    use = EvenUse(hours_a_year)
    reading = Reading("r", "E1", today, int(use.tenths_on(today)))
    engine = Engine("E1", in_service_on=FIRST_USE, logged_from_new=True, hour_meter=hour_meter)
    ledger = EngineLedger(engine, readings=(reading,) if hour_meter else ())
    term = Term("w1", "E1", "warranty", FIRST_USE, months=48, tenths=2500)
    [standing] = term_standings([term], hour_record(ledger, today), today, use)
    return standing


def test_a_recorded_warranty_ends_on_the_worked_dates() -> None:
    by_age = standing_term(40, date(2024, 6, 1))
    assert (by_age.ends_on, by_age.governs, by_age.likely_on) == (
        date(2026, 6, 1),
        "date",
        date(2026, 6, 1),
    )
    by_hours = standing_term(100, date(2024, 6, 1))
    assert (by_hours.governs, by_hours.likely_on) == ("hours", date(2024, 12, 1))
    assert standing_term(100, date(2025, 6, 1)).is_over
    without_meter = standing_term(100, date(2025, 6, 1), hour_meter=False)
    assert (without_meter.ends_on, without_meter.ends_tenths) == (date(2026, 6, 1), None)
    assert not without_meter.is_over

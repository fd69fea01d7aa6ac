"""Month steps against outside sources.

- `data/month_arithmetic.csv`: dateutil's relativedelta, pendulum's `add(months=)` and isodate agree on every
  row (computed by three libraries).
- dateutil and pendulum themselves, over thousands of seeded dates (computed).
- Twelve single months from 2024-01-31 end at 2025-01-29, one step of twelve at 2025-01-31 (computed): steps
  are counted from the anchor.
"""

from __future__ import annotations

from calendar import monthrange
from datetime import date, timedelta
from pathlib import Path
from random import Random

import pendulum
import pytest
from dateutil.relativedelta import relativedelta

from fleetlog.domain.months import add_months, fine_months, months_over, whole_months_between
from tests.files import table_rows

TABLE = Path(__file__).parent / "data" / "month_arithmetic.csv"


def steps_of_the_table() -> list[tuple[date, int, date]]:
    return [
        (date.fromisoformat(row["start"]), int(row["months"]), date.fromisoformat(row["result"]))
        for row in table_rows(TABLE)
    ]


def seeded_steps() -> list[tuple[date, int]]:
    """Days of two centuries and steps of up to fifty years either way, with many month ends and leap days."""
    chance = Random(20240229)
    steps = []
    for n in range(6000):
        day = date(1950, 1, 1) + timedelta(days=chance.randrange(73_000))
        if n % 3 == 0:
            day = day.replace(day=monthrange(day.year, day.month)[1])
        if n % 7 == 0:
            day = date(1952 + 4 * chance.randrange(37), 2, 29)
        steps.append((day, chance.randrange(-600, 601)))
    return steps


@pytest.mark.parametrize(("start", "months", "result"), steps_of_the_table())
def test_the_table_that_three_libraries_agree_on_holds(start: date, months: int, result: date) -> None:
    assert add_months(start, months) == result


def test_thousands_of_steps_agree_with_dateutil() -> None:
    for day, months in seeded_steps():
        assert add_months(day, months) == day + relativedelta(months=months), (day, months)


def test_thousands_of_steps_agree_with_pendulum() -> None:
    for day, months in seeded_steps():
        theirs = pendulum.date(day.year, day.month, day.day).add(months=months)
        assert add_months(day, months).isoformat() == theirs.isoformat(), (day, months)


def test_steps_are_counted_from_the_anchor() -> None:
    day = date(2024, 1, 31)
    for _ in range(12):
        day = add_months(day, 1)
    assert day == date(2025, 1, 29)
    assert add_months(date(2024, 1, 31), 12) == date(2025, 1, 31)


def test_whole_months_between_are_the_most_that_fit() -> None:
    for day, months in seeded_steps():
        end = day + timedelta(days=months * 3)
        count = whole_months_between(day, end)
        assert add_months(day, count) <= end < add_months(day, count + 1), (day, end)


def test_the_days_of_four_years_are_48_months_of_the_mean_length() -> None:
    assert fine_months((date(2028, 1, 1) - date(2024, 1, 1)).days) == 48


@pytest.mark.parametrize(("days", "months"), [(30, 8), (31, 9)])
def test_days_left_over_of_several_spans_make_another_month(days: int, months: int) -> None:
    spring, autumn = date(2024, 3, 10), date(2024, 9, 1)
    spans = [(spring, date(2024, 7, 25)), (autumn, date(2025, 1, 1) + timedelta(days=days - 15))]
    assert months_over(spans) == months


@pytest.mark.parametrize(("day", "months"), [(date(9999, 12, 1), 1), (date(1, 1, 31), -1)])
def test_a_step_out_of_the_calendar_is_an_overflow(day: date, months: int) -> None:
    with pytest.raises(OverflowError, match=f"{day} and {months} months"):
        add_months(day, months)

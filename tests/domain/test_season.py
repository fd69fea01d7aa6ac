"""Lay-ups of one boat that share days."""

from __future__ import annotations

from datetime import date

import pytest

from fleetlog.domain.records import Layup
from fleetlog.domain.season import shared_layups

WINTER = Layup("B", date(2025, 10, 15), date(2026, 4, 10))
WITHOUT_END = Layup("B", date(2025, 10, 15))


@pytest.mark.parametrize(
    ("earlier", "begins_on", "shares_days"),
    [
        (WINTER, date(2026, 4, 9), True),
        (WINTER, date(2026, 4, 10), False),
        (WINTER, date(2026, 10, 20), False),
        (WITHOUT_END, date(2026, 10, 20), True),
    ],
)
def test_a_boat_is_laid_up_twice_at_once_until_the_day_it_was_launched(
    earlier: Layup, begins_on: date, shares_days: bool
) -> None:
    later = Layup("B", begins_on, date(2026, 12, 1))
    assert shared_layups([later, earlier]) == ([(earlier, later)] if shares_days else [])


def test_each_two_lay_ups_that_share_days_are_told() -> None:
    later = Layup("B", date(2026, 1, 5), date(2026, 3, 1))
    latest = Layup("B", date(2026, 2, 1), date(2026, 5, 1))
    assert shared_layups([WINTER, later, latest]) == [(WINTER, later), (WINTER, latest), (later, latest)]

"""Lay-ups recorded and assumed, lines pulled to their start, the fit-out list and the boats' best times."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from fleetlog.diary.season import LayUp, best_spans, expected_layups, fit_out_list, pull_to_layups
from fleetlog.diary.work import DateSpan
from tests.diary.builders import MONDAY, day, job

WINTER = LayUp(date(2026, 11, 1), date(2027, 3, 20))


def test_years_to_come_are_assumed_from_the_latest_lay_up():
    found = expected_layups([LayUp(date(2024, 11, 5), date(2025, 3, 28))], date(2026, 6, 1), date(2027, 6, 1))
    assert found == (LayUp(date(2026, 11, 5), date(2027, 3, 28), assumed=True),)


def test_a_recorded_lay_up_is_not_assumed_again():
    found = expected_layups([WINTER], MONDAY, date(2027, 6, 1))
    assert found == (WINTER,)


def test_an_open_lay_up_ends_at_the_time_of_year_of_the_last_launch():
    recorded = [LayUp(date(2024, 11, 20), date(2025, 3, 21)), LayUp(date(2025, 11, 1))]
    (found,) = expected_layups(recorded, MONDAY, day(20))
    assert found == LayUp(date(2025, 11, 1), date(2026, 3, 21), assumed=True)


def test_a_first_lay_up_is_expected_to_last_a_winter_and_to_come_again():
    found = expected_layups([LayUp(date(2025, 10, 3))], date(2026, 1, 5), date(2026, 12, 1))
    assert found == (
        LayUp(date(2025, 10, 3), date(2026, 4, 1), assumed=True),
        LayUp(date(2026, 10, 3), date(2027, 4, 1), assumed=True),
    )


def test_a_boat_stored_for_longer_than_a_year_stays_stored():
    out_of_use = LayUp(date(2024, 10, 3))
    assert expected_layups([out_of_use], date(2026, 3, 1), date(2027, 12, 1)) == (out_of_use,)


@pytest.mark.parametrize(("days", "is_expected"), [(450, True), (451, False)])
def test_a_boat_still_ashore_is_expected_afloat_tomorrow_for_450_days(days: int, is_expected: bool):
    stored_on = date(2024, 10, 3)
    today = stored_on + timedelta(days=days)
    found, *_ = expected_layups([LayUp(stored_on)], today, date(2026, 1, 20))
    assert found.to_on == (today + timedelta(days=1) if is_expected else None)


@pytest.mark.parametrize(
    ("launched_on", "afloat_on"),
    [(date(2025, 3, 20), date(2027, 3, 20)), (date(2025, 3, 21), date(2026, 3, 21))],
)
def test_a_boat_is_expected_to_stay_ashore_for_twenty_days_at_least(launched_on: date, afloat_on: date):
    stored_on = date(2026, 3, 1)
    recorded = [LayUp(date(2024, 11, 20), launched_on), LayUp(stored_on)]
    (found,) = expected_layups(recorded, stored_on, date(2026, 4, 1))
    assert found.to_on == afloat_on


def test_no_lay_up_is_assumed_once_a_winter_went_by_without():
    recorded = [LayUp(date(2023, 10, 1), date(2024, 4, 1))]
    assert expected_layups(recorded, date(2025, 8, 1), date(2026, 12, 1)) == ()


def test_a_boat_without_a_past_has_no_season():
    assert expected_layups([], MONDAY, day(300)) == ()


def test_a_leap_day_has_an_anniversary():
    found = expected_layups(
        [LayUp(date(2024, 2, 29), date(2024, 3, 10))], date(2025, 1, 1), date(2025, 12, 31)
    )
    assert found[0].from_on == date(2025, 2, 28)


def test_a_twelve_month_line_in_a_lay_up_is_pulled_to_its_start():
    line = job(
        due_on=date(2027, 1, 15), early_on=date(2026, 12, 1), likely_on=date(2027, 1, 15), late_on=None
    )
    (pulled,) = pull_to_layups([line], {"B1": [WINTER]}, MONDAY)
    assert (pulled.due_on, pulled.early_on, pulled.likely_on) == (WINTER.from_on,) * 3


@pytest.mark.parametrize(
    "changes",
    [
        {"interval_days": 730},
        {"interval_days": None},
        {"season": "before launch"},
        {"likely_on": date(2026, 10, 30), "due_on": date(2026, 10, 30)},
        {"likely_on": date(2027, 3, 21), "due_on": date(2027, 3, 21)},
    ],
)
def test_other_lines_stay(changes):
    line = replace(job(due_on=date(2027, 1, 15), likely_on=date(2027, 1, 15)), **changes)
    assert pull_to_layups([line], {"B1": [WINTER]}, MONDAY) == (line,)


def test_a_lay_up_that_has_begun_pulls_nothing():
    line = job(due_on=date(2027, 1, 15), likely_on=date(2027, 1, 15))
    assert pull_to_layups([line], {"B1": [WINTER]}, date(2026, 12, 1)) == (line,)


def test_the_fit_out_list_has_what_a_boat_needs_before_its_launch():
    launch_on = day(30)
    layups = {"B1": [LayUp(day(-100), launch_on)], "B2": [LayUp(day(-100), day(90))]}
    work = [
        job("Commission engine", season="before launch", likely_on=launch_on, state="later"),
        job("Replace impeller", state="overdue"),
        job("Replace plugs", state="later", likely_on=day(50)),
        job("Replace belt", state="later", likely_on=day(300)),
        job("Renew gasket", state="next access", likely_on=None, due_on=None),
        job("Replace impeller", boat_id="B2", state="overdue"),
        job("Flush fuel system", season="before lay-up", state="overdue"),
    ]
    (fit_out,) = fit_out_list(work, layups, MONDAY)
    assert (fit_out.boat_id, fit_out.launch_on, fit_out.launch_assumed) == ("B1", launch_on, False)
    assert [line.work.title for line in fit_out.lines] == [
        "Commission engine",
        "Replace impeller",
        "Replace plugs",
        "Renew gasket",
    ]


@pytest.mark.parametrize(
    ("state", "why"),
    [("no record", "has no record"), ("needs a reading", "needs a reading"), ("due", "is due")],
)
def test_the_fit_out_list_says_in_words_what_is_open(state, why):
    (fit_out,) = fit_out_list([job(state=state)], {"B1": [LayUp(day(-100), day(30))]}, MONDAY)
    assert [line.why for line in fit_out.lines] == [why]


def test_private_boats_are_best_done_in_lay_up_and_hire_boats_out_of_season():
    season = DateSpan(date(2026, 5, 1), date(2026, 9, 30))
    private = best_spans("private", [WINTER], [season], MONDAY, date(2026, 12, 31))
    hire = best_spans("hire", [], [season], MONDAY, date(2026, 12, 31))
    assert private == (DateSpan(date(2026, 11, 1), date(2026, 12, 31)),)
    assert hire == (
        DateSpan(MONDAY, date(2026, 4, 30)),
        DateSpan(date(2026, 10, 1), date(2026, 12, 31)),
    )
    assert best_spans("private", [], [season], MONDAY, date(2026, 12, 31)) == ()

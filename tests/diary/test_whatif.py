"""Trying a change of the shop without storing it, and the load of the months to come."""

from __future__ import annotations

from datetime import date

import pytest

from fleetlog.diary.load import monthly_load
from fleetlog.diary.plan import plan_diary
from fleetlog.diary.shop import AFLOAT, BookedVisit
from fleetlog.diary.whatif import FORMS, change_shop, compare_plans
from fleetlog.errors.diary import WhatIfNotUnderstood, WhatIfTooMany
from tests.diary.builders import LITTLE, MONDAY, day, job, shop, visit


def test_another_technician_and_bay_make_room():
    requests = [visit("a", 80, due=0), visit("b", 80, due=0)]
    before = plan_diary(requests, [], shop(), MONDAY, MONDAY, limit=LITTLE)
    larger = change_shop(change_shop(shop(), "technician +1"), "bay +1")
    after = plan_diary(requests, [], larger, MONDAY, MONDAY, limit=LITTLE)
    difference = compare_plans(before, after)
    assert len(difference.now_planned) == 1
    assert difference.no_longer_planned == difference.moved == ()
    assert difference.points < 0


def test_moved_visits_are_told_with_both_days():
    requests = [visit("a", 80, due=0)]
    first = plan_diary(requests, [], shop(), MONDAY, day(2), limit=LITTLE)
    closed = change_shop(shop(), f"closed {MONDAY}")
    second = plan_diary(requests, [], closed, MONDAY, day(2), limit=LITTLE)
    assert compare_plans(first, second).moved == (("a", MONDAY, day(1)),)


def test_every_form_that_is_offered_is_understood():
    for text in FORMS.split(", "):
        if text != "afloat -1":
            assert change_shop(shop(lifts_per_day=1), text) != shop(lifts_per_day=1)


def test_what_is_taken_away_is_gone():
    assert [place.name for place in change_shop(shop(1, 3), "bays -2").places] == ["bay 1"]
    assert change_shop(shop(2, 1), "technicians -2").technicians == ()
    assert change_shop(shop(lifts_per_day=2), "lifts -1").lifts_per_day == 1
    assert change_shop(shop(), "afloat +1").places[-1].kind == AFLOAT
    assert change_shop(shop(hours=8), "hours -8").technicians[0].week == (None,) * 7


def test_the_new_names_are_free_ones():
    twice = change_shop(change_shop(shop(), "technician +1"), "technician +2")
    assert len({technician.name for technician in twice.technicians}) == 4


@pytest.mark.parametrize(
    "text",
    ["", "technician", "bay +x", "boat +1", "closed 2026-02-30", "closed 2026-04-06 to 2026-04-03"],
)
def test_what_is_not_understood_is_refused_with_the_forms(text):
    with pytest.raises(WhatIfNotUnderstood, match=r"write it like one of: technician \+1"):
        change_shop(shop(), text)


@pytest.mark.parametrize("text", ["technician -2", "afloat -1", "lifts -3"])
def test_more_than_there_is_cannot_be_taken_away(text):
    with pytest.raises(WhatIfTooMany, match="try fewer"):
        change_shop(shop(lifts_per_day=2), text)


def test_the_spring_peak_is_seen_in_january():
    today = date(2027, 1, 10)
    in_april = job(
        labour_tenths=30,
        state="later",
        due_on=None,
        early_on=date(2027, 4, 5),
        likely_on=date(2027, 4, 12),
        late_on=date(2027, 4, 20),
    )
    work = [in_april] * 80
    work += [
        job(labour_tenths=50, state="overdue", due_on=date(2026, 12, 1)),
        job(labour_tenths=70, state="next access", due_on=None, likely_on=None),
    ]
    booked = [BookedVisit("b", "B1", date(2027, 2, 2), "bay 1", "T1", 80, 40)]
    months = monthly_load(work, booked, shop(), today, 6)
    assert [month.month_on for month in months] == [date(2027, n, 1) for n in range(1, 7)]
    assert [month.expected_tenths for month in months] == [50, 0, 0, 2400, 0, 0]
    assert [month.booked_tenths for month in months] == [0, 40, 0, 0, 0, 0]
    assert months[3].capacity_tenths == 22 * 80
    assert months[3].load_share == pytest.approx(2400 / 1760)


def test_what_is_owed_at_the_end_of_a_month_is_not_too_much_for_its_last_days():
    today = date(2027, 1, 28)  # a Thursday: two working days of 8 h are left
    owed = [job(labour_tenths=50, state="overdue", due_on=date(2026, 12, 1))] * 10
    reached = job(labour_tenths=60, state="needs a reading", due_on=None, early_on=date(2027, 1, 2),
                  likely_on=date(2027, 1, 5), late_on=date(2027, 1, 9))  # fmt: skip
    booked = [BookedVisit("b", "B1", date(2027, 1, 29), "bay 1", "T1", 80, 40)]
    months = monthly_load([*owed, reached], booked, shop(), today, 3)
    assert [month.expected_tenths for month in months] == [120, 440, 0]
    assert months[0].load_share == 1
    (alone,) = monthly_load([*owed, reached], booked, shop(), today, 1)
    assert alone.expected_tenths == 560


def test_a_shop_without_capacity_has_no_load_share():
    (month,) = monthly_load([job()], [], shop(technicians=0), MONDAY, 1)
    assert month.load_share is None
    assert month.expected_tenths == 10

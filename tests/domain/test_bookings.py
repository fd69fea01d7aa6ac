"""Bookings as their rows left them, texts that are kept, and the stock."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlog.domain.bookings import bookings_of, wishes_on
from fleetlog.domain.diary_records import (
    Booking,
    Job,
    PartMove,
    Wish,
    clock_from_text,
    clock_text,
    jobs_from_text,
    jobs_text,
    things_from_text,
    things_text,
    weekdays_from_text,
)
from fleetlog.domain.records import Entry
from fleetlog.domain.schedule import PartNeed, Rule, Schedule
from fleetlog.domain.stock import PartUsed, parts_used, stock_on
from fleetlog.domain.superseded import OrderNumbers, Supersession

AT = datetime(2026, 4, 1, 8, tzinfo=UTC)
TODAY = date(2026, 4, 10)
NUMBERS = OrderNumbers([Supersession("Q-1", "Q-2")], ["Q-1", "Q-2"])


def row(change, days, booking_id="b1", **more):
    agreed = {"boat_id": "gull", "on": date(2026, 4, 20), "tenths": 25, "technician": "Kim", "place": "bay"}
    facts = agreed if change == "booked" else {}
    return Booking(f"c{days}", booking_id, change, AT + timedelta(days=days), "Kim", **{**facts, **more})


def test_a_booking_counts_its_changes_and_ends_as_its_last_row_says():
    rows = [row("booked", 0), row("booked", 1, on=date(2026, 4, 22)), row("released", 2, reason="away")]
    (state,) = bookings_of(rows, TODAY)
    assert (state.sequence, state.change, state.on, state.reason) == (
        2,
        "released",
        date(2026, 4, 22),
        "away",
    )
    assert state.booked_at == AT
    assert not state.is_open


def test_what_was_agreed_later_is_not_seen_on_an_earlier_day():
    rows = [row("booked", 0), row("released", 20)]
    assert bookings_of(rows, TODAY)[0].is_open
    assert bookings_of(rows, date(2026, 3, 31)) == []


def test_an_end_without_a_beginning_is_no_booking():
    assert bookings_of([row("done", 0, visit_id="v1")], TODAY) == []


@given(st.lists(st.builds(Job, st.text(), st.text(), st.none() | st.text(), st.text(), st.booleans())))
def test_jobs_come_back_from_their_text(jobs):
    assert list(jobs_from_text(jobs_text(jobs))) == jobs


@pytest.mark.parametrize("text", ["{}", "[[1, 2]]", '[["a"]]', '["a"]', "x", '[["a", "b", null, "", 1]]'])
def test_other_texts_are_no_jobs(text):
    with pytest.raises(ValueError, match=r".*"):
        jobs_from_text(text)


@given(st.integers(0, 240))
def test_times_of_day_come_back_from_their_text(tenths):
    assert clock_from_text(clock_text(tenths)) == tenths


@pytest.mark.parametrize("text", ["8", "8:5", "24:30", "-1:00", "08:60", "٨:00", "a:00", ""])
def test_other_texts_are_no_time_of_day(text):
    with pytest.raises(ValueError, match=r".*"):
        clock_from_text(text)


def test_what_a_mail_told_comes_back_and_what_was_forgotten_tells_nothing():
    assert things_from_text(things_text(["b", "a", "b"])) == {"a", "b"}
    assert things_from_text(f"forgotten {'0' * 64}") == frozenset()
    for text in ("forgotten", "{}", "[1]"):
        with pytest.raises(ValueError, match=r".*"):
            things_from_text(text)


def test_weekdays_are_read_by_their_first_letters_in_any_order():
    assert weekdays_from_text("Thursday, mon") == {0, 3}
    assert weekdays_from_text(None) == frozenset()


def test_a_wish_holds_until_the_day_it_is_withdrawn():
    wish = Wish("w", boat_id="gull", told_on=date(2026, 4, 1), withdrawn_on=date(2026, 4, 10))
    assert wishes_on([wish], date(2026, 4, 9)) == [wish]
    assert wishes_on([wish], date(2026, 4, 10)) == []
    assert wishes_on([wish], date(2026, 3, 31)) == []


def moved(move, amount, days, move_id="", **more):
    return PartMove(
        move_id or f"{move}{days}", "P", move, Decimal(amount), AT.date() + timedelta(days=days), **more
    )


def used(days, amount=1):
    return PartUsed("P", AT.date() + timedelta(days=days), Decimal(amount))


def test_the_shelf_is_the_last_count_and_what_came_and_went_since():
    moves = [moved("arrived", 50, 0), moved("counted", 4, 2), moved("arrived", 3, 3, order_id="o")]
    assert stock_on(moves, [used(1), used(2), used(4), used(5)], TODAY, NUMBERS).on_shelf == {"P": Decimal(5)}


def test_a_number_never_counted_begins_with_what_first_arrived():
    moves = [moved("arrived", 2, 3)]
    assert stock_on(moves, [used(1), used(3)], TODAY, NUMBERS).on_shelf == {"P": Decimal(1)}
    assert stock_on([], [used(1)], TODAY, NUMBERS).on_shelf == {}


def test_the_shelf_is_never_below_nothing():
    assert stock_on([moved("counted", 1, 0)], [used(1, 5)], TODAY, NUMBERS).on_shelf == {"P": Decimal(0)}


def test_numbers_count_without_case_and_superseded_ones_lie_with_the_number_to_order():
    def of(number, move, amount, days):
        return replace(moved(move, amount, days, f"{number}{move}"), part_number=number)

    moves = [of("q-1", "counted", 3, 0), of("Q-2", "counted", 5, 1), of("q-1", "ordered", 4, 2)]
    taken = [PartUsed("Q-1", AT.date() + timedelta(days=2), Decimal(1))]
    stock = stock_on(moves, taken, TODAY, NUMBERS)
    assert stock.on_shelf == {"Q-2": Decimal(7)}
    assert [(order.part_number, order.amount) for order in stock.on_order] == [("Q-2", Decimal(4))]
    only_new = stock_on([of("Q-2", "counted", 5, 1)], taken, TODAY, NUMBERS)
    assert only_new.on_shelf == {"Q-2": Decimal(4)}, "what the schedule calls by its old number was used"


def test_what_is_used_under_any_number_of_a_part_is_taken_off_the_one_that_was_counted():
    numbers = OrderNumbers([Supersession("Q-1", "Q-2"), Supersession("Q-2", "Q-3")], [])
    moves = [replace(moved("counted", 5, 0), part_number="Q-2")]
    taken = [PartUsed(n, AT.date() + timedelta(days=2), Decimal(1)) for n in ("Q-1", "Q-2", "Q-3", "R-1")]
    assert stock_on(moves, taken, TODAY, numbers).on_shelf == {"Q-3": Decimal(2)}


def test_an_order_is_open_until_all_of_it_is_here_and_late_after_its_day():
    order = moved("ordered", 5, 0, "o", expected_on=date(2026, 4, 8))
    (left,) = stock_on([order, moved("arrived", 2, 1, order_id="o")], [], TODAY, NUMBERS).on_order
    assert (left.amount, left.late) == (Decimal(3), True)
    assert stock_on([order, moved("arrived", 5, 1, order_id="o")], [], TODAY, NUMBERS).on_order == ()


def fleet_of(schedule, *entries):
    """A fleet of one engine with these entries, as far as the stock looks at it."""
    return SimpleNamespace(
        engines=[SimpleNamespace(schedule=schedule, seen=SimpleNamespace(entries=entries))]
    )


def test_a_part_takes_along_what_its_rule_takes_beside_it_at_each_place():
    gasket = PartNeed("G", Decimal(2))
    belt = Rule("belt", "Belt", "timing belt", "replace", parts=(PartNeed("P"), gasket))
    anode = Rule(
        "anode", "Anode", "anode", "replace", positions=("port", "starboard"), parts=(PartNeed("A"),)
    )
    schedule = Schedule("V6", "V6", 1, (belt, anode))

    def fitted(item, number, **more):
        return Entry("e", "E-1", TODAY, "fitted", item=item, part_number=number, **more)

    def parts(*entries):
        return [(use.part_number, int(use.amount)) for use in parts_used(fleet_of(schedule, *entries))]

    assert parts(fitted("Timing Belt", "P")) == [("P", 1), ("G", 2)]
    assert parts(fitted("timing belt", "p")) == [("P", 1), ("G", 2)]
    assert parts(fitted("timing belt", "OTHER")) == [("OTHER", 1)]
    assert parts(fitted("anode", "A")) == [("A", 2)]
    assert parts(fitted("anode", "A", position="port")) == [("A", 1)]
    assert parts(fitted("timing belt", "P", condition="used")) == []
    assert parts(fitted("timing belt", None)) == []

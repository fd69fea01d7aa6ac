"""The marina's own pages: the due list by state, and the index with its counts and owners."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from fleetlog.domain.explain import explain
from fleetlog.domain.fleet import FleetState
from fleetlog.domain.words import LATER, STATES
from fleetlog.reports.charts.shapes import BADGES
from fleetlog.reports.due_page import due_page, due_part
from fleetlog.reports.index_page import index_page, index_part
from fleetlog.reports.words import days_told
from tests.reports.marina import (
    CONTEXT,
    TODAY,
    engine_state,
    render_pages,
    schedule,
    small_fleet,
    storied_ledger,
    twin_ledger,
)
from tests.reports.pages import plain, rows_under, text_of


def test_groups_stand_in_the_order_of_the_states_and_hold_every_open_line() -> None:
    fleet = small_fleet()
    page = due_page([due_part(fleet)])
    states = [group.state for group in page.groups]
    assert states == [state for state in STATES if state in states]
    lines = [line for state in fleet.engines for line in state.lines]
    assert sum(len(group.rows) for group in page.groups) == sum(line.state != LATER for line in lines)
    assert page.later == sum(line.state == LATER for line in lines)


def test_a_row_says_what_on_which_engine_whose_and_until_when() -> None:
    page = render_pages(small_fleet(), CONTEXT)["due.html"]
    why = next(
        plain(days_told(explain(line))) for line in small_fleet().engines[0].lines if line.rule.key == "oil"
    )
    assert [
        "Change engine oil engine damage",
        "Wanda Ada Lindquist",
        "TB-0010 port, 240.0 h",
        "250.0 h or 10 May 2024",
        f"10 May 2024 Why{why}",
    ] in rows_under(page, "overdue")


def test_what_was_put_off_is_told_with_the_schedules_own_limit_and_not_only_counted() -> None:
    ledger = storied_ledger()
    until = replace(ledger.deferrals[0], until_on=date(2031, 5, 20), until_tenths=90000)
    state = engine_state(replace(ledger, deferrals=(until,)), schedule())
    [row] = due_page([due_part(FleetState(TODAY, [state]))]).put_off
    assert (row.engine, plain(row.told)) == (
        ledger.engine.serial,
        "Change engine oil: put off until 20 May 2031 or 9000.0 engine hours (in use until the regatta)."
        " The schedule’s own limit is 2 June 2025 or 500.5 h.",
    )


def test_every_state_has_a_word_and_a_shape_of_its_own() -> None:
    shapes = [str(BADGES[state]).replace(state, "").replace(state.replace(" ", "-"), "") for state in STATES]
    assert len(set(shapes)) == len(STATES)
    for state in STATES:
        assert f"</svg>{state}</span>" in BADGES[state]


def test_a_window_too_wide_for_planning_says_so_in_place_of_dates() -> None:
    state = engine_state(twin_ledger("TB-0010", "port"), schedule(), tenths_a_day=30, spread_days=90)
    rows = [row for group in due_page([due_part(FleetState(TODAY, [state]))]).groups for row in group.rows]
    impeller = next(row for row in rows if row.work == "Replace water pump impeller")
    assert impeller.likely == "a reading first: the window is too wide"


def test_the_index_counts_lines_by_state() -> None:
    fleet = small_fleet()
    counted = {
        state: row.count for state, row in zip(STATES, index_page([index_part(fleet)]).counts, strict=True)
    }
    lines = [line.state for state in fleet.engines for line in state.lines]
    assert counted == {state: lines.count(state) for state in STATES}


def test_owners_who_want_no_reminder_are_listed_as_wanting_none_and_have_no_link() -> None:
    page = index_page([index_part(small_fleet())])
    assert [(row.name, row.page) for row in page.not_reminded] == [("Bram Teller", "")]
    assert [(row.name, row.boats, row.remind_by) for row in page.owners] == [
        ("Ada Lindquist", "Wanda", "email"),
        ("Ada Lindquist", "Mite", "post"),
    ]
    assert "These want no reminders" in text_of(render_pages(small_fleet(), CONTEXT)["index.html"])


def test_held_readings_and_engines_without_a_meter_are_seen_on_the_index() -> None:
    rows = {row.serial: row for row in index_page([index_part(small_fleet())]).engines}
    assert rows["TB-0007"].held == "1 held"
    assert rows["TB-0020"].hours == "no hour meter"
    assert rows["TB-0022"].open_lines == "nothing"


def test_a_marina_without_engines_has_pages_that_say_so() -> None:
    pages = render_pages(FleetState(TODAY, []), CONTEXT)
    assert sorted(pages) == ["due.html", "index.html"]
    assert "Nothing is open." in text_of(pages["due.html"])
    assert "No engine is in the log yet." in text_of(pages["index.html"])


def test_every_page_names_the_day_the_version_and_the_marina() -> None:
    for page in render_pages(small_fleet(), CONTEXT).values():
        seen = plain(text_of(page))
        assert "As known on 15 April 2026. Made with fleetlog 9.9.9." in seen
        assert "Quarry Pool Boatyard" in seen

"""The diary's pages: sound HTML whatever things are called, and what they must show."""

from __future__ import annotations

import shlex
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import html5lib
import pytest

from fleetlog.diary.load import MonthLoad
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Boat, Engine
from fleetlog.domain.words import LATER
from fleetlog.reports.diary.dock_sheet import dock_sheet
from fleetlog.reports.diary.load_page import load_chart, load_page
from fleetlog.reports.diary.rendering import render_diary
from fleetlog.reports.diary.week_page import week_page_path, weeks_of
from fleetlog.reports.words import NBSP
from fleetlog.reports.writing import write_pages
from tests.reports.diary_marina import diary_data
from tests.reports.marina import CONTEXT, engine_state, reading, schedule, storied_ledger
from tests.reports.pages import faults

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture(scope="module")
def pages():
    return render_diary(diary_data(), CONTEXT)


def test_every_page_is_sound_html_whatever_boats_and_owners_are_called(pages):
    for name, page in pages.items():
        html5lib.HTMLParser(strict=True).parse(page)
        assert faults(page) == [], name
        assert "<script>alert" not in page


def test_the_first_page_leads_to_every_other(pages):
    for name in pages:
        assert name == "index.html" or f'href="{name}"' in pages["index.html"]


def test_the_first_page_says_what_has_no_day_what_would_help_and_what_waits(pages):
    first = pages["index.html"]
    for words in (
        "takes too long",
        "a longer day",
        "Waits for the next access",
        "assumed from its past years",
    ):
        assert words in first


def test_a_week_shows_its_visits_by_technician_and_by_bay(pages):
    data = diary_data()
    first, second = weeks_of(data)
    week = pages[week_page_path(first)]
    assert week.count("08:00–10:30") == 2
    assert f"<h1>Week {first.isocalendar().week}, {first.day} to " in week
    assert "not here" in week
    later = pages[week_page_path(second)]
    assert later.count("no hour set") == 2
    assert "closed, a holiday" in later
    assert "proposed" in later


def test_a_dock_sheet_asks_for_hours_first_and_shows_what_is_owed(pages):
    data = diary_data()
    for boat_id, engines in data.boats.items():
        (sheet,) = [p for n, p in pages.items() if n.startswith("boats/") and engines[0].serial in p]
        metered = any(engine.seen.hours.metered for engine in engines)
        assert ("1. Hours" in sheet) == ("fleetlog hours" in sheet) == metered, boat_id
        assert not metered or sheet.index("1. Hours") < sheet.index("2. Work")
        shown = sum(line.state != LATER for engine in engines for line in engine.lines)
        assert sheet.count('data-label="Done"') == shown


def test_a_dock_sheet_speaks_of_what_the_meter_shows_where_the_meter_was_changed():
    state = engine_state(storied_ledger(), schedule())
    sheet = dock_sheet("B1", [state], diary_data())
    assert state.facts.last_reading.tenths == 5400
    assert [box.last for box in sheet.hours] == [f"90.0{NBSP}h on 1{NBSP}April{NBSP}2026"]
    assert f"50.5{NBSP}h or 20{NBSP}May{NBSP}2026" in [line.limit for line in sheet.engines[0].due]


def test_a_dock_sheet_asks_to_look_at_the_meter_where_the_latest_figure_is_held():
    ledger = storied_ledger()
    held = reading("TB-0007", date(2026, 4, 12), 99990)
    sheet = dock_sheet("B1", [engine_state(replace(ledger, readings=(*ledger.readings, held)), schedule())],
                       diary_data())  # fmt: skip
    [box] = sheet.hours
    assert box.last.replace(NBSP, " ") == (
        "90.0 h on 1 April 2026; 9999.0 h on 12 April 2026 is held, look at the meter"
    )


def test_what_is_typed_in_from_a_dock_sheet_can_be_pasted():
    engines = []
    for serial, position in (("A 1", "port"), ("A-2", "star board")):
        state = engine_state(EngineLedger(Engine(serial)), None)
        boat = Boat("B1", "O", 'The "Teal" & co')
        engines.append(replace(state, facts=replace(state.facts, position=position, boat=boat)))
    both, alone = dock_sheet("B1", engines, diary_data()), dock_sheet("B1", engines[:1], diary_data())
    assert shlex.split(both.typed_hours)[2:5] == ['The "Teal" & co', "port=…", "star board=…"]
    assert shlex.split(alone.typed_hours)[2:4] == ["A 1", "…"]


def test_a_day_sheet_names_parts_to_pull_and_work_cards(pages):
    sheet, _ = [page for name, page in pages.items() if name.startswith("days/")]
    for words in ("1.5 × timing belt (P-1)", "on the shelf", "1 × P-2", "to order, there on", "555-0100"):
        assert words in sheet
    assert "belt refit for TB-0007" in sheet


def test_sheets_for_work_carry_the_cautions_that_the_work_calls_for(pages):
    sheet, _ = [page for name, page in pages.items() if name.startswith("days/")]
    for title in ("Stop it from starting", "Turn it by hand only", "Lifting"):
        assert f"<strong>{title}.</strong>" in sheet
    assert "Fuel vapour" not in sheet
    dock = dock_sheet("B1", [engine_state(storied_ledger(), schedule())], diary_data())
    assert dock.cautions.startswith("Stop it from starting; ")


def test_an_estimate_says_about_and_what_has_no_price(pages):
    (page,) = [page for name, page in pages.items() if name.startswith("estimates/")]
    for words in ("an estimate, no bill", "timing belt (P-1)", "price not known", "200.00", "Yes", "No"):
        assert words in page


def test_the_load_names_the_months_that_are_too_full():
    page = load_page(diary_data())
    assert "April" in page.peak
    assert "June" in page.peak
    assert "May" not in page.peak
    assert [row.note for row in page.rows] == ["too much", "fits", "no capacity"]
    assert load_chart(()) == ""
    closed = MonthLoad(date(2026, 7, 1), 0, 0, 0, 0)
    assert "July" not in load_page(replace(diary_data(), load=[*diary_data().load, closed])).peak


def test_pages_are_written_and_written_again(pages, tmp_path: Path):
    assert write_pages(pages, tmp_path / "diary")[0] == tmp_path / "diary/index.html"
    del pages["load.html"]
    write_pages(pages, tmp_path / "diary")
    assert not (tmp_path / "diary/load.html").exists()


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("wide", [320, 1280])
def test_axe_finds_nothing_and_nothing_wants_scrolling_sideways(
    browser: Browser, tmp_path: Path, scheme: str, wide: int
) -> None:
    from tests.reports.browser import violations, window, written

    name = "W" * 80 if wide < 700 else "Wide " * 20
    paths = written(render_diary(diary_data(name), CONTEXT), tmp_path)
    wrong = {}
    with window(browser, wide=wide, scheme=scheme) as page:
        for name, path in paths.items():
            page.goto(path.as_uri())
            shown = page.evaluate("document.documentElement.scrollWidth")
            wrong[name] = violations(page) + ([f"{shown} px wide"] if shown > wide else [])
    assert {name: said for name, said in wrong.items() if said} == {}


@pytest.mark.browser
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_dock_sheet_is_one_sheet_of_paper(browser: Browser, tmp_path: Path, paper: str) -> None:
    from tests.reports.browser import printed_sheets, window, written

    paths = written(render_diary(diary_data("Long Name"), CONTEXT), tmp_path)
    with window(browser) as page:
        sheets = {
            n: printed_sheets(page, p, paper) for n, p in paths.items() if n.startswith(("boats", "load"))
        }
    assert set(sheets.values()) == {1}

"""The page of an engine: its history, what is fitted now, its hours, and nobody's name who owned it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

from fleetlog.reports.engine_page import EnginePage, engine_page
from fleetlog.reports.outlook import outlook_of
from fleetlog.reports.standing_by import homes_in
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


def storied() -> EnginePage:
    state = engine_state(storied_ledger(), schedule())
    return engine_page(state, outlook_of(state, TODAY), TODAY, homes_in([state], TODAY))


def test_history_is_told_rebuild_by_rebuild_the_newest_first() -> None:
    chapters = storied().chapters
    assert [plain(chapter.heading) for chapter in chapters] == [
        "Since the powerhead rebuild of 3 February 2025, about 448.6 h",
        "Before that, since it joined the log used; in service on 1 May 2020",
    ]
    assert [plain(visit.heading) for visit in chapters[0].visits] == ["1 to 6 February 2025: breakdown"]
    assert [plain(visit.heading) for visit in chapters[1].visits] == [
        "2 June 2024, 400.5 h",
        "1 June 2024",
        "1 March 2023",
    ]


def test_the_rebuilds_visit_says_what_was_wrong_what_is_new_and_what_went_back_used() -> None:
    visit = storied().chapters[0].visits[0]
    assert visit.is_rebuild
    assert dict(visit.facts) == {
        "Complaint": "knocks",
        "Cause": "bearing",
        "Correction": "rebuilt powerhead",
        "Advised": "new propeller",
        "Note": "carried the dowels over",
    }
    assert dict(visit.rebuild_lists) == {
        "Rebuilt": "powerhead",
        "New or fitted": "timing belt",
        "Put back used, still owed": "cam cover gasket (bank 1)",
        "Measured or looked at": "compression",
    }


def test_what_counts_as_done_with_a_rebuild_though_no_entry_says_so_is_told() -> None:
    """The entry of the belt was taken back: the rebuild alone renews it."""
    ledger = storied_ledger()
    [belt] = [e for e in ledger.entries if (e.visit_id, e.item) == ("v1", "timing belt")]
    void = replace(ledger.voids[0], entry_id=belt.entry_id)
    state = engine_state(replace(ledger, voids=(*ledger.voids, void)), schedule())
    page = engine_page(state, outlook_of(state, TODAY), TODAY, homes_in([state], TODAY))
    visit = page.chapters[0].visits[0]
    told = dict(visit.rebuild_lists)
    assert "New or fitted" not in told
    assert "Replace timing belt" in told["Counted as done with the rebuild; no entry says so"]


def test_an_entry_shows_part_lot_who_did_it_and_who_checked_it() -> None:
    belt = next(e for e in storied().chapters[0].visits[0].entries if e.what == "Timing belt fitted")
    assert (belt.part, belt.by, belt.checked_by) == ("TB-55 lot 24Q4", "Ida Brook", "Jon Alder")


def test_a_used_item_tells_the_age_and_the_engine_it_came_with() -> None:
    starter = storied().chapters[1].visits[-1].entries[0]
    assert starter.what == "Starter motor fitted used"
    assert [plain(text) for text in starter.details] == [
        "It had 500.0 h and 40 months already.",
        "It came from engine TB-0001.",
    ]


def test_a_voided_entry_is_struck_through_and_who_and_why_is_behind_a_fold() -> None:
    page = render_pages(small_fleet(), CONTEXT)["engines/TB-0007.html"]
    assert '<s>Engine oil fitted</s> <span class="tag">voided</span>' in page
    fold = page[page.index("Who and why") : page.index("</details>", page.index("Who and why"))]
    assert "Voided by Jon Alder on 2\xa0June\xa02024: typed on the wrong one" in fold
    assert "In its place: engine oil fitted on 2\xa0June\xa02024." in fold
    assert "wrong engine" in fold
    assert page.count("typed on the wrong one") == 1


def test_an_entry_voided_only_later_stands_on_an_earlier_day() -> None:
    ledger = storied_ledger()
    later = replace(ledger.voids[0], voided_at=ledger.voids[0].voided_at.replace(year=2027))
    state = engine_state(replace(ledger, voids=(later,)), schedule())
    page = engine_page(state, outlook_of(state, TODAY), TODAY, homes_in([state], TODAY))
    assert all(e.voided is None for c in page.chapters for v in c.visits for e in v.entries)


def test_held_readings_say_what_they_conflict_with() -> None:
    (held,) = storied().held
    assert plain(held.text) == "9000.0 h on the meter, 1 October 2025 (9450.0 h of the engine)"
    assert plain(held.conflict) == (
        "It is more than 24 hours a day above the reading before it, 500.0 h on 1 September 2025."
    )


def test_items_now_show_their_age_against_the_interval_that_renews_them() -> None:
    page = render_pages(small_fleet(), CONTEXT)["engines/TB-0007.html"]
    rows = {row[0]: row for row in rows_under(page, "items")}
    belt = ["4 February 2025 TB-55 lot 24Q4", "91.2 h of 1000 h", "14 months of 60 months"]
    assert rows["timing belt"][1:] == belt
    assert rows["starter motor"][1] == "1 March 2023, used"
    assert rows["starter motor"][2] == "at least 690.0 h"
    assert rows["cam cover gasket (bank 1)"][1] == "the original, as far as the log knows"


def test_items_that_are_only_ever_looked_at_are_no_items_fitted() -> None:
    assert not any("compression" in item.name for item in storied().items)


def test_what_is_owed_at_the_next_access_says_how_it_went_back() -> None:
    assert [plain(text) for text in storied().owed] == [
        "Renew cam cover gasket (bank 1): put back used on 4 February 2025 (sealant at the corners)"
    ]


def test_deferrals_are_shown_with_their_reason() -> None:
    assert "in use until the regatta" in storied().deferred[0]


def test_boats_are_named_by_period_and_owners_are_not_named_at_all() -> None:
    page = render_pages(small_fleet(), CONTEXT)["engines/TB-0007.html"]
    assert [(place, plain(when)) for place, when in storied().places] == [
        ("Teal", "1 January 2022 until now"),
        ("Coot", "1 May 2020 to 1 January 2022"),
    ]
    for name in ("Zacharias", "Formerly", "Bram", "Teller"):
        assert name not in text_of(page)


def test_who_sent_a_reading_is_not_told_since_it_may_be_an_owner() -> None:
    page = render_pages(small_fleet(), CONTEXT)["engines/TB-0010.html"]
    assert "Zacharias" not in page
    assert rows_under(page, "hours")[-1] == ["1 August 2022", "100.0 h", "100.0 h", "call", "counts"]


def test_the_curve_is_level_while_the_boat_is_stored() -> None:
    state = engine_state(storied_ledger(), schedule())
    straight = outlook_of(state, TODAY).middle
    (before, low), (after, high) = max(pairwise(straight[:-1]), key=lambda both: both[1][0] - both[0][0])
    begin, end = before + timedelta(days=4), after - timedelta(days=12)
    past = (date(2019, 1, 1), date(2019, 5, 1))
    ahead = replace(state.ahead, stored=[past, (begin, end)])
    curve = outlook_of(replace(state, ahead=ahead), TODAY).middle
    level = low + (high - low) * 4 / 16
    assert [(day, round(hours, 6)) for day, hours in curve if day not in dict(straight)] == [
        (begin, round(level, 6)),
        (end, round(level, 6)),
    ]
    assert [point for point in curve if point[0] in dict(straight)] == list(straight)


def test_the_curve_tells_its_figures_to_those_who_do_not_see_it() -> None:
    state = engine_state(twin_ledger("TB-0010", "port"), schedule())
    curve = str(engine_page(state, outlook_of(state, TODAY), TODAY, homes_in([state], TODAY)).curve)
    said = plain(curve[curve.index("<desc") : curve.index("</desc>")])
    assert "From 0.0 h on 3 May 2021 to 240.0 h on 20 March 2026." in said
    assert "Expected by 15 April 2027: about 436 h" in said
    assert "Next limit in hours: limit: engine oil at 250.0 h." in said


def test_an_engine_without_readings_or_schedule_still_has_a_page() -> None:
    bare = small_fleet().engines[4]
    page = engine_page(bare, outlook_of(bare, TODAY), TODAY, homes_in([bare], TODAY))
    assert page.no_lines == "No service schedule is known for this engine, so nothing can be said to be due."
    assert str(page.curve) == ""
    assert [chapter.visits for chapter in page.chapters] == [[]]


def test_an_engine_that_was_sold_has_no_lines_and_no_outlook() -> None:
    page = render_pages(small_fleet(), CONTEXT)["engines/TB-0022.html"]
    assert "The engine is sold; nothing falls due." in text_of(page)
    ledger = twin_ledger("TB-0010", "port")
    for state in ("in service", "sold", "scrapped"):
        gone = engine_state(replace(ledger, engine=replace(ledger.engine, state=state)), schedule())
        outlook = outlook_of(gone, TODAY)
        page = engine_page(gone, outlook, TODAY, homes_in([gone], TODAY))
        estimated = [outlook.today is not None, bool(outlook.months), bool(page.basis), bool(page.months)]
        assert set(estimated) == {state == "in service"}
        assert page.curve


def test_what_lies_after_the_day_is_not_shown() -> None:
    ledger = twin_ledger("TB-0010", "port")
    later = replace(ledger.entries[0], entry_id="later", on=date(2026, 5, 1), note="in the future")
    state = engine_state(replace(ledger, entries=(*ledger.entries, later)), schedule())
    page = engine_page(state, outlook_of(state, TODAY), TODAY, homes_in([state], TODAY))
    assert len([e for c in page.chapters for v in c.visits for e in v.entries]) == 3

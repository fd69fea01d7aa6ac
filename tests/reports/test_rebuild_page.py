"""The page of a rebuild and the sheet of a work card: what they show, what stands out, sound HTML."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from fleetlog.domain.card_text import card_from_toml
from fleetlog.domain.evidence import (
    Answer,
    Calibration,
    Check,
    Measurement,
    Tool,
    ToolLedger,
    Torque,
)
from fleetlog.domain.ledger import Evidence
from fleetlog.domain.records import Engine
from fleetlog.reports.card_sheet import card_sheet
from fleetlog.reports.engine_page import engine_page
from fleetlog.reports.outlook import outlook_of
from fleetlog.reports.rebuild_page import RebuildView, rebuild_page, rebuilds_of
from fleetlog.reports.rendering import laid_out
from fleetlog.reports.standing_by import homes_in
from fleetlog.reports.words import NBSP
from fleetlog.usecases.demo import demo_folder
from tests.reports.marina import (
    CONTEXT,
    TODAY,
    engine_state,
    render_pages,
    schedule,
    small_fleet,
    storied_ledger,
)
from tests.reports.pages import faults, plain, rows_under, text_of

DAY = date(2025, 2, 5)


def with_evidence():
    """The storied engine, with evidence of its rebuild."""
    ledger = storied_ledger()
    rebuilt = next(e for e in ledger.entries if e.action == "rebuilt")
    serial, visit = ledger.engine.serial, rebuilt.visit_id
    tool = Tool("w", "Big <wrench>", "lbf·ft", Decimal(60), Decimal(250))
    nut = Torque(
        "t1", serial, DAY, "flywheel nut", Decimal(174), "lbf·ft", visit, sequence_no=2, target=Decimal(174),
        low=Decimal(168), high=Decimal(180), threads="oiled", tool_id="w", by="Kim", checked_by="Lou",
    )  # fmt: skip
    bolts = replace(
        nut, torque_id="t2", joint="cover bolts", applied=Decimal(7), applied_nm=None, sequence_no=1,
        pass_no=1, fasteners=8, target=None, target_nm=None, low=Decimal("5.5"), high=Decimal("6.1"),
        tool_id=None,
    )  # fmt: skip
    low = Measurement("m1", serial, DAY, "compression", "compression", Decimal(96), "psi", "found", visit,
                      position="cylinder 3", low=Decimal(150))  # fmt: skip
    left = replace(low, measurement_id="m2", value=Decimal(187), stage="left")
    grounds = Check(
        "c1", serial, DAY, "grounds counted", "done", visit, "refit", 2, "grounds", 5, 6, None, "Kim", "Lou"
    )
    typo = replace(grounds, check_id="c2", title="typed twice", result="failed", card=None)
    answers = (
        Answer("a1", serial, DAY, "put right", "drawn up to 5.8", "Kim", torque_id="t2"),
        Answer("a2", serial, DAY, "entered wrong", "typed twice", "Kim", check_id="c2"),
    )
    calibrations = (Calibration("k", "w", date(2024, 1, 10)),)
    evidence = Evidence(
        (nut, bolts), (low, left), (grounds, typo), answers, {"w": ToolLedger(tool, calibrations)}
    )
    return engine_state(replace(ledger, evidence=evidence), schedule())


def the_page() -> RebuildView:
    state = with_evidence()
    return rebuild_page(state, rebuilds_of(state)[0], TODAY)


def test_what_was_put_back_used_says_whether_it_is_still_owed() -> None:
    items = {anchor: listed for anchor, _, listed in the_page().items}
    assert [item.name for item in items["new"]] == ["Timing belt"]
    (gasket,) = items["owed"]
    assert gasket.name == "Cam cover gasket (bank 1)"
    assert gasket.owed.startswith("Still owed: a new one at the next access")


def test_what_came_off_for_access_and_was_told_no_more_of_is_put_back_and_owed() -> None:
    state = with_evidence()
    gasket = next(e for e in state.ledger.entries if e.action == "reused")
    off = replace(gasket, entry_id="off", action="removed", reason="access", position="bank 2", note=None)
    bare = engine_state(replace(state.ledger, entries=(*state.ledger.entries, off)), schedule())
    items = {anchor: listed for anchor, _, listed in rebuild_page(bare, rebuilds_of(bare)[0], TODAY).items}
    told = [(i.told, i.owed[:10]) for i in items["owed"] if i.name == "Cam cover gasket (bank 2)"]
    assert told == [("Came off for access, and nothing says what went back.", "Still owed")]
    assert "other" not in items


def test_torques_stand_in_the_order_of_tightening_as_read_and_in_newton_metres() -> None:
    first, second = the_page().torques
    assert (first.order, first.joint) == ("1", "cover bolts, 8 of them, pass 1")
    assert first.answers == [f"Put right on 5{NBSP}February{NBSP}2025 by Kim: drawn up to 5.8"]
    assert second.applied == "174 lbf·ft (235.9 N·m)"
    assert second.wanted == "174 lbf·ft (235.9 N·m), band 168 to 180 (227.8 to 244.0 N·m)"
    assert second.how == "oiled; Big <wrench>"
    assert second.seen_by == "Lou"
    assert ["calibration ran out" in flag for flag in second.flags] == [True]


def test_measurements_stand_side_by_side_before_and_after() -> None:
    (row,) = the_page().measurements
    assert (row.name, row.found, row.left) == (
        "Compression (cylinder 3): compression",
        "96 psi, outside its limits",
        "187 psi",
    )
    assert row.flags == []


def test_checks_say_who_saw_them_and_what_was_entered_wrong_is_left_out() -> None:
    (checks,) = the_page().checks
    assert checks.heading == "Work card refit, revision 2"
    (grounds,) = checks.checks
    assert (grounds.result, grounds.seen_by, grounds.is_off) == ("done, 5 of 6", "Lou", True)
    assert not any("typed twice" in text for text in the_page().stands_out)


def test_what_stands_out_is_on_the_page_and_in_the_engines_history() -> None:
    state = with_evidence()
    told = the_page().stands_out
    assert len(told) == 3
    visit = (
        engine_page(state, outlook_of(state, TODAY), TODAY, homes_in([state], TODAY)).chapters[0].visits[0]
    )
    facts = dict(visit.facts)
    assert plain(facts["Evidence"]) == "2 torques, 2 measurements and 2 checks"
    assert all(text in facts["Stands out"] for text in told)
    assert len(visit.rebuild_pages) == 1


def test_a_rebuild_that_says_too_little_lists_what_is_counted_as_done() -> None:
    state = with_evidence()
    entries = tuple(e for e in state.ledger.entries if e.item != "timing belt")
    bare = engine_state(replace(state.ledger, entries=entries), schedule())
    assert "Replace timing belt" in rebuild_page(bare, rebuilds_of(bare)[0], TODAY).counted_as_renewed


def test_the_page_is_sound_html_and_everything_on_it_is_escaped() -> None:
    page = laid_out("rebuild.html", the_page(), CONTEXT, TODAY)
    assert faults(page) == []
    assert "Big &lt;wrench&gt;" in page
    rows = rows_under(page, "torques")
    assert [row[1].split(" flagged")[0] for row in rows[1:]] == [
        "cover bolts, 8 of them, pass 1",
        "flywheel nut",
    ]


def test_every_rebuild_of_the_fleet_has_a_page_that_its_engine_links_to() -> None:
    pages = render_pages(small_fleet(), CONTEXT)
    rebuilds = [path for path in pages if path.startswith("rebuilds/")]
    assert rebuilds
    engines = "".join(text for path, text in pages.items() if path.startswith("engines/"))
    for path in rebuilds:
        assert f'href="../{path}"' in engines
        assert faults(pages[path]) == []


def test_the_sheets_of_the_demo_cards_are_sound_and_escape_what_they_are_given() -> None:
    for path in sorted((demo_folder() / "cards").glob("*.toml")):
        card, problems = card_from_toml(path.stem, path.read_text(encoding="utf-8"))
        assert card is not None, problems
        page = card_sheet(card, Engine("<b>1</b>"), "Boat & Co", None, CONTEXT, TODAY)
        assert faults(page) == []
        assert "<b>1</b>" not in page
        told = text_of(page)
        assert "Stop it from starting" in told
        assert all(step.title in told for step in card.steps)

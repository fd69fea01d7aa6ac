"""Terms, advice and assemblies on the pages, and the notices to owners who have a part."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from fleetlog.domain.fleet import EngineState, FleetState
from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.part_search import sightings
from fleetlog.domain.promises import Advice, Term
from fleetlog.domain.records import Boat, Engine, Entry, Layup, Reading
from fleetlog.domain.satisfaction import seen_on
from fleetlog.domain.schedule import Deadline, Limits, Rule, Schedule
from fleetlog.domain.serials import SerialRange
from fleetlog.reports.limits import interval_used
from fleetlog.reports.names import engine_page_path, owner_page_path
from fleetlog.reports.owner_words import why_now
from fleetlog.reports.part_notice import PartNotice, render_part_notices
from fleetlog.reports.standing_by import homes_in
from fleetlog.reports.words import NBSP
from tests.domain.lines import due_lines
from tests.domain.two_readings import SteadyForecast
from tests.reports.hard_marinas import HOSTILE, hostile_fleet
from tests.reports.marina import (
    ADA,
    CONTEXT,
    TODAY,
    engine_state,
    entry,
    render_pages,
    schedule,
    small_fleet,
    twin_ledger,
)
from tests.reports.pages import faults, text_of


def promised(state: EngineState, words: str) -> EngineState:
    serial, since = state.serial, date(TODAY.year - 3, TODAY.month, 1)
    terms = (
        Term("w1", serial, "warranty", since, 37, 9_999_999, title=words, sequence=1),
        Term("w2", serial, "useful life", since, 12, item=words, position=words, sequence=2),
    )
    advice = (
        Advice(
            "n1",
            serial,
            TODAY,
            words,
            position=words,
            how="by post",
            answer="declined",
            note=words,
            sequence=9,
        ),
        Advice("n2", serial, TODAY, words, by=words, sequence=2),
        Advice("n3", serial, TODAY, words, sequence=3),
    )
    swapped = Entry(
        "swap", serial, TODAY, "fitted", item="powerhead", condition="used", from_serial=words, sequence=999
    )
    part = Entry(
        "part",
        serial,
        TODAY,
        "fitted",
        item=words,
        position=words,
        part_number=words,
        lot=words,
        sequence=1000,
    )
    ledger = replace(state.ledger, terms=terms, advice=advice, entries=(*state.ledger.entries, swapped, part))
    return replace(state, ledger=ledger, seen=seen_on(ledger, TODAY))


def with_promises(fleet: FleetState, words: str) -> FleetState:
    return replace(fleet, engines=[promised(state, words) for state in fleet.engines])


def test_pages_with_terms_advice_and_swaps_are_valid_whatever_the_words() -> None:
    pages = render_pages(with_promises(hostile_fleet(), HOSTILE), CONTEXT)
    assert {path: said for path, page in pages.items() if (said := faults(page))} == {}
    assert all("<script" not in page for page in pages.values())


def test_an_engines_page_tells_its_terms_advice_and_assemblies() -> None:
    pages = render_pages(with_promises(small_fleet(), "new hoses"), CONTEXT)
    told = [" ".join(text_of(p).split()) for path, p in pages.items() if path.startswith("engines/")]
    assert told
    for text in told:
        assert "Warranty of the engine (new hoses)" in text
        assert "Useful life of the new hoses (new hoses)" in text
        assert "declined on" in text
        assert "no answer yet" in text
        assert "Powerhead" in text
        assert "used, from engine new hoses" in text


def test_a_letter_tells_of_a_warranty_that_ends_and_of_advice_declined() -> None:
    pages = render_pages(with_promises(small_fleet(), "new hoses"), CONTEXT)
    letters = [" ".join(text_of(p).split()) for path, p in pages.items() if path.startswith("owners/")]
    assert letters
    for text in letters:
        assert "Before the warranty of the engine ends on" in text
        assert "Before the useful life" not in text
        assert "new hoses; you said no then; it still stands." in text


def test_a_notice_is_valid_and_speaks_of_its_owners_engines_alone() -> None:
    for fleet, words in ((hostile_fleet(), HOSTILE), (small_fleet(), "pump")):
        grown = with_promises(fleet, words)
        entries = [e for s in grown.engines for e in s.ledger.entries if e.entry_id == "part"]
        found = sightings(homes_in(grown.engines, TODAY), entries, TODAY)
        assert {s.serial for s in found if s.is_now} == {s.serial for s in grown.engines}
        pages, unwritten = render_part_notices(found, PartNotice(words, words, words), CONTEXT, TODAY)
        assert pages or unwritten
        assert {path: said for path, page in pages.items() if (said := faults(page))} == {}
        owners = {s.serial: s.facts.owner.name if s.facts.owner else "" for s in grown.engines}
        if words == "pump":
            for page in pages.values():
                text = text_of(page)
                of = {owners[serial] for serial in owners if serial in text}
                assert len(of) == 1
                assert of.pop() in text


def test_a_bulletin_is_told_as_work_asked_for_once() -> None:
    hose = Rule(
        "hose", "Check the hose", "hose", "inspect", once=True, by=Deadline(TODAY, 4000),
        serials=(SerialRange("ab", 1, 9),),
    )  # fmt: skip
    engine = Engine("AB1", in_service_on=date(2020, 1, 1), logged_from_new=True)
    [line] = due_lines(EngineLedger(engine), Schedule("s", "S", 1, (hose,)), TODAY, SteadyForecast(TODAY), 60)
    assert why_now(line) == "Asked for once, on engines of this serial number."
    assert not interval_used(line, TODAY)


def test_nothing_is_told_of_how_much_is_used_of_work_without_record() -> None:
    belt = Rule("belt", "Replace belt", "belt", "replace", every=Limits(10_000, 12))
    joined = Engine("AB1", in_service_on=date(2020, 1, 1))
    ledger = EngineLedger(joined, readings=(Reading("r", "AB1", TODAY, 4000),))
    [line] = due_lines(ledger, Schedule("s", "S", 1, (belt,)), TODAY, SteadyForecast(TODAY), 60)
    assert line.state == "no record"
    assert not interval_used(line, TODAY)


def test_a_used_engine_is_not_said_to_be_without_work_since_it_was_new() -> None:
    launch = Rule("launch", "Check it", "engine", "inspect", season="before launch")
    layup = Layup("B1", date(TODAY.year - 1, 10, 1), date(TODAY.year, 12, 1))
    boat = BoatLedger(Boat("B1", None, "Boat"), layups=(layup,))

    def told(*, from_new: bool) -> str:
        engine = Engine("AB1", boat_id="B1", in_service_on=date(2020, 1, 1), logged_from_new=from_new)
        ledger = EngineLedger(engine, boats={"B1": boat})
        [line] = due_lines(ledger, Schedule("s", "S", 1, (launch,)), TODAY, SteadyForecast(TODAY), 400)
        return why_now(line)

    assert told(from_new=True).startswith("Not done yet since the engine was new on ")
    assert told(from_new=False).startswith("Our log has no record of it being done. Wanted once a year")


def test_what_came_off_is_told_on_every_page_while_its_line_is_for_later() -> None:
    fleet = small_fleet()
    twin = twin_ledger("TB-0010", "port")
    off = entry("TB-0010", date(2026, 3, 21), "removed", "timing belt", reason="failed", sequence=99)
    state = engine_state(replace(twin, entries=(*twin.entries, off)), schedule())
    [belt] = [line for line in state.lines if line.rule.item == "timing belt"]
    assert belt.state == "later"
    pages = render_pages(replace(fleet, engines=[state, *fleet.engines[1:]]), CONTEXT)
    assert {path: said for path, page in pages.items() if (said := faults(page))} == {}
    told = {path: " ".join(text_of(page).replace(NBSP, " ").split()) for path, page in pages.items()}
    assert "TB-0010, Wanda: Timing belt, since 21 March 2026 (failed)" in told["due.html"]
    assert "1 off and not put on again" in told["index.html"]
    assert "Timing belt, since 21 March 2026 (failed)" in told[engine_page_path("TB-0010")]
    letter = told[owner_page_path(ADA.name, ADA.owner_id)]
    assert letter.count("By our log this came off and nothing was put on since: timing belt.") == 1
    before = render_pages(fleet, CONTEXT)
    assert not any("nothing put on since" in page or "came off and" in page for page in before.values())

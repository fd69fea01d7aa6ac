"""The reminder to an owner: what, why now, by when, what it costs to wait, and how to answer."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

from fleetlog.domain.fleet import EngineState, FleetState
from fleetlog.domain.records import Owner, Ownership
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.words import NEEDS_A_READING, OVERDUE
from fleetlog.reports.names import owner_page_path
from fleetlog.reports.outlook import outlook_of
from fleetlog.reports.owner_page import OwnerPage, owner_page
from fleetlog.reports.owner_words import by_when
from fleetlog.reports.reminder_mail import MailVisit, reminder_mail
from tests.reports.hard_marinas import crowded_fleet
from tests.reports.marina import (
    ADA,
    CONTEXT,
    OTHER_ADA,
    SILENT,
    TODAY,
    engine_state,
    reading,
    render_pages,
    schedule,
    small_fleet,
    storied_ledger,
    twin_ledger,
)
from tests.reports.pages import plain, text_of


def page_of(owner: Owner, *engines: EngineState) -> OwnerPage:
    outlooks = {state.serial: outlook_of(state, TODAY) for state in engines}
    return owner_page(owner, list(engines), outlooks, CONTEXT, TODAY)


def twin(**more: int) -> EngineState:
    return engine_state(twin_ledger("TB-0010", "port"), schedule(), **more)


def test_an_overdue_line_says_since_when_why_and_what_it_costs() -> None:
    line = page_of(ADA, twin()).sections[0].lines[0]
    assert (line.state, line.work) == ("overdue", "Change engine oil")
    assert plain(line.by_when) == "Now: it was due by 10 May 2024."
    assert plain(line.why) == "Last done on 10 May 2023 at 150.0 h. Wanted every 100 h or 12 months."
    assert plain(line.waits) == "If it waits: Engine damage."
    assert [plain(used.text) for used in line.used] == ["90.0 of 100 h", "35 of 12 months"]


def test_a_look_asked_for_sooner_says_what_was_done_and_claims_no_wear() -> None:
    """What rode in on another powerhead is looked at since nobody knows of it, not since it was worn."""
    ledger = twin_ledger("TB-0010", "port")
    latest = max((e for e in ledger.entries if e.item == "engine oil"), key=lambda e: e.on)
    others = tuple(e for e in ledger.entries if e is not latest)
    for change, said in (
        ({"condition": "used", "prior_tenths": 0, "prior_months": 0}, "It was fitted used on 10 May 2023"),
        ({"action": "serviced"}, "It was serviced on 10 May 2023"),
    ):
        again = replace(latest, again_months=1, **change)
        state = engine_state(replace(ledger, entries=(*others, again)), schedule_that_services())
        why = plain(page_of(ADA, state).sections[0].lines[0].why)
        assert f"{said}, and we want to look at it sooner than usual." in why


def schedule_that_services() -> Schedule:
    """The schedule, in which the oil line is a service."""
    rules = [replace(r, action="service") if r.key == "oil" else r for r in schedule().rules]
    return replace(schedule(), rules=tuple(rules))


def test_a_line_by_hours_gives_the_meter_figure_and_the_window() -> None:
    line = page_of(ADA, twin(tenths_a_day=30)).sections[0].lines[-1]
    assert line.work == "Replace water pump impeller"
    assert plain(line.by_when) == (
        "At 350.0 h on the meter: likely 26 April 2026, between 6 April and 16 May 2026."
    )


def test_a_window_that_is_too_wide_asks_for_hours_and_gives_no_date() -> None:
    line = page_of(ADA, twin(tenths_a_day=30, spread_days=90)).sections[0].lines[-1]
    assert plain(line.by_when) == (
        "At 350.0 h on the meter. We cannot say when that will be: please send us today’s hours."
    )


def test_hours_that_have_probably_run_out_are_asked_for_and_not_held_against_the_owner() -> None:
    lines = page_of(ADA, twin(tenths_a_day=100)).sections[0].lines
    line = next(line for line in lines if line.state == "needs a reading")
    assert plain(line.by_when) == (
        "The hours have probably run out: please send us today’s hours. The limit is 350.0 h on the meter."
    )


def test_the_limit_is_given_as_the_present_meter_shows_it() -> None:
    state = engine_state(storied_ledger(), schedule(), tenths_a_day=100)
    lines = page_of(SILENT, state).sections[0].lines
    assert "TB-0007" in page_of(SILENT, state).sections[0].about
    assert any("on the meter" in line.by_when for line in lines)
    assert plain(page_of(SILENT, state).sections[0].based_on).startswith(
        "The meter showed 90.0 h (540.0 h in all, with the earlier meter) on 1 April 2026."
    )


def test_many_lines_without_a_record_are_told_as_one() -> None:
    state = engine_state(
        replace(
            twin_ledger("TB-0010", "port"),
            entries=(),
            engine=replace(twin_ledger("TB-0010", "port").engine, logged_from_new=False, in_service_on=None),
        ),
        schedule(),
    )
    line = page_of(ADA, state).sections[0].lines[0]
    assert (line.state, line.stands_for, line.work) == ("no record", 3, "3 kinds of work")
    assert "Replace timing belt, Change engine oil and Replace water pump impeller" in line.why


def test_what_was_put_off_names_the_schedules_own_limit_too() -> None:
    notes = page_of(SILENT, engine_state(storied_ledger(), schedule())).sections[0].notes
    assert [plain(note) for note in notes] == [
        "To be renewed when this part of the engine is next open: Renew cam cover gasket (bank 1).",
        "Change engine oil: put off until 20 May 2026 (in use until the regatta). "
        "The schedule’s own limit is 2 June 2025 or 500.5 h.",
    ]


def test_all_grave_work_that_was_put_off_is_told_with_its_limit_and_first() -> None:
    ledger = storied_ledger()
    [oil] = ledger.deferrals
    belt = replace(oil, deferral_id="d2", rule="belt", until_on=date(2031, 1, 1))

    def told(consequence_of_old_oil: str) -> list[str]:
        rules = [
            replace(rule, consequence=consequence_of_old_oil) if rule.key == "oil" else rule
            for rule in schedule().rules
        ]
        of_oil = replace(schedule(), rules=tuple(rules))
        state = engine_state(replace(ledger, deferrals=(oil, belt)), of_oil)
        return [plain(note) for note in page_of(SILENT, state).sections[0].notes if "put off" in note]

    assert [note.partition(" until")[0] for note in told("fire")] == [
        "Replace timing belt: put off",
        "Change engine oil: put off",
    ]
    assert all("The schedule’s own limit is" in note for note in told("fire"))
    assert told("smoke")[1:] == ["Also put off: Change engine oil."]


def test_why_something_was_put_off_in_a_former_owners_time_is_not_told() -> None:
    ledger = storied_ledger()
    teal = ledger.boats["teal"]
    sold = replace(teal, boat=replace(teal.boat, owner_id="ada"))
    owned = (Ownership("teal", "silent", date(2022, 1, 1)), Ownership("teal", "ada", date(2026, 4, 1)))
    sold = replace(sold, ownership=owned)
    moved = replace(ledger, boats={**ledger.boats, "teal": sold}, owners={"ada": ADA})
    state = engine_state(moved, schedule())
    note = page_of(ADA, state).sections[0].notes[1]
    assert "put off until" in note
    assert "regatta" not in note


def test_the_answer_can_be_sent_as_one_line_for_each_boat() -> None:
    fleet = small_fleet()
    page = page_of(ADA, fleet.engines[0], fleet.engines[1])
    assert page.one_line == ["Wanda: port=____ starboard=____ on ____"]
    assert [row.engine for row in page.rows] == ["Wanda, port", "Wanda, starboard"]
    assert plain(page.rows[0].last) == "240.0 h on 20 March 2026"
    assert page.mail_to == (
        "mailto:hours@quarrypool.example?subject=Engine%20hours&body="
        "Wanda%3A%20port%3D%20starboard%3D%20on%20"
    )
    assert page.reply == (
        "Write down what each hour meter shows today, and answer by e-mail to hours@quarrypool.example "
        "or at the counter."
    )


def test_an_engine_without_a_meter_is_not_asked_for_a_figure() -> None:
    page = page_of(OTHER_ADA, small_fleet().engines[3])
    assert (page.rows, page.one_line, page.mail_to) == ([], [], "")
    assert page.reply.startswith("Tell us about how many hours")
    assert "no hour meter" in page.sections[0].based_on


def test_hours_that_no_meter_tells_are_not_asked_for_as_a_reading() -> None:
    """A state that asks for a reading asks how much the engine ran where it has no meter to read."""
    state = small_fleet().engines[3]
    line = replace(state.lines[0], state=NEEDS_A_READING)
    told = by_when(state, line, TODAY)
    assert told.startswith(
        "Engines like it have probably run that long by now: please tell us how much it ran"
    )
    assert "today’s hours" not in told
    metered = small_fleet().engines[0]
    assert "today’s hours" in by_when(metered, replace(metered.lines[0], state=NEEDS_A_READING), TODAY)


def test_a_mail_asks_for_what_the_engines_can_tell() -> None:
    engines = small_fleet().engines
    metered, without = (
        reminder_mail(ADA, [one], (), CONTEXT, TODAY).text for one in (engines[0], engines[3])
    )
    assert "Please tell us today’s engine hours: answer this mail" in metered
    assert "Please tell us about how many hours it ran this past year: answer this mail" in without


def test_a_mail_proposes_a_day_of_a_boat_once_though_it_has_two_visits_on_it() -> None:
    day = date(2026, 4, 23)
    visits = [
        MailVisit(boat, on, None, tenths, is_agreed=agreed)
        for boat, on, tenths, agreed in (
            ("Wanda", day, 50, False),
            ("Wanda", day, 25, False),
            ("Wanda", date(2026, 4, 24), 10, False),
            ("Teal", day, 15, False),
            ("Wanda", day, 30, True),
        )
    ]
    text = reminder_mail(ADA, [twin()], visits, CONTEXT, TODAY).text
    assert text.count("Wanda: Thursday 23 April 2026") == 2
    assert "Agreed:\n- Wanda: Thursday 23 April 2026, about 3.0 h\n" in text
    assert "We propose:\n- Wanda: Thursday 23 April 2026, about 7.5 h\n- Wanda: Friday 24 April" in text
    assert "- Teal: Thursday 23 April 2026, about 1.5 h" in text


def test_estimated_hours_are_called_an_estimate_and_stand_beside_the_reading() -> None:
    based_on = plain(page_of(ADA, twin()).sections[0].based_on)
    assert based_on == (
        "The meter showed 240.0 h on 20 March 2026. We reckon it has run about 253 h (251 to 255) by today. "
        "Dates rest on readings made by hand."
    )


def test_readings_alike_engines_and_lay_up_are_told_an_owner_and_no_more() -> None:
    told = (
        "20 readings since it was new on 22 February 2022, the last on 30 October 2025; commercial engines,"
        " judged by 4 engines, run 185 h a year on average, this one is expected to run 218 h in the next"
        " twelve months; no lay-up recorded"
    )
    state = twin()
    further = told + "; no whole year read in this log, so the season is that of boats in general"
    state = replace(state, facts=replace(state.facts, forecast_basis=further))
    assert plain(page_of(ADA, state).sections[0].based_on).endswith(f"Dates rest on {told}.")


def test_a_new_engine_that_was_never_read_is_not_said_to_have_shown_0_h() -> None:
    ledger = replace(twin_ledger("TB-0010", "port"), readings=(), entries=())
    based_on = plain(page_of(ADA, engine_state(ledger, schedule())).sections[0].based_on)
    assert based_on.startswith("We have no reading of its hour meter since it was new on 3 May 2021.")


def test_an_engine_that_hardly_ran_since_its_reading_has_no_estimate_beside_it() -> None:
    ledger = twin_ledger("TB-0010", "port")
    yesterday = replace(ledger, readings=(*ledger.readings, reading("TB-0010", date(2026, 4, 14), 2500)))
    assert plain(page_of(ADA, engine_state(yesterday, schedule())).sections[0].based_on) == (
        "The meter showed 250.0 h on 14 April 2026. Dates rest on readings made by hand."
    )


def test_what_does_not_fit_the_page_is_counted_and_named() -> None:
    fleet = crowded_fleet(2)
    page = page_of(fleet.engines[0].facts.owner or ADA, *fleet.engines)
    for section in page.sections:
        left = 14 - len(section.lines) + 1
        assert re.fullmatch(
            rf"and {left} more, 5 overdue, among them Inspect and renew part 3 of .* unit…",
            section.more,
        )
        assert section.lines


def test_what_is_overdue_is_said_to_be_that_though_it_does_not_fit_the_page() -> None:
    fleet = crowded_fleet(2)
    late = [
        replace(state, lines=[replace(line, state=OVERDUE) for line in state.lines])
        for state in fleet.engines
    ]
    page = page_of(late[0].facts.owner or ADA, *late)
    for section in page.sections:
        left = len(late[0].lines) - len(section.lines)
        assert re.fullmatch(
            rf"and {left} more, {left} overdue, among them Inspect and renew part \d+ of .* unit…",
            section.more,
        )


def test_an_owner_with_one_pressing_thing_hears_of_it_alone() -> None:
    ledger = twin_ledger("TB-0010", "port")
    done = replace(ledger, readings=(*ledger.readings, reading("TB-0010", date(2026, 4, 14), 2410)))
    page = page_of(ADA, engine_state(done, schedule()))
    assert page.opening.startswith("By our service log 2\xa0pieces of work on your engine on Wanda are due")
    assert [line.work for line in page.sections[0].lines] == ["Change engine oil", "Check before launch"]
    assert page.sections[0].more == ""


def test_the_boat_with_the_most_pressing_work_comes_first_with_all_its_engines() -> None:
    overdue = engine_state(twin_ledger("TB-0020", "starboard"), schedule())
    soon = twin_ledger("TB-0010", "port")
    soon = replace(soon, readings=(*soon.readings, reading("TB-0010", date(2026, 4, 14), 2410)))
    oil = [rule for rule in schedule().rules if rule.item == "engine oil"]
    calm = engine_state(soon, replace(schedule(), rules=[r for r in schedule().rules if r not in oil]))
    assert calm.facts.boat is not None
    boat = replace(calm.facts.boat, boat_id="A", name="Arden")
    elsewhere = replace(calm, facts=replace(calm.facts, boat=boat))
    page = page_of(ADA, elsewhere, calm, overdue)
    assert [s.name for s in page.sections] == ["Wanda, port", "Wanda, starboard", "Arden, port"]
    assert [r.engine for r in page.rows] == ["Wanda, port", "Wanda, starboard", "Arden, port"]
    assert re.search(r"will be soon; \d+ (is|are) overdue\. The most pressing comes first", page.opening)
    one = engine_state(soon, replace(schedule(), rules=oil))
    assert plain(page_of(ADA, one).opening).endswith("1 piece of work on your engine on Wanda is overdue.")


def test_an_owner_with_nothing_due_is_told_so_and_still_asked_for_hours() -> None:
    ledger = replace(twin_ledger("TB-0010", "port"), boats={}, owners={})
    state = engine_state(ledger, replace(schedule(), rules=()))
    page = page_of(ADA, state)
    assert page.opening == "By our service log nothing is due just now on your engine."
    assert page.sections == []
    assert len(page.rows) == 1


def test_a_long_page_leads_to_its_answer_from_the_top() -> None:
    page = render_pages(small_fleet(), CONTEXT)[owner_page_path(ADA.name, "ada")]
    assert page.index('href="#answer"') < page.index("<h2") < page.index('id="answer"')


def test_a_page_of_many_engines_leads_to_each_of_them_from_the_top() -> None:
    def links_of(engines: int) -> list[str]:
        fleet = crowded_fleet(engines)
        (page,) = (text for path, text in render_pages(fleet, CONTEXT).items() if path.startswith("owners/"))
        links = re.findall(r'<li><a class="target" href="#(engine-\d+)">', page)
        assert all(f'<h2 id="{link}">' in page for link in links)
        return links

    assert links_of(5) == [f"engine-{number}" for number in range(1, 6)]
    assert links_of(4) == []


def test_no_page_is_made_for_an_owner_who_wants_none() -> None:
    pages = render_pages(small_fleet(), CONTEXT)
    assert owner_page_path(SILENT.name, SILENT.owner_id) not in pages
    assert {path for path in pages if path.startswith("owners/")} == {
        owner_page_path(ADA.name, "ada"),
        owner_page_path(OTHER_ADA.name, "ada-2"),
    }


def test_a_reminder_holds_nobody_elses_name_boat_or_engine_and_no_link_to_the_shops_pages() -> None:
    pages = render_pages(small_fleet(), CONTEXT)
    page = pages[owner_page_path(ADA.name, "ada")]
    seen = text_of(page)
    for other in ("Teal", "Coot", "Mite", "TB-0007", "TB-0020", "Zacharias", "Bram Teller"):
        assert other not in seen, other
    assert 'href="../' not in page
    assert 'href="index' not in page


def test_an_engine_that_changed_hands_is_written_about_to_its_present_owner_alone() -> None:
    pages = render_pages(FleetState(TODAY, [twin()]), CONTEXT)
    assert [path for path in pages if path.startswith("owners/")] == [owner_page_path(ADA.name, "ada")]


def test_owners_are_never_told_to_do_the_work() -> None:
    page = render_pages(small_fleet(), CONTEXT)[owner_page_path(ADA.name, "ada")]
    assert "Leave the work to a qualified technician, and ask us before an engine runs on past" in text_of(
        page
    )
    assert "kill cord" not in page


def test_of_an_engine_without_a_schedule_nobody_says_that_nothing_is_due() -> None:
    bare = engine_state(twin_ledger("TB-0011", "starboard"), None)
    alone = page_of(ADA, bare)
    assert alone.opening.startswith("Our service log has no service schedule for your engine on ")
    assert alone.nothing_on == ""
    beside = page_of(ADA, twin(), bare)
    assert "due or will be soon" in beside.opening
    assert beside.nothing_on == (
        f"For want of a service schedule we cannot say what is due on: {beside.rows[1].engine}."
    )

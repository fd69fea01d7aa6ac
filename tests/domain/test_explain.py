"""Every line says in plain sentences why it stands where it stands."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

from fleetlog.domain.due import FailureChance
from fleetlog.domain.explain import explain, limits_text, own_limits
from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.records import Boat, Deferral, Engine, Entry, Layup, Reading
from fleetlog.domain.schedule import Deadline, Limits, Rule, Schedule
from tests.domain.lines import due_lines
from tests.domain.nasty_ledgers import nasty_case
from tests.domain.two_readings import SteadyForecast

TODAY = date(2024, 6, 1)
NEW = Engine("E1", in_service_on=date(2023, 1, 1), logged_from_new=True)
JOINED = replace(NEW, logged_from_new=False)
BELT = Rule("belt", "Belt", "belt", "replace", every=Limits(1000, 60), reset_by=("powerhead",))


def done(on: str, action: str, **facts: object) -> Entry:
    item = None if action == "rebuilt" else "belt"
    return Entry(f"{on} {action}", "E1", date.fromisoformat(on), action, item=item, **facts)  # type: ignore[arg-type]


def why(*entries: Entry, engine: Engine = NEW, rule: Rule = BELT, **rows: object) -> str:
    readings = (Reading("r", "E1", date(2024, 5, 1), 900),)
    ledger = EngineLedger(engine, entries=entries, readings=readings, **rows)  # type: ignore[arg-type]
    [line] = due_lines(ledger, Schedule("s", "S", 1, (rule,)), TODAY, SteadyForecast(date(2024, 5, 1)))
    return explain(line)


def test_it_says_when_and_at_what_hours_it_was_last_done_and_what_is_due() -> None:
    assert why(done("2024-02-01", "fitted", meter_tenths=400)) == (
        "Last done on 2024-02-01 at 40.0 h: belt fitted. "
        "The interval is 100.0 h or 60 months, whichever comes first. "
        "Due at 140.0 h or on 2029-02-01; the hours govern. "
        "The last reading is 90.0 h on 2024-05-01. "
        "The hours are likely reached on 2024-05-21, between 2024-05-11 and 2024-05-31. "
        "The forecast rests on a steady pace. "
        "The hours have probably run out and no reading shows it: a new reading will tell."
    )


def test_where_the_date_governs_it_says_on_what_it_rests_that_the_hours_come_later() -> None:
    yearly = replace(BELT, every=Limits(9000, 12))
    ledger = EngineLedger(NEW, entries=(done("2024-02-01", "fitted", meter_tenths=400),))
    [line] = due_lines(ledger, Schedule("s", "S", 1, (yearly,)), TODAY, SteadyForecast(date(2025, 1, 22)))
    assert "the date governs" in explain(line)
    assert "That the hours come later is a forecast, which rests on a steady pace." in explain(line)
    passed = why(done("2023-02-01", "fitted", meter_tenths=400), rule=yearly)
    assert "the date governs" in passed
    assert passed.endswith("It is overdue.")
    assert "rests on" not in passed


def test_hours_of_work_after_the_last_reading_are_said_to_be_taken_from_it() -> None:
    taken = (
        "The hours of that day are not known: they are taken as those of the last reading before, 90.0 h on"
        " 2024-05-01, though they may have been more, so hours may run out later than told: a new reading"
        " puts that right."
    )
    assert taken in why(done("2024-05-20", "fitted"))
    assert "Due at 190.0 h" in why(done("2024-05-20", "fitted"))
    assert "are not known" not in why(done("2024-05-20", "fitted", meter_tenths=950))
    assert "are not known" not in why(done("2024-05-01", "fitted"))
    assert "are not known" not in why(
        done("2024-05-20", "fitted"), rule=replace(BELT, every=Limits(None, 60))
    )


def test_where_the_date_governs_it_says_from_when_on_the_hours_may_come_before_it() -> None:
    yearly = replace(BELT, every=Limits(9000, 12))
    ledger = EngineLedger(NEW, entries=(done("2024-02-01", "fitted", meter_tenths=400),))
    [line] = due_lines(ledger, Schedule("s", "S", 1, (yearly,)), TODAY, SteadyForecast(date(2025, 1, 21)))
    assert line.governs == "date"
    assert (
        "That the hours likely come later, though they may be reached from 2025-01-31 on, is a forecast,"
        " which rests on a steady pace."
    ) in explain(line)


def test_the_0_h_of_a_new_engine_are_no_reading() -> None:
    unread, read = (
        explain(line)
        for rows in ((), (Reading("r", "E1", date(2023, 3, 1), 0),))
        for line in due_lines(
            EngineLedger(NEW, readings=rows), Schedule("s", "S", 1, (BELT,)), TODAY, SteadyForecast(TODAY)
        )
    )
    assert "No reading since it was new on 2023-01-01 has been accepted." in unread
    assert "The last reading is 0.0 h on 2023-03-01." in read


def test_never_done_it_says_from_where_it_counts() -> None:
    assert "Never done in this log; the engine has been logged since it was new on 2023-01-01." in why()
    assert "the part is the original, or was renewed without a record" in why(engine=JOINED)


def test_of_no_record_it_says_why() -> None:
    passed = why(engine=JOINED, rule=replace(BELT, every=Limits(None, 12)))
    assert "joined the log used, and since 2023-01-01, when it came into service, the interval has" in passed
    assert "no date from which to count" in why(engine=replace(JOINED, in_service_on=None))
    assert "its age is not known" in why(done("2024-02-01", "fitted", condition="used"))
    assert passed.endswith("It is due now: look at it or renew it, and enter what was found.")


def test_an_age_it_came_with_is_said_and_what_of_it_is_not_known() -> None:
    both = why(done("2024-02-01", "fitted", condition="used", prior_tenths=300, prior_months=1))
    assert "belt fitted used. It had 30.0 h and 1 month already, which count." in both
    hours = why(done("2024-02-01", "fitted", condition="used", prior_tenths=300))
    assert "Its age in months was not known, so they count from the fitting." in hours
    months = why(done("2024-02-01", "fitted", condition="used", prior_months=3))
    assert "Its age in hours was not known, so they count from the fitting." in months


def test_a_rebuild_without_an_entry_for_the_item_says_so() -> None:
    rebuilt = done("2024-02-01", "rebuilt", scope="powerhead")
    assert why(rebuilt).startswith("Counted as renewed with the rebuild of 2024-02-01 at ")
    assert "; no entry says so." in why(rebuilt)
    assert "no entry says so" not in why(rebuilt, done("2024-02-01", "inspected"))


def test_work_that_renews_it_is_named() -> None:
    pump = Rule("pump", "Pump", "pump", "replace", every=Limits(None, 12), renews=("belt",))
    entry = Entry("e1", "E1", date(2024, 2, 1), "fitted", item="pump")
    ledger = EngineLedger(NEW, entries=(entry,))
    lines = due_lines(ledger, Schedule("s", "S", 1, (BELT, pump)), TODAY, SteadyForecast(TODAY))
    assert "Last done on 2024-02-01 at 0.0 h: pump fitted, which does this work too." in explain(lines[0])


def test_the_first_service_and_severe_use_are_said_where_they_hold() -> None:
    rule = replace(BELT, first=Limits(200, 3), severe=(("salt", Decimal("0.5")),))
    at_sea = replace(NEW, boat_id="B")
    boats = {"B": BoatLedger(Boat("B", None, "B", water="salt"))}
    running_in = why(engine=at_sea, rule=rule, boats=boats)
    assert "The first-service interval holds while the engine is running in: 20.0 h or 3 months" in running_in
    assert "shortened" not in running_in
    later = why(done("2023-03-01", "fitted"), engine=at_sea, rule=rule, boats=boats)
    assert (
        "It is shortened from 100.0 h or 60 months, whichever comes first by the factor 0.5 for salt" in later
    )


def test_an_interval_that_may_have_to_be_shorter_says_what_is_not_known_of_the_boat() -> None:
    rule = replace(
        BELT, severe=(("salt", Decimal("0.5")), ("brackish", Decimal("0.8")), ("hire", Decimal("0.6")))
    )
    aboard = replace(NEW, boat_id="B")

    def said(water: str | None, use: str | None) -> str:
        return why(
            engine=aboard, rule=rule, boats={"B": BoatLedger(Boat("B", None, "B", water=water, use=use))}
        )

    water = "The boat's water is not known; if it is salt, the factor 0.5 shortens it."
    use = "The boat's use is not known; if it is hire, the factor 0.6 shortens it."
    assert f"{water} {use}" in said(None, None)
    assert water in said(None, "hire")
    assert use in said("fresh", None)
    assert use not in said("salt", None)
    assert "not known" not in said("fresh", "private")


def test_a_finding_and_a_deferral_are_said_with_who_and_why() -> None:
    looked = done("2024-02-01", "inspected", again_tenths=100, again_months=2, note="frayed edge")
    rule = replace(BELT, action="inspect")
    assert "asked for another within 10.0 h or 2 months, whichever comes first (frayed edge)." in why(
        looked, rule=rule
    )
    fitted = done("2024-02-01", "fitted", condition="used", prior_tenths=0, prior_months=0, again_months=1)
    assert "When it was fitted on 2024-02-01, a look was asked for within 1 month." in why(fitted, rule=rule)
    at = datetime(2024, 5, 2, tzinfo=UTC)
    deferral = Deferral(
        "d", "E1", "belt", "ann", at, "owner away", until_on=date(2028, 6, 1), until_tenths=1200
    )
    said = why(deferrals=(deferral,))
    assert "Deferred by ann on 2024-05-02 until 2028-06-01 or 120.0 h: owner away." in said


def test_a_look_asked_for_no_sooner_than_the_interval_is_not_said() -> None:
    assert "was asked for" not in why(done("2024-02-01", "fitted", again_tenths=2000, again_months=72))


def test_what_was_put_off_keeps_saying_what_the_schedule_says() -> None:
    at, by = datetime(2024, 5, 2, tzinfo=UTC), Deadline(date(2024, 9, 1), 2000)
    bulletin = replace(BELT, every=Limits(), once=True, by=by)
    for rule, said in (
        (BELT, "By the schedule alone it is due at 100.0 h or on 2028-01-01."),
        (bulletin, "By the schedule alone it is due at 200.0 h or on 2024-09-01."),
    ):
        put_off = Deferral("d", "E1", "belt", "ann", at, "busy", None, date(2029, 1, 1), 4000)
        ledger = EngineLedger(NEW, deferrals=(put_off,))
        [line] = due_lines(ledger, Schedule("s", "S", 1, (rule,)), TODAY, SteadyForecast(TODAY))
        assert (line.due_on, line.due_tenths) == (put_off.until_on, put_off.until_tenths)
        assert own_limits(line) == said


def test_what_waits_for_the_next_access_says_how_it_was_put_back() -> None:
    rule = Rule("g", "Gasket", "belt", "replace", renew_when_disturbed=True)
    reused = why(done("2024-02-01", "reused", note="sealant"), rule=rule)
    assert reused.startswith("The belt was put back used on 2024-02-01 (sealant).")
    off = why(done("2024-02-01", "removed", reason="access", position="bank 1"), rule=rule)
    assert off.startswith("The belt at bank 1 came off for access on 2024-02-01, and nothing says what went")
    assert "whenever it is disturbed" in off


def test_season_work_says_that_the_boats_own_dates_count() -> None:
    rule = Rule("f", "Fuel", "belt", "service", season="before launch")
    boats = {"B": BoatLedger(Boat("B", None, "B"), layups=(Layup("B", date(2023, 10, 1), date(2024, 7, 1)),))}
    said = why(engine=replace(NEW, boat_id="B"), rule=rule, boats=boats)
    assert said.startswith(
        "This log has no record of it being done. It is done once each year, for the launch"
    )
    assert "Due on 2024-07-01." in said


def test_every_line_of_every_ledger_says_something_that_ends_in_a_full_stop() -> None:
    for seed in range(500):
        case = nasty_case(seed)
        for line in due_lines(case.ledger, case.schedule, case.today, SteadyForecast(case.today)):
            said = explain(line)
            assert said.endswith(".")
            assert "None" not in said
            assert "  " not in said


def test_limits_are_said_as_a_schedule_says_them() -> None:
    assert limits_text(Limits(1000, 1)) == "100.0 h or 1 month, whichever comes first"
    assert (limits_text(Limits(5, None)), limits_text(Limits(None, 18))) == ("0.5 h", "18 months")


def test_work_from_before_the_first_reading_says_whose_hours_it_was_given() -> None:
    told = "not known: they are taken as those of the first reading, 90.0 h on 2024-05-01, though they were"
    early = done("2023-06-01", "fitted")
    assert f"{told} no more, so hours may run out sooner than told." in why(early, engine=JOINED)
    assert why(early, engine=JOINED).startswith("Last done on 2023-06-01: belt fitted. The hours of that day")
    by_date = replace(BELT, every=Limits(None, 60))
    assert f"{told} no more. The interval is 60 months." in why(early, engine=JOINED, rule=by_date)
    for known in (
        why(done("2023-06-01", "fitted", meter_tenths=400), engine=JOINED),
        why(done("2024-05-01", "fitted"), engine=JOINED),
        why(done("2022-06-01", "fitted")),
    ):
        assert "not known" not in known


def test_a_chance_of_failure_gives_no_leave_to_go_past_the_makers_interval() -> None:
    def told(meter: int) -> str:
        ledger = EngineLedger(
            NEW,
            entries=(done("2024-02-01", "fitted", meter_tenths=400),),
            readings=(Reading("r", "E1", date(2024, 5, 1), meter),),
        )
        [line] = due_lines(ledger, Schedule("s", "S", 1, (BELT,)), TODAY, SteadyForecast(date(2024, 5, 1)))
        return explain(replace(line, chance=FailureChance(0.001, date(2024, 6, 2), 80)))

    assert told(900).endswith("on 2024-06-02, is below 1 in 100; the maker's interval governs.")
    assert told(1500).endswith("on 2024-06-02, is below 1 in 100; the maker's interval is past all the same.")

"""The diary from the log's side: planned, booked, moved, released, done, and told to owners."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from functools import partial

import pytest

from fleetlog.diary.shop_text import shop_from_toml
from fleetlog.domain.batch import Batch
from fleetlog.domain.diary_records import BOOKED, Booking, Wish, jobs_from_text, jobs_text
from fleetlog.errors.diary import (
    BookedAlready,
    BookingEnded,
    NoFreeTime,
    NoPlan,
    NoShop,
    NotInPlan,
    SlotNotFree,
)
from fleetlog.errors.naming import NotKnown
from fleetlog.errors.recording import (
    EngineSaidTwice,
    JobSaidTwice,
    NothingToChange,
    NotInTheFuture,
    RowRefused,
    VisitIsClosed,
    VisitOfAnotherBoat,
)
from fleetlog.usecases.checking import check_log
from fleetlog.usecases.diary.booking import book_all, book_visit, move_booking, release_booking
from fleetlog.usecases.diary.calendar import make_calendar
from fleetlog.usecases.diary.done import Said, booking_done
from fleetlog.usecases.diary.looking import diary_rows, look_at_diary, what_wants_planning
from fleetlog.usecases.diary.outlook import coming_load, estimates_of, parts_outlook
from fleetlog.usecases.diary.pages import diary_data
from fleetlog.usecases.diary.placing import Agreement
from fleetlog.usecases.diary.planning import PlanQuestion, make_plan, try_plan
from fleetlog.usecases.diary.setup import shop_facts, unknown_to_schedules
from fleetlog.usecases.diary.shop import count_part, order_part, part_arrived, record_wish
from fleetlog.usecases.exporting import export_folder
from fleetlog.usecases.imports.folder import import_folder
from fleetlog.usecases.part_register import said_of_unknown
from fleetlog.usecases.part_search import supersede
from fleetlog.usecases.recording import Work, record_work
from fleetlog.usecases.reminding import gather_reminders
from fleetlog.usecases.visits import close_visit, open_visit
from tests.usecases.together import together
from tests.usecases.twins_shop import CONTEXT, FILES, OCCASION, TODAY, later


def test_both_engines_of_a_boat_are_one_visit_whose_access_counts_once(shop_log):
    planned = make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    twins = planned.bundle("B1")
    assert len(twins.lines) == 4
    assert twins.labour_tenths == 2 * (35 + 15 - 10)
    assert {visit.boat_id for visit in planned.plan.visits} == {"B1", "B2"}
    assert planned.state.without_boat == 2
    assert planned.plan.visits[0].on >= TODAY + timedelta(days=7), "the belts have to be ordered first"


def test_a_plan_is_kept_and_the_next_one_keeps_to_it(shop_log):
    question = PlanQuestion(to_on=date(2026, 5, 30))
    first = make_plan(shop_log, OCCASION, question)
    second = make_plan(shop_log, OCCASION, question)
    assert [(v.visit_id, v.on) for v in first.plan.visits] == [(v.visit_id, v.on) for v in second.plan.visits]
    assert all(request.previous_on for request in second.requests)
    diary = look_at_diary(shop_log, OCCASION)
    assert diary.latest.plan.plan_id == second.plan_id
    assert [visit.visit for visit in diary.latest.visits if visit.on] == [
        v.visit_id for v in first.plan.visits
    ]


def test_what_if_keeps_nothing_and_says_what_changes(shop_log):
    now, tried, difference = try_plan(
        shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)), ["technician -1"]
    )
    assert len(now.plan.visits) == 2
    assert tried.plan.visits == ()
    assert difference.no_longer_planned == ("B1", "B2")
    assert look_at_diary(shop_log, OCCASION).latest is None


def test_wishes_that_contradict_each_other_leave_the_visit_out_with_a_sentence(shop_log):
    record_wish(shop_log, OCCASION, "Plain Twins", None, Wish("", not_before_on=date(2026, 5, 20)))
    record_wish(shop_log, OCCASION, None, "Quill", Wish("", not_after_on=date(2026, 5, 10)))
    planned = make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    assert "which contradict" in planned.plan.unplanned[0].why
    assert [visit.boat_id for visit in planned.plan.visits] == ["B2"]


def test_the_wish_of_an_owner_holds_for_all_their_boats(shop_log):
    record_wish(shop_log, OCCASION, None, "Quill", Wish("", not_before_on=date(2026, 5, 18)))
    planned = make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    assert {v.boat_id: v.on >= date(2026, 5, 18) for v in planned.plan.visits}["B1"]


def test_a_booked_visit_stays_and_its_work_is_not_planned_again(shop_log):
    make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    row = book_visit(shop_log, OCCASION, "Plain Twins", Agreement(on=date(2026, 5, 6), from_tenths=90)).row
    assert (row.technician, row.place, row.tenths) == ("Kim", "bay 1", 80)
    planned = make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    assert [request.boat_id for request in planned.requests] == ["B2"]
    rows = diary_rows(look_at_diary(shop_log, OCCASION), None, None, ended=False)
    assert [(r["state"], r["boat"]) for r in rows if r["boat"] == "Plain Twins"] == [
        ("booked", "Plain Twins")
    ]
    with pytest.raises(NotInPlan):
        book_visit(shop_log, OCCASION, "Plain Twins", Agreement())


def test_what_is_booked_is_not_booked_again(shop_log):
    make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    assert len(book_all(shop_log, OCCASION, None)[0]) == 2
    assert book_all(shop_log, OCCASION, None) == ([], [])
    with pytest.raises(BookedAlready, match="is in booking"):
        book_visit(shop_log, OCCASION, "Plain Twins", Agreement())


def test_a_visit_of_which_some_jobs_are_booked_stands_no_longer_and_the_rest_is_told(shop_log, tmp_path):
    make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    twins = next(v for v in look_at_diary(shop_log, OCCASION).latest.visits if v.boat_id == "B1")
    first, *rest = jobs_from_text(twins.jobs)
    booked = Booking(
        "c1", "b1", BOOKED, OCCASION.said_at, "Kim", "B1", TODAY, 90, 40, "Kim", "bay 1",
        jobs=jobs_text([first]),
    )  # fmt: skip
    with shop_log.writing("Kim", OCCASION.at) as writer:
        writer.add(Batch(bookings=[booked]))
    told = (
        f"{len(rest)} jobs are in no visit of the plan of 2026-04-15 any more, since others of the same visit"
        " are booked or done; plan again: fleetlog diary plan"
    )
    diary = look_at_diary(shop_log, OCCASION)
    rows = diary_rows(diary, None, None, ended=True)
    assert sorted((row["state"], row["boat"]) for row in rows) == [
        ("booked", "Plain Twins"), ("planned", "Other Boat"),
    ]  # fmt: skip
    assert what_wants_planning(diary, TODAY) == [told]
    pages = diary_data(shop_log, OCCASION)
    assert sorted((visit.state, visit.boat) for visit in pages.visits) == [
        ("booked", "Plain Twins"), ("proposed", "Other Boat"),
    ]  # fmt: skip
    assert "jobs are in no visit of the plan" in " ".join(pages.plan)
    assert told in check_log(shop_log, TODAY).waiting
    for day in (OCCASION, later(1)):
        [reminder] = gather_reminders(shop_log, day, CONTEXT).mails
        assert "We propose" not in reminder.mail.text
    make_calendar(shop_log, OCCASION, tmp_path / "shop.ics", with_plan=True)
    assert sorted((state, summary) for state, _, summary in statuses(tmp_path / "shop.ics").values()) == [
        ("CANCELLED", "Plain Twins (proposed)"),
        ("CONFIRMED", "Plain Twins"),
        ("TENTATIVE", "Other Boat (proposed)"),
    ]
    with pytest.raises(BookedAlready, match="is in booking b1"):
        book_visit(shop_log, OCCASION, "Plain Twins", Agreement())
    assert [row.boat_id for row in book_all(shop_log, OCCASION, None)[0]] == ["B2"]
    again = make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    keys = {(line.work.serial, line.work.rule, line.work.position) for line in again.bundle("B1").lines}
    assert keys == {job.key for job in rest}
    assert what_wants_planning(look_at_diary(shop_log, OCCASION), TODAY) == []


def test_a_plan_that_others_booked_into_meanwhile_is_booked_as_far_as_it_fits(shop_log):
    planned = make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    twins = next(visit for visit in planned.plan.visits if visit.boat_id == "B1")
    book_visit(
        shop_log, OCCASION, "Other Boat", Agreement(on=twins.on, from_tenths=twins.from_tenths, tenths=10)
    )
    rows, left = book_all(shop_log, OCCASION, None)
    assert rows == []
    (out,) = left
    assert (out.boat, out.on) == ("Plain Twins", twins.on)
    assert "is needed twice at once" in out.why


def refused(log, boat, **agreed):
    with pytest.raises(SlotNotFree) as said:
        book_visit(log, OCCASION, boat, Agreement(**agreed))
    return str(said.value)


def test_a_booking_keeps_to_the_rules_that_plans_are_checked_by(shop_log):
    day = date(2026, 5, 6)
    book_visit(shop_log, OCCASION, "Other Boat", Agreement(on=day, from_tenths=80, tenths=50))
    there = {"tenths": 20, "technician": "Kim", "place": "bay 1"}
    said = refused(shop_log, "Plain Twins", on=day, from_tenths=100, **there)
    assert said.startswith("bay 1 is needed twice at once on 2026-05-06 from 10:00 to 12:00")
    said = refused(shop_log, "Plain Twins", on=date(2026, 5, 5), from_tenths=100, **there)
    assert said.startswith("Kim has no hours on a Tuesday (2026-05-05)")
    assert "outside the hours of Kim" in refused(shop_log, "Plain Twins", on=day, from_tenths=170, **there)
    late = refused(shop_log, "Plain Twins", on=day, from_tenths=230, **there)
    assert late.startswith("it runs from 23:00 to after midnight, outside")
    with pytest.raises(NoFreeTime, match=r"has 6\.0 h free on 2026-05-06 .*with room is 2026-05-07, or name"):
        book_visit(shop_log, OCCASION, "Plain Twins", Agreement(on=day, tenths=60))
    record_wish(shop_log, OCCASION, None, "Quill", Wish("", not_before_on=date(2026, 5, 18)))
    said = refused(shop_log, "Plain Twins", on=date(2026, 5, 7), tenths=20)
    assert said.startswith("the owner wishes it not before 2026-05-18")


def test_what_breaks_a_rule_is_booked_with_a_reason_and_said(shop_log):
    wanted = Agreement(on=date(2026, 5, 5), from_tenths=100, tenths=20, technician="kim", place="bay 1")
    with pytest.raises(SlotNotFree, match="say --anyway and --reason"):
        book_visit(shop_log, OCCASION, "Plain Twins", replace(wanted, anyway=True))
    booked = book_visit(
        shop_log, OCCASION, "Plain Twins", replace(wanted, anyway=True, reason="Kim comes in for it")
    )
    assert (booked.row.technician, booked.row.from_tenths) == ("Kim", 100)
    assert [text.split(" on ")[0] for text in booked.against] == ["Kim has no hours", "bay 1 has no hours"]
    unknown = replace(wanted, technician="Lou", anyway=True, reason="never met")
    with pytest.raises(NotKnown, match="no technician 'Lou'"):
        book_visit(shop_log, OCCASION, "Plain Twins", unknown)


def test_a_day_that_is_past_is_booked_with_a_reason_alone_and_never_offered(shop_log):
    past = date(2026, 4, 9)
    there = {"technician": "Kim", "place": "bay 1", "from_tenths": 100, "tenths": 20}
    said = refused(shop_log, "Plain Twins", on=past, **there)
    assert said.startswith("2026-04-09 is past, today is 2026-04-15; choose another time")
    with pytest.raises(NoFreeTime, match="the next day with room is 2026-04-15, or"):
        book_visit(shop_log, OCCASION, "Plain Twins", Agreement(on=date(2026, 4, 10), tenths=60))
    booked = book_visit(
        shop_log, OCCASION, "Plain Twins", Agreement(on=past, anyway=True, reason="agreed by word", **there)
    )
    assert booked.against == ["2026-04-09 is past, today is 2026-04-15"]


def test_a_booking_moves_for_a_reason_that_changes_something(shop_log):
    booking_id = booked_twins(shop_log)
    for nothing in (Agreement(), Agreement(anyway=True, reason="owner asked")):
        with pytest.raises(NothingToChange):
            move_booking(shop_log, OCCASION, booking_id, nothing)
    assert look_at_diary(shop_log, OCCASION).bookings[0].sequence == 0


def test_two_desks_that_book_one_bay_at_once_do_not_both_have_it(shop_log):
    there = Agreement(on=date(2026, 5, 6), from_tenths=100, tenths=20, technician="Kim", place="bay 1")
    boats = ("Plain Twins", "Other Boat")
    answers = together([partial(book_visit, shop_log, OCCASION, boat, there) for boat in boats])
    assert sorted(type(answer).__name__ for answer in answers) == ["Booked", "SlotNotFree"]
    assert len(look_at_diary(shop_log, OCCASION).bookings) == 1


def with_shop(log, tmp_path, top, tables):
    """Another revision of the shop, with more lines at its top and more tables."""
    path = tmp_path / "newer/shop/shop.toml"
    path.parent.mkdir(parents=True)
    text = FILES["shop/shop.toml"].replace("revision = 1", f"revision = 2\n{top}") + tables
    path.write_text(text, encoding="utf-8")
    import_folder(log, OCCASION, tmp_path / "newer")


def test_closed_days_and_the_limit_of_lifts_hold_for_bookings(shop_log, tmp_path):
    with_shop(
        shop_log,
        tmp_path,
        "lifts_per_day = 1\nlifts_per_visit = 1",
        '\n[[closure]]\nfrom = 2026-05-07\nto = 2026-05-07\nwhy = "stocktaking"\n',
    )
    said = refused(shop_log, "Plain Twins", on=date(2026, 5, 7), tenths=20)
    assert said.startswith("the shop is closed on 2026-05-07 (stocktaking)")
    day = date(2026, 5, 6)
    first = book_visit(shop_log, OCCASION, "Other Boat", Agreement(on=day, tenths=20)).row
    assert first.lifts == 1
    said = refused(shop_log, "Plain Twins", on=day, tenths=20)
    assert said.startswith("2 lifts on 2026-05-06, and a day has 1")


def test_a_booking_is_moved_released_and_done_once(shop_log):
    make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    (first, second), _ = book_all(shop_log, OCCASION, None)
    moved = move_booking(shop_log, OCCASION, first.booking_id, Agreement(on=date(2026, 5, 27))).row
    assert moved.on == date(2026, 5, 27)
    release_booking(shop_log, OCCASION, second.booking_id, "away")
    with pytest.raises(BookingEnded, match="was released on 2026-04-15"):
        release_booking(shop_log, OCCASION, second.booking_id, None)
    done = booking_done(shop_log, later(45), first.booking_id, Said(visit_id="J-7"), ask=nobody)
    assert (done.visit.visit_id, done.visit.opened_on) == ("J-7", date(2026, 5, 27))
    with pytest.raises(NotKnown):
        release_booking(shop_log, OCCASION, "nothing", None)
    states = {b.booking_id: (b.change, b.sequence) for b in look_at_diary(shop_log, later(45)).bookings}
    assert states == {first.booking_id: ("done", 2), second.booking_id: ("released", 1)}


def nobody(question):
    """Answers no question, as in a script."""
    return None


def booked_twins(log):
    make_plan(log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    return book_visit(log, OCCASION, "Plain Twins", Agreement()).row.booking_id


def entries_of(log, serial):
    with log.reading() as reader:
        return reader.ledger(serial).entries


def test_what_was_done_in_a_visit_is_recorded_as_said_and_nothing_is_invented(shop_log):
    booking_id = booked_twins(shop_log)
    said = Said(visit_id="J-1", meters=[("E-1", 3505)], lots=[("E-1:belt", "L-9")], done_by="Kim")
    done = booking_done(shop_log, later(40), booking_id, said, ask=nobody)
    belt, stator = entries_of(shop_log, "E-1")
    assert (belt.action, belt.item, belt.part_number, belt.lot) == ("fitted", "timing belt", "P-1", "L-9")
    assert (belt.condition, belt.meter_tenths, belt.by, belt.visit_id) == ("new", 3505, "Kim", "J-1")
    assert (stator.action, stator.part_number, stator.meter_tenths) == ("inspected", None, 3505)
    belt, _ = entries_of(shop_log, "E-2")
    assert (belt.meter_tenths, belt.lot) == (None, None)
    assert len(done.recorded) == 4
    assert done.left == []
    again = make_plan(shop_log, later(40), PlanQuestion())
    assert [bundle.boat_id for bundle in again.bundling.bundles] == ["B2"]


def test_a_job_that_was_not_done_stays_due_and_the_reason_is_kept(shop_log):
    booking_id = booked_twins(shop_log)
    said = Said(not_done=[("E-2:belt", "the belt did not come")])
    done = booking_done(shop_log, later(40), booking_id, said, ask=nobody)
    assert [(one.job.serial, one.title, why) for one, why in done.left] == [
        ("E-2", "Replace timing belt", "the belt did not come")
    ]
    assert [entry.action for entry in entries_of(shop_log, "E-2")] == ["inspected"]
    (state,) = look_at_diary(shop_log, later(40)).bookings
    assert state.reason == "Replace timing belt of E-2 not done: the belt did not come"
    again = make_plan(shop_log, later(40), PlanQuestion())
    jobs = {(line.work.serial, line.work.rule) for line in again.bundle("B1").lines}
    assert ("E-2", "belt") in jobs
    assert ("E-1", "belt") not in jobs


def test_a_visit_that_was_done_is_in_the_plan_no_longer(shop_log, tmp_path):
    """It would be booked a second time, and told to its owner."""
    out = tmp_path / "shop.ics"
    booking_id = booked_twins(shop_log)
    early = replace(OCCASION, at=OCCASION.at + timedelta(hours=2))
    said = Said(on=TODAY, not_done=[("E-2:belt", "the belt did not come")])
    booking_done(shop_log, early, booking_id, said, ask=nobody)
    rows = diary_rows(look_at_diary(shop_log, early), None, None, ended=True)
    assert [(row["state"], row["boat_id"]) for row in rows if row["boat_id"] == "B1"] == [("done", "B1")]
    with pytest.raises(NotInPlan):
        book_visit(shop_log, early, "Plain Twins", Agreement())
    assert [row.boat_id for row in book_all(shop_log, early, None)[0]] == ["B2"]
    make_calendar(shop_log, early, out, with_plan=True)
    proposed = [state for state, _, summary in statuses(out).values() if "(proposed)" in summary]
    assert proposed == ["CANCELLED", "CANCELLED"]


def test_a_visit_is_done_whole_or_not_at_all(shop_log):
    booking_id = booked_twins(shop_log)
    for said, error in (
        (Said(not_done=[("gasket", "no time")]), NotKnown),
        (Said(meters=[("E-3", 3000)]), NotKnown),
        (Said(meters=[("E-1", 3505), ("E-1", 3506)]), EngineSaidTwice),
        (Said(lots=[("belt", "L-1"), ("E-1:belt", "L-2")]), JobSaidTwice),
        (Said(parts=[("E-1:belt", "L-1"), ("E-1:belt", "L-2")]), JobSaidTwice),
        (Said(on=date(2027, 1, 1)), NotInTheFuture),
    ):
        with pytest.raises(error):
            booking_done(shop_log, later(40), booking_id, said, ask=nobody)
    assert entries_of(shop_log, "E-1") == ()
    done = booking_done(shop_log, later(40), booking_id, Said(nothing=True), ask=nobody)
    assert done.recorded == []
    assert {why for _, why in done.left} == {"nothing was recorded"}
    assert entries_of(shop_log, "E-1") == ()


def test_what_was_booked_is_done_in_an_open_visit_of_the_boat_where_that_is_named(shop_log):
    booking_id = booked_twins(shop_log)
    came = later(30)
    for boat, visit_id in (("Plain Twins", "J-0"), ("Plain Twins", "J-1"), ("Other Boat", "J-2")):
        open_visit(shop_log, came, boat, came.today, visit_id, {})
    close_visit(shop_log, came, "J-0", came.today)
    for visit_id, error in (("J-0", VisitIsClosed), ("J-2", VisitOfAnotherBoat)):
        with pytest.raises(error):
            booking_done(shop_log, later(40), booking_id, Said(visit_id=visit_id), ask=nobody)
    said = Said(on=later(35).today, visit_id="J-1")
    done = booking_done(shop_log, later(40), booking_id, said, ask=nobody)
    assert (done.visit.visit_id, done.visit.opened_on, done.outside) == ("J-1", came.today, None)
    assert {(entry.visit_id, entry.on) for entry in entries_of(shop_log, "E-1")} == {("J-1", later(35).today)}
    (state,) = look_at_diary(shop_log, later(40)).bookings
    assert (state.change, state.visit_id) == ("done", "J-1")


def test_what_was_booked_and_is_done_outside_the_open_visit_of_the_boat_tells_of_it(shop_log):
    booking_id = booked_twins(shop_log)
    open_visit(shop_log, later(30), "Plain Twins", later(30).today, "J-1", {})
    done = booking_done(shop_log, later(40), booking_id, Said(), ask=nobody)
    assert done.outside is not None
    assert (done.outside.visit_id, done.visit.visit_id == "J-1") == ("J-1", False)


def test_a_calendar_updates_by_uid_and_sequence_and_is_of_one_owner_or_technician(shop_log, tmp_path):
    make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    (first, _), _ = book_all(shop_log, OCCASION, None)
    out = tmp_path / "shop.ics"
    assert make_calendar(shop_log, OCCASION, out) == 2
    before = out.read_text()
    release_booking(shop_log, OCCASION, first.booking_id, None)
    make_calendar(shop_log, OCCASION, out)
    after = out.read_text()
    uids = [[line for line in text.splitlines() if line.startswith("UID:")] for text in (before, after)]
    assert uids[0] == uids[1]
    assert after.count("SEQUENCE:1") == after.count("STATUS:CANCELLED") == 1
    assert make_calendar(shop_log, OCCASION, out, owner="Quill") == 1
    assert "Kim" not in out.read_text()
    assert make_calendar(shop_log, OCCASION, out, technician="kim") == 2
    with pytest.raises(NotKnown, match="no technician 'Lou'"):
        make_calendar(shop_log, OCCASION, out, technician="Lou")


def statuses(path):
    """The state, sequence and summary of each visit of a calendar, by its UID."""
    found = {}
    for event in path.read_text().replace("\n ", "").split("BEGIN:VEVENT")[1:]:
        lines = dict(line.partition(":")[::2] for line in event.splitlines() if ":" in line)
        found[lines["UID"]] = (lines["STATUS"], int(lines["SEQUENCE"]), lines["SUMMARY"])
    return found


def test_proposed_days_are_tentative_on_request_until_they_are_booked_or_given_up(shop_log, tmp_path):
    out = tmp_path / "shop.ics"
    question = PlanQuestion(to_on=date(2026, 5, 30))
    make_plan(shop_log, OCCASION, question)
    assert make_calendar(shop_log, OCCASION, out) == 0
    assert make_calendar(shop_log, OCCASION, out, with_plan=True) == 2
    before = statuses(out)
    assert {state for state, _, _ in before.values()} == {"TENTATIVE"}
    book_visit(shop_log, OCCASION, "Plain Twins", Agreement())
    make_plan(shop_log, OCCASION, question)
    make_calendar(shop_log, OCCASION, out, with_plan=True)
    after = statuses(out)
    assert {uid: after[uid][0] for uid in before} == {
        uid: "CANCELLED" if "Twins" in summary else "TENTATIVE" for uid, (_, _, summary) in before.items()
    }
    assert sorted(state for state, _, _ in after.values()) == ["CANCELLED", "CONFIRMED", "TENTATIVE"]
    assert all(after[uid][1] > before[uid][1] for uid in before)
    make_calendar(shop_log, OCCASION, out, owner="Arden", with_plan=True)
    assert "Proposed: engine service of Other Boat" in out.read_text()
    assert "Kim" not in out.read_text()


def test_parts_come_from_the_shelf_then_from_orders_then_have_to_be_ordered(shop_log):
    count_part(shop_log, OCCASION, "P-1", 1)
    order = order_part(shop_log, OCCASION, "P-1", 1, date(2026, 4, 20), None)
    lines = parts_outlook(shop_log, OCCASION, 45).lines
    assert sorted((line.source, int(line.amount)) for line in lines) == [
        ("on order", 1), ("on the shelf", 1), ("to order", 1),
    ]  # fmt: skip
    part_arrived(shop_log, OCCASION, order.move_id, None)
    with pytest.raises(NotKnown, match="open order"):
        part_arrived(shop_log, OCCASION, order.move_id, None)


def test_a_part_is_one_whatever_the_case_of_its_number_and_whatever_it_was_called(shop_log, tmp_path):
    supersede(shop_log, OCCASION, "P-1", "P-2", None, None)
    assert count_part(shop_log, OCCASION, "p-1", 1).part_number == "P-1"
    order_part(shop_log, OCCASION, "p-2", 2, date(2026, 4, 20), None)
    lines = parts_outlook(shop_log, OCCASION, 45).lines
    assert {(line.part_number, line.source) for line in lines} == {
        ("P-2", "on order"),
        ("P-2", "on the shelf"),
    }
    _, ((_, about),) = estimates_of(shop_log, later(30), "Plain Twins")
    assert about.unpriced == (), "the price of the number before holds for the new one"
    supersede(shop_log, OCCASION, "P-0", "P-1", None, None)
    assert [said_of_unknown(shop_log, OCCASION, number) for number in ("P-0", "p-1", "p-2")] == [None] * 3
    assert "did you mean" in said_of_unknown(shop_log, OCCASION, "P-11")


def test_what_was_ordered_arrives_once_though_two_say_so_at_once(shop_log):
    order = order_part(shop_log, OCCASION, "P-1", 2, date(2026, 4, 20), None)
    answers = together([partial(part_arrived, shop_log, OCCASION, order.move_id, None)] * 2)
    assert sorted(type(answer).__name__ for answer in answers) == ["NotKnown", "PartMove"]


def test_an_estimate_is_labour_by_the_rate_and_the_parts(shop_log):
    _, ((bundle, about),) = estimates_of(shop_log, later(30), "Plain Twins")
    assert bundle.labour_tenths == 80
    assert about.about_amount == 8 * 80 + 2 * 100
    assert replace(about, about_amount=Decimal("860.58")).about_told == "861"


def test_plan_load_and_pages_say_what_came_off_with_nothing_put_on_since(shop_log):
    assert coming_load(shop_log, OCCASION, 3)[1] == []
    removed = Work("removed", TODAY, item="timing belt", reason="failed")
    record_work(shop_log, OCCASION, "E-1", removed, ask=lambda question: True)
    [told] = coming_load(shop_log, OCCASION, 3)[1]
    assert told.startswith("E-1: timing belt came off on ")
    planned = make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    assert list(planned.state.off) == [told]
    assert any("Off engine E-1, and nothing put on" in text for text in diary_data(shop_log, OCCASION).plan)


def test_the_load_of_the_months_knows_what_is_booked(shop_log):
    make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    before, _ = coming_load(shop_log, OCCASION, 3)
    book_all(shop_log, OCCASION, None)
    after, _ = coming_load(shop_log, OCCASION, 3)
    assert sum(m.booked_tenths for m in before) == 0
    assert sum(m.booked_tenths for m in after) == 120
    assert sum(m.expected_tenths for m in after) < sum(m.expected_tenths for m in before)


def test_without_a_shop_or_a_plan_one_line_says_what_to_do(log, shop_log):
    with pytest.raises(NoPlan, match="fleetlog diary plan"):
        book_all(shop_log, OCCASION, None)


def test_a_log_without_a_shop_says_where_it_belongs(log):
    with pytest.raises(NoShop, match=r"shop/shop\.toml"):
        make_plan(log, OCCASION, PlanQuestion())


def test_an_export_holds_the_diary_and_taken_in_again_changes_nothing(shop_log, new_log, tmp_path):
    make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    book_all(shop_log, OCCASION, None)
    record_wish(shop_log, OCCASION, "Plain Twins", None, Wish("", weekdays="mon"))
    order_part(shop_log, OCCASION, "P-1", 2, None, "Plain Twins")
    export_folder(shop_log, tmp_path / "out")
    report = import_folder(shop_log, OCCASION, tmp_path / "out")
    assert not any(report.new.values())
    other = new_log()
    import_folder(other, OCCASION, tmp_path / "out")
    for one, two in zip(_diary_of(shop_log), _diary_of(other), strict=True):
        assert one == two


def _diary_of(log):
    with log.reading() as reader:
        batch = reader.batch()
    return batch.shop, batch.wishes, batch.bookings, batch.plans, batch.plan_visits, batch.part_moves


def test_the_pages_know_booked_and_proposed_visits_and_their_parts(shop_log):
    make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    book_visit(shop_log, OCCASION, "Plain Twins", Agreement())
    data = diary_data(shop_log, OCCASION)
    assert [(visit.boat, visit.state) for visit in data.visits] in (
        [("Plain Twins", "booked"), ("Other Boat", "proposed")],
        [("Other Boat", "proposed"), ("Plain Twins", "booked")],
    )
    assert {visit.boat: int(visit.parts[0].amount) for visit in data.visits} == {
        "Plain Twins": 2,
        "Other Boat": 1,
    }
    assert set(data.boats) == {"B1", "B2"}
    assert "1 visit booked, 1 proposed, none without a day." in data.plan[0].replace(
        "\N{NO-BREAK SPACE}", " "
    )


def test_days_that_passed_with_nothing_booked_are_told_with_the_diary(shop_log):
    make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    diary = look_at_diary(shop_log, OCCASION)
    first_on, last_on = sorted(visit.on for visit in diary.latest.visits)
    assert what_wants_planning(diary, first_on) == []
    after = last_on + timedelta(days=1)
    assert what_wants_planning(diary, after) == [
        "2 visits were proposed on 2026-04-15 for days that are past, and not booked; plan again: fleetlog"
        " diary plan"
    ]
    booked = book_visit(shop_log, OCCASION, "Plain Twins", Agreement()).row
    [of_booking, of_plan] = what_wants_planning(look_at_diary(shop_log, OCCASION), after)
    assert of_booking.startswith(f"booking {booked.booking_id} of Plain Twins was on")
    assert of_plan.startswith("1 visit was proposed on 2026-04-15 for days that are past")


def test_a_wish_that_no_day_can_meet_is_refused(shop_log):
    wish = Wish("", not_before_on=date(2026, 6, 10), not_after_on=date(2026, 6, 1))
    with pytest.raises(RowRefused, match="a date from 2026-06-10 on, the first day that suits"):
        record_wish(shop_log, OCCASION, "Plain Twins", None, wish)


def test_words_of_the_shop_that_no_schedule_has_are_told(shop_log, tmp_path):
    assert shop_facts(shop_log)["to be looked at"] == []
    with_shop(
        shop_log, tmp_path, "", '\n[[skill]]\nitems = ["Timing Belt", "timing blet"]\nneeds = ["belts"]\n'
    )
    told = (
        "shop.toml, revision 2: no schedule has the item of a skill 'timing blet' (did you mean timing"
        " belt?), so what is said of it does nothing"
    )
    assert shop_facts(shop_log)["to be looked at"] == [told]
    assert told in check_log(shop_log, TODAY).waiting
    plan = make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30))).plan
    assert all("no technician can do belts" in left.why for left in plan.unplanned)
    assert len(plan.unplanned) == 2


def test_an_access_that_another_opens_as_well_is_of_use_and_a_misspelt_one_is_told(shop_log, tmp_path):
    opened = (
        '[[access]]\nname = "flywheel off"\nhours = 1.0\nincludes = ["Cowl off", "cowl of"]\n'
        '[[access]]\nname = "cowl off"\nhours = 0.1\n'
    )
    setup, said = shop_from_toml("shop", 'name = "W"\nrevision = 1\n' + opened)
    assert said == []
    with shop_log.reading() as reader:
        told = unknown_to_schedules(setup, reader.schedules())
    assert told == [
        "shop.toml, revision 1: no schedule has the access 'cowl of' (did you mean cowl off?), so what is"
        " said of it does nothing"
    ]


def test_a_check_names_bookings_and_proposals_that_no_longer_hold(shop_log, tmp_path):
    make_plan(shop_log, OCCASION, PlanQuestion(to_on=date(2026, 5, 30)))
    twins = book_visit(shop_log, OCCASION, "Plain Twins", Agreement()).row
    (other,) = (v for v in look_at_diary(shop_log, OCCASION).latest.visits if v.boat_id == "B2")
    assert check_log(shop_log, TODAY).waiting == []
    closed = "\n".join(
        f'\n[[closure]]\nfrom = {on}\nto = {on}\nwhy = "a storm"\n' for on in {twins.on, other.on}
    )
    with_shop(shop_log, tmp_path, "", closed)
    said = check_log(shop_log, TODAY).waiting
    assert said[0] == (
        f"booking {twins.booking_id}: the shop is closed on {twins.on} (a storm); move or release it"
    )
    assert "1 of its visits no longer hold, the first since the shop is closed" in said[1]
    (said, *_) = check_log(shop_log, date(2026, 7, 1)).waiting
    past = f"booking {twins.booking_id} of Plain Twins was on {twins.on}, and its work is in no plan"
    assert past in said
    july = replace(OCCASION, at=later(80).at, today=date(2026, 7, 1))
    [told, *_] = coming_load(shop_log, july, 3)[1]
    assert told.startswith(past)
    assert told in make_plan(shop_log, july, PlanQuestion()).state.past

"""Kept due lines say what the ledgers say, on whatever day and after whatever is written."""

from __future__ import annotations

import sys
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy.exc import IntegrityError

from fleetlog.domain.batch import Batch
from fleetlog.domain.explain import explain
from fleetlog.domain.kept import ListedLine, listed_in_order, listed_line
from fleetlog.domain.records import (
    Deferral,
    Entry,
    Layup,
    LayupChange,
    Meter,
    Mount,
    Ownership,
    Reading,
    Visit,
    Void,
)
from fleetlog.domain.schedule import ScheduleText
from fleetlog.domain.words import LATER
from fleetlog.store import connecting
from fleetlog.store.kept.lines import KeptRows, rows_to_keep
from fleetlog.store.log import Log
from fleetlog.store.writer import Writer
from fleetlog.usecases import standing
from fleetlog.usecases.demo import DEMO_TODAY, demo_folder
from fleetlog.usecases.due import DueQuestion, explain_lines, list_due
from fleetlog.usecases.fleet import work_out
from fleetlog.usecases.learning import known_use, serving_fit
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.standing import keep_what_is_written_to

AT = datetime(2026, 4, 15, 7, 0, tzinfo=UTC)
EVERYTHING = DueQuestion(with_later=True, with_why=True)


def occasion(today: date = DEMO_TODAY, at: datetime = AT) -> Occasion:
    return Occasion("Kim", at, today)


@pytest.fixture
def log(small_log: Log) -> Log:
    """A part of the invented marina, with every line kept on its day."""
    return small_log


def from_ledgers(log: Log, today: date, within_days: int = 60) -> list[ListedLine]:
    """Every line worked out from the ledgers, nothing that is kept looked at but the fit."""
    with log.reading() as reader:
        parameters = known_use(reader, today)
        worked = list(work_out(reader.ledgers(), reader.schedules(), parameters, today, within_days))
    return listed_in_order(listed_line(line, explain(line)) for one in worked for line in one.lines)


def out_of_date(log: Log, today: date = DEMO_TODAY) -> list[str]:
    with log.reading() as reader:
        fit = serving_fit(reader, today)
        assert fit is not None
        return reader.kept.out_of_date(fit.content_id, today)


def serials_by_place(log: Log) -> tuple[str, str, str]:
    """An engine with a meter and readings, the boat that it stands on, and the owner."""
    with log.reading() as reader:
        for ledger in reader.ledgers():
            boat, _ = ledger.place_on(DEMO_TODAY)
            if ledger.engine.hour_meter and ledger.readings and boat and boat.owner_id_on(DEMO_TODAY):
                return ledger.engine.serial, boat.boat.boat_id, boat.owner_id_on(DEMO_TODAY) or ""
    raise AssertionError("the invented marina has such an engine")


# On the day, and on others


def test_a_kept_list_is_the_list_that_the_ledgers_give(log: Log) -> None:
    assert out_of_date(log) == []
    assert list_due(log, occasion(), EVERYTHING) == from_ledgers(log, DEMO_TODAY)


@pytest.mark.parametrize("days", [-40, 1, 9, 29, 31])
def test_on_other_days_too(log: Log, days: int) -> None:
    today = DEMO_TODAY + timedelta(days=days)
    assert list_due(log, occasion(today), EVERYTHING) == from_ledgers(log, today)


def test_a_shorter_list_is_the_beginning_of_the_longer_one(log: Log) -> None:
    every = from_ledgers(log, DEMO_TODAY, 30)
    asked = DueQuestion(within_days=30, with_why=True)
    assert list_due(log, occasion(), asked) == [line for line in every if line.state != LATER]


def test_lists_of_an_owner_a_boat_an_engine_and_an_item(log: Log) -> None:
    serial, boat_id, owner_id = serials_by_place(log)
    every = from_ledgers(log, DEMO_TODAY)
    for question, is_asked in (
        (replace(EVERYTHING, engine=serial), lambda line: line.serial == serial),
        (replace(EVERYTHING, boat=boat_id), lambda line: line.boat_id == boat_id),
        (replace(EVERYTHING, owner=owner_id), lambda line: line.owner_id == owner_id),
        (replace(EVERYTHING, item="OIL"), lambda line: "oil" in line.rule.item.casefold()),
    ):
        wanted = [line for line in every if is_asked(line)]
        assert wanted
        assert list_due(log, occasion(), question) == wanted


def test_a_look_at_a_past_day_leaves_what_is_kept_as_it_is(log: Log) -> None:
    past = DEMO_TODAY - timedelta(days=200)
    list_due(log, occasion(past, AT + timedelta(days=30)), DueQuestion())
    assert out_of_date(log) == []


def test_a_look_ahead_is_taken_back_on_the_present_day(log: Log) -> None:
    ahead = DEMO_TODAY + timedelta(days=300)
    list_due(log, occasion(ahead), DueQuestion())
    assert out_of_date(log, ahead) == []
    assert list_due(log, occasion(), EVERYTHING) == from_ledgers(log, DEMO_TODAY)
    assert out_of_date(log) == []


def test_the_reason_of_a_line_is_the_same_from_what_is_kept_and_from_the_ledger(log: Log) -> None:
    line = from_ledgers(log, DEMO_TODAY)[0]
    [explanations] = explain_lines(log, occasion(), line.serial, line.rule.key).values()
    assert line.why in [" ".join(e.sentences) for e in explanations]


# After what is written

Write = Callable[[Writer, str, str, str], None]


def _a_reading(writer: Writer, serial: str, _boat_id: str, _owner_id: str) -> None:
    last = max(r.meter_tenths for r in writer.ledger(serial).readings)
    writer.add(Batch(readings=[Reading("r-new", serial, DEMO_TODAY, last + 700)]))


def _an_entry(writer: Writer, serial: str, _boat_id: str, _owner_id: str) -> None:
    visit = Visit("v-new", opened_on=DEMO_TODAY)
    schedule = writer.schedules()[writer.ledger(serial).engine.schedule_name or ""]
    entry = Entry("e-new", serial, DEMO_TODAY, "fitted", "v-new", item=schedule.rules[0].item)
    writer.add(Batch(visits=[visit], entries=[entry]))


def _a_void(writer: Writer, serial: str, _boat_id: str, _owner_id: str) -> None:
    entry = writer.ledger(serial).entries[-1]
    writer.add(Batch(voids=[Void(entry.entry_id, AT, "Kim", "a slip")]))


def _a_deferral(writer: Writer, serial: str, _boat_id: str, _owner_id: str) -> None:
    rule = writer.schedules()[writer.ledger(serial).engine.schedule_name or ""].rules[0]
    until = DEMO_TODAY + timedelta(days=500)
    writer.add(Batch(deferrals=[Deferral("d-new", serial, rule.key, "Kim", AT, "asked for", until_on=until)]))


def _a_ruling(writer: Writer, serial: str, _boat_id: str, _owner_id: str) -> None:
    writer.rule_on_reading(writer.ledger(serial).readings[-1].reading_id, "withdrawn", "misread")


def _a_meter(writer: Writer, serial: str, _boat_id: str, _owner_id: str) -> None:
    last = max(r.meter_tenths for r in writer.ledger(serial).readings)
    writer.add(Batch(meters=[Meter(serial, DEMO_TODAY, last + 50)]))


def _a_layup(writer: Writer, _serial: str, boat_id: str, _owner_id: str) -> None:
    writer.add(Batch(layups=[Layup(boat_id, DEMO_TODAY)]))


def _another_end_of_a_layup(writer: Writer, _serial: str, boat_id: str, _owner_id: str) -> None:
    writer.add(Batch(layups=[Layup(boat_id, DEMO_TODAY, DEMO_TODAY + timedelta(days=200))]))
    end = DEMO_TODAY + timedelta(days=20)
    word = LayupChange("l1", boat_id, DEMO_TODAY, "ends", occasion().at, "Kim", end)
    writer.add(Batch(layup_changes=[word]))


def _another_use(writer: Writer, _serial: str, boat_id: str, _owner_id: str) -> None:
    boat = writer.boats()[boat_id]
    writer.change("boats", replace(boat, use="hire", water="salt", name="Renamed"), DEMO_TODAY)


def _a_sale(writer: Writer, _serial: str, boat_id: str, owner_id: str) -> None:
    buyer = next(o for o in writer.owners() if o != owner_id)
    writer.add(Batch(ownership=[Ownership(boat_id, buyer, DEMO_TODAY)]))


def _a_move(writer: Writer, serial: str, boat_id: str, _owner_id: str) -> None:
    other = next(b for b in writer.boats() if b != boat_id)
    writer.add(Batch(mounts=[Mount(serial, other, DEMO_TODAY, "port")]))


def _scrapped(writer: Writer, serial: str, _boat_id: str, _owner_id: str) -> None:
    engine = writer.engines()[serial]
    writer.change("engines", replace(engine, state="scrapped"), DEMO_TODAY)


def _a_name(writer: Writer, _serial: str, _boat_id: str, owner_id: str) -> None:
    writer.change("owners", replace(writer.owners()[owner_id], name="Another Name"), DEMO_TODAY)


def _a_revision(writer: Writer, serial: str, _boat_id: str, _owner_id: str) -> None:
    name = writer.ledger(serial).engine.schedule_name or ""
    revision = writer.schedules()[name].revision
    text = (demo_folder() / f"schedules/{name}.toml").read_text(encoding="utf-8")
    grown = text.replace(f"revision = {revision}", f"revision = {revision + 1}").replace(
        "months = 12", "months = 11"
    )
    assert grown.count("months = 11") > 0
    writer.add(Batch(schedules=[ScheduleText(name, revision + 1, grown)]))


WRITES = [
    _a_reading,
    _an_entry,
    _a_void,
    _a_deferral,
    _a_ruling,
    _a_meter,
    _a_layup,
    _another_end_of_a_layup,
    _another_use,
    _a_sale,
    _a_move,
    _scrapped,
    _a_name,
    _a_revision,
]


def keep_when_written(log: Log, tell_of_a_bug: Callable[[], object]) -> None:
    """Has lines worked out within each writing, as the command line does."""
    log.when_written = lambda writer, serials: keep_what_is_written_to(
        writer, occasion(), serials, tell_of_a_bug
    )


@pytest.mark.parametrize("is_kept_after_writing", [True, False])
@pytest.mark.parametrize("write", WRITES)
def test_whatever_is_written_the_list_follows(log: Log, write: Write, is_kept_after_writing: bool) -> None:
    asked = serials_by_place(log)
    before = list_due(log, occasion(), EVERYTHING)
    if is_kept_after_writing:
        keep_when_written(log, pytest.fail)
    with log.writing("Kim", AT) as writer:
        write(writer, *asked)
    if is_kept_after_writing or write is _a_name:
        assert out_of_date(log) == []
    else:
        assert asked[0] in out_of_date(log)
    after = list_due(log, occasion(), EVERYTHING)
    assert after != before
    assert after == from_ledgers(log, DEMO_TODAY)
    assert out_of_date(log) == []


def test_a_new_engine_follows_what_is_written_of_the_one_it_replaced(log: Log) -> None:
    old, boat_id, _ = serials_by_place(log)
    came = DEMO_TODAY - timedelta(days=40)
    with log.writing("Kim", AT) as writer:
        ledger = writer.ledger(old)
        _, position = ledger.place_on(DEMO_TODAY)
        off = Mount(old, boat_id, date(2015, 1, 1), position, came)
        new = replace(ledger.engine, serial="NEW-1", in_service_on=came, boat_id=boat_id, position=position)
        writer.add(Batch(engines=[new], mounts=[off], readings=[Reading("r-new", "NEW-1", came, 0)]))
    keep_when_written(log, pytest.fail)
    told = "of the engine that stood there before"
    before = [line for line in list_due(log, occasion(), EVERYTHING) if line.serial == "NEW-1"]
    assert any(told in line.why for line in before)
    with log.writing("Kim", AT) as writer:
        for reading in writer.ledger(old).readings[1::2]:
            writer.rule_on_reading(reading.reading_id, "withdrawn", "misread")
    assert out_of_date(log) == []
    after = [line for line in list_due(log, occasion(), EVERYTHING) if line.serial == "NEW-1"]
    assert after != before
    assert after == [line for line in from_ledgers(log, DEMO_TODAY) if line.serial == "NEW-1"]


@pytest.mark.parametrize("broken", ["worked_out", "rows_to_keep"])
def test_a_bug_in_working_lines_out_refuses_no_record(
    log: Log, monkeypatch: pytest.MonkeyPatch, broken: str
) -> None:
    asked, told = serials_by_place(log), []

    def break_down(engine: Any, *_: Any) -> Any:
        assert broken == "rows_to_keep"
        return KeptRows(engine.serial, (None,) * 9, [(None,) * 15])  # rows that no table takes

    monkeypatch.setattr(standing, broken, break_down)
    keep_when_written(log, lambda: told.append(sys.exc_info()[0]))
    with log.writing("Kim", AT) as writer:
        _an_entry(writer, *asked)
    monkeypatch.undo()
    assert told == [AssertionError if broken == "worked_out" else IntegrityError]
    with log.reading() as reader:
        assert reader.existing("entries", ["e-new"])
        assert not reader.check_chains().faults
    assert out_of_date(log) == [asked[0]]
    assert list_due(log, occasion(), EVERYTHING) == from_ledgers(log, DEMO_TODAY)


def test_what_another_writes_meanwhile_is_not_overwritten(log: Log) -> None:
    serial, boat_id, owner_id = serials_by_place(log)
    with log.reading() as reader:
        seen, kept = reader.kept.seen([serial]), reader.kept.engines([serial])
    with log.writing("Kim", AT) as writer:
        _an_entry(writer, serial, boat_id, owner_id)
    assert log.keep(engines=[rows_to_keep(kept[serial])], seen=seen) == 0
    assert out_of_date(log) == [serial]


def test_an_engine_of_which_nothing_is_kept_is_worked_out(log: Log) -> None:
    with log.writing("Kim", AT) as writer:
        serial = serials_by_place(log)[0]
        writer.add(Batch(engines=[replace(writer.engines()[serial], serial="NEW-1", boat_id=None)]))
    assert out_of_date(log) == ["NEW-1"]
    assert any(line.serial == "NEW-1" for line in list_due(log, occasion(), EVERYTHING))


def test_a_log_that_cannot_be_written_to_gives_the_same_list(
    log: Log, held_by_another: Callable[[Log], AbstractContextManager[None]]
) -> None:
    today = DEMO_TODAY + timedelta(days=3)
    with log.writing("Kim", AT) as writer:
        _an_entry(writer, *serials_by_place(log))
    wanted = from_ledgers(log, today)

    with held_by_another(log):
        assert list_due(log, occasion(today), EVERYTHING) == wanted
    assert out_of_date(log, today) != []


def test_a_list_waits_only_once_for_another_to_keep_what_it_worked_out(
    log: Log,
    held_by_another: Callable[[Log], AbstractContextManager[None]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    waited = []
    begin = connecting.begin_writing
    monkeypatch.setattr(connecting, "begin_writing", lambda file: (waited.append(file), begin(file)))
    with held_by_another(log):
        list_due(log, occasion(DEMO_TODAY + timedelta(days=400)), EVERYTHING)
    assert len(waited) == 1

"""A folder is taken in whole or not at all, nothing twice, and what contradicts the log is told."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Owner, Reading, Visit
from fleetlog.errors.folders import FolderNotThere, ImportRefused
from fleetlog.store.log import Log
from fleetlog.usecases.checking import check_log
from fleetlog.usecases.correcting import void_entry
from fleetlog.usecases.imports.folder import ImportReport, import_folder
from fleetlog.usecases.meters import rule_on_reading
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.register import change_engine, change_owner
from fleetlog.usecases.sales_and_moves import move_engine, sell_boat
from tests.exchange.folders import folder_of, schedule_text, with_schedule

AT = datetime(2026, 4, 15, 9, tzinfo=UTC)
TODAY = date(2026, 4, 15)


def taken_in(log: Log, folder: Path, today: date = TODAY) -> ImportReport:
    return import_folder(log, Occasion("Mia", AT, today), folder)


def held(log: Log) -> Batch:
    with log.reading() as reader:
        return reader.batch()


def refusal(log: Log, folder: Path) -> list[str]:
    """The problems for which a folder is refused; nothing of it may be in the log then."""
    before = held(log)
    with pytest.raises(ImportRefused) as refused:
        taken_in(log, folder)
    assert held(log) == before
    return refused.value.problems


OWNERS = "owner_id,name,phone\no1,Anna,555-0101\n"
BOATS = "boat_id,owner_id,name\nb1,o1,Seagull\n"
ENGINES = "serial,family,boat_id,position\nA1,,b1,port\nA2,,b1,starboard\n"
FITTED = "entry_id,visit_id,serial,on,action,item,position\ne1,v1,A1,2026-03-04,fitted,timing belt,\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return folder_of(tmp_path / "in", owners=OWNERS, boats=BOATS, engines=ENGINES)


def test_a_second_import_of_the_same_folder_changes_nothing(log: Log, folder: Path) -> None:
    folder_of(
        folder,
        readings="serial,on,meter\nA1,2026-03-04,412\nA1,2026-03-04,412\n",
        entries="serial,on,action,item,note\nA1,2026-03-04,serviced,anode,\nA1,2026-03-05,serviced,anode,'=1\n",
        layups="boat_id,from\nb1,2025-10-01\n",
        voids="entry_id,voided_at,by,reason\n",
        deferrals="serial,rule,until_on,reason,by,at\nA1,belt,2026-06-01,no parts,Mia,2026-04-01\n",
    )
    with_schedule(folder, "twin", schedule_text())
    first = taken_in(log, folder)
    state = held(log)
    second = taken_in(log, folder)
    assert first.new == {
        "schedules": 1,
        "owners": 1,
        "boats": 1,
        "engines": 2,
        "layups": 1,
        "readings": 2,
        "entries": 2,
        "deferrals": 1,
    }
    assert (first.changed, first.unchanged) == ({}, {})
    assert (second.new, second.changed, second.unchanged) == ({}, {}, first.new)
    assert held(log) == state


def test_one_wrong_row_keeps_everything_out(log: Log, folder: Path) -> None:
    folder_of(folder, readings="serial,on,meter\nA1,2026-03-04,412\nA1,2026-03-05,41x\n")
    [problem] = refusal(log, folder)
    assert problem.startswith('readings.csv, line 3, column meter: found "41x"')


def test_wrong_cells_wrong_references_and_broken_rules_are_told_together(log: Log, folder: Path) -> None:
    folder_of(
        folder,
        boats=BOATS + "b2,o9,Gannet\n",
        readings="serial,on,meter\nA1,2026-02-30,412\nA3,2026-03-05,1\n",
        entries="entry_id,serial,on,action,item\n"
        "e1,A2,2026-03-04,fitted,belt\ne2,A2,2026-03-04,fitted,belt\n",
    )
    problems = refusal(log, folder)
    assert [p.split(":")[0] for p in problems] == [
        "readings.csv, line 2, column on",
        "boats.csv, line 3, column owner_id",
        "readings.csv, line 3, column serial",
        "entries.csv, line 3, column item",
    ]
    assert problems[2].endswith("expected an engine of engines.csv or of the log")


def test_rows_may_refer_to_what_is_in_the_log_and_to_rows_further_down(log: Log, folder: Path) -> None:
    taken_in(log, folder)
    more = folder_of(
        folder.parent / "more",
        boats="boat_id,owner_id,name\nb2,o2,Gannet\nb3,o1,Tern\n",
        owners="owner_id,name\no2,Bo\n",
        voids="entry_id,voided_at,by,reason,replaced_by\ne1,2026-03-05,Mia,wrong engine,e2\n",
        entries="entry_id,serial,on,action,item\n"
        "e1,A1,2026-03-04,serviced,anode\ne2,A2,2026-03-04,serviced,anode\n",
    )
    assert taken_in(log, more).new == {"owners": 1, "boats": 2, "entries": 2, "voids": 1}


@pytest.mark.parametrize(
    ("kind", "text", "column"),
    [
        ("ownership", "boat_id,owner_id,from_on\nb1,o9,2026-01-01\n", "owner_id"),
        ("ownership", "boat_id,owner_id,from_on\nb9,o1,2026-01-01\n", "boat_id"),
        ("layups", "boat_id,from\nb9,2026-01-01\n", "boat_id"),
        ("mounts", "serial,boat_id,from_on\nA9,b1,2026-01-01\n", "serial"),
        ("mounts", "serial,boat_id,from_on\nA1,b9,2026-01-01\n", "boat_id"),
        ("meters", "serial,fitted_on,engine_hours\nA9,2026-01-01,5\n", "serial"),
        ("visits", "visit_id,boat_id\nv1,b9\n", "boat_id"),
        ("entries", "serial,on,action,item\nA9,2026-01-01,serviced,anode\n", "serial"),
        ("voids", "entry_id,voided_at,by,reason\ne9,2026-01-01,Mia,wrong\n", "entry_id"),
        ("deferrals", "serial,rule,until_on,reason,by,at\nA9,x,2026-01-01,x,Mia,2026-01-01\n", "serial"),
        (
            "changes",
            "kind,key,field,until_on,changed_at,by\nboats,o1,name,2026-01-01,2026-01-01,Mia\n",
            "key",
        ),
        ("engines", "serial,schedule\nA9,twin\n", "schedule"),
    ],
)
def test_a_reference_to_what_is_nowhere_is_told(
    log: Log, folder: Path, kind: str, text: str, column: str
) -> None:
    taken_in(log, folder)
    [problem] = refusal(log, folder_of(folder.parent / "more", **{kind: text}))
    assert problem.startswith(f"{kind}.csv, line 2, column {column}: found")


def test_a_void_needs_the_entry_that_replaces_it(log: Log, folder: Path) -> None:
    folder_of(
        folder,
        entries=FITTED,
        voids="entry_id,voided_at,by,reason,replaced_by\ne1,2026-03-05,Mia,wrong,e9\n",
    )
    [problem] = refusal(log, folder)
    assert problem == (
        'voids.csv, line 2, column replaced_by: found "e9"; expected an entry of entries.csv or of the log'
    )


def test_what_is_near_is_offered_from_the_folder_and_from_the_log(log: Log, folder: Path) -> None:
    taken_in(log, folder_of(folder, engines="serial\nVK6-20417\n"))
    more = folder_of(folder.parent / "more", engines="serial\nVK6-20471\n", readings="serial,on,meter\n")
    folder_of(more, readings="serial,on,meter\nvk6-2O417,2026-03-04,1\n")
    [problem] = refusal(log, more)
    assert problem.endswith("(nearest: VK6-20417, VK6-20471)")


def test_a_visit_that_only_entries_name_is_made_bare(log: Log, folder: Path) -> None:
    folder_of(folder, entries=FITTED)
    assert taken_in(log, folder).new["visits"] == 1
    assert held(log).visits == [Visit("v1")]


# Facts of owners, boats and engines


def test_other_facts_become_changes_dated_today(log: Log, folder: Path) -> None:
    taken_in(log, folder)
    folder_of(folder, owners=OWNERS.replace("0101", "0102"), engines=ENGINES.replace("port", "centre"))
    report = taken_in(log, folder)
    assert (report.new, report.changed) == ({}, {"owners": 1, "engines": 1})
    found = held(log)
    assert [(c.kind, c.key, c.field, c.was, c.until_on) for c in found.changes] == [
        ("engines", "A1", "position", "port", TODAY),
        ("owners", "o1", "phone", "555-0101", TODAY),
    ]
    assert found.owners[0].phone == "555-0102"


def test_a_column_that_is_not_there_leaves_the_fact_and_an_empty_cell_takes_it_away(
    log: Log, folder: Path
) -> None:
    taken_in(log, folder)
    assert taken_in(log, folder_of(folder, owners="owner_id,name\no1,Anna\n")).changed == {}
    assert held(log).owners == [Owner("o1", "Anna", phone="555-0101")]
    assert taken_in(log, folder_of(folder, owners="owner_id,name,phone\no1,,\n")).changed == {"owners": 1}
    assert held(log).owners == [Owner("o1", "Anna")]


def test_a_serial_number_in_other_capitals_is_no_engine_of_its_own(log: Log, tmp_path: Path) -> None:
    twice = folder_of(tmp_path / "twice", engines="serial\nAB-1\nab-1\nCD-2\n")
    said = "one engine in one spelling; AB-1 is it but for capitals: write it so everywhere"
    assert refusal(log, twice) == [f'engines.csv, line 3, column serial: found "ab-1"; expected {said}']
    taken_in(log, folder_of(tmp_path / "first", engines="serial\nAB-1\n"))
    later = folder_of(tmp_path / "later", engines="serial\nAb-1\n")
    assert refusal(log, later) == [f'engines.csv, line 2, column serial: found "Ab-1"; expected {said}']


def test_a_position_in_another_case_is_no_change(log: Log, folder: Path) -> None:
    taken_in(log, folder)
    assert taken_in(log, folder_of(folder, engines=ENGINES.replace("port", "PORT"))).changed == {}


def test_a_change_that_the_folder_dates_itself_keeps_its_date(log: Log, folder: Path) -> None:
    taken_in(log, folder)
    changed = OWNERS.replace("0101", "0102").replace("Anna", "Anna B")
    changes = "kind,key,field,was,until_on,changed_at,by\n"
    changes += "owners,o1,phone,555-0101,2026-02-01,2026-02-01T08:00:00Z,Bo\n"
    folder_of(folder, owners=changed, changes=changes)
    taken_in(log, folder)
    assert {(c.field, c.until_on) for c in held(log).changes} == {
        ("phone", date(2026, 2, 1)),
        ("name", TODAY),
    }
    state = held(log)
    assert taken_in(log, folder).new == {}
    assert held(log) == state


@pytest.mark.parametrize(
    ("change", "kind", "told"),
    [
        (
            lambda log, he: change_owner(log, he, "Anna", {"phone": "555-0199"}, None),
            "owners",
            'phone "555-0199", was "555-0101"; put it right here too, or say it anew:'
            " fleetlog owner change o1",
        ),
        (
            lambda log, he: sell_boat(log, he, "Seagull", "Bo", date(2026, 4, 16), None),
            "boats",
            'owner_id "o2", was "o1"; put it right here too, or say it anew:'
            " fleetlog boat sell b1 --to OWNER",
        ),
        (
            lambda log, he: move_engine(log, he, "A1", None, None, date(2026, 4, 16), None),
            "engines",
            'boat_id nothing, was "b1"; position nothing, was "port"; put it right here too, or say it anew:'
            " fleetlog engine move A1 --to BOAT --position PLACE",
        ),
    ],
    ids=["owners", "boats", "engines"],
)
def test_what_a_person_changed_in_the_log_is_not_taken_back_by_the_folder_from_before(
    log: Log, folder: Path, change: Callable[[Log, Occasion], object], kind: str, told: str
) -> None:
    folder_of(folder, owners=OWNERS + "o2,Bo,\n")
    taken_in(log, folder)
    change(log, Occasion("Mia", AT, date(2026, 4, 16)))
    state = held(log)
    report = taken_in(log, folder)
    since = "the log says otherwise since 2026-04-16, and stands"
    assert (report.new, report.changed) == ({}, {})
    assert report.findings == [f"{kind}.csv, line 2: {since}: {told}"]
    assert held(log) == state


def test_a_row_with_a_fact_from_before_still_brings_the_others(log: Log, folder: Path) -> None:
    taken_in(log, folder)
    change_owner(log, Occasion("Mia", AT, TODAY), "Anna", {"phone": "555-0199"}, None)
    report = taken_in(log, folder_of(folder, owners=OWNERS.replace("Anna", "Anna B")))
    assert (report.changed, len(report.findings)) == ({"owners": 1}, 1)
    assert held(log).owners == [Owner("o1", "Anna B", phone="555-0199")]


def test_what_only_folders_said_a_folder_may_take_back(log: Log, folder: Path) -> None:
    taken_in(log, folder)
    taken_in(log, folder_of(folder, owners=OWNERS.replace("0101", "0102")))
    report = taken_in(log, folder_of(folder, owners=OWNERS))
    assert (report.changed, report.findings) == ({"owners": 1}, [])
    assert held(log).owners == [Owner("o1", "Anna", phone="555-0101")]


def test_a_folder_that_knows_of_a_later_change_brings_it(log: Log, folder: Path) -> None:
    taken_in(log, folder)
    change_owner(log, Occasion("Mia", AT, TODAY), "Anna", {"phone": "555-0199"}, None)
    changes = "kind,key,field,was,until_on,changed_at,by\n"
    changes += "owners,o1,phone,555-0199,2026-04-20,2026-04-20T08:00:00Z,Bo\n"
    report = taken_in(log, folder_of(folder, changes=changes), date(2026, 4, 21))
    assert (report.changed, report.findings) == ({"owners": 1}, [])
    assert held(log).owners == [Owner("o1", "Anna", phone="555-0101")]


# What a folder leaves out

STAYS = "; what a folder leaves out stays in the log"


def test_rows_deleted_in_a_spreadsheet_are_told_in_a_line_for_each_kind_and_stay(
    log: Log, folder: Path
) -> None:
    head, row = "serial,on,action,item,position\n", "A{},2026-03-0{},serviced,anode,gearcase\n"
    readings = ["A1,2026-03-04,412\n", "A1,2026-03-05,413\n", "A1,2026-03-09,420\n"]
    entries = [row.format(engine, day) for engine in (1, 2) for day in (2, 3, 4, 5)]
    owners, boats = OWNERS + "o3,Cy,\n", BOATS + "b3,o1,Swan\n"
    folder_of(folder, owners=owners + "o2,Bo,\n", boats=boats + "b2,o2,Tern\n", engines=ENGINES + "A3,,,\n")
    folder_of(folder, entries=head + "".join(entries), readings="serial,on,meter\n" + "".join(readings))
    taken_in(log, folder)
    entry_id = held(log).entries[0].entry_id
    state = held(log)
    folder_of(folder, owners=owners, boats=boats, engines=ENGINES)
    folder_of(
        folder, entries=head + "".join(entries[3:]), readings="serial,on,meter\n" + "".join(readings[1:])
    )
    report = taken_in(log, folder)
    assert (report.new, report.changed) == ({}, {})
    told = {line.split(":")[0]: line for line in report.findings}
    assert told["owners.csv"] == f"owners.csv: without 1 owner that the log has: Bo (o2){STAYS}"
    assert told["boats.csv"] == f"boats.csv: without 1 boat that the log has: Tern (b2){STAYS}"
    sold = f"A3{STAYS}; where one is sold: fleetlog engine change A3 --state sold"
    assert told["engines.csv"] == f"engines.csv: without 1 engine that the log has: {sold}"
    back = f"{STAYS}, until it is taken back: fleetlog"
    assert told["readings.csv"] == (
        f"readings.csv: without 1 reading that the log has: A1 412.0 h on 2026-03-04{back}"
        " reading withdraw A1 --on 2026-03-04 --hours 412.0 --reason WHY"
    )
    first = f"A1 anode (gearcase) serviced on 2026-03-02 ({entry_id})"
    assert told["entries.csv"].startswith(
        f"entries.csv: without 3 entries that the log has: {first}, A1 anode"
    )
    assert told["entries.csv"].endswith(
        f"{STAYS}, until it is taken back: fleetlog void {entry_id} --reason WHY"
    )
    assert len(told) == len(report.findings)
    assert held(log) == state


def test_a_folder_of_what_is_new_each_week_is_not_told_what_it_leaves_out(log: Log, folder: Path) -> None:
    taken_in(log, folder)
    head, rows = "serial,on,meter\n", "A1,2026-03-{0},4{0}\nA2,2026-03-{0},5{0}\n"
    for name, day in (("one", 10), ("two", 11), ("three", 12)):
        (folder.parent / name).mkdir()
        week = folder_of(folder.parent / name, readings=head + rows.format(day))
        if name == "three":
            folder_of(week, owners="owner_id,name\no7,Gil\n", entries="serial,on,action,item\n")
        for count in (2, 0):
            report = taken_in(log, week)
            assert (report.new.get("readings", 0), report.findings) == (count, [])


def test_what_was_taken_back_or_sold_or_recorded_by_a_command_is_not_missed(log: Log, folder: Path) -> None:
    row = "serial,on,action,item\nA1,2026-03-02,serviced,anode\n"
    folder_of(
        folder, engines=ENGINES + "A3,,,\n", entries=row, readings="serial,on,meter\nA1,2026-03-04,412\n"
    )
    taken_in(log, folder)
    he = Occasion("Mia", AT, TODAY)
    void_entry(log, he, held(log).entries[0].entry_id, "never done", None)
    rule_on_reading(log, he, "A1", date(2026, 3, 4), None, "withdrawn", "misread")
    change_engine(log, he, "A3", {"state": "sold"}, None)
    with log.writing("Mia", AT) as writer:
        writer.add(Batch(readings=[Reading("r7k2", "A2", TODAY, 77)]))
    folder_of(folder, engines=ENGINES, entries="serial,on,action,item\n", readings="serial,on,meter\n")
    assert taken_in(log, folder).findings == []


def test_of_a_folder_with_ids_each_row_that_the_log_has_more_is_told(log: Log, folder: Path) -> None:
    head, row = "entry_id,serial,on,action,item\n", "e{0},A1,2026-03-0{0},serviced,anode\n"
    taken_in(log, folder_of(folder, entries=head + row.format(1) + row.format(2) + row.format(3)))
    [told] = taken_in(log, folder_of(folder, entries=head + row.format(2) + row.format(3))).findings
    assert told.startswith(
        "entries.csv: without 1 entry that the log has: A1 anode serviced on 2026-03-01 (e1);"
    )


def test_of_a_fleet_that_a_folder_lost_rows_of_only_some_engines_are_looked_at(
    log: Log, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    head, lost = "serial,on,meter\n", "A1,2026-03-04,412\nA1,2026-03-05,413\nA2,2026-03-04,50\n"
    kept = "".join(f"A2,2026-03-0{day},5{day}\n" for day in range(5, 9))
    taken_in(log, folder_of(folder, readings=head + lost + kept))
    monkeypatch.setattr("fleetlog.usecases.imports.left_out._ENGINES_LOOKED_AT", 1)
    [told] = taken_in(log, folder_of(folder, readings=head + kept)).findings
    assert told.startswith(
        "readings.csv: without at least 2 readings that the log has: A1 412.0 h on 2026-03-04"
    )


# Rows of the ledger


@pytest.mark.parametrize(
    ("kind", "row", "other", "expected"),
    [
        (
            "entries",
            "entry_id,serial,on,action,item,note\ne1,A1,2026-03-04,serviced,anode,ok\n",
            "entry_id,serial,on,action,item,note\ne1,A1,2026-03-04,serviced,anode,\n",
            'column note: found nothing; expected "ok", as the log has this row already with other content;'
            " entries are never edited: void it and enter another",
        ),
        (
            "readings",
            "reading_id,serial,on,meter\nr1,A1,2026-03-04,412.5\n",
            "reading_id,serial,on,meter\nr1,A1,2026-03-04,412.6\n",
            'column meter: found "412.6"; expected "412.5", as the log has this row already',
        ),
        (
            "mounts",
            "serial,boat_id,from_on,to_on\nA1,b1,2026-01-01,2026-02-01\n",
            "serial,boat_id,from_on,to_on\nA1,b1,2026-01-01,2026-03-01\n",
            'column to_on: found "2026-03-01"; expected "2026-02-01"',
        ),
        (
            "meters",
            "serial,fitted_on,engine_hours\nA1,2026-03-04,120\n",
            "serial,fitted_on,engine_hours\nA1,2026-03-04,130\n",
            'column engine_hours: found "130.0"; expected "120.0"',
        ),
    ],
)
def test_the_same_id_with_other_content_is_refused(
    log: Log, folder: Path, kind: str, row: str, other: str, expected: str
) -> None:
    taken_in(log, folder_of(folder, **{kind: row}))
    [problem] = refusal(log, folder_of(folder, **{kind: other}))
    assert problem.startswith(f"{kind}.csv, line 2, {expected}")


def test_columns_that_are_not_there_and_names_in_another_case_do_not_contradict(
    log: Log, folder: Path
) -> None:
    folder_of(folder, entries="entry_id,serial,on,action,item,note\ne1,A1,2026-03-04,serviced,Anode,ok\n")
    taken_in(log, folder)
    folder_of(folder, entries="entry_id,serial,on,action,item\ne1,A1,2026-03-04,SERVICED,anode\n")
    assert taken_in(log, folder).unchanged["entries"] == 1


def test_an_end_that_was_open_is_filled_in_and_an_empty_one_takes_none_away(log: Log, folder: Path) -> None:
    def folder_with(end: str) -> Path:
        return folder_of(
            folder,
            visits=f"visit_id,boat_id,closed_on\nv1,b1,{end}\n",
            mounts=f"serial,boat_id,from_on,to_on\nA1,b1,2026-01-01,{end}\n",
            layups=f"boat_id,from,to\nb1,2025-10-01,{end}\n",
        )

    taken_in(log, folder_with(""))
    ended = {"visits": 1, "mounts": 1, "layups": 1}
    assert taken_in(log, folder_with("2026-03-04")).changed == ended
    found = held(log)
    ends = (found.visits[0].closed_on, found.mounts[0].to_on, found.layups[0].to_on)
    assert ends == (date(2026, 3, 4),) * 3
    for end in ("", "2026-03-04"):
        again = taken_in(log, folder_with(end))
        assert again.changed == {}
        assert ended.items() <= again.unchanged.items()
    assert held(log) == found


def test_a_status_given_to_a_reading_is_a_ruling_and_an_empty_one_takes_none_back(
    log: Log, folder: Path
) -> None:
    readings = "serial,on,meter,status\nA1,2026-03-04,412,{}\nA1,2026-03-05,40,{}\n"
    taken_in(log, folder_of(folder, readings=readings.format("", "confirmed")))
    report = taken_in(log, folder_of(folder, readings=readings.format("", "withdrawn")))
    assert (report.changed, report.unchanged["readings"]) == ({"readings": 1}, 1)
    assert taken_in(log, folder_of(folder, readings=readings.format("", ""))).changed == {}
    assert [r.status for r in held(log).readings] == [None, "withdrawn"]


# Rules of the ledger


RULED = "serial,schedule\nA1,twin\nA2,twin\n"


def test_a_position_that_the_schedule_does_not_know_is_refused(log: Log, folder: Path) -> None:
    with_schedule(folder, "twin", schedule_text(1, "bank 1", "bank 2"))
    folder_of(folder, engines=RULED, entries=FITTED.replace("belt,\n", "belt,bank 3\n"))
    [problem] = refusal(log, folder)
    assert problem.startswith(
        'entries.csv, line 2, column position: found "bank 3"; expected a position of the'
    )


def test_a_removal_of_what_isnt_fitted_is_told_also_when_the_log_has_the_first(
    log: Log, folder: Path
) -> None:
    removed = "entry_id,serial,on,action,item,reason\ne1,A1,2026-03-04,removed,belt,failed\n"
    taken_in(log, folder_of(folder, entries=removed))
    both = folder_of(folder, entries=removed + "e2,A1,2026-03-05,removed,belt,failed\n")
    [finding] = taken_in(log, both).findings
    assert finding.startswith(
        'entries.csv, line 3, column action: found "removed"; expected something fitted'
    )


def test_a_void_that_leaves_a_removal_without_its_fitting_is_told(log: Log, folder: Path) -> None:
    rows = "entry_id,serial,on,action,item\n" + "".join(
        f"e{n},A1,2026-03-0{n},{action},belt\n"
        for n, action in enumerate(("removed", "fitted", "removed"), 1)
    )
    taken_in(log, folder_of(folder, entries=rows))
    more = folder_of(folder.parent / "more", voids="entry_id,voided_at,by,reason\ne2,2026-03-05,Mia,wrong\n")
    [finding] = taken_in(log, more).findings
    assert finding.startswith("entries.csv, e3 (in the log already), column action")


def test_a_rule_broken_only_because_of_a_bad_row_is_not_told(log: Log, folder: Path) -> None:
    entries = (
        "entry_id,serial,on,action,item\ne1,A1,2026-03-03,fitted,belt\n"
        "e2,A1,2026-03-32,removed,belt\ne3,A1,2026-03-03,fitted,belt\n"
    )
    [problem] = refusal(log, folder_of(folder, entries=entries))
    assert "2026-03-32" in problem


def test_what_was_in_order_under_an_earlier_revision_stays_in_order(log: Log, folder: Path) -> None:
    with_schedule(folder, "twin@1", schedule_text(1, "bank 1", "bank 2"))
    with_schedule(folder, "twin", schedule_text(2, "left", "right"))
    folder_of(folder, engines=RULED, entries=FITTED.replace("belt,\n", "belt,bank 1\n"))
    assert taken_in(log, folder).new["entries"] == 1


# Ages of items from other engines


def test_the_age_of_an_item_from_another_engine_is_looked_up_along_all_its_moves(
    log: Log, folder: Path
) -> None:
    folder_of(
        folder,
        engines="serial,in_service_on,logged_from_new\n"
        + "".join(f"A{n},2020-01-01,yes\n" for n in (1, 2, 3)),
        readings="serial,on,meter\n"
        + "A1,2021-01-01,100\nA1,2022-01-01,300\n"
        + "A2,2022-01-01,50\nA2,2023-01-01,150\nA3,2023-01-01,10\n",
        entries="entry_id,serial,on,action,item,condition,from_serial,reason\n"
        "e5,A3,2023-01-01,fitted,starter,used,A2,\n"
        "e4,A2,2023-01-01,removed,starter,,,transferred\n"
        "e3,A2,2022-01-01,fitted,starter,used,A1,\n"
        "e2,A1,2022-01-01,removed,starter,,,transferred\n"
        "e6,A1,2022-01-01,fitted,starter,new,,\n"
        "e1,A1,2021-01-01,fitted,starter,new,,\n",
    )
    taken_in(log, folder)
    state = held(log)
    ages = {e.entry_id: (e.prior_tenths, e.prior_months) for e in state.entries}
    assert ages["e3"] == (2000, 12)
    assert ages["e5"] == (3000, 24)
    assert taken_in(log, folder).unchanged["entries"] == 6
    assert held(log) == state


@pytest.mark.parametrize("in_parts", [False, True])
def test_what_was_taken_from_an_engine_before_is_not_taken_from_it_again(
    log: Log, folder: Path, in_parts: bool
) -> None:
    head = "entry_id,serial,on,action,item,condition,from_serial,reason\n"
    shelved = (
        "e1,A1,2021-01-01,fitted,starter,new,,\n"
        "e2,A1,2022-01-01,removed,starter,,,transferred\n"
        "e3,A1,2022-01-01,fitted,starter,new,,\n"
        "e4,A1,2023-01-01,removed,starter,,,transferred\n"
    )
    first = "e5,A2,2023-02-01,fitted,starter,used,A1,\n"
    second = "e6,A3,2023-03-01,fitted,starter,used,A1,\n"
    engines = "".join(f"A{n},2020-01-01,yes\n" for n in (1, 2, 3))
    readings = "A1,2021-01-01,100\nA1,2022-01-01,300\nA1,2023-01-01,350\n"
    facts = {
        "engines": "serial,in_service_on,logged_from_new\n" + engines,
        "readings": "serial,on,meter\n" + readings,
    }
    if in_parts:
        folder_of(folder, **facts, entries=head + shelved + first)
        taken_in(log, folder)
        folder_of(folder, **facts, entries=head + second)
    else:
        folder_of(folder, **facts, entries=head + second + shelved + first)
    taken_in(log, folder)
    ages = {e.entry_id: (e.prior_tenths, e.prior_months) for e in held(log).entries}
    assert (ages["e5"], ages["e6"]) == ((500, 12), (2000, 12))


def test_an_item_from_an_engine_that_is_nowhere_is_remarked_on_unless_its_age_is_stated(
    log: Log, folder: Path
) -> None:
    head = "serial,on,action,item,condition,from_serial,prior_hours\n"
    folder_of(
        folder, entries=head + "A1,2026-03-04,fitted,belt,used,Z9,\nA2,2026-03-04,fitted,belt,used,Z9,80\n"
    )
    assert taken_in(log, folder).findings == [
        "entries.csv, line 2: engine Z9 is not in the log, so the age of the belt from it is not known;"
        " state prior_hours and prior_months"
    ]


def test_an_item_as_if_misspelt_is_remarked_on_once(log: Log, folder: Path) -> None:
    rows = (
        "2026-03-04,fitted,Timing Belt",
        "2026-03-05,fitted,timing bellt",
        "2026-03-06,fitted,timing bellt",
    )
    entries = "\n".join(
        ("serial,on,action,item", *(f"A1,{row}" for row in rows), "A1,2026-03-07,fitted,prop")
    )
    with_schedule(folder, "twin", schedule_text())
    assert taken_in(log, folder_of(folder, entries=entries)).findings == [
        "entries.csv, line 3: item 'timing bellt' is in no schedule, so that nothing falls due by it;"
        " 'timing belt' is"
    ]


def test_an_item_named_by_a_word_of_a_scheduled_one_is_remarked_on(log: Log, folder: Path) -> None:
    rows = "serial,on,action,item\nA1,2026-03-04,fitted,Belt\nA1,2026-03-05,fitted,bel\n"
    with_schedule(folder, "twin", schedule_text())
    assert taken_in(log, folder_of(folder, entries=rows)).findings == [
        "entries.csv, line 2: item 'Belt' is in no schedule, so that nothing falls due by it;"
        " 'timing belt' is"
    ]


# Readings that conflict, and corrected ones


def readings(log: Log, folder: Path, *rows: str, head: str = "serial,on,meter,source") -> list[str]:
    """The findings on a folder with these readings, but for what it leaves out."""
    report = taken_in(log, folder_of(folder, readings="\n".join((head, *rows, ""))))
    return [told for told in report.findings if STAYS not in told]


def test_a_corrected_figure_names_the_one_that_the_log_keeps_and_how_to_withdraw_it(
    log: Log, folder: Path
) -> None:
    assert readings(log, folder, "A1,2026-03-04,188.5,owner", "A2,2026-03-04,50,owner") == []
    [said] = readings(log, folder, "A1,2026-03-04,190.5,owner", "A2,2026-03-04,50,owner")
    assert said == (
        "A1: 190.5 h on 2026-03-04 is new; the log keeps 188.5 h of that day as well, which the import does"
        " not have; if it is wrong: fleetlog reading withdraw A1 --on 2026-03-04 --hours 188.5 --reason WHY"
    )
    assert readings(log, folder, "A1,2026-03-04,190.5,owner", "A2,2026-03-04,50,owner") == []


@pytest.mark.parametrize(
    "rows",
    [
        ["A1,2026-03-04,188.5,owner", "A1,2026-03-04,190.5,owner"],
        ["A1,2026-03-04,190.5,visit"],
        ["A1,2026-03-05,190.5,owner"],
    ],
)
def test_a_further_figure_is_no_correction(log: Log, folder: Path, rows: list[str]) -> None:
    readings(log, folder, "A1,2026-03-04,188.5,owner")
    assert readings(log, folder, *rows) == []


def test_a_figure_with_an_id_of_its_own_is_no_correction(log: Log, folder: Path) -> None:
    head = "reading_id,serial,on,meter"
    readings(log, folder, "r1,A1,2026-03-04,188.5", head=head)
    assert readings(log, folder, "r2,A1,2026-03-04,190.5", head=head) == []


def test_what_an_import_has_held_is_told_once(log: Log, folder: Path) -> None:
    [said] = readings(log, folder, "A1,2026-03-04,188.5,owner", "A1,2026-03-05,100,owner")
    assert said.startswith("A1: 100.0 h on 2026-03-05 is held, it is below the 188.5 h of 2026-03-04.")
    corrected, *now_held = readings(log, folder, "A1,2026-03-01,288.5,owner", "A1,2026-03-05,100.5,owner")
    assert "100.0 h of that day as well" in corrected
    assert [text.split(",")[0] for text in now_held] == [
        "A1: 188.5 h on 2026-03-04 is held",
        "A1: 100.5 h on 2026-03-05 is held",
    ]


def test_what_makes_engine_hours_go_back_is_told_by_the_import_and_by_check(log: Log, folder: Path) -> None:
    """A confirmed figure below the last one makes what was overdue by hours look as if it were not."""
    readings(log, folder, "A1,2026-03-04,188.5,owner")
    head, row = "reading_id,serial,on,meter,status", "r2,A1,2026-03-05,100,confirmed"
    [said] = readings(log, folder, row, head=head)
    assert said == (
        "A1: engine hours go back from 188.5 h of 2026-03-04 to 100.0 h on 2026-03-05 by a confirmed figure,"
        " and what is due by hours falls due later. If a figure is wrong: fleetlog reading withdraw A1 --on"
        " 2026-03-04 --hours 188.5 --reason WHY or fleetlog reading withdraw A1 --on 2026-03-05 --hours 100.0"
        " --reason WHY"
    )
    assert readings(log, folder, row, head=head) == []
    assert f"engine {said}" in check_log(log, date(2026, 4, 1)).waiting


def test_a_ruling_that_makes_engine_hours_go_back_is_told(log: Log, folder: Path) -> None:
    head = "reading_id,serial,on,meter,status"
    rows = ["r1,A1,2026-03-04,188.5,", "r2,A1,2026-03-05,100,"]
    [said] = readings(log, folder, *rows, head=head)
    assert "is held" in said
    [said] = readings(log, folder, rows[0], rows[1] + "confirmed", head=head)
    assert "engine hours go back from 188.5 h of 2026-03-04 to 100.0 h" in said


def test_an_engine_whose_figures_count_for_nothing_without_a_meter_is_told(log: Log, folder: Path) -> None:
    """Nothing is overdue by hours then, whatever was read."""
    readings(log, folder, "A1,2026-03-04,188.5,owner")
    folder_of(folder, engines="serial,hour_meter\nA1,no\nA2,yes\nA3,no\n")
    said = taken_in(log, folder).findings
    assert said == [
        "A1: it is said to have no hour meter, so its figures on record (1) count for nothing and no work is"
        " overdue by hours; if it has one: fleetlog engine change A1 --hour-meter"
    ]
    assert taken_in(log, folder).findings == []
    assert f"engine {said[0]}" in check_log(log, date(2026, 4, 1)).waiting
    withdrawn = "r1,A3,2026-03-04,5,withdrawn"
    assert readings(log, folder, withdrawn, head="reading_id,serial,on,meter,status") == []


def test_a_day_of_service_after_work_that_the_log_has_is_refused(log: Log, folder: Path) -> None:
    """A slip in it would take every line of the engine away."""
    folder_of(folder, engines="serial,in_service_on\nA1,2024-03-01\nA2,\n", entries=FITTED.replace("v1", ""))
    taken_in(log, folder)
    (folder / "entries.csv").unlink()
    folder_of(folder, engines="serial,in_service_on\nA1,2062-03-01\nA2,2062-03-01\n")
    [problem] = refusal(log, folder)
    assert problem.startswith("entries.csv, e1 (in the log already), column on:")
    assert "the engine came into service on 2062-03-01" in problem
    folder_of(folder, engines="serial,in_service_on\nA1,2023-03-01\nA2,2062-03-01\n")
    report = taken_in(log, folder)
    assert report.changed == {"engines": 2}
    [said] = report.findings
    assert said == "engines.csv, line 3: dated after today, 2026-04-15: not seen before that day comes"


def test_a_figure_that_the_folder_itself_withdraws_has_nothing_held(log: Log, folder: Path) -> None:
    head = "reading_id,serial,on,meter,status"
    readings(log, folder, "r1,A1,2026-03-04,288.5,", head=head)
    rows = ("r1,A1,2026-03-04,288.5,withdrawn", "r2,A1,2026-03-05,190,")
    assert readings(log, folder, *rows, head=head) == []


# Schedules, remarks


def test_another_text_needs_a_higher_revision(log: Log, folder: Path) -> None:
    with_schedule(folder, "twin", schedule_text(3))
    assert taken_in(log, folder).new["schedules"] == 1
    with_schedule(folder, "twin", schedule_text(3, "bank 1"))
    [problem] = refusal(log, folder)
    assert problem == (
        "schedules/twin.toml: found another text under revision 3;"
        " expected a revision above 3, which the log has: raise the revision"
    )
    with_schedule(folder, "twin", schedule_text(2, "bank 1"))
    [problem] = refusal(log, folder)
    assert problem.startswith("schedules/twin.toml: found revision 2; expected a revision above 3")
    with_schedule(folder, "twin", schedule_text(4, "bank 1"))
    assert taken_in(log, folder).new == {"schedules": 1}
    with log.reading() as reader:
        assert reader.schedules()["twin"].revision == 4


def test_a_family_without_a_schedule_and_rows_dated_ahead_are_remarked_on(log: Log, folder: Path) -> None:
    with_schedule(folder, "V6 belt", schedule_text())
    folder_of(
        folder,
        engines="serial,family,in_service_on\nA1,V6 belts,\nA2,V6 belts,2062-04-01\n",
        readings="serial,on,meter\nA1,2026-04-15,1\nA1,2026-04-16,2\n",
    )
    assert taken_in(log, folder).findings == [
        "2 engines of family V6 belts without a service schedule: none is called V6 belts (nearest: V6 belt);"
        " nothing comes due on them",
        "engines.csv, line 3: dated after today, 2026-04-15: not seen before that day comes",
        "readings.csv, line 3: dated after today, 2026-04-15: not seen before that day comes",
    ]


def test_what_a_new_revision_of_a_schedule_lets_wait_longer_is_told(log: Log, folder: Path) -> None:
    """A figure mistyped in a schedule moves a line of every engine of the family."""
    with_schedule(folder, "V6 belt", schedule_text())
    assert taken_in(log, folder).findings == []
    with_schedule(folder, "V6 belt", schedule_text(2).replace("1000", "9000"))
    [told] = taken_in(log, folder).findings
    assert told.startswith("schedules/V6 belt.toml: revision 2 in place of 1: ")
    assert "may wait longer: 9000.0 h" in told
    with_schedule(folder, "V6 belt", schedule_text(3).replace('"belt"', '"renew-belt"'))
    [told] = taken_in(log, folder).findings
    assert "is gone: it falls due on no engine any more" in told


def test_an_engine_that_a_folder_gives_a_schedule_that_asks_less_is_told(log: Log, tmp_path: Path) -> None:
    folder = folder_of(tmp_path / "in", engines="serial,family\nA1,V6 belt\n")
    with_schedule(folder, "V6 belt", schedule_text())
    with_schedule(folder, "I4 belt", schedule_text().replace("1000", "9000"))
    assert taken_in(log, folder).findings == []
    folder_of(folder, engines="serial,family\nA1,I4 belt\n")
    [told] = taken_in(log, folder).findings
    assert told.startswith("engines.csv, line 2: A1: ")
    assert "may wait longer: 9000.0 h" in told
    assert taken_in(log, folder).findings == []


def test_boats_whose_use_nobody_says_are_told_where_a_schedule_shortens_intervals_by_it(
    log: Log, folder: Path
) -> None:
    with_schedule(folder, "V6 belt", schedule_text() + "severe = { salt = 0.5, brackish = 0.8 }\n")
    folder_of(folder, boats="boat_id,name,water\nb1,Gull,fresh\nb2,Tern,\nb3,Skua,\n")
    assert taken_in(log, folder).findings == [
        "boats.csv, line 3: 2 boats without a water: no interval is shortened there for brackish, salt,"
        " though a schedule has factors for it"
    ]
    assert taken_in(log, folder).findings == []


def test_an_engine_whose_schedule_has_problems_is_not_told_as_well(log: Log, folder: Path) -> None:
    with_schedule(folder, "twin", schedule_text().replace("replace", "swap"))
    [problem] = refusal(log, folder_of(folder, engines=RULED))
    assert problem.startswith("schedules/twin.toml")


def test_fifty_problems_are_told_in_all(log: Log, folder: Path) -> None:
    folder_of(folder, readings="serial,on,meter\n" + "A9,2026-03-04,1\n" * 30 + "A1,x,1\n" * 30)
    with pytest.raises(ImportRefused, match=r"60 problems:(?s:.*)\nand 10 more") as refused:
        taken_in(log, folder)
    assert (len(refused.value.problems), refused.value.more) == (50, 10)


def test_a_refusal_is_told_before_the_log_is_touched(log: Log, tmp_path: Path) -> None:
    with pytest.raises(FolderNotThere):
        taken_in(log, tmp_path / "none")


def test_who_imports_is_written_beside_the_rows(log: Log, folder: Path) -> None:
    folder_of(folder, owners=OWNERS.replace("0101", "0102"))
    taken_in(log, folder)
    folder_of(folder, owners=OWNERS)
    taken_in(log, folder)
    [change] = held(log).changes
    assert replace(change, sequence=0).by == "Mia"
    assert change.changed_at == AT

"""Every way in which a CSV file can be wrong gives a line with its place, and no traceback."""

from __future__ import annotations

import csv
import os
from pathlib import Path

import pytest

from fleetlog.errors.folders import EncodingUnknown, FolderHoldsNothing, FolderNotThere, SeparatorUnusable
from fleetlog.exchange.csv.folder import read_folder
from tests.exchange.folders import folder_of

READING = "reading_id,serial,on,meter\n"
HOURS = "hours with at most one decimal, such as 412 or 412.5"


def problems_of(folder: Path, **manner: object) -> list[str]:
    return [str(p) for p in read_folder(folder, **manner).problems]  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        (
            "r1,A1,2026-02-30,1",
            'line 2, column on: found "2026-02-30"; expected a day that exists, as YYYY-MM-DD',
        ),
        (
            "r1,A1,30.2.2026,1",
            'line 2, column on: found "30.2.2026"; expected a date as YYYY-MM-DD, from 1900 to 2199',
        ),
        (
            "r1,A1,0001-01-01,1",
            'line 2, column on: found "0001-01-01"; expected a date as YYYY-MM-DD, from 1900 to 2199',
        ),
        (
            "r1,A1,2026-03-04,412.55",
            f'line 2, column meter: found "412.55"; expected {HOURS}',
        ),
        ("r1,A1,2026-03-04,-5", 'line 2, column meter: found "-5"; expected hours, 0 or more'),
        (
            "r1,A1,2026-03-04,1e3",
            f'line 2, column meter: found "1e3"; expected {HOURS}',
        ),
        (
            'r1,A1,2026-03-04,"412,5"',
            f'line 2, column meter: found "412,5"; expected {HOURS};'
            " decimal commas: say --decimal-comma for CSV files, format the cells of a sheet as numbers",
        ),
        (
            "r1,,2026-03-04,1",
            "line 2, column serial: found nothing; expected something, as the row makes no sense without it",
        ),
        (
            '"r\t1",A1,2026-03-04,1',
            'line 2, column reading_id: found "r\\t1"; expected one line of at most 200 characters,'
            " without control characters",
        ),
        ("r1,A1,2026-03-04", "line 2: found 3 cells; expected 4, as in the header"),
        ("r1,A1,2026-03-04,1,owner", "line 2: found 5 cells; expected 4, as in the header"),
        (
            'r1,A1,2026-03-04,"1',
            "line 2: found a cell that begins with a quote and never ends; expected a closing quote:"
            " the file is half-written, or the quote does not belong there",
        ),
        (
            'r1,"A"1,2026-03-04,1',
            "line 2: found text after the closing quote of a cell; expected quotes inside a quoted cell to be"
            " written twice",
        ),
        (
            "r1,A1,2026-03-04,1\0\0",
            "line 2: found a NUL byte; expected text: the file is half-written or no CSV file",
        ),
    ],
)
def test_a_wrong_row_is_told_with_its_place_its_value_and_what_was_expected(
    tmp_path: Path, row: str, problem: str
) -> None:
    assert problems_of(folder_of(tmp_path, readings=f"{READING}{row}\n")) == [f"readings.csv, {problem}"]


def test_all_that_is_wrong_is_told_at_once_and_good_rows_are_still_read(tmp_path: Path) -> None:
    folder = folder_of(
        tmp_path,
        owners="owner_id,remind_by\no1,fax\no2,EMAIL\n",
        readings=f"{READING}r1,A1,x,y\n\nr2,A1,2026-03-04,1\n,,,\nr3,A1,2026-03-04,z\n",
    )
    contents = read_folder(folder)
    assert [(p.file, p.line, p.column) for p in contents.problems] == [
        ("owners.csv", 2, "remind_by"),
        ("readings.csv", 2, "on"),
        ("readings.csv", 2, "meter"),
        ("readings.csv", 6, "meter"),
    ]
    assert [o.remind_by for o in contents.batch.owners] == ["email"]
    assert [r.reading_id for r in contents.batch.readings] == ["r2"]


def test_fifty_problems_are_told_and_the_others_counted(tmp_path: Path) -> None:
    contents = read_folder(folder_of(tmp_path, readings=READING + "r,A1,x,1\n" * 75))
    assert len(contents.problems) == 50
    assert contents.problem_list.more == 25


def test_the_line_of_a_row_is_where_it_begins_though_cells_hold_line_breaks(tmp_path: Path) -> None:
    folder = folder_of(tmp_path, owners='owner_id,address,remind_by\no1,"a\nb\r\nc",post\no2,"d\ne",fax\n')
    contents = read_folder(folder)
    assert [p.line for p in contents.problems] == [5]
    assert contents.place_of("owners", "o1") == ("owners.csv", 2)


@pytest.mark.parametrize(
    ("header", "problems"),
    [
        (
            "serial,on,metre",
            [
                'line 1, column metre: found "metre"; expected a known column (nearest: meter): reading_id,'
                " serial, on, meter, source, status, by",
                "line 1: found no column meter; expected one, as no row makes sense without it",
            ],
        ),
        ("serial,on,meter,on", ['line 1, column on: found "on"; expected each column once']),
        ("serial,on,meter,", ["line 1: found column 4 without a name; expected a name over each column"]),
        (
            "",
            [
                "line 1: found no header; expected the names of the columns: reading_id, serial, on, meter,"
                " source, status, by"
            ],
        ),
        (
            "serial;on;meter",
            [
                "line 1: found cells that stand between semicolons; expected commas;"
                ' for this file say --separator ";"'
            ],
        ),
        (
            "serial\ton\tmeter",
            [
                "line 1: found cells that stand between tabs; expected commas;"
                " for this file say --separator tab"
            ],
        ),
    ],
)
def test_a_wrong_header_is_told(tmp_path: Path, header: str, problems: list[str]) -> None:
    folder = folder_of(tmp_path, readings=f"{header}\n" if header else "")
    assert problems_of(folder) == [f"readings.csv, {p}" for p in problems]


def test_semicolons_and_decimal_commas_are_taken_when_said_so(tmp_path: Path) -> None:
    folder = folder_of(
        tmp_path,
        readings="serial;on;meter\nA1;2026-03-04;412,5\n",
        entries="serial;on;action;item;measured\nA1;2026-03-04;inspected;anode;0,75\n",
    )
    contents = read_folder(folder, separator=";", decimal_comma=True)
    assert not contents.problems
    assert contents.batch.readings[0].meter_tenths == 4125
    assert contents.batch.entries[0].measured == "0.75"
    [commas_only] = problems_of(
        folder_of(tmp_path / "b", readings=f"{READING}r,A,2026-03-04,1\n"), separator=";"
    )
    assert commas_only.endswith('between commas; expected semicolons; for this file say --separator ","')


def test_a_decimal_point_is_refused_where_commas_were_said(tmp_path: Path) -> None:
    folder = folder_of(tmp_path, readings=f"{READING}r1,A1,2026-03-04,1.234\n")
    [problem] = problems_of(folder, decimal_comma=True)
    assert problem.endswith("expected hours with a decimal comma, such as 412,5, as --decimal-comma says")


def test_latin_1_is_told_with_the_line_and_the_option_and_taken_with_it(tmp_path: Path) -> None:
    folder = folder_of(tmp_path, owners="owner_id,name\no1,Anna\no2,René Ünal\n".encode("latin-1"))
    assert problems_of(folder) == [
        'owners.csv, line 3: found a byte that is not UTF-8 in "o2,René Ünal";'
        " expected UTF-8, or the encoding named, as in --encoding latin-1 (spreadsheets: cp1252)"
    ]
    assert [o.name for o in read_folder(folder, encoding="latin-1").batch.owners] == ["Anna", "René Ünal"]


def test_utf_16_is_told_and_taken_with_its_option(tmp_path: Path) -> None:
    folder = folder_of(tmp_path, owners="owner_id,name\no1,Ünal\n".encode("utf-16"))
    assert problems_of(folder) == [
        "owners.csv, line 1: found a file in UTF-16; expected UTF-8; for this file say --encoding utf-16"
    ]
    assert read_folder(folder, encoding="utf-16").batch.owners[0].name == "Ünal"


@pytest.mark.parametrize("encoding", ["utf-8", "UTF_8", "utf8"])
def test_a_byte_order_mark_is_passed_over(tmp_path: Path, encoding: str) -> None:
    folder = folder_of(tmp_path, owners="\ufeffowner_id,name\r\no1,Anna\r\n")
    assert read_folder(folder, encoding=encoding).batch.owners[0].name == "Anna"


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_any_line_end_will_do_and_the_last_one_may_be_missing(tmp_path: Path, line_end: str) -> None:
    folder = folder_of(tmp_path, owners=line_end.join(["owner_id,name", "o1,Anna", "o2,Bo"]))
    assert [o.name for o in read_folder(folder).batch.owners] == ["Anna", "Bo"]


def test_a_megabyte_in_one_cell_is_refused_in_one_short_line(tmp_path: Path) -> None:
    before = csv.field_size_limit()
    folder = folder_of(tmp_path, owners=f"owner_id,name\no1,{'x' * 1_000_000}\no2,{'y' * 100_000}\n")
    contents = read_folder(folder)
    assert [str(p) for p in contents.problems] == [
        f'owners.csv, line 2, column name: found "{"x" * 59}…";'
        " expected at most 100,000 characters in a cell, here are 1,000,000"
    ]
    assert len(contents.batch.owners) == 1
    assert csv.field_size_limit() == before


def test_a_quote_that_swallows_a_whole_file_is_refused_before_it_fills_the_memory(tmp_path: Path) -> None:
    before = csv.field_size_limit()
    folder = folder_of(tmp_path, owners='owner_id,name\no1,"' + "line\n" * 500_000)
    assert problems_of(folder) == [
        "owners.csv, line 2: found a cell of more than 2,000,000 characters; expected at most 100,000;"
        " perhaps a quote is not closed"
    ]
    assert csv.field_size_limit() == before


@pytest.mark.parametrize(
    ("files", "problem"),
    [
        (
            {"engines": "serial,model\nA1,x\nA2,x\nA1,y\n"},
            'engines.csv, line 4, column serial: found "A1"; expected each serial once; line 2 says it first',
        ),
        (
            {"mounts": "serial,boat_id,from_on\nA1,b1,2026-01-01\nA1,b2,2026-01-01\n"},
            'mounts.csv, line 3, column serial: found "A1"; expected each serial once with this from_on;'
            " line 2 says it first",
        ),
    ],
)
def test_what_may_stand_once_and_stands_twice_is_told(
    tmp_path: Path, files: dict[str, str], problem: str
) -> None:
    assert problems_of(folder_of(tmp_path, **files)) == [problem]


ENTRY = (
    "serial,on,action,scope,item,condition,prior_hours,prior_months,from_serial,reason,"
    "again_hours,again_months"
)


@pytest.mark.parametrize(
    ("cells", "column", "value", "expected"),
    [
        ("inspected,,,,,,,,,", "item", "", "the item that was inspected"),
        ("rebuilt,,,,,,,,,", "scope", "", "the scope of the rebuild: powerhead, top end or lower unit"),
        ("rebuilt,gearbox,,,,,,,,", "scope", "gearbox", "one of: powerhead, top end, lower unit"),
        ("serviced,top end,belt,,,,,,,", "scope", "top end", "only a rebuild has a scope"),
        ("reused,,belt,,,,,failed,,", "reason", "failed", "why an item came off"),
        ("adjusted,,belt,,5,,,,,", "prior_hours", "5", "an item that is fitted"),
        ("adjusted,,belt,,,5,,,,", "prior_months", "5", "an item that is fitted"),
        ("removed,,belt,,,,Z9,,,", "from_serial", "Z9", "an item that is fitted"),
        ("removed,,belt,,,,,,50,", "again_hours", "50", "a next look"),
        ("reused,,belt,,,,,,,5", "again_months", "5", "a next look"),
        ("inspected,,belt,,,,,,0,", "again_hours", "0", "hours above 0"),
        ("inspected,,belt,,,,,,,0", "again_months", "0", "whole months above 0"),
        ("inspected,,belt,,,,,,,1.5", "again_months", "1.5", "whole months, such as 12"),
        ("fitted,,belt,,-1,,,,,", "prior_hours", "-1", "hours, 0 or more"),
        ("fitted,,belt,worn,,,,,,", "condition", "worn", "one of: new, used"),
        ("painted,,belt,,,,,,,", "action", "painted", "one of: fitted, removed, reused"),
    ],
)
def test_cells_of_an_entry_have_to_suit_its_action(
    tmp_path: Path, cells: str, column: str, value: str, expected: str
) -> None:
    [problem] = read_folder(folder_of(tmp_path, entries=f"{ENTRY}\nA1,2026-03-04,{cells}\n")).problems
    assert (problem.line, problem.column, problem.value) == (2, column, value)
    assert expected in problem.expected


@pytest.mark.parametrize(
    ("kind", "text", "column"),
    [
        ("mounts", "serial,boat_id,from_on,to_on\nA1,b1,2026-03-04,2026-03-03\n", "to_on"),
        (
            "corrections",
            "correction_id,kind,key,from_on,at,by,owner_id\n"
            "x,mounts,A1,2026-03-04,2026-03-05T10:00:00Z,Kim,o1\n",
            "owner_id",
        ),
        ("layups", "boat_id,from,to\nb1,2026-03-04,2026-03-03\n", "to"),
        ("visits", "visit_id,opened_on,closed_on\nv1,2026-03-04,2026-03-03\n", "closed_on"),
        ("voids", "entry_id,voided_at,by,reason,replaced_by\ne1,2026-03-04,me,wrong,e1\n", "replaced_by"),
        ("voids", "entry_id,voided_at,by,reason\ne1,2026-03-04,me,\n", "reason"),
        ("voids", "entry_id,voided_at,by,reason\ne1,2026-03-04T25:00Z,me,wrong\n", "voided_at"),
        ("meters", "serial,fitted_on,engine_hours\nA1,2026-03-04,\n", "engine_hours"),
        ("deferrals", "serial,rule,reason,by,at\nA1,belt,busy,me,2026-03-04\n", "until_on"),
        (
            "changes",
            "kind,key,field,until_on,changed_at,by\nboats,b1,boat_id,2026-03-04,2026-03-04,me\n",
            "field",
        ),
        (
            "changes",
            "kind,key,field,was,until_on,changed_at,by\nengines,A1,model_year,x,2026-03-04,2026-03-04,me\n",
            "was",
        ),
        ("engines", "serial,hour_meter\nA1,maybe\n", "hour_meter"),
        ("engines", "serial,model_year\nA1,20266\n", "model_year"),
        ("engines", "serial,state\nA1,lost\n", "state"),
    ],
)
def test_cells_of_a_row_have_to_suit_each_other(tmp_path: Path, kind: str, text: str, column: str) -> None:
    [problem] = read_folder(folder_of(tmp_path, **{kind: text})).problems
    assert (problem.line, problem.column) == (2, column)


def test_a_file_that_cannot_be_opened_is_told(tmp_path: Path) -> None:
    (tmp_path / "owners.csv").mkdir()
    [problem] = problems_of(tmp_path)
    assert problem.startswith("owners.csv: found ")
    assert problem.endswith("; expected a file that can be read")


def test_what_a_terminal_would_act_on_is_not_shown(tmp_path: Path) -> None:
    [problem] = problems_of(folder_of(tmp_path, owners="owner_id,remind_by\no1,\x1b[31mred\n"))
    assert '"\\x1b[31mred"' in problem


def test_a_folder_that_is_not_there_or_holds_nothing_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FolderNotThere, match="there is no folder"):
        read_folder(tmp_path / "none")
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(FolderNotThere, match="is a file"):
        read_folder(tmp_path / "file")
    with pytest.raises(FolderHoldsNothing):
        read_folder(tmp_path)


def test_a_mistyped_file_name_is_remarked_on(tmp_path: Path) -> None:
    folder = folder_of(tmp_path, owners="owner_id\no1\n", enteries="x\n")
    assert [str(remark) for remark in read_folder(folder).findings] == [
        "enteries.csv was not read: no file of that name belongs to the folder "
        "(nearest: entries.csv, meters.csv, engines.csv)"
    ]


@pytest.mark.parametrize("separator", ["", "x", ",,", '"', "\n"])
def test_a_separator_that_cannot_be_one_is_refused(tmp_path: Path, separator: str) -> None:
    with pytest.raises(SeparatorUnusable, match="--separator"):
        read_folder(tmp_path, separator=separator)


@pytest.mark.parametrize("encoding", ["klingon", "hex", "\0"])
def test_an_encoding_that_does_not_exist_is_refused(tmp_path: Path, encoding: str) -> None:
    with pytest.raises(EncodingUnknown, match="--encoding"):
        read_folder(tmp_path, encoding=encoding)


def test_what_was_put_back_may_be_called_used(tmp_path: Path) -> None:
    folder = folder_of(
        tmp_path,
        entries="serial,on,action,item,condition\nA1,2026-04-01,reused,cam cover gasket,used\n",
    )
    contents = read_folder(folder)
    assert not contents.problems
    assert contents.batch.entries[0].condition == "used"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes there")
@pytest.mark.parametrize("name", ["owners.csv", "schedules/V6.toml"])
def test_a_pipe_in_the_place_of_a_file_is_a_problem_and_not_waited_for(tmp_path: Path, name: str) -> None:
    (tmp_path / name).parent.mkdir(exist_ok=True)
    os.mkfifo(tmp_path / name)
    assert problems_of(tmp_path) == [f"{name}: found a pipe or a device; expected a file that can be read"]

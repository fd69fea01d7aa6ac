"""Spreadsheets come in by a mapping, through the rules of the CSV folder, and can be looked at before."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterator
from datetime import date, datetime
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Fleetlog, Said

MAPPING = """
[[sheet]]
file = "engines"
sheet = "Motors"
header_row = 2
columns = { serial = "Serial no.", in_service_on = "Since", logged_from_new = "New?", state = "State" }
fixed = { family = "V6 belt-cam" }
words = { state = { "in use" = "in service", "gone" = "sold" } }

[[sheet]]
file = "readings"
sheet = "Hours"
columns = { serial = "Motor", on = "Day", meter = "Hours", source = "Told by" }
"""
MOTORS: list[list[Any]] = [
    ["Our motors", None, None, None],
    ["State", "Serial no.", "Since", "New?"],
    ["in use", "NM-1", date(2024, 5, 1), True],
    [None, None, None, None],
    ["Gone", "NM-2", date(2020, 5, 1), False],
]
HOURS: list[list[Any]] = [
    ["Motor", "Day", "Hours", "Told by"],
    ["NM-1", date(2025, 6, 1), 101.5, "=owner"],
    ["NM-1", date(2025, 9, 1), 140.0, "'yes"],
]


def _xlsx(path: Path) -> str:
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    for name, rows in (("Motors", MOTORS), ("Hours", HOURS)):
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append([datetime(v.year, v.month, v.day) if type(v) is date else v for v in row])
            for cell in sheet[sheet.max_row]:
                if isinstance(cell.value, str):
                    cell.data_type = "s"
    book.save(path / "b.xlsx")
    return "b.xlsx"


def _ods(path: Path) -> str:
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    book = OpenDocumentSpreadsheet()
    for name, rows in (("Motors", MOTORS), ("Hours", HOURS)):
        table = Table(name=name)
        for row in rows:
            line = TableRow()
            for value in row:
                match value:
                    case None:
                        cell = TableCell()
                    case bool():
                        cell = TableCell(valuetype="boolean", booleanvalue=str(value).lower())
                    case float():
                        cell = TableCell(valuetype="float", value=str(value))
                    case date():
                        cell = TableCell(valuetype="date", datevalue=value.isoformat())
                    case _:
                        cell = TableCell(valuetype="string")
                        cell.addElement(P(text=value))
                line.addElement(cell)
            table.addElement(line)
        book.spreadsheet.addElement(table)
    book.save(str(path / "b.ods"))
    return "b.ods"


@pytest.fixture
def store() -> str:
    """The database plays no part in reading files."""
    return "sqlite"


@pytest.mark.parametrize("made", [_xlsx, _ods])
def test_a_spreadsheet_is_previewed_then_taken_in_once(twins: Fleetlog, tmp_path: Path, made: Any) -> None:
    file = made(tmp_path)
    (tmp_path / "m.toml").write_text(MAPPING, encoding="utf-8")
    words = ("import-sheet", file, "--mapping", "m.toml")
    before = twins("export", "before").out
    preview = twins(*words, "--dry-run")
    assert preview.status == 0, preview.err
    assert "read: 2 rows of engines, 2 rows of readings" in preview.out
    assert "new: 2 engines, 2 readings" in preview.out
    assert "Nothing was written" in preview.out
    assert (
        "  serial NM-1, family V6 belt-cam, in_service_on 2024-05-01, logged_from_new yes, hour_meter yes,"
        " state in service\n" in preview.out
    )
    assert twins("export", "before").out == before
    taken = twins(*words)
    assert "new: 2 engines, 2 readings" in taken.out, taken.err
    assert "Nothing new." in twins(*words).out
    twins("export", "after")
    engines = (tmp_path / "after/engines.csv").read_text(encoding="utf-8")
    assert "NM-1,,,V6 belt-cam,,2024-05-01,yes,yes,,,,in service" in engines
    assert "NM-2,,,V6 belt-cam,,2020-05-01,no,yes,,,,sold" in engines
    readings = (tmp_path / "after/readings.csv").read_text(encoding="utf-8")
    assert "NM-1,2025-06-01,101.5,'=owner" in readings
    assert "NM-1,2025-09-01,140.0,''yes" in readings


@pytest.mark.parametrize("made", [_xlsx, _ods])
def test_a_cell_of_a_day_may_tell_the_time_too_and_headings_break_as_they_like(
    twins: Fleetlog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, made: Any
) -> None:
    hours = [
        ["Motor", "Day\n(read) ", "Hours", "Told\u00a0by"],
        ["NM-1", datetime(2025, 6, 1, 13, 30), 101.5, ""],
    ]
    monkeypatch.setitem(globals(), "HOURS", hours)
    mapping = MAPPING.replace('"Day"', '"Day (read)"').replace('"Hours"\ncol', '"hours "\ncol')
    (tmp_path / "m.toml").write_text(mapping, encoding="utf-8")
    done = twins("import-sheet", made(tmp_path), "--mapping", "m.toml")
    assert done.status == 0, done.err
    assert "2025-06-01" in twins("reading", "list", "NM-1").out
    (tmp_path / "m.toml").write_text(mapping.replace("Day (", "Dey ("), encoding="utf-8")
    wrong = twins("import-sheet", made(tmp_path), "--mapping", "m.toml")
    assert "row 1, which has Motor, Day (read), Hours, Told by (nearest: day (read)" in wrong.err
    assert wrong.err.count("\n") == 1


@pytest.mark.parametrize("made", [_xlsx, _ods])
def test_days_that_are_text_are_read_in_the_form_that_the_mapping_names(
    twins: Fleetlog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, made: Any
) -> None:
    days = [" 7.6.2025 ", "08.06.2025", date(2025, 6, 9), "2025-06-10"]
    hours = [HOURS[0], *(["NM-1", day, 101.5 + place, ""] for place, day in enumerate(days))]
    monkeypatch.setitem(globals(), "HOURS", hours)
    (tmp_path / "m.toml").write_text(MAPPING + 'day_form = "%d.%m.%Y"\n', encoding="utf-8")
    done = twins("import-sheet", made(tmp_path), "--mapping", "m.toml")
    assert done.status == 0, done.err
    read = json.loads(twins("reading", "list", "NM-1", "--format", "json").out)
    assert [row["on"] for row in read] == [f"2025-06-{day:02}" for day in (7, 8, 9, 10)]
    hours += [["NM-1", "31.06.2025", 110, ""], ["NM-1", "06/11/2025", 110, ""]]
    wrong = twins("import-sheet", made(tmp_path), "--mapping", "m.toml")
    assert wrong.status == 1
    for row, told in ((6, "31.06.2025"), (7, "06/11/2025")):
        assert f'sheet "Hours", row {row}, column Day: found "{told}"' in wrong.err


@pytest.mark.parametrize("made", [_xlsx, _ods])
def test_hours_that_a_formula_worked_out_are_those_that_the_spreadsheet_shows(
    twins: Fleetlog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, made: Any
) -> None:
    hours = [HOURS[0], ["NM-1", date(2025, 6, 1), 717.3000000000001, "a sum"]]
    monkeypatch.setitem(globals(), "HOURS", hours)
    (tmp_path / "m.toml").write_text(MAPPING, encoding="utf-8")
    done = twins("import-sheet", made(tmp_path), "--mapping", "m.toml")
    assert done.status == 0, done.err
    assert "717.3 " in twins("reading", "list", "NM-1").out


def test_a_file_that_a_library_gives_up_on_is_told_in_one_line(twins: Fleetlog, tmp_path: Path) -> None:
    (tmp_path / "m.toml").write_text(MAPPING, encoding="utf-8")
    with zipfile.ZipFile(tmp_path / _xlsx(tmp_path)) as whole:
        parts = {name: whole.read(name) for name in whole.namelist()}
    declared = b'<!DOCTYPE l [<!ENTITY a "a">]>'
    parts["xl/worksheets/sheet1.xml"] = declared + parts["xl/worksheets/sheet1.xml"]
    with zipfile.ZipFile(tmp_path / "b.xlsx", "w") as spoilt:
        for name, content in parts.items():
            spoilt.writestr(name, content)
    done = twins("import-sheet", "b.xlsx", "--mapping", "m.toml")
    assert (done.status, len(done.err.splitlines())) == (1, 1), done.err
    assert "b.xlsx: it cannot be read" in done.err


def test_what_is_wrong_with_the_rows_is_said_and_nothing_is_taken_in(twins: Fleetlog, tmp_path: Path) -> None:
    mapping = MAPPING.replace('"gone" = "sold"', '"gone" = "vanished"')
    (tmp_path / "m.toml").write_text(mapping, encoding="utf-8")
    done = twins("import-sheet", _xlsx(tmp_path), "--mapping", "m.toml")
    assert done.status == 1
    assert 'sheet "Motors", row 5, column State: found "vanished"; expected one of: in service' in done.err
    assert "NM-1" not in twins("engine", "list").out


ONE_SHEET = """
[[sheet]]
file = "engines"
columns = { serial = "Serial no.", in_service_on = "Since" }
"""


def _taken(twins: Fleetlog, folder: Path, *rows: list[Any], mapping: str = ONE_SHEET) -> Said:
    """What a preview says of one xlsx sheet of these rows under the headings of ONE_SHEET and a remark."""
    from openpyxl import Workbook

    book = Workbook()
    for row in (["Serial no.", "Since", "Remark"], *rows):
        book.active.append(row)
    book.save(folder / "one.xlsx")
    (folder / "m.toml").write_text(mapping, encoding="utf-8")
    return twins("import-sheet", "one.xlsx", "--mapping", "m.toml", "--dry-run")


def test_all_cells_without_a_value_are_refused_by_sheet_row_and_heading(
    twins: Fleetlog, tmp_path: Path
) -> None:
    done = _taken(
        twins, tmp_path, ["NM-1", "#DIV/0!"], ['=CONCATENATE("B-0","24")', None], ["NM-3", "Err:502"]
    )
    assert done.status == 1
    told = [line for line in done.err.splitlines() if "the first sheet" in line]
    assert [line.partition("; expected a value: correct the formula")[0].strip() for line in told] == [
        'the first sheet, row 2, column Since: found "#DIV/0!"',
        'the first sheet, row 3, column Serial no.: found "a formula without a result"',
        'the first sheet, row 4, column Since: found "Err:502"',
    ]
    assert _taken(twins, tmp_path, ["NM-1", None, "=1/0"], ["NM-2", None, "#REF!"]).status == 0


def test_of_many_cells_without_a_value_the_first_fifty_are_told(twins: Fleetlog, tmp_path: Path) -> None:
    done = _taken(twins, tmp_path, *([f"NM-{n}", "#REF!"] for n in range(70)))
    assert done.err.count("the first sheet, row ") == 50
    assert "20 more" in done.err


def test_a_text_that_only_looks_like_a_cell_without_a_value_is_a_text(
    twins: Fleetlog, tmp_path: Path
) -> None:
    done = _taken(twins, tmp_path, ["NM #REF!", None])
    assert "  serial NM #REF!," in done.out


def test_remarks_name_the_sheet_and_the_row(twins: Fleetlog, tmp_path: Path) -> None:
    (tmp_path / "m.toml").write_text(MAPPING, encoding="utf-8")
    done = twins("--today", "2025-07-01", "import-sheet", _xlsx(tmp_path), "--mapping", "m.toml", "--dry-run")
    assert 'note: sheet "Hours", row 3: dated after today, 2025-07-01: not seen before' in done.err
    assert ".csv" not in done.err


def test_a_preview_where_there_is_no_log_leaves_none(fleetlog: Fleetlog, tmp_path: Path) -> None:
    (tmp_path / "m.toml").write_text(MAPPING, encoding="utf-8")
    words = ("--log", "new.db", "import-sheet", _xlsx(tmp_path), "--mapping", "m.toml")
    before = sorted(tmp_path.iterdir())
    preview = fleetlog(*words, "--dry-run")
    assert (preview.status, "new: 2 engines, 2 readings" in preview.out) == (0, True)
    assert sorted(tmp_path.iterdir()) == before
    (tmp_path / "m.toml").write_text(MAPPING.replace('"Serial no."', '"Serial"'), encoding="utf-8")
    assert fleetlog(*words).status == 1
    assert sorted(tmp_path.iterdir()) == before
    (tmp_path / "m.toml").write_text(MAPPING.replace('"gone" = "sold"', '"gone" = "vanished"'), "utf-8")
    assert fleetlog(*words).status == 1
    assert sorted(tmp_path.iterdir()) == before


def test_a_formula_of_an_ods_file_without_a_result_is_refused_too(twins: Fleetlog, tmp_path: Path) -> None:
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    book, table = OpenDocumentSpreadsheet(), Table(name="Motors")
    for texts in (["Serial no.", "Since"], ["NM-1", None]):
        row = TableRow()
        for text in texts:
            cell = TableCell(valuetype="string") if text else TableCell(formula="of:=TODAY()")
            if text:
                cell.addElement(P(text=text))
            row.addElement(cell)
        table.addElement(row)
    book.spreadsheet.addElement(table)
    book.save(str(tmp_path / "one.ods"))
    (tmp_path / "m.toml").write_text(ONE_SHEET, encoding="utf-8")
    done = twins("import-sheet", "one.ods", "--mapping", "m.toml")
    assert 'the first sheet, row 2, column Since: found "a formula without a result"' in done.err


def test_a_formula_with_a_result_is_read_though_that_is_an_empty_text(
    twins: Fleetlog, tmp_path: Path
) -> None:
    _taken(twins, tmp_path, ["NM-1", "=X"], ["=Y", None])
    with zipfile.ZipFile(tmp_path / "one.xlsx") as packed:
        parts = {name: packed.read(name) for name in packed.namelist()}
    sheet = parts["xl/worksheets/sheet1.xml"].decode()
    sheet = sheet.replace('<c r="B2"><f>X</f><v />', '<c r="B2" t="str"><f>X</f><v></v>')
    sheet = sheet.replace('<c r="A3"><f>Y</f><v />', '<c r="A3" t="str"><f>Y</f><v>NM-2</v>')
    assert 't="str"' in sheet
    with zipfile.ZipFile(tmp_path / "one.xlsx", "w") as packed:
        for name, data in parts.items():
            packed.writestr(name, sheet if name == "xl/worksheets/sheet1.xml" else data)
    done = twins("import-sheet", "one.xlsx", "--mapping", "m.toml", "--dry-run")
    assert "new: 2 engines" in done.out, done.err
    assert "  serial NM-2," in done.out


def test_the_preview_shows_a_serial_that_is_a_number_as_it_would_be_recorded(
    twins: Fleetlog, tmp_path: Path
) -> None:
    done = _taken(twins, tmp_path, *([20999.0 + n, None] for n in range(5)))
    assert "engines, as they would be recorded:\n  serial 20999," in done.out
    assert done.out.count("  serial ") == 3
    assert "20999" not in twins("engine", "list").out


def _numbers_with_zeros_in_front(path: Path) -> Iterator[str]:
    """Files of either kind in which 123 and 0 are shown as 00123 and 00000."""
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P
    from openpyxl import Workbook

    book, table = OpenDocumentSpreadsheet(), Table(name="Motors")
    xlsx = Workbook()
    for text in ("Serial no.", "00123", "00000"):
        row = TableRow()
        is_number = text.isdecimal()
        of_number = {"valuetype": "float", "value": text} if is_number else {"valuetype": "string"}
        cell = TableCell(**of_number)
        cell.addElement(P(text=text))
        row.addElement(cell)
        table.addElement(row)
        xlsx.active.append([int(text) if is_number else text])
        xlsx.active.cell(xlsx.active.max_row, 1).number_format = "00000"
    book.spreadsheet.addElement(table)
    book.save(str(path / "zeros.ods"))
    xlsx.save(path / "zeros.xlsx")
    yield from ("zeros.ods", "zeros.xlsx")


def test_a_serial_that_is_a_number_keeps_the_zeros_it_is_shown_with(twins: Fleetlog, tmp_path: Path) -> None:
    (tmp_path / "m.toml").write_text(ONE_SHEET.replace(', in_service_on = "Since"', ""), encoding="utf-8")
    for file in _numbers_with_zeros_in_front(tmp_path):
        done = twins("import-sheet", file, "--mapping", "m.toml", "--dry-run")
        assert "  serial 00123," in done.out, done.err
        assert "  serial 00000," in done.out


WIDE = """
[[sheet]]
file = "owners"
columns = { owner_id = "Owner" }
as_above = ["owner_id"]

[[sheet]]
file = "boats"
columns = { boat_id = "Boat", owner_id = "Owner" }
fixed = { water = "salt", use = "private" }
as_above = ["boat_id", "owner_id"]

[[sheet]]
file = "engines"
columns = { serial = "Motor", boat_id = "Boat", position = "Side" }
as_above = ["boat_id"]
words = { position = { P = "port", S = "starboard" } }

[[sheet]]
file = "entries"
columns = { serial = "Motor", on = "Belt", meter = "At" }
fixed = { action = "fitted", item = "timing belt" }
needs = ["on"]
words = { on = { never = "" } }

[[sheet]]
file = "entries"
columns = { serial = "Motor", on = "Impeller" }
fixed = { action = "fitted", item = "water pump impeller", part_number = "IMP-4" }
needs = ["on"]
"""
WIDE_ROWS: list[list[Any]] = [
    ["Boat", "Owner", "Motor", "Side", "Belt", "At", "Impeller"],
    ["Wet Paint", "Ada Quill", "WP-1", "P", datetime(2024, 4, 2), 120, None],
    [None, None, "WP-2", "S", "never", None, datetime(2025, 4, 2)],
    ["Old Rope", "Ada Quill", "OR-1", None, "April", None, datetime(2025, 5, 2)],
]


def _wide(folder: Path, rows: list[list[Any]], mapping: str = WIDE) -> tuple[str, ...]:
    from openpyxl import Workbook

    book = Workbook()
    for row in rows:
        book.active.append(row)
    book.save(folder / "wide.xlsx")
    (folder / "m.toml").write_text(mapping, encoding="utf-8")
    return "import-sheet", "wide.xlsx", "--mapping", "m.toml"


def test_a_sheet_with_all_of_an_engine_in_a_row_becomes_several_files(
    twins: Fleetlog, tmp_path: Path
) -> None:
    rows = [*WIDE_ROWS[:3], [*WIDE_ROWS[3][:4], datetime(2023, 4, 1), None, datetime(2025, 5, 2)]]
    done = twins(*_wide(tmp_path, rows))
    counts = "1 row of owners, 2 rows of boats, 3 rows of engines, 4 rows of entries"
    assert f"read: {counts}\n" in done.out, done.err
    assert "left out: the first sheet: 1 row without 'Belt': none of entries\n" in done.out
    assert "left out: the first sheet: 1 row without 'Impeller': none of entries\n" in done.out
    assert "Wet Paint" in twins("engine", "show", "WP-2").out
    written = json.loads(twins("history", "OR-1", "--format", "json").out)["entries"]
    assert [(e["item"], e["part_number"], e["on"]) for e in written] == [
        ("water pump impeller", "IMP-4", "2025-05-02"),
        ("timing belt", None, "2023-04-01"),
    ]
    written = json.loads(twins("history", "WP-1", "--format", "json").out)["entries"]
    assert [(e["item"], e["engine_hours"]) for e in written] == [("timing belt", 120.0)]


def test_what_is_wrong_in_one_of_the_sheets_of_a_file_is_told_by_its_own_heading(
    twins: Fleetlog, tmp_path: Path
) -> None:
    rows = [*WIDE_ROWS, ["Old Rope", "Bo Tarn", "OR-1", None, None, None, "May"]]
    done = twins(*_wide(tmp_path, rows))
    told = [line for line in done.err.splitlines() if line.startswith("the first sheet")]
    assert [line.partition("; expected")[0] for line in told] == [
        'the first sheet, row 5, column Boat: found "Old Rope"',
        'the first sheet, row 5, column Motor: found "OR-1"',
        'the first sheet, row 4, column Belt: found "April"',
        'the first sheet, row 5, column Impeller: found "May"',
    ]
    assert "row 4 says it first" in told[0]


def test_of_an_owner_named_twice_in_two_ways_it_is_said_what_differs(twins: Fleetlog, tmp_path: Path) -> None:
    mapping = WIDE.replace('{ owner_id = "Owner" }', '{ owner_id = "Owner", phone = "Side" }')
    done = twins(
        *_wide(tmp_path, [*WIDE_ROWS[:2], ["Old Rope", "Ada Quill", "OR-1", "S", None, None, None]], mapping)
    )
    told = 'row 3, column Owner: found "Ada Quill"; expected each owner_id once; row 2 says it first'
    assert f"{told}, with another Side\n" in done.err


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ('needs = "on"', "needs is a list of our columns, such as ['on']"),
        ('needs = ["meter"]', "needs names 'meter', which is not among its columns"),
        ('as_above = ["seral"]', "as_above names 'seral', which is not among its columns (nearest: serial)"),
        ('day_form = "%d.%m."', "day_form '%d.%m.' does not tell a day"),
        ('day_form = "DD.MM.YYYY"', "day_form 'DD.MM.YYYY' does not tell a day"),
        ('day_form = "%Q"', "day_form '%Q' does not tell a day"),
        ("day_form = 7", "day_form 7 does not tell a day"),
    ],
)
def test_what_a_row_needs_and_takes_from_above_are_columns_of_the_mapping(
    twins: Fleetlog, tmp_path: Path, wrong: str, why: str
) -> None:
    sheet = '[[sheet]]\nfile = "readings"\ncolumns = { serial = "Motor", on = "Belt" }\n'
    done = twins(*_wide(tmp_path, WIDE_ROWS, sheet + wrong))
    assert (done.status, done.err.count("\n")) == (1, 1)
    assert why in done.err


def test_of_two_columns_of_one_heading_none_is_chosen(twins: Fleetlog, tmp_path: Path) -> None:
    (tmp_path / "m.toml").write_text(MAPPING, encoding="utf-8")
    file = _xlsx(tmp_path)
    from openpyxl import load_workbook

    book = load_workbook(tmp_path / file)
    book["Hours"]["E1"] = " hours "
    book.save(tmp_path / file)
    done = twins("import-sheet", file, "--mapping", "m.toml", "--dry-run")
    assert done.status == 1
    assert "two headings 'Hours' in row 1: rename one" in done.err


def test_what_is_wrong_is_told_by_sheet_row_and_heading(twins: Fleetlog, tmp_path: Path) -> None:
    done = _taken(twins, tmp_path, ["NM-1\nb", 45000], [None, None], ["NM-2", None], ["NM-2", None])
    assert 'the first sheet, row 2, column Since: found "45000"' in done.err
    assert "a date shown as a number: format the column as a date" in done.err
    assert "the first sheet, row 5, column Serial no.:" in done.err
    assert "; row 4 says it first" in done.err


@pytest.mark.parametrize(
    ("was", "becomes", "said"),
    [
        (MAPPING, "", "no [[sheet]]"),
        (MAPPING, "[", "not TOML"),
        ('"engines"', '"engine"', "nearest: engines"),
        ('"Motors"', '"Motor"', "no sheet 'Motor'"),
        ('"engines"', '"motors"', "file 'motors' is none of owners, boats, engines, "),
        ('"Serial no."', '"Serial"', "no heading 'Serial'"),
        (
            '"New?"',
            '"Fresh"',
            "no heading 'Fresh' (for logged_from_new) in row 2, which has State, Serial",
        ),
        ("serial = ", "seriall = ", "no column 'seriall'"),
        ("header_row = 2", "header_row = 99", "no row 99"),
        ("header_row = 2", "header_rows = 2", "'header_rows' is not known"),
    ],
)
def test_a_mapping_that_does_not_fit_is_refused_in_one_line(
    twins: Fleetlog, tmp_path: Path, was: str, becomes: str, said: str
) -> None:
    (tmp_path / "m.toml").write_text(MAPPING.replace(was, becomes), encoding="utf-8")
    done = twins("import-sheet", _xlsx(tmp_path), "--mapping", "m.toml")
    assert done.status == 1
    assert said in done.err
    assert done.err.count("\n") == 1


def test_a_mapping_in_another_encoding_is_said_to_be(twins: Fleetlog, tmp_path: Path) -> None:
    (tmp_path / "m.toml").write_bytes(MAPPING.replace("Motors", "Motören").encode("latin-1"))
    done = twins("import-sheet", _xlsx(tmp_path), "--mapping", "m.toml")
    assert "m.toml: line 4 has a byte that is not UTF-8, as TOML has to be" in done.err


def test_what_is_no_spreadsheet_or_too_large_is_refused_in_one_line(twins: Fleetlog, tmp_path: Path) -> None:
    (tmp_path / "m.toml").write_text(MAPPING, encoding="utf-8")
    (tmp_path / "letter.xlsx").write_text("Dear Sir")
    with zipfile.ZipFile(tmp_path / "odd.ods", "w") as packed:
        packed.writestr("content.xml", "<a")
    with zipfile.ZipFile(tmp_path / "bomb.xlsx", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", bytes(401_000_000))
    for name in ("letter.xlsx", "odd.ods", "bomb.xlsx", "none.xlsx"):
        done = twins("import-sheet", name, "--mapping", "m.toml")
        assert done.status == 1
        assert done.err.count("\n") == 1, done.err
    letter = twins("import-sheet", "letter.xlsx", "--mapping", "m.toml")
    assert "it is neither xlsx nor ods: save it as one of these" in letter.err


@pytest.mark.parametrize(
    ("made", "loader"), [(_xlsx, "openpyxl.load_workbook"), (_ods, "odf.opendocument.load")]
)
def test_a_file_is_opened_once_for_all_of_its_sheets(
    twins: Fleetlog, tmp_path: Path, made: Any, loader: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    module, _, name = loader.rpartition(".")
    load, opened = getattr(import_module(module), name), []

    def counted(*given: Any, **named: Any) -> Any:
        opened.append(given)
        return load(*given, **named)

    file = made(tmp_path)
    monkeypatch.setattr(loader, counted)
    (tmp_path / "m.toml").write_text(MAPPING, encoding="utf-8")
    assert twins("import-sheet", file, "--mapping", "m.toml", "--dry-run").status == 0
    assert len(opened) == 1

"""Spreadsheets come in by a mapping, through the rules of the CSV folder, and can be looked at before."""

from __future__ import annotations

import zipfile
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Fleetlog

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
            sheet.append([datetime(v.year, v.month, v.day) if isinstance(v, date) else v for v in row])
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
    preview = twins(*words, "--preview")
    assert preview.status == 0, preview.err
    assert "read: 2 rows of engines, 2 rows of readings" in preview.out
    assert "new: 2 engines, 2 readings" in preview.out
    assert "nothing was written" in preview.out
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


def test_what_is_wrong_with_the_rows_is_said_and_nothing_is_taken_in(twins: Fleetlog, tmp_path: Path) -> None:
    mapping = MAPPING.replace('"gone" = "sold"', '"gone" = "vanished"')
    (tmp_path / "m.toml").write_text(mapping, encoding="utf-8")
    done = twins("import-sheet", _xlsx(tmp_path), "--mapping", "m.toml")
    assert done.status == 1
    assert "vanished" in done.err
    assert "NM-1" not in twins("engine", "list").out


@pytest.mark.parametrize(
    ("was", "becomes", "said"),
    [
        (MAPPING, "", "no [[sheet]]"),
        (MAPPING, "[", "not TOML"),
        ('"engines"', '"engine"', "nearest: engines"),
        ('"Motors"', '"Motor"', "no sheet 'Motor'"),
        ('"Serial no."', '"Serial"', "no heading 'Serial'"),
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

"""However a folder is torn or scribbled in, reading it tells problems or rows, and never breaks."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from fleetlog.domain.batch import Batch
from fleetlog.exchange.csv.columns import CsvFile
from fleetlog.exchange.csv.files import CSV_FILES
from fleetlog.exchange.csv.folder import read_folder
from fleetlog.exchange.csv.writing import write_folder
from tests.exchange.batches import batches
from tests.exchange.folders import folder_of

NASTY = st.sampled_from(
    [
        "",
        " ",
        "'",
        '"',
        '""',
        '"a',
        "a\rb",
        "\0",
        "\ufeff",
        "9999-12-31",
        "0000-00-00",
        "2026-03-04T99:99:99Z",
        "1900-01-01T00:00:00+14:00",
        "2199-12-31T23:59:59-14:00",
        "-0",
        "1e999",
        "nan",
        "٣",
        "9" * 40,
        "1,5",
        "1;5",
        "yes",
        "used",
        "fitted",
        "rebuilt",
        "boats",
        "model_year",
        "2026-03-04",
        "412.5",
    ]
)


@given(st.data(), st.sampled_from(CSV_FILES))
@settings(max_examples=120, deadline=None)
def test_any_cells_in_any_column_give_rows_or_problems(data: st.DataObject, file: CsvFile) -> None:
    names = [c.name for c in file.columns]
    header = data.draw(st.permutations(names) | st.lists(st.sampled_from(names) | NASTY, max_size=9))
    rows = data.draw(st.lists(st.lists(NASTY, min_size=len(header), max_size=len(header)), max_size=3))
    text = "\n".join(",".join(row) for row in [header, *rows])
    with TemporaryDirectory() as name:
        contents = read_folder(folder_of(Path(name), **{file.kind: text}))
    told = {p.line for p in contents.problems}
    empty = not any(cell.strip(' "') for row in rows for cell in row)  # "" is a quoted nothing
    assert contents.files[file.kind].rows or told or empty
    assert all("\n" not in str(p) and len(str(p)) < 1000 for p in contents.problems)


@given(batches(), st.data())
@settings(max_examples=30, deadline=None)
def test_a_folder_that_was_cut_off_or_scribbled_in_gives_rows_or_problems(
    batch: Batch, data: st.DataObject
) -> None:
    with TemporaryDirectory() as name:
        folder = Path(name) / "out"
        write_folder(batch, folder)
        files = {p.relative_to(folder).as_posix() for p in folder.rglob("*.*")}
        for name_in_folder in sorted(files):
            path = folder / name_in_folder
            text = path.read_bytes()
            place = data.draw(st.integers(0, len(text)))
            scribble = data.draw(st.binary(max_size=3))
            path.write_bytes(text[:place] + scribble + data.draw(st.sampled_from([text[place:], b""])))
        torn = read_folder(folder)
    assert {p.file for p in torn.problems} <= files
    assert torn.problems or torn.batch.counts().keys() <= batch.counts().keys()

"""A mistyped serial number is put right, and what still says the wrong one finds the engine."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Fleetlog
from tests.files import table_rows

WHY = ("--reason", "read off the plate")


def test_the_wrong_number_still_finds_the_engine_and_says_what_it_is_now(
    fleetlog: Fleetlog, twins: Path
) -> None:
    before = json.loads(fleetlog("due", "--engine", "TT-0021", "--format", "json").out)
    said = fleetlog("engine", "correct", "0021", "TT-0012", *WHY)
    assert (said.status, said.out) == (0, "Corrected engine TT-0012: the number was TT-0021.\n")
    found = fleetlog("history", "tt-0021")
    assert found.status == 0
    assert found.out.startswith("TT-0012, V6 belt-cam\non Plain Twins, starboard\n")
    assert found.out.count("TT-0021") == 1  # in what was changed
    assert "the serial number TT-0021 was corrected; the engine is TT-0012 now" in found.err
    assert fleetlog("history", "TT-0012").err == ""
    assert fleetlog("history", "0021").out == found.out
    after = json.loads(fleetlog("due", "--engine", "TT-0021", "--format", "json").out)
    assert after == [{**line, "serial": "TT-0012"} for line in before]
    hours = fleetlog("hours", "TT-0021", "351")
    assert hours.status == 0, hours.err
    assert "TT-0012" in hours.out
    assert fleetlog("check").status == 0


@pytest.mark.parametrize(
    ("words", "refusal"),
    [
        (("engine", "correct", "TT-0021", "tt-0017", *WHY), "engine 'tt-0017' is in the log already"),
        (("engine", "correct", "TT-0021", "TT-0021", *WHY), "nothing to change was given"),
        (("engine", "correct", "TT-0021", "TT-0012", "--reason", " "), "needs a reason: say --reason"),
        (("engine", "correct", "TT-0017", "TT-0125-X", *WHY), "'TT-0125-X' was the number of engine TT-0125"),
        (("engine", "add", "tt-0125-x"), "'tt-0125-x' was the number of engine TT-0125 until it was"),
    ],
)
def test_a_number_of_another_engine_is_refused(
    fleetlog: Fleetlog, twins: Path, words: tuple[str, ...], refusal: str
) -> None:
    for number in ("TT-0125-X", "TT-0125"):
        assert fleetlog("engine", "correct", "TT-0125", number, *WHY).status == 0
    said = fleetlog(*words)
    assert said.status == 1
    assert refusal in said.err
    assert len(said.err.splitlines()) == 1


def test_a_folder_that_says_the_wrong_number_makes_no_second_engine(
    fleetlog: Fleetlog, twins: Path, tmp_path: Path
) -> None:
    assert fleetlog("export", "old").status == 0
    assert fleetlog("engine", "correct", "TT-0021", "TT-0012", *WHY).status == 0
    again = fleetlog("import", "old")
    assert again.status == 0, again.err
    assert "Nothing new" in again.out
    assert "engine TT-0012 of the log is meant: the number TT-0021 was corrected" in again.err
    with (tmp_path / "old/readings.csv").open("a", encoding="utf-8") as file:
        file.write("r-new,TT-0021,2025-11-01,345.0,,,\n")
    assert fleetlog("import", "old").status == 0
    serials = [row["serial"] for row in json.loads(fleetlog("engine", "list", "--format", "json").out)]
    assert serials == ["TT-0012", "TT-0017", "TT-0125"]
    assert json.loads(fleetlog("engine", "show", "TT-0012", "--format", "json").out)["engine_hours"] == 345.0
    assert fleetlog("check").status == 0


@pytest.mark.parametrize("number", ["TT-0021", "TT-0012"])
def test_a_file_without_ids_is_the_same_whichever_number_it_says(
    fleetlog: Fleetlog, tmp_path: Path, number: str
) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    texts = {
        "engines.csv": "serial,family\nTT-0021,V6 belt-cam\n",
        "entries.csv": "serial,on,action,item\nTT-0021,2025-05-02,fitted,timing belt\n",
    }
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    assert fleetlog("import", "in").status == 0
    assert fleetlog("engine", "correct", "TT-0021", "TT-0012", *WHY).status == 0
    for name, text in texts.items():
        (folder / name).write_text(text.replace("TT-0021", number), encoding="utf-8")
    again = fleetlog("import", "in")
    assert (again.status, "Nothing new" in again.out) == (0, True), again.out + again.err


def test_a_folder_takes_a_correction_to_another_log_and_back_again(
    fleetlog: Fleetlog, twins: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert fleetlog("export", "old").status == 0
    assert fleetlog("engine", "correct", "TT-0021", "TT-0012", *WHY).status == 0
    assert fleetlog("export", "new").status == 0
    [correction] = [row for row in table_rows(tmp_path / "new/changes.csv") if row["field"] == "serial"]
    assert (correction["key"], correction["was"]) == ("TT-0012", "TT-0021")
    for name, first in (("knows", "old"), ("empty", "new")):
        monkeypatch.setenv("FLEETLOG_LOG", str(tmp_path / f"{name}.db"))
        assert fleetlog("import", first).status == 0
        taken = fleetlog("import", "new")
        assert taken.status == 0, taken.err
        assert fleetlog("history", "TT-0021").out.startswith("TT-0012")
        assert fleetlog("check").status == 0
        assert "Nothing new" in fleetlog("import", "old").out
        assert fleetlog("export", f"{name}-out").status == 0
        for path in (tmp_path / "new").glob("*.csv"):
            assert path.read_text("utf-8") == (tmp_path / f"{name}-out" / path.name).read_text("utf-8")


def test_the_pages_show_the_right_number_and_name_the_wrong_one_once(
    fleetlog: Fleetlog, twins: Path, tmp_path: Path
) -> None:
    assert fleetlog("engine", "correct", "TT-0021", "TT-0012", *WHY).status == 0
    assert fleetlog("report", "--out", "pages").status == 0
    assert not (tmp_path / "pages/engines/TT-0021.html").exists()
    page = (tmp_path / "pages/engines/TT-0012.html").read_text("utf-8")
    assert page.count("TT-0021") == 1
    assert "first written “TT-0021”; corrected by Tess" in page
    [owner] = [p for p in (tmp_path / "pages/owners").iterdir() if "TT-0012" in p.read_text("utf-8")]
    assert owner.read_text("utf-8").count("TT-0021") == 1


def test_a_copy_and_an_extract_hold_what_was_corrected(
    fleetlog: Fleetlog, twins: Path, place: str, tmp_path: Path
) -> None:
    assert fleetlog("extract", "TT-0021", "--out", "before.html").status == 0
    assert fleetlog("engine", "correct", "TT-0021", "TT-0012", *WHY).status == 0
    verified = fleetlog("extract", "--verify", "before.html")
    assert verified.status == 0, verified.err
    assert "the history of engine TT-0012" in verified.out
    copied = fleetlog("copy-log", place, str(tmp_path / "copy.db"))
    assert copied.status == 0, copied.err
    assert fleetlog("--log", str(tmp_path / "copy.db"), "check").status == 0
    assert fleetlog("--log", str(tmp_path / "copy.db"), "history", "TT-0021").out.startswith("TT-0012")

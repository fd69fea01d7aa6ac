"""Plans change: a lay-up gets another end, another first day, or is withdrawn; what was recorded stays."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from tests.cli.conftest import Fleetlog

LAY_UP = ("boat", "lay-up", "Other Boat", "--from", "2026-10-15")
NOT_LAID_UP = ("boat", "not-laid-up", "Other Boat", "--from", "2026-10-15", "--reason", "stays afloat")
DUE = ("due", "--all", "--boat", "Other Boat", "--format", "json")


def ok(fleetlog: Fleetlog, *words: str) -> str:
    said = fleetlog(*words)
    assert said.status == 0, said.err
    return said.out


def shown(fleetlog: Fleetlog) -> Any:
    return json.loads(ok(fleetlog, "boat", "show", "Other Boat", "--format", "json"))


def layups(fleetlog: Fleetlog) -> list[tuple[str, str | None]]:
    return [(lay["from_on"], lay["to_on"]) for lay in shown(fleetlog)["layups"]]


def rows_of(folder: Path, file: str) -> list[str]:
    return (folder / file).read_text(encoding="utf-8").splitlines()[1:]


def test_a_lay_up_that_is_said_again_has_another_end_and_can_be_open_again(twins: Fleetlog) -> None:
    ok(twins, *LAY_UP, "--to", "2027-04-15")
    assert ok(twins, *LAY_UP, "--to", "2027-04-01") == (
        "Laid up from 2026-10-15 until 2027-04-01, not 2027-04-15.\n"
    )
    assert layups(twins) == [("2026-10-15", "2027-04-01")]
    assert twins(*LAY_UP, "--to", "2027-04-01").status == 1
    ok(twins, *LAY_UP)
    assert layups(twins) == [("2026-10-15", None)]
    ok(twins, "--today", "2027-03-20", "boat", "launch", "Other Boat")
    assert layups(twins) == [("2026-10-15", "2027-03-20")]
    assert ok(twins, "check").startswith("3 engines")


def test_an_end_that_was_not_said_is_filled_in_and_needs_no_later_word(
    twins: Fleetlog, tmp_path: Path
) -> None:
    ok(twins, *LAY_UP)
    ok(twins, *LAY_UP, "--to", "2027-04-01")
    ok(twins, "export", str(tmp_path / "out"))
    assert rows_of(tmp_path / "out", "layups.csv") == ["B-T2,2026-10-15,2027-04-01"]
    assert rows_of(tmp_path / "out", "layup_changes.csv") == []


def test_a_boat_is_launched_before_the_day_that_was_planned(twins: Fleetlog) -> None:
    ok(twins, *LAY_UP, "--to", "2027-04-15")
    early = ok(twins, "boat", "launch", "Other Boat", "--on", "2027-04-01")
    assert early == "The lay-up from 2026-10-15 ended on 2027-04-01, not 2027-04-15.\n"
    late = twins("boat", "launch", "Other Boat", "--on", "2027-04-20")
    assert late.status == 1
    assert (
        "that from 2026-10-15 ended on 2027-04-01; if it lasted until now: fleetlog boat lay-up" in late.err
    )
    ok(twins, *LAY_UP, "--to", "2027-04-20")
    assert layups(twins) == [("2026-10-15", "2027-04-20")]


def test_a_lay_up_is_withdrawn_stays_in_the_record_and_may_be_said_anew(twins: Fleetlog) -> None:
    before = ok(twins, *DUE)
    ok(twins, *LAY_UP, "--to", "2027-04-15")
    planned = ok(twins, *DUE)
    assert planned != before
    assert ok(twins, *NOT_LAID_UP) == (
        "Withdrawn: Other Boat is not laid up from 2026-10-15 to 2027-04-15.\n"
    )
    assert ok(twins, *DUE) == before
    assert layups(twins) == []
    [word] = shown(twins)["not_laid_up"]
    assert word == {
        "from_on": "2026-10-15", "to_on": "2027-04-15", "reason": "stays afloat", "by": "Tess"
    }  # fmt: skip
    page = ok(twins, "boat", "show", "Other Boat")
    assert "not laid up from 2026-10-15: stays afloat (by Tess)\n" in page
    again = twins(*NOT_LAID_UP)
    assert (again.status, again.out) == (1, "")
    assert "no lay-up from 2026-10-15 on that stands: it has none" in again.err
    ok(twins, *LAY_UP, "--to", "2027-04-15")
    assert ok(twins, *DUE) == planned
    assert shown(twins)["not_laid_up"] == []
    assert ok(twins, "check").startswith("3 engines")


def test_a_lay_up_that_begins_on_another_day_is_one_of_its_own_and_the_one_before_is_named(
    twins: Fleetlog,
) -> None:
    ok(twins, *LAY_UP, "--to", "2027-04-15")
    moved = twins("boat", "lay-up", "Other Boat", "--from", "2026-11-01", "--to", "2027-04-15")
    twice = (
        "is laid up twice at once: 2026-10-15 to 2027-04-15, and 2026-11-01 to 2027-04-15; where one of them"
        " is not so: fleetlog boat not-laid-up"
    )
    assert moved.status == 0
    assert f"fleetlog: note: Other Boat {twice} 'Other Boat' --from 2026-10-15 --reason WHY\n" in moved.err
    assert f"B-T2 {twice}" in ok(twins, "check")
    ok(twins, *NOT_LAID_UP)
    assert layups(twins) == [("2026-11-01", "2027-04-15")]
    assert "laid up twice" not in ok(twins, "check")


def test_plans_that_changed_go_out_with_a_folder_and_come_in_with_it(twins: Fleetlog, tmp_path: Path) -> None:
    ok(twins, *LAY_UP, "--to", "2027-04-15")
    ok(twins, *LAY_UP, "--to", "2027-04-01")
    ok(twins, "boat", "lay-up", "Plain Twins", "--from", "2026-10-01", "--to", "2027-05-01")
    ok(twins, "boat", "not-laid-up", "Plain Twins", "--from", "2026-10-01", "--reason", "a winter in use")
    ok(twins, "export", str(tmp_path / "out"))
    assert "B-T2,2026-10-15,2027-04-15" in rows_of(tmp_path / "out", "layups.csv")
    assert [row.split(",")[1:5] for row in rows_of(tmp_path / "out", "layup_changes.csv")] == [
        ["B-T2", "2026-10-15", "ends", "2027-04-01"],
        ["B-T1", "2026-10-01", "withdrawn", ""],
    ]
    other = ("--log", str(tmp_path / "other.db"))
    ok(twins, *other, "import", str(tmp_path / "out"))
    due = ("due", "--all", "--format", "json")
    assert ok(twins, *other, *due) == ok(twins, *due)
    assert "Nothing new." in ok(twins, "import", str(tmp_path / "out"))


def test_a_folder_that_says_another_end_is_told_the_way_and_then_says_what_stands(
    twins: Fleetlog, tmp_path: Path
) -> None:
    folder, file = tmp_path / "in", tmp_path / "in" / "layups.csv"
    folder.mkdir()
    file.write_text("boat_id,from,to\nB-T2,2026-10-15,2027-04-15\n", encoding="utf-8")
    ok(twins, "import", str(folder))
    file.write_text("boat_id,from,to\nB-T2,2026-10-15,2027-04-01\n", encoding="utf-8")
    refused = twins("import", str(folder))
    assert refused.status == 1
    way = "boat lay-up B-T2 --from 2026-10-15 --to 2027-04-01"
    assert f"plans change by fleetlog {way}" in refused.err
    ok(twins, *way.split())
    assert "Nothing new." in ok(twins, "import", str(folder))
    file.write_text("boat_id,from,to\nB-T2,2026-10-15,2027-04-15\n", encoding="utf-8")
    assert "Nothing new." in ok(twins, "import", str(folder))
    assert layups(twins) == [("2026-10-15", "2027-04-01")]


def test_a_folder_fills_no_end_into_a_lay_up_of_which_something_was_said_since(
    twins: Fleetlog, tmp_path: Path
) -> None:
    folder, file = tmp_path / "in", tmp_path / "in" / "layups.csv"
    folder.mkdir()
    file.write_text("boat_id,from,to\nB-T2,2026-10-15,2027-04-15\n", encoding="utf-8")
    ok(twins, *LAY_UP)
    ok(twins, *NOT_LAID_UP)
    refused = twins("import", str(folder))
    assert (refused.status, layups(twins)) == (1, [])
    assert "plans change by fleetlog boat lay-up B-T2" in refused.err
    ok(twins, *LAY_UP, "--to", "2027-04-01")
    assert 'found "2027-04-15"; expected "2027-04-01"' in twins("import", str(folder)).err
    ok(twins, *LAY_UP, "--to", "2027-04-15")
    assert "Nothing new." in ok(twins, "import", str(folder))


def test_a_first_day_that_was_edited_in_a_folder_is_told_with_the_one_that_stays(
    twins: Fleetlog, tmp_path: Path
) -> None:
    folder, file = tmp_path / "in", tmp_path / "in" / "layups.csv"
    folder.mkdir()
    file.write_text("boat_id,from,to\nB-T2,2026-10-15,2027-04-15\n", encoding="utf-8")
    assert "twice" not in twins("import", str(folder)).err
    file.write_text("boat_id,from,to\nB-T2,2026-11-01,2027-04-15\n", encoding="utf-8")
    said = twins("import", str(folder))
    assert "layups.csv, line 2" in said.err
    assert "fleetlog boat not-laid-up B-T2 --from 2026-10-15 --reason WHY" in said.err


def test_words_of_a_folder_on_lay_ups_are_looked_at(twins: Fleetlog, tmp_path: Path) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    head = "boat_id,from,change,to,at,by,reason\n"
    at = "2026-04-01T10:00:00Z,Tess"
    for row, told in (
        (f"B-T2,2026-10-15,ends,2027-04-01,{at},\n", "the first day of a lay-up of B-T2"),
        (f"B-T2,2026-10-15,withdrawn,,{at},\n", "why the lay-up is withdrawn"),
        (f"B-T2,2026-10-15,withdrawn,2027-04-01,{at},no\n", "nothing, as the lay-up is withdrawn"),
        (f"B-T2,2026-10-15,ends,2026-04-01,{at},\n", "a date from 2026-10-15 on"),
    ):
        (folder / "layup_changes.csv").write_text(head + row, encoding="utf-8")
        said = twins("import", str(folder))
        assert said.status == 1
        assert told in said.err

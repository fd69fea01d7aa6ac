"""demo_fleet/ is what its maker writes, hangs together, and is of the size that was wanted."""

from __future__ import annotations

from collections import Counter
from datetime import date
from pathlib import Path

from tests.demo.engines import read_schedules
from tests.demo.make_demo_fleet import DEMO_FOLDER, write
from tests.demo.marina import START_ON, TODAY
from tests.files import files_in

Rows = list[dict[str, str]]


def test_the_folder_is_exactly_what_its_maker_writes(tmp_path: Path) -> None:
    write(tmp_path)
    made, kept = files_in(tmp_path), files_in(DEMO_FOLDER)
    assert sorted(made) == sorted(kept)
    assert [name for name in made if made[name] != kept[name]] == []


def test_every_schedule_says_that_its_figures_are_invented() -> None:
    schedules = read_schedules()
    assert sorted(schedules) == ["I4 belt-cam", "V6 belt-cam", "twin 20"]
    for schedule in schedules.values():
        assert schedule.note is not None
        assert "invented" in schedule.note
        assert "maker's manual rules" in schedule.note
        assert 12 <= len(schedule.rules) <= 20


def test_the_marina_has_the_size_that_was_wanted(fleet: dict[str, Rows]) -> None:
    assert 38 <= len(fleet["owners"]) <= 44
    assert len(fleet["boats"]) == 60
    assert 86 <= len(fleet["engines"]) <= 94
    assert 1_000 < len(fleet["readings"]) < 8_000
    assert 3_000 < len(fleet["entries"]) < 5_000
    engines_of = Counter(e["boat_id"] for e in fleet["engines"] if e["boat_id"])
    assert Counter(engines_of.values())[3] == 1
    assert set(Counter(engines_of.values())) == {1, 2, 3}


def test_nothing_is_dated_after_the_day_of_the_demo_but_plans_of_lay_ups(fleet: dict[str, Rows]) -> None:
    days = [
        *(row["on"] for row in fleet["entries"] + fleet["readings"]),
        *(row["opened_on"] for row in fleet["visits"]),
        *(row["closed_on"] for row in fleet["visits"] if row["closed_on"]),
        *(row["voided_at"][:10] for row in fleet["voids"]),
        *(row["at"][:10] for row in fleet["deferrals"]),
        *(row["in_service_on"] for row in fleet["engines"] if row["in_service_on"]),
    ]
    assert max(date.fromisoformat(day) for day in days) <= TODAY
    assert min(date.fromisoformat(row["on"]) for row in fleet["entries"]) >= START_ON
    assert any(date.fromisoformat(row["from"]) > TODAY for row in fleet["layups"])


def test_every_row_points_at_rows_that_are_there(fleet: dict[str, Rows]) -> None:
    ids = {
        "owner_id": {row["owner_id"] for row in fleet["owners"]},
        "boat_id": {row["boat_id"] for row in fleet["boats"]},
        "serial": {row["serial"] for row in fleet["engines"]},
        "visit_id": {row["visit_id"] for row in fleet["visits"]},
        "entry_id": {row["entry_id"] for row in fleet["entries"]},
    }
    for column, known in ids.items():
        for rows in fleet.values():
            assert {row[column] for row in rows if row.get(column)} <= known
    assert {row["replaced_by"] for row in fleet["voids"]} <= ids["entry_id"]
    assert {row["from_serial"] for row in fleet["entries"] if row["from_serial"]} <= ids["serial"]


def test_ids_are_given_once_each(fleet: dict[str, Rows]) -> None:
    for file, key in (
        ("owners", "owner_id"), ("boats", "boat_id"), ("engines", "serial"), ("visits", "visit_id"),
        ("entries", "entry_id"), ("readings", "reading_id"), ("deferrals", "deferral_id"),
    ):  # fmt: skip
        assert [k for k, n in Counter(row[key] for row in fleet[file]).items() if n > 1] == []


def test_items_and_positions_are_those_of_the_schedules(fleet: dict[str, Rows]) -> None:
    schedules = read_schedules()
    schedule_of = {e["serial"]: schedules[e["schedule"] or e["family"]] for e in fleet["engines"]}
    for entry in fleet["entries"]:
        known = schedule_of[entry["serial"]].positions_of(entry["item"])
        if known and entry["position"]:
            assert entry["position"] in known, entry


def test_an_engine_stands_still_while_its_boat_is_laid_up(fleet: dict[str, Rows]) -> None:
    """Figures between the first and the last day of one lay-up are all the same."""
    laid_up = [(r["boat_id"], r["from"], r["to"] or "9999") for r in fleet["layups"]]
    boat_of = {e["serial"]: e["boat_id"] for e in fleet["engines"]}
    moved = {m["serial"] for m in fleet["mounts"]} | {m["serial"] for m in fleet["meters"]}
    figures = [
        (row["serial"], row["on"], row["meter"])
        for row in fleet["entries"] + [r for r in fleet["readings"] if r["source"] == "hire desk"]
        if row["meter"] and row["serial"] not in moved
    ]
    seen = 0
    for boat, start, end in laid_up:
        shown: dict[str, set[str]] = {}
        for serial, on, meter in figures:
            if boat_of[serial] == boat and start <= on < end:
                shown.setdefault(serial, set()).add(meter)
        assert all(len(meters) == 1 for meters in shown.values()), (boat, start, shown)
        seen += len(shown)
    assert seen > 200

"""A sale or a move that was not so is taken back, stays in the record, and may be said anew for its day."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Fleetlog

WHY = ("--reason", "it was the other one")


def told(fleetlog: Fleetlog, *words: str) -> Any:
    return json.loads(fleetlog(*words, "--format", "json").out)


def ok(fleetlog: Fleetlog, *words: str) -> str:
    said = fleetlog(*words)
    assert said.status == 0, said.err
    return said.out


def due_of(fleetlog: Fleetlog, *words: str) -> list[tuple[str, str, str]]:
    return [(li["serial"], li["rule"], li["owner"]) for li in told(fleetlog, "due", "--all", *words)]


def whose(fleetlog: Fleetlog) -> str:
    return str(told(fleetlog, "boat", "show", "Plain Twins")["owner"])


def test_a_sale_that_was_not_so_is_taken_back_and_the_right_one_said_for_its_day(twins: Fleetlog) -> None:
    before = due_of(twins)
    ok(twins, "boat", "sell", "Plain Twins", "--to", "Reed", "--on", "2026-04-01")
    assert whose(twins) == "Arden Reed"
    out = ok(twins, "boat", "not-sold", "Plain Twins", "--on", "2026-04-01", *WHY)
    assert out == ("Taken back: Plain Twins was not sold on 2026-04-01; from then on it was Quill Marsh's.\n")
    assert whose(twins) == "Quill Marsh"
    assert due_of(twins) == before
    shown = ok(twins, "boat", "show", "Plain Twins")
    assert "not sold to Arden Reed on 2026-04-01: it was the other one (by Tess)\n" in shown
    again = twins("boat", "not-sold", "Plain Twins", "--on", "2026-04-01", *WHY)
    assert (again.status, again.out) == (1, "")
    ok(twins, "boat", "sell", "Plain Twins", "--to", "Reed", "--on", "2026-04-01")
    assert whose(twins) == "Arden Reed"
    assert twins("boat", "sell", "Plain Twins", "--to", "Marsh", "--on", "2026-04-01").status == 1
    ok(twins, "boat", "not-sold", "Plain Twins", "--on", "2026-04-01", *WHY)
    assert whose(twins) == "Quill Marsh"
    assert ok(twins, "check").startswith("3 engines")


def test_a_sale_before_another_is_taken_back_for_the_days_between(twins: Fleetlog) -> None:
    ok(twins, "owner", "add", "Third Hand", "--id", "O-T3")
    ok(twins, "boat", "sell", "Plain Twins", "--to", "O-T2", "--on", "2026-03-01")
    ok(twins, "boat", "sell", "Plain Twins", "--to", "O-T3", "--on", "2026-04-01")
    ok(twins, "boat", "not-sold", "Plain Twins", "--on", "2026-03-01", *WHY)
    assert whose(twins) == "Third Hand"
    past = told(twins, "--today", "2026-03-20", "boat", "show", "Plain Twins")
    assert past["owner"] == "Quill Marsh"


def test_a_move_that_was_not_so_leaves_the_engine_where_it_was(twins: Fleetlog) -> None:
    before = due_of(twins)
    ok(twins, "engine", "move", "TT-0125", "--to", "Plain Twins", "--position", "mid", "--on", "2026-04-01")
    out = ok(twins, "engine", "not-moved", "TT-0125", "--on", "2026-04-01", *WHY)
    assert out == "Taken back: TT-0125 was not moved on 2026-04-01; from then on it was on Other Boat.\n"
    assert told(twins, "engine", "show", "TT-0125")["boat"] == "Other Boat"
    assert due_of(twins) == before
    history = told(twins, "history", "TT-0125")
    [move] = history["moves_taken_back"]
    assert (move["boat"], move["reason"], move["by"]) == ("Plain Twins", "it was the other one", "Tess")
    assert "move to Plain Twins" in ok(twins, "history", "TT-0125")
    ok(twins, "engine", "move", "TT-0125", "--to", "Plain Twins", "--on", "2026-04-01")
    assert told(twins, "engine", "show", "TT-0125")["boat"] == "Plain Twins"
    ok(twins, "engine", "move", "TT-0125", "--to", "Other Boat", "--on", "2026-04-10")
    seen = told(twins, "--today", "2026-04-05", "boat", "show", "Plain Twins")["engines"]
    assert [engine["serial"] for engine in seen] == ["TT-0017", "TT-0021", "TT-0125"]
    ok(twins, "check")


def test_a_move_before_another_and_one_off_its_boat_are_taken_back(twins: Fleetlog) -> None:
    ok(twins, "engine", "move", "TT-0125", "--to", "Plain Twins", "--on", "2026-03-01")
    ok(twins, "engine", "move", "TT-0125", "--on", "2026-04-01")
    ok(twins, "engine", "not-moved", "TT-0125", "--on", "2026-03-01", *WHY)
    assert told(twins, "--today", "2026-03-20", "engine", "show", "TT-0125")["boat"] == "Other Boat"
    assert told(twins, "engine", "show", "TT-0125")["boat"] is None
    ok(twins, "engine", "not-moved", "TT-0125", "--on", "2026-04-01", *WHY)
    assert told(twins, "engine", "show", "TT-0125")["boat"] == "Other Boat"
    ok(twins, "engine", "move", "TT-0125", "--on", "2026-04-10")
    assert told(twins, "engine", "show", "TT-0125")["boat"] is None
    refused = twins("engine", "not-moved", "TT-0125", "--on", "2026-02-02", *WHY)
    assert refused.status == 1
    assert "TT-0125 was not moved on 2026-02-02 by the log: it was moved on 2021-05-22, 2026-" in refused.err
    ok(twins, "check")


def test_moves_and_sales_that_follow_each_other_are_taken_back_in_any_order(twins: Fleetlog) -> None:
    ok(twins, "boat", "add", "Third Boat", "--id", "B-T3")
    for on, boat, owner in (("2026-03-01", "Plain Twins", "O-T2"), ("2026-04-01", "Third Boat", "O-T1")):
        ok(twins, "engine", "move", "TT-0125", "--to", boat, "--on", on)
        ok(twins, "boat", "sell", "Plain Twins", "--to", owner, "--on", on)
    for on in ("2026-04-01", "2026-03-01"):
        ok(twins, "engine", "not-moved", "TT-0125", "--on", on, *WHY)
        ok(twins, "boat", "not-sold", "Plain Twins", "--on", on, *WHY)
    for today in ("2026-02-20", "2026-03-20", "2026-04-15"):
        assert told(twins, "--today", today, "engine", "show", "TT-0125")["boat"] == "Other Boat", today
        shown = told(twins, "--today", today, "boat", "show", "Plain Twins")
        assert (shown["owner"], shown["owner_id"]) == ("Quill Marsh", "O-T1"), today
    ok(twins, "check")


def test_where_the_first_stay_and_the_first_owner_are_taken_back_nothing_is_known(marina: Fleetlog) -> None:
    out = ok(marina, "engine", "not-moved", "21140", "--on", "2023-03-27", *WHY)
    assert out.endswith("from then on it was on no boat.\n")
    assert told(marina, "engine", "show", "21140")["boat"] is None
    assert marina("check").status == 0


def test_what_was_taken_back_goes_where_the_log_goes(
    twins: Fleetlog, place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ok(twins, "boat", "sell", "Plain Twins", "--to", "O-T2", "--on", "2026-04-01")
    ok(twins, "boat", "not-sold", "Plain Twins", "--on", "2026-04-01", *WHY)
    ok(twins, "engine", "move", "TT-0125", "--to", "Plain Twins", "--on", "2026-04-01")
    ok(twins, "engine", "not-moved", "TT-0125", "--on", "2026-04-01", *WHY)
    ok(twins, "engine", "correct", "TT-0125", "TT-0152", "--reason", "the plate")
    ok(twins, "report", "--out", "pages")
    page = (tmp_path / "pages/engines/TT-0152.html").read_text("utf-8")
    assert "The move to Plain Twins on" in page
    assert "was not so; taken back by Tess" in page
    assert "2021 until now" in " ".join(page.split())
    ok(twins, "export", "out")
    ok(twins, "copy-log", place, str(tmp_path / "copy.db"))
    lines = due_of(twins)
    for log in ("copy.db", "new.db"):
        monkeypatch.setenv("FLEETLOG_LOG", str(tmp_path / log))
        if log == "new.db":
            ok(twins, "import", "out")
        assert "Nothing new" in ok(twins, "import", "out")
        assert due_of(twins) == lines
        assert whose(twins) == "Quill Marsh"
        assert told(twins, "engine", "show", "TT-0152")["boat"] == "Other Boat"
        ok(twins, "check")


@pytest.mark.parametrize("words", [("boat", "not-sold", "Plain Twins"), ("engine", "not-moved", "TT-0125")])
def test_a_reason_is_needed(twins: Fleetlog, words: tuple[str, ...]) -> None:
    said = twins(*words, "--on", "2026-04-01", "--reason", " ")
    assert (said.status, "needs a reason" in said.err) == (1, True)


def test_what_was_recorded_today_is_taken_back_without_naming_the_day(twins: Fleetlog) -> None:
    ok(twins, "boat", "sell", "Plain Twins", "--to", "O-T2")
    assert "was not sold on 2026-04-15" in ok(twins, "boat", "not-sold", "Plain Twins", *WHY)
    ok(twins, "hours", "TT-0017", "346")
    assert ok(twins, "reading", "withdraw", "TT-0017", *WHY) == "TT-0017: 346.0 h on 2026-04-15 withdrawn.\n"
    later = twins("engine", "not-moved", "TT-0017", *WHY)
    assert (later.status, "2026-04-15" in later.err) == (1, True)

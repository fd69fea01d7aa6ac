"""A visit on the wrong engine is taken back as a whole, with one reason, or not at all."""

from __future__ import annotations

import json

from tests.cli.conftest import Fleetlog

WHY = ("--reason", "it was the other boat")


def fit(fleetlog: Fleetlog, serial: str, *words: str) -> str:
    said = fleetlog("fit", serial, "timing belt", *words)
    assert said.status == 0, said.err
    return said.out.split()[1].rstrip(":")


def test_all_entries_of_a_visit_are_taken_back_and_its_evidence_and_booking_stay(twins: Fleetlog) -> None:
    before = {s: twins("due", "--engine", s, "--format", "json").out for s in ("TT-0017", "TT-0021")}
    assert twins("visit", "open", "Plain Twins", "--id", "v1").status == 0
    ids = [fit(twins, serial, "--visit", "v1", "--hours", "346") for serial in ("TT-0017", "TT-0021")]
    alone = fit(twins, "TT-0021", "--on", "2026-03-02")
    assert twins("void", alone, "--reason", "of no visit").status == 0
    measured = twins(
        "measure",
        "TT-0017",
        "anode",
        "--quantity",
        "mass left",
        "--value",
        "61",
        "--unit",
        "%",
        "--visit",
        "v1",
    )
    assert measured.status == 0, measured.err
    shown = json.loads(twins("visit", "show", "v1", "--format", "json").out)
    assert [(w["serial"], w["action"], w["entry_id"]) for w in shown["work"]] == [
        ("TT-0017", "fitted", ids[0]),
        ("TT-0017", "evidence", None),
        ("TT-0021", "fitted", ids[1]),
    ]
    said = twins("visit", "void", "v1", *WHY)
    assert said.status == 0, said.err
    assert said.out.splitlines() == [
        f"Voided {ids[0]}: TT-0017, timing belt fitted on 2026-04-15.",
        f"Voided {ids[1]}: TT-0021, timing belt fitted on 2026-04-15.",
    ]
    assert "visit v1 keeps 1 row of evidence (fleetlog answer takes one back)" in said.err
    for serial, lines in before.items():
        assert twins("due", "--engine", serial, "--format", "json").out == lines
    history = json.loads(twins("history", "TT-0021", "--with-voided", "--format", "json").out)
    [voided] = [e for e in history["entries"] if e["entry_id"] == ids[1]]
    assert (voided["voided"]["by"], voided["voided"]["reason"]) == ("Tess", "it was the other boat")
    assert twins("check").status == 0
    again = twins("visit", "void", "v1", *WHY)
    assert (again.status, again.err) == (
        1,
        "fleetlog: visit v1 has no entry that stands; there is nothing to void\n",
    )


def test_a_visit_between_two_removals_is_taken_back_and_check_tells_of_them(twins: Fleetlog) -> None:
    assert twins("visit", "open", "Plain Twins", "--id", "v1").status == 0
    fit(twins, "TT-0017", "--visit", "v1")
    assert twins("remove", "TT-0021", "timing belt", "--on", "2026-03-01").status == 0
    fit(twins, "TT-0021", "--visit", "v1", "--on", "2026-03-10")
    assert twins("remove", "TT-0021", "timing belt", "--on", "2026-03-20").status == 0
    assert twins("visit", "void", "v1", *WHY).status == 0
    for serial in ("TT-0017", "TT-0021"):
        assert "1 entry taken back" in twins("history", serial).out
    told = twins("check")
    assert told.status == 0
    assert "took the timing belt off on 2026-03-01 and nothing was put on since" in told.out


def test_a_visit_that_is_not_there_and_no_reason_are_refused(twins: Fleetlog) -> None:
    assert "no visit 'v9'" in twins("visit", "void", "v9", *WHY).err
    assert twins("visit", "open", "Plain Twins", "--id", "v1").status == 0
    assert "needs a reason" in twins("visit", "void", "v1", "--reason", "").err

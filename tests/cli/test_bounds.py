"""A command takes what a folder takes and no more: what it records is listed, and comes back in."""

from __future__ import annotations

import json
import shlex

import pytest

from tests.cli.conftest import Fleetlog

BEYOND = [
    ("fit", "TT-0017", "timing belt", "--on", "1899-12-31"),
    ("fit", "TT-0017", "timing belt", "--used", "--prior-months", "1201"),
    ("fit", "TT-0017", "timing belt", "--again-months", "99999999"),
    ("fit", "TT-0017", "timing belt", "--again-hours", "0"),
    ("term", "add", "TT-0017", "--months", "300000"),
    ("term", "add", "TT-0017", "--for-hours", "0"),
    ("swap", "TT-0017", "powerhead", "--age", "timing belt=10h,1201m"),
    ("tool", "add", "Long wrench", "--unit", "N·m", "--low", "1", "--high", "9", "--cycles", "1000000"),
    ("torque", "TT-0017", "nut", "--applied", "9", "--unit", "N·m", "--fasteners", "1000000"),
    ("defer", "TT-0017", "timing-belt-replace", "--until", "2200-01-01", "--reason", "x"),
    ("boat", "lay-up", "Plain Twins", "--from", "0026-04-15"),
    ("hours", "TT-0017", "350", "--on", "0026-04-15"),
    ("owner", "add", " "),
    ("owner", "add", "Nobody", "--id", "two\nlines"),
    ("owner", "change", "O-T1", "--name", ""),
    ("boat", "add", ""),
    ("engine", "add", ""),
    ("engine", "add", "tab\tinside"),
    ("engine", "add", "X" * 201),
    ("visit", "open", "Plain Twins", "--id", "two\nlines"),
    ("part", "add", "two\nlines"),
    ("superseded", "add", "two\nlines", "A-2"),
    ("owner", "add", "two\nlines"),
    ("fit", "TT-0017", "timing belt", "--visit", "two\nlines"),
    ("fit", "TT-0017", "timing belt", "--done-by", "two\nlines"),
    ("fit", "TT-0017", "timing belt", "--checked-by", ""),
    ("torque", "TT-0017", "nut", "--applied", "9", "--unit", "N·m", "--visit", "two\nlines"),
    ("swap", "TT-0017", "powerhead", "--visit", "two\nlines"),
    ("advice", "add", "TT-0017", "new anodes", "--told-by", "two\nlines"),
    ("--today", "1899-12-31", "due"),
]
FURTHEST = [
    ("fit", "TT-0017", "timing belt", "--used", "--prior-months", "1200", "--prior-hours", "9999999.9"),
    ("fit", "TT-0017", "timing belt", "--again-months", "1200", "--again-hours", "9999999.9"),
    ("term", "add", "TT-0017", "--months", "1200", "--for-hours", "9999999.9"),
    ("tool", "add", "Long wrench", "--unit", "N·m", "--low", "1", "--high", "9", "--months", "1200"),
    ("defer", "TT-0017", "timing-belt-replace", "--until", "2199-12-31", "--reason", "x"),
    ("boat", "lay-up", "Plain Twins", "--from", "1900-01-01", "--to", "2199-12-31"),
    ("engine", "add", "X" * 200, "--in-service", "1900-01-01", "--family", "V6 belt-cam"),
    ("owner", "add", " Somebody ", "--id", " S-1 ", "--email", "'=1+1"),
]


def limits_of(twins: Fleetlog, *log: str) -> list[tuple[object, ...]]:
    """The limits of all lines; their dates rest on what each log has learnt."""
    lines = json.loads(twins(*log, "due", "--all", "--format", "json").out)
    return sorted(
        (line["serial"], line["rule"], line["position"] or "", line["due_on"] or "", line["due_hours"] or 0)
        for line in lines
    )


@pytest.mark.parametrize("words", BEYOND, ids=" ".join)
def test_what_no_folder_takes_is_refused(twins: Fleetlog, words: tuple[str, ...]) -> None:
    head = twins("check").out.splitlines()[-1]
    refused = twins(*words)
    assert (refused.status, "Invalid value" in refused.err) == (2, True)
    assert twins("check").out.splitlines()[-1] == head


@pytest.mark.parametrize("words", FURTHEST, ids=lambda words: " ".join(words)[:60])
def test_what_reaches_furthest_is_listed_and_comes_back_from_a_folder(
    twins: Fleetlog, words: tuple[str, ...]
) -> None:
    assert twins(*words).status == 0
    due = limits_of(twins)
    assert twins("history", "TT-0017").status == 0
    assert twins("export", "out").status == 0
    back = twins("--log", "back.db", "import", "out")
    assert back.status == 0, back.err
    assert limits_of(twins, "--log", "back.db") == due


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("visit close V-1 --on 2026-04-09", "closed on 2026-04-09: expected a date from 2026-04-10 on"),
        ("tool retire W-1 --on 2026-04-09 --reason lost", "retired on 2026-04-09: expected a date from"),
        ("void E-1 --reason x --replaced-by E-1", "replaced by E-1: expected another entry than"),
        ("torque TT-0017 nut --applied -5 --unit N.m", "applied -5: expected a torque of 0 or more"),
        ("torque TT-0017 nut --applied 5 --unit N.m --low 9 --high 1", "high 1: expected 9 or more"),
        ("measure TT-0017 anode --quantity mass --value 5 --low 9 --high 1", "high 1: expected 9 or more"),
        ("measure TT-0017 anode --quantity '' --value 5", "quantity is empty: expected something"),
        ("measure TT-0017 ' ' --quantity mass --value 5", "item is empty: expected something"),
        ("torque TT-0017 '' --applied 5 --unit N.m", "joint is empty: expected something"),
        ("answer T-1 ''", "what is empty: expected something"),
        (
            "term add TT-0017 --months 12 --position port",
            "position port: expected nothing, as the term names",
        ),
    ],
)
def test_a_row_that_no_folder_has_is_not_recorded_by_a_command(
    twins: Fleetlog, words: str, said: str
) -> None:
    twins("visit", "open", "Plain Twins", "--id", "V-1", "--on", "2026-04-10")
    added = ("--unit", "N.m", "--low", "5", "--high", "10", "--id", "W-1", "--in-use-from", "2026-04-10")
    twins("tool", "add", "Wrench", *added)
    fitted = twins("fit", "TT-0017", "timing belt", "--visit", "V-1").out.split()[1].rstrip(":")
    off = ("--applied", "40", "--low", "47", "--unit", "N.m", "--visit", "V-1")
    torque = twins("torque", "TT-0017", "nut", *off).out.split()[1].rstrip(":")
    twins("answer", torque, "drawn up again")
    refused = twins(*shlex.split(words.replace("E-1", fitted).replace("T-1", torque)))
    assert (refused.status, refused.out, refused.err.count("\n")) == (1, "", 1)
    assert f"fleetlog: not recorded: {said.replace('E-1', fitted)}" in refused.err

"""A row beyond the bounds, as an older version took it, stops no list: it is named, with what to do."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing

import pytest

from tests.cli.conftest import Fleetlog

YEAR_26, YEAR_9999 = 9_602, 3_652_000
"""Days of the years 27 and 9999, as they are kept."""
ENTRY = "sequence = 2 and engine_no = (select engine_no from engines where serial = 'TT-0021')"
READING = "sequence = 1 and engine_no = (select engine_no from engines where serial = 'TT-0017')"
BEYOND = {
    "again": f"update entries set again_months = 99999999 where {ENTRY}",
    "age": f"update entries set prior_months = 120001 where {ENTRY}",
    "entry": f"update entries set done_on = {YEAR_26} where {ENTRY}",
    "ahead": f"update entries set done_on = {YEAR_9999} where {ENTRY}",
    "reading": f"update readings set read_on = {YEAR_26} where {READING}",
    "service": f"update engines set in_service_on = {YEAR_26} where serial = 'TT-0017'",
    "term": "update terms set months = 300000",
    "mount": f"update mounts set to_on = {YEAR_9999} where to_on is not null",
    "deferral": f"update deferrals set until_on = {YEAR_9999}",
    "layup": f"update layups set from_on = {YEAR_9999} - 2, to_on = {YEAR_9999}",
    "launch": f"update layups set to_on = {YEAR_9999}",
    "meter": f"update meters set fitted_on = {YEAR_26}",
}

AFFECTED = {"layup": 2, "launch": 2}
"""How many engines a row bears on: each is named."""


@pytest.fixture
def store() -> str:
    """What is beyond the bounds is told from ledgers, whatever the database."""
    return "sqlite"


@pytest.fixture
def with_rows(twins: Fleetlog) -> Fleetlog:
    """A log with a row of each kind that leads to dates."""
    for words in (
        ("term", "add", "TT-0017", "--months", "24"),
        ("defer", "TT-0017", "timing-belt-replace", "--until", "2027-01-01", "--reason", "asked"),
        ("engine", "move", "TT-0017", "--to", "Other Boat", "--on", "2026-04-14"),
        ("boat", "lay-up", "Plain Twins", "--from", "2025-10-20", "--to", "2026-04-20"),
        ("meter", "TT-0017", "--on", "2026-04-15", "--reads", "0", "--engine-hours", "350"),
    ):
        assert twins(*words).status == 0, words
    return twins


def put_in(place: str, statement: str) -> None:
    """Have a log hold what this version does not take, with nothing worked out yet."""
    with closing(sqlite3.connect(place, isolation_level=None)) as log:
        triggers = log.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for (trigger,) in triggers:
            log.execute(f"DROP TRIGGER {trigger}")
        assert log.execute(statement).rowcount == 1
        log.execute("UPDATE kept_engines SET fit = 'another'")


@pytest.mark.parametrize("what", BEYOND)
def test_one_engine_with_a_row_beyond_the_bounds_stops_no_list(
    with_rows: Fleetlog, place: str, what: str
) -> None:
    put_in(place, BEYOND[what])
    due = with_rows("due", "--all", "--format", "json")
    assert due.status == 0, due.err
    assert {line["serial"] for line in json.loads(due.out)} == {"TT-0017", "TT-0021", "TT-0125"}
    named = [line for line in due.err.splitlines() if "counts for nothing" in line]
    assert len(named) == AFFECTED.get(what, 1), due.err
    assert "TT-00" in named[0]
    assert "fleetlog void" in named[0] or "fleetlog term withdraw" in named[0] or "export" in named[0]
    assert with_rows("due", "--all", "--format", "json") == due
    assert named[0].removeprefix("fleetlog: note: ") in with_rows("check").err
    pages = with_rows("report", "--out", "pages")
    assert (pages.status, named[0] in pages.err) == (0, True), pages.err
    for words in (
        "term list",
        "boat list",
        "life",
        "bulletin list",
        "engine list",
        "engine show TT-0017",
        "history TT-0017",
        "advice list",
        "reading list TT-0017",
        "refresh",
        "demand",
        "extract TT-0017 --out e.html",
        "export out",
    ):
        said = with_rows(*words.split())
        assert said.status == 0, (words, said.err)


def test_an_entry_beyond_the_bounds_is_taken_back_as_the_list_says(with_rows: Fleetlog, place: str) -> None:
    put_in(place, BEYOND["again"])
    command = with_rows("due").err.partition("fleetlog void ")[2].split()[0]
    assert with_rows("void", command, "--reason", "wrong").status == 0
    assert "counts for nothing" not in with_rows("due").err
    assert "counts for nothing" not in with_rows("check").err

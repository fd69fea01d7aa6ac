"""A folder comes to the same log however few engines' rows are in memory at once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from fleetlog.domain.batch import Batch
from fleetlog.exchange import rows_aside
from fleetlog.store.engine_reader import EngineReader
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.store.writer import Writer
from fleetlog.usecases.imports.folder import ImportReport, import_folder
from fleetlog.usecases.occasion import Occasion
from tests.exchange.folders import folder_of, schedule_text, with_schedule
from tests.usecases.test_importing import AT, TODAY, held, refusal, taken_in

ENGINES = "serial,schedule,family,in_service_on\n" + "".join(
    f"A{n},twin,V6,2024-04-01\n" for n in range(1, 7)
)
READINGS = "serial,on,meter\n" + "".join(
    f"A{n},202{5 + month // 12}-{1 + month % 12:02}-01,{100 + month * n}\n"
    for month in (3, 5, 15, 1)
    for n in (4, 2, 6, 1, 3)
)
ENTRIES = (
    "entry_id,visit_id,serial,on,action,item,from_serial\n"
    "e1,v1,A3,2025-04-01,fitted,timing belt,\n"
    "e2,v2,A1,2025-09-01,fitted,timing belt,A3\n"
    "e3,v1,A4,2025-04-01,serviced,anode,\n"
    "e4,v9,A6,2026-03-01,fitted,timing belt,A1\n"
    "e5,,A4,2025-05-01,serviced,anode,\n"
    "e6,,A2,2027-05-01,fitted,anode,A7\n"
)
VOIDS = "entry_id,voided_at,by,reason,replaced_by\ne3,2026-03-05,Mia,wrong,e5\n"
DEFERRALS = "serial,rule,until_on,reason,by,at\nA5,belt,2026-06-01,no parts,Mia,2026-04-01\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Rows of six engines in no order, of which items move from one to the other."""
    made = folder_of(
        tmp_path / "in",
        engines=ENGINES,
        readings=READINGS,
        visits="visit_id,opened_on\nv1,2025-04-01\n",
        entries=ENTRIES,
        voids=VOIDS,
        deferrals=DEFERRALS,
    )
    with_schedule(made, "twin", schedule_text())
    return made


@pytest.fixture
def one_at_a_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rows_aside, "ENGINES_AT_ONCE", 1)


def in_any_order(batch: Batch) -> Batch:
    """Visits that only entries name are made as those entries come."""
    return replace(batch, visits=sorted(batch.visits, key=lambda v: v.visit_id))


def both(folder: Path, path: Path) -> tuple[ImportReport, Batch]:
    """What a first import into a new log does, and what the log holds then."""
    log = open_log(str(path), at=AT)
    report = taken_in(log, folder)
    batch = in_any_order(held(log))
    log.dispose()
    return report, batch


def test_one_engine_at_a_time_comes_to_the_same_log(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    at_once = both(folder, tmp_path / "at_once.db")
    monkeypatch.setattr(rows_aside, "ENGINES_AT_ONCE", 1)
    assert both(folder, tmp_path / "one.db") == at_once
    report, batch = at_once
    assert len(batch.readings) == report.new["readings"] == 20
    assert report.new["visits"] == len(batch.visits) == 3
    moved = {e.entry_id: (e.prior_tenths, e.prior_months) for e in batch.entries if e.from_serial == "A1"}
    assert moved["e4"][1] is not None


@pytest.mark.usefixtures("one_at_a_time")
def test_a_second_import_one_engine_at_a_time_changes_nothing_and_reads_no_ledger(
    log: Log, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = taken_in(log, folder)
    before = held(log)
    monkeypatch.delattr(EngineReader, "ledgers")
    again = taken_in(log, folder)
    assert held(log) == before
    assert again.new == again.changed == {}
    assert again.unchanged == {kind: n - 2 * (kind == "visits") for kind, n in first.new.items()}


@pytest.mark.usefixtures("one_at_a_time")
def test_what_the_last_engine_breaks_keeps_all_others_out(log: Log, folder: Path) -> None:
    """The others were written by then, within the transaction; all that is wrong is told."""
    more = (
        "e7,,A5,2026-03-02,fitted,anode,\n"
        "e8,,A5,2026-03-02,fitted,anode,\n"
        "e9,,A8,2026-03-02,serviced,anode,\n"
    )
    voids = VOIDS + "e99,2026-03-05,Mia,wrong,\n"
    problems = refusal(log, folder_of(folder, entries=ENTRIES + more, voids=voids))
    assert [problem.split(":")[0] for problem in problems] == [
        "entries.csv, line 10, column serial",
        "entries.csv, line 9, column item",
        "voids.csv, line 3, column entry_id",
    ]
    assert held(log) == Batch()


@pytest.mark.usefixtures("one_at_a_time")
def test_rows_of_one_engine_are_written_at_once(
    log: Log, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written: list[set[str]] = []
    add = Writer.add

    def noted(writer: Writer, batch: Batch) -> None:
        written.append({row.serial for row in [*batch.readings, *batch.entries]})
        add(writer, batch)

    monkeypatch.setattr(Writer, "add", noted)
    taken_in(log, folder)
    assert [len(serials) for serials in written if serials] == [1, 1, 1, 1, 1]


@pytest.mark.usefixtures("one_at_a_time")
def test_new_readings_and_those_of_the_log_may_be_ruled_on_at_once(log: Log, folder: Path) -> None:
    head = "reading_id,serial,on,meter,status\n"
    taken_in(log, folder_of(folder, readings=head + "x1,A1,2026-01-01,500,\n"))
    rows = ["x1,A1,2026-01-01,500,withdrawn", "x2,A1,2026-02-01,400,confirmed"]
    report = taken_in(log, folder_of(folder, readings=head + "\n".join(rows) + "\n"))
    assert (report.new["readings"], report.changed["readings"]) == (1, 1)
    with log.reading() as reader:
        assert reader.check_chains().faults == []


@pytest.mark.usefixtures("one_at_a_time")
def test_a_rising_row_and_its_ruling_are_of_their_own_engine(log: Log, folder: Path) -> None:
    """A falling figure is held on its own engine only, and withdrawn by a later import."""
    head = "reading_id,serial,on,meter,status\n"
    rows = ["x1,A1,2026-01-01,500,", "x2,A2,2026-01-01,500,", "x3,A1,2026-02-01,400,"]
    report = taken_in(log, folder_of(folder, readings=head + "\n".join(rows) + "\n"))
    assert [f for f in report.findings if "held" in f and f.startswith("A")] != []
    assert not any(f.startswith("A2:") for f in report.findings)
    rows[2] += "withdrawn"
    again = taken_in(log, folder_of(folder, readings=head + "\n".join(rows) + "\n"))
    assert again.changed == {"readings": 1}
    assert not any(f.startswith("A1:") for f in again.findings)


def preview(log: Log, folder: Path) -> ImportReport:
    return import_folder(log, Occasion("Mia", AT, TODAY), folder, preview=True)


def test_a_preview_shows_the_first_rows_of_the_folder_and_writes_nothing(
    log: Log, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    at_once = preview(log, folder)
    monkeypatch.setattr(rows_aside, "ENGINES_AT_ONCE", 1)
    shown = preview(log, folder)
    assert {row["visit_id"] for row in shown.first_rows.pop("visits")} == {"v1", "v2", "v9"}
    assert {row["visit_id"] for row in at_once.first_rows.pop("visits")} == {"v1", "v2", "v9"}
    assert shown == at_once
    assert [row["serial"] for row in shown.first_rows["readings"]] == ["A4", "A2", "A6"]
    assert [row["entry_id"] for row in shown.first_rows["entries"]] == ["e1", "e2", "e3"]
    assert held(log) == Batch()
    assert taken_in(log, folder).new == shown.new


@pytest.mark.usefixtures("one_at_a_time")
def test_of_many_readings_that_are_held_the_first_are_told_and_all_counted(log: Log, folder: Path) -> None:
    rows = [f"A{n},2026-01-{day:02},{500 - 9 * day}" for day in range(1, 29) for n in range(1, 7)]
    report = taken_in(log, folder_of(folder, readings="serial,on,meter\n" + "\n".join(rows) + "\n"))
    assert len(report.findings) == 51
    told = sum("held" in finding for finding in report.findings[:-1])
    assert report.findings[-1] == f"and {6 * 27 - told} more"

"""What is written to a CSV folder is read from it again, whatever the texts are."""

from __future__ import annotations

import csv
from dataclasses import fields
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Owner
from fleetlog.exchange.csv.folder import read_folder
from fleetlog.exchange.csv.writing import write_folder
from tests.exchange.batches import batches
from tests.exchange.folders import folder_of
from tests.files import files_in

COLUMNS = {
    "owners": "owner_id, name, email, phone, address, remind_by",
    "boats": "boat_id, owner_id, name, registration, water, use, berth",
    "engines": "serial, maker, model, family, model_year, in_service_on, logged_from_new, hour_meter,"
    " schedule, boat_id, position, state",
    "changes": "kind, key, field, was, until_on, changed_at, by, reason",
    "mounts": "serial, boat_id, position, from_on, to_on",
    "ownership": "boat_id, owner_id, from_on",
    "corrections": "correction_id, kind, key, from_on, owner_id, boat_id, position, at, by, reason",
    "meters": "serial, fitted_on, meter_reads, engine_hours, reason",
    "readings": "reading_id, serial, on, meter, source, status, by",
    "layups": "boat_id, from, to",
    "layup_changes": "change_id, boat_id, from, change, to, at, by, reason",
    "visits": "visit_id, boat_id, opened_on, closed_on, why, complaint, cause, correction, advised, note",
    "entries": "entry_id, visit_id, serial, on, meter, action, scope, item, position, part_number, lot,"
    " condition, prior_hours, prior_months, from_serial, reason, again_hours, again_months, measured, unit,"
    " note, by, checked_by",
    "voids": "entry_id, voided_at, by, reason, replaced_by",
    "deferrals": "deferral_id, serial, rule, position, until_on, until_hours, reason, by, at",
    "tools": "tool_id, name, unit, low, high, in_use_from_on, retired_on, retired_reason, calibrate_months,"
    " calibrate_cycles",
    "calibrations": "calibration_id, tool_id, on, certificate, by",
    "torques": "torque_id, visit_id, entry_id, serial, on, joint, sequence_no, pass_no, fasteners, target,"
    " low, high, applied, unit, target_nm, applied_nm, threads, tool_id, card, step, note, by, checked_by",
    "measurements": "measurement_id, visit_id, entry_id, serial, on, item, position, quantity, value, unit,"
    " stage, low, high, card, step, note, by",
    "checks": "check_id, visit_id, serial, on, card, card_revision, step, title, result, counted, out_of,"
    " reason, by, checked_by",
    "answers": "answer_id, serial, on, torque_id, measurement_id, check_id, outcome, what, by",
    "papers": "paper_id, visit_id, serial, sha256, media_type, size_bytes, name, taken_on, note, by",
    "paper_withdrawals": "paper_id, outcome, at, by, reason",
    "terms": "term_id, serial, kind, title, item, position, entry_id, starts_on, starts_at_hours, months,"
    " hours, withdrawn_on, withdrawn_reason, note, by",
    "advice": "advice_id, visit_id, serial, on, what, rule, item, position, how, told_to, answer, follows,"
    " note, by",
    "supersessions": "part_number, superseded_by, from_on, withdrawn_on, withdrawn_reason, note, by",
    "parts": "part_number, maker, name, note, by",
    "wishes": "wish_id, owner_id, boat_id, not_before_on, not_after_on, not_in_from_on, not_in_to_on,"
    " weekdays, told_on, withdrawn_on, withdrawn_reason, note, by",
    "bookings": "change_id, booking_id, change, at, by, boat_id, on, from, hours, technician, place, lifts,"
    " jobs, visit_id, reason",
    "plans": "plan_id, at, by, from_on, to_on, shop_revision, seed, points, bound_points, cut_short",
    "plan_visits": "plan_id, visit, boat_id, hours, on, from, technician, place, first_on, last_on, lifts,"
    " why_not, remedy, jobs",
    "part_moves": "move_id, part_number, move, amount, on, expected_on, order_id, boat_id, note, by",
    "mails": "mail_id, owner_id, at, subject, things, how, by",
    "mail_attempts": "mail_id, outcome, owner_id, at, things, by",
}


@given(batches())
@settings(max_examples=60, deadline=None)
def test_a_batch_written_and_read_is_the_same_batch(batch: Batch) -> None:
    with TemporaryDirectory() as folder:
        write_folder(batch, Path(folder) / "out")
        contents = read_folder(Path(folder) / "out")
    assert not contents.problems
    for f in fields(Batch):
        assert getattr(contents.batch, f.name) == getattr(batch, f.name), f.name


def test_an_export_has_every_file_with_every_column_in_order(tmp_path: Path) -> None:
    write_folder(Batch(), tmp_path / "out")
    found = {p.stem: p.read_bytes().decode() for p in (tmp_path / "out").iterdir()}
    assert found == {name: columns.replace(" ", "") + "\r\n" for name, columns in COLUMNS.items()}


@given(batches())
@settings(max_examples=10, deadline=None)
def test_the_same_batch_is_written_the_same_bytes(batch: Batch) -> None:
    with TemporaryDirectory() as folder:
        for name in ("one", "two"):
            write_folder(batch, Path(folder) / name)
        assert files_in(Path(folder) / "one") == files_in(Path(folder) / "two")


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("=SUM(A1:A9)", "'=SUM(A1:A9)"),
        ("+49 555 0101", "'+49 555 0101"),
        ("@home", "'@home"),
        ("-later-", "'-later-"),
        ("\tindented", "'\tindented"),
        ("'t Anker", "''t Anker"),
        ("'", "''"),
        ("-5", "-5"),
        ("+495550101", "+495550101"),
        ("-0.5", "-0.5"),
        ("-1e3", "-1e3"),
        ("-.5", "-.5"),
        ("--5", "'--5"),
        ("-٣", "'-٣"),
        ("-inf", "'-inf"),
        ("plain", "plain"),
        ("a=b", "a=b"),
    ],
)
def test_a_cell_that_begins_like_a_formula_gets_one_apostrophe_unless_it_is_a_number(
    tmp_path: Path, text: str, cell: str
) -> None:
    write_folder(Batch(owners=[Owner("o1", text)]), tmp_path / "out")
    with (tmp_path / "out" / "owners.csv").open(encoding="utf-8", newline="") as stream:
        assert list(csv.reader(stream))[1][1] == cell
    assert read_folder(tmp_path / "out").batch.owners[0].name == text


@pytest.mark.parametrize(
    ("cell", "text"),
    [("'plain", "plain"), ("''=1", "'=1"), ("=1+1", "=1+1"), ("  'a ", "a"), ("\xa0b\t", "b")],
)
def test_exactly_one_apostrophe_comes_off_a_cell(tmp_path: Path, cell: str, text: str) -> None:
    folder = folder_of(tmp_path / "in", owners=f"owner_id,name\no1,{cell}\n")
    assert read_folder(folder).batch.owners[0].name == text

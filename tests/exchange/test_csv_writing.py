"""A folder is written whole or not at all, and nothing that is not of an export is overwritten."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

import pytest

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Owner, Void
from fleetlog.domain.schedule import ScheduleText
from fleetlog.errors.files import FileNameUnfit
from fleetlog.errors.folders import ExportFolderTaken, ExportNotWritten
from fleetlog.exchange.csv.folder import read_folder
from fleetlog.exchange.csv.writing import write_folder
from tests.exchange.folders import folder_of, schedule_text

ANNA, BO = Batch(owners=[Owner("o1", "Anna")]), Batch(owners=[Owner("o2", "Bo")])


def owners_in(folder: Path) -> list[str]:
    return [o.name for o in read_folder(folder).batch.owners]


def test_an_export_takes_the_place_of_an_earlier_one_whole(tmp_path: Path) -> None:
    schedules = [ScheduleText("twin", n, schedule_text(n)) for n in (1, 2)]
    write_folder(Batch(owners=[Owner("o1", "Anna")], schedules=schedules), tmp_path / "out")
    write_folder(BO, tmp_path / "out")
    assert owners_in(tmp_path / "out") == ["Bo"]
    assert not (tmp_path / "out" / "schedules").exists()
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_an_empty_folder_and_one_that_is_not_there_yet_are_written_to(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    for target in (tmp_path / "empty", tmp_path / "a" / "b"):
        write_folder(ANNA, target)
        assert owners_in(target) == ["Anna"]


@pytest.mark.parametrize(
    ("name", "text", "found"),
    [
        ("letter.txt", "Dear Sir", "holds letter.txt, which is not of an export"),
        ("owners.csv", "owner_id,name\r\n", "holds owners.csv with other columns"),
        ("schedules/notes.txt", "x", "holds schedules/notes.txt"),
    ],
)
def test_a_folder_with_anything_else_in_it_is_left_alone(
    tmp_path: Path, name: str, text: str, found: str
) -> None:
    write_folder(Batch(schedules=[ScheduleText("twin", 1, schedule_text())]), tmp_path / "out")
    (tmp_path / "out" / name).write_bytes(text.encode())
    with pytest.raises(ExportFolderTaken, match=found):
        write_folder(ANNA, tmp_path / "out")
    assert (tmp_path / "out" / name).read_bytes() == text.encode()


def test_a_folder_of_ones_own_files_is_not_taken_for_an_export(tmp_path: Path) -> None:
    folder = folder_of(tmp_path / "mine", owners="owner_id,name,email,phone,address,remind_by\r\n")
    with pytest.raises(ExportFolderTaken, match=r"CSV files without boats\.csv"):
        write_folder(ANNA, folder)


def test_a_file_is_not_replaced_by_a_folder(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("x", encoding="utf-8")
    with pytest.raises(ExportFolderTaken, match="a file of that name"):
        write_folder(ANNA, tmp_path / "out")


def test_a_full_disk_leaves_the_earlier_export_and_nothing_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_room(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    write_folder(ANNA, tmp_path / "out")
    monkeypatch.setattr(os, "fsync", no_room)
    with pytest.raises(ExportNotWritten, match="No space left on device"):
        write_folder(BO, tmp_path / "out")
    assert owners_in(tmp_path / "out") == ["Anna"]
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_a_rename_that_fails_puts_the_earlier_export_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rename = Path.rename

    def fails_on_the_new_one(self: Path, target: Path) -> Path:
        if self.name == "new":
            raise PermissionError(13, "Permission denied")
        return rename(self, target)

    write_folder(ANNA, tmp_path / "out")
    monkeypatch.setattr(Path, "rename", fails_on_the_new_one)
    with pytest.raises(ExportNotWritten, match="Permission denied"):
        write_folder(BO, tmp_path / "out")
    assert owners_in(tmp_path / "out") == ["Anna"]
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize(
    "name", ["a/b", "..", "", "a:b", "con", "NUL.x", "end.", " a", "belt@2", "a\nb", "x" * 201]
)
def test_a_schedule_that_cannot_be_a_file_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(FileNameUnfit):
        write_folder(Batch(schedules=[ScheduleText(name, 1, schedule_text())]), tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_a_moment_is_exported_in_utc_and_hours_with_one_decimal(tmp_path: Path) -> None:
    void = Void("e1", datetime(2026, 3, 4, 10, tzinfo=UTC), "Mia", "wrong engine")
    write_folder(Batch(voids=[void]), tmp_path / "out")
    assert (tmp_path / "out" / "voids.csv").read_bytes().splitlines()[1] == (
        b"e1,2026-03-04T10:00:00Z,Mia,wrong engine,"
    )

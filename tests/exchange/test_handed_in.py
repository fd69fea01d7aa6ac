"""What files hold is told by digests: texts by every letter, photos of a folder by name and size."""

from __future__ import annotations

from pathlib import Path

from fleetlog.exchange.handed_in import content_digests


def test_each_letter_of_a_text_counts_and_not_when_it_was_written(tmp_path: Path) -> None:
    schedules = tmp_path / "schedules"
    schedules.mkdir()
    files = [tmp_path / "readings.csv", schedules / "V6.toml"]
    for file in files:
        file.write_text("x=1", encoding="utf-8")
    before = content_digests([tmp_path, *files])
    for file in files:
        file.write_text("x=1", encoding="utf-8")
    assert content_digests([tmp_path, *files]) == before
    for file in files:
        file.write_text("x=2", encoding="utf-8")
        assert content_digests([tmp_path]) != before[:1]
        file.write_text("x=1", encoding="utf-8")
        assert content_digests([tmp_path]) == before[:1]


def test_photos_of_a_folder_count_by_name_and_size(tmp_path: Path) -> None:
    photos = tmp_path / "papers"
    photos.mkdir()
    photo = photos / "0a.jpg"
    photo.write_bytes(b"1234")
    (before,) = content_digests([tmp_path])
    photo.write_bytes(b"12345")
    (larger,) = content_digests([tmp_path])
    photo.rename(photos / "0b.jpg")
    (renamed,) = content_digests([tmp_path])
    assert len({before, larger, renamed}) == 3


def test_what_is_pasted_counts_by_what_it_says() -> None:
    assert content_digests(["Lady Garstone: port 352.5"]) != content_digests(["Lady Garstone: port 353.5"])


def test_what_cannot_be_read_is_left_to_the_command(tmp_path: Path) -> None:
    assert content_digests([tmp_path / "none.csv"]) == [""]

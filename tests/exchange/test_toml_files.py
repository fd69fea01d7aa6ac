"""Schedules and work cards travel as TOML files: the newest under its name, older ones with the revision."""

from __future__ import annotations

from pathlib import Path

from fleetlog.domain.batch import Batch
from fleetlog.domain.evidence import CardText
from fleetlog.domain.schedule import ScheduleText
from fleetlog.exchange.csv.folder import read_folder
from fleetlog.exchange.csv.writing import write_folder
from tests.exchange.folders import card_text, schedule_text, with_schedule


def problems_of(folder: Path) -> list[str]:
    return [str(p) for p in read_folder(folder).problems]


def test_every_revision_is_written_and_read_again_the_oldest_first(tmp_path: Path) -> None:
    schedules = [ScheduleText(name, n, schedule_text(n)) for name in ("I4 belt", "V6") for n in (2, 3, 10)]
    write_folder(Batch(schedules=schedules), tmp_path / "out")
    assert sorted(p.name for p in (tmp_path / "out" / "schedules").iterdir()) == [
        "I4 belt.toml",
        "I4 belt@2.toml",
        "I4 belt@3.toml",
        "V6.toml",
        "V6@2.toml",
        "V6@3.toml",
    ]
    contents = read_folder(tmp_path / "out")
    assert contents.batch.schedules == schedules
    assert contents.place_of("schedules", ("V6", 3)) == ("schedules/V6@3.toml", None)


def test_cards_stand_in_a_folder_of_their_own_and_come_back_as_they_were(tmp_path: Path) -> None:
    cards = [CardText("belt refit", n, card_text(n)) for n in (1, 2)]
    write_folder(Batch(cards=cards), tmp_path / "out")
    assert sorted(p.name for p in (tmp_path / "out" / "cards").iterdir()) == [
        "belt refit.toml",
        "belt refit@1.toml",
    ]
    contents = read_folder(tmp_path / "out")
    assert contents.batch.cards == cards
    assert not contents.batch.schedules
    assert contents.place_of("cards", ("belt refit", 1)) == ("cards/belt refit@1.toml", None)


def test_a_card_with_something_wrong_is_a_problem_of_its_file(tmp_path: Path) -> None:
    (tmp_path / "cards").mkdir()
    text = card_text() + 'torque = { joint = "nut", unit = "cubits", passes = [] }\n'
    (tmp_path / "cards" / "belt.toml").write_text(text, encoding="utf-8")
    found = problems_of(tmp_path)
    assert len(found) == 2
    assert all(p.startswith("cards/belt.toml") and "a work card; step 1 (key), torque" in p for p in found)


def test_line_ends_and_a_byte_order_mark_are_not_part_of_a_schedule(tmp_path: Path) -> None:
    text = schedule_text()
    with_schedule(tmp_path, "twin", "\ufeff" + text.replace("\n", "\r\n"))
    assert read_folder(tmp_path).batch.schedules == [ScheduleText("twin", 1, text)]


def test_a_file_that_is_no_schedule_by_its_name_is_remarked_on(tmp_path: Path) -> None:
    with_schedule(tmp_path, "twin", schedule_text())
    (tmp_path / "schedules" / "V6.TOML.bak").write_text("x", encoding="utf-8")
    assert [str(remark) for remark in read_folder(tmp_path).findings] == [
        "schedules/V6.TOML.bak was not read: a schedule is called NAME.toml"
    ]


def test_everything_wrong_with_a_schedule_is_told(tmp_path: Path) -> None:
    wrong = schedule_text().replace('"replace"', '"swap"').replace("hours = 1000", "hours = -1")
    problems = problems_of(with_schedule(tmp_path, "twin", wrong))
    assert len(problems) == 2
    assert all(
        p.startswith("schedules/twin.toml: expected a service schedule; rule 1 (belt)") for p in problems
    )


def test_a_torn_schedule_and_one_in_latin_1_are_told(tmp_path: Path) -> None:
    with_schedule(tmp_path, "torn", schedule_text()[:40])
    (tmp_path / "schedules" / "latin.toml").write_bytes('name = "a"\n# Ünal'.encode("latin-1"))
    latin, torn = problems_of(tmp_path)
    assert latin == (
        "schedules/latin.toml, line 2: found a byte that is not UTF-8; expected UTF-8, as TOML has to be"
    )
    assert torn.startswith("schedules/torn.toml: expected a service schedule; not readable as TOML")


def test_the_revision_in_a_file_has_to_be_the_one_in_its_name(tmp_path: Path) -> None:
    [problem] = problems_of(with_schedule(tmp_path, "twin@3", schedule_text(4)))
    assert problem == (
        "schedules/twin@3.toml: found revision = 4; expected revision = 3, as the file's name says"
    )


def test_a_revision_stands_once_and_the_newest_under_the_plain_name(tmp_path: Path) -> None:
    with_schedule(tmp_path, "twin", schedule_text(2))
    with_schedule(tmp_path, "twin@2", schedule_text(2))
    with_schedule(tmp_path, "V6", schedule_text(2))
    with_schedule(tmp_path, "V6@5", schedule_text(5))
    assert problems_of(tmp_path) == [
        "schedules/twin@2.toml: found revision 2; expected each revision once; schedules/twin.toml has it",
        "schedules/V6.toml: found revision 2; expected the newest revision in this file;"
        " schedules/V6@5.toml is newer",
    ]


def test_a_name_that_other_systems_cannot_keep_is_refused(tmp_path: Path) -> None:
    [problem] = problems_of(with_schedule(tmp_path, "a:b", schedule_text()))
    assert problem.startswith("schedules/a:b.toml: found a:b; expected a name that can be a file name")

"""Photos and papers: kinds by their content, names that any folder takes, and what stands on a day."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import PurePosixPath, PureWindowsPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlog.domain.papers import (
    ENDINGS,
    ERASED,
    WITHDRAWN,
    Paper,
    PaperWithdrawal,
    content_hash,
    hash_in,
    is_content_hash,
    is_plain_name,
    media_type_of,
    papers_on,
    plain_name,
    size_text,
)


@pytest.mark.parametrize(
    ("content", "kind"),
    [
        (b"\xff\xd8\xff\xe1\x00\x18Exif", "image/jpeg"),
        (b"\x89PNG\r\n\x1a\n\x00", "image/png"),
        (b"RIFF\x24\x00\x00\x00WEBPVP8 ", "image/webp"),
        (b"\x00\x00\x00\x18ftypheic\x00", "image/heic"),
        (b"%PDF-1.4\n%\xe2\xe3", "application/pdf"),
        ("Ölwechsel\r\n\t12,5 l\f".encode(), "text/plain"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "text/plain"),
        (b"", None),
        (b"RIFF\x24\x00\x00\x00WAVEfmt ", None),
        (b"\x00\x00\x00\x18ftypmp42\x00", None),
        (b"PK\x03\x04\x14\x00\x06\x00", None),
        (b"\xfe\xff\x00a", None),
        (b"one\x00two", None),
        ("Ölwechsel".encode("latin-1"), None),
        (b"\x1b[31mred", None),
    ],
)
def test_the_kind_of_a_file_is_told_by_how_it_begins(content: bytes, kind: str | None) -> None:
    assert media_type_of(content) == kind


@given(st.binary(max_size=40))
def test_any_bytes_have_a_kind_that_is_kept_or_none(content: bytes) -> None:
    assert media_type_of(content) in {*ENDINGS, None}


@given(st.text(max_size=300))
def test_a_plain_name_is_a_name_in_any_folder_and_stays_as_it_is(typed: str) -> None:
    name = plain_name(typed, "image/png")
    assert 0 < len(name) <= 120
    assert is_plain_name(name)
    assert PurePosixPath(name).parts == (name,)
    assert PureWindowsPath(name).parts == (name,)
    assert name not in (".", "..")
    name.encode("utf-8")


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("../../etc/passwd", "passwd"),
        (r"C:\photos\gears.jpg", "gears.jpg"),
        ("..", "paper.png"),
        ("a\x00b\u202ejpg", "a b jpg"),
        (f"{'x' * 200}.jpeg", f"{'x' * 114}.jpeg"),
        (".hidden ", "hidden"),
    ],
)
def test_names_lose_their_folders_and_what_systems_stumble_over(typed: str, name: str) -> None:
    assert plain_name(typed, "image/png") == name


def test_a_file_is_named_by_the_hash_of_its_content() -> None:
    paper = _paper("p", date(2024, 5, 1))
    assert hash_in(paper.file_name) == paper.sha256 == content_hash(b"abc")
    assert is_content_hash(paper.sha256)
    for other in ("ab.png", f"{paper.sha256}.exe", f"x/{paper.file_name}", f"{paper.file_name}\n"):
        assert hash_in(other) is None


def test_on_a_day_stands_what_was_taken_by_then_and_what_was_erased_is_gone_on_every_day() -> None:
    papers = [_paper("p1", date(2024, 5, 1)), _paper("p2", date(2024, 6, 1)), _paper("p3", date(2024, 5, 2))]
    moment = datetime(2024, 7, 1, tzinfo=UTC)
    back = [
        PaperWithdrawal("p1", WITHDRAWN, moment, "Kim", "of another boat"),
        PaperWithdrawal("p3", ERASED, moment, "Kim", "shows a person"),
    ]
    assert _seen(papers, back, date(2024, 5, 1)) == {"p1": None}
    assert _seen(papers, back, date(2024, 6, 30)) == {"p1": None, "p2": None, "p3": ERASED}
    assert _seen(papers, back, date(2024, 7, 1)) == {"p1": WITHDRAWN, "p2": None, "p3": ERASED}
    both = [*back, PaperWithdrawal("p1", ERASED, moment, "Kim", "shows a person")]
    assert _seen(papers, both[::-1], date(2024, 7, 1))["p1"] == ERASED


def _paper(paper_id: str, taken_on: date) -> Paper:
    return Paper(paper_id, "v", content_hash(b"abc"), "image/png", 3, "a.png", taken_on)


def _seen(papers: list[Paper], back: list[PaperWithdrawal], day: date) -> dict[str, str | None]:
    found = papers_on(papers, back, day)
    return {one.paper.paper_id: one.taken_back and one.taken_back.outcome for one in found}


@pytest.mark.parametrize(
    ("size", "text"),
    [(1, "1 byte"), (999, "999 bytes"), (1000, "1 kB"), (999_499, "999 kB"), (999_500, "1.0 MB"),
     (19_960_000, "20.0 MB")],
)  # fmt: skip
def test_sizes_are_told_in_powers_of_ten(size: int, text: str) -> None:
    assert size_text(size) == text

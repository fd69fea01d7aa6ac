"""Photos, papers and who wrote entries down, as pages show them."""

from __future__ import annotations

import pytest

from fleetlog.reports.words import NBSP
from tests.reports.pages import faults, text_of
from tests.reports.story_pages import HASH, story_pages


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    return story_pages(tmp_path_factory.mktemp("pages"))


def named(pages: dict[str, str], start: str) -> str:
    (page,) = [text for name, text in pages.items() if name.startswith(start)]
    return page


@pytest.mark.parametrize("start", ["engines/", "rebuilds/"])
def test_a_photo_is_shown_and_what_does_not_lie_there_is_named(pages: dict[str, str], start: str) -> None:
    page = named(pages, start)
    assert faults(page) == []
    assert f'<img src="../papers/{HASH}.png" alt="gears &lt;as&gt; found.png" loading="lazy">' in page
    assert "img-src 'self' file:" in page
    text = text_of(page).replace(NBSP, " ")
    assert "worn; photo or drawing, 3 kB, 5 February 2025, by Kim" in text
    assert f"SHA-256 {HASH}" in text
    assert "bill.pdf" in text
    assert "ab" * 32 + ".pdf" not in page


@pytest.mark.parametrize("start", ["engines/", "rebuilds/", "extract"])
def test_what_was_taken_back_says_who_and_why_and_an_erased_name_is_gone(
    pages: dict[str, str], start: str
) -> None:
    page = named(pages, start)
    assert "<s>other.pdf</s>" in page
    text = text_of(page).replace(NBSP, " ")
    assert "Withdrawn by Lou on 9 January 2026: of another boat" in text
    assert "Erased by Lou on 9 January 2026: shows a person" in text
    assert "Jo" not in text.replace("Joint", "").replace("Jon", "")


def test_an_extract_names_papers_and_hashes_and_shows_no_picture(pages: dict[str, str]) -> None:
    page = named(pages, "extract")
    assert faults(page) == []
    assert "<img" not in page
    assert "img-src" not in page
    assert HASH in text_of(page)


@pytest.mark.parametrize("start", ["engines/", "extract"])
def test_who_wrote_entries_down_is_said_once_a_visit_and_where_it_differs(
    pages: dict[str, str], start: str
) -> None:
    text = text_of(named(pages, start)).replace(NBSP, " ")
    assert "by Mia on 9 January 2026" in text
    assert "by Jon on 9 January 2026" in text

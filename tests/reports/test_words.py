"""Words of the pages: dates told one way, and nothing cut within a word."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlog.reports.words import NBSP, days_told, shortened


def test_dates_of_a_sentence_are_told_as_the_pages_tell_dates() -> None:
    assert (
        days_told("Last done on 2025-10-18 at 268.6 h; due on 2026-01-02.").replace(NBSP, " ")
        == "Last done on 18 October 2025 at 268.6 h; due on 2 January 2026."
    )


@pytest.mark.parametrize("text", ["2025-02-30", "0000-01-01", "TB-2025-01-02", "2025-01-023", "2025-01-02-7"])
def test_what_only_looks_like_a_date_stays_as_it_is(text: str) -> None:
    assert days_told(text) == text


def test_a_text_is_cut_between_words() -> None:
    assert shortened("Check the engine before launch", 24) == "Check the engine before…"
    assert shortened("Check the engine, before launch", 20) == "Check the engine…"
    assert shortened("Donaudampfschiff", 6) == "Donau…"


@given(st.text(), st.integers(2, 40))
def test_a_shortened_text_is_no_longer_than_asked_and_begins_alike(text: str, most: int) -> None:
    cut = shortened(text, most)
    whole = " ".join(text.split())
    assert len(cut) <= most
    assert cut == whole or (cut.endswith("…") and whole.startswith(cut[:-1]))

"""The diary's pages of a small marina as they come out today, no more and no fewer.

After a wanted change: `FLEETLOG_ACCEPT=1 python -m pytest tests/reports/test_diary_goldens.py` writes them
anew, and still fails that once, so that the difference is looked at.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from fleetlog.reports.diary.rendering import render_diary
from fleetlog.reports.writing import LIST_NAME, list_text, write_pages
from tests.files import files_in
from tests.reports.diary_marina import diary_data
from tests.reports.marina import CONTEXT

GOLDENS = Path(__file__).parent / "diary_pages"


def test_the_diary_pages_are_what_comes_out_today() -> None:
    pages = render_diary(diary_data("Sandpiper"), CONTEXT)
    wanted = {**pages, LIST_NAME: list_text(pages)}
    if os.environ.get("FLEETLOG_ACCEPT"):
        write_pages(pages, GOLDENS)
        pytest.fail("the pages were written anew: look at the difference, then run this without accepting")
    held = {name: content.decode("utf-8") for name, content in files_in(GOLDENS).items()}
    assert sorted(held) == sorted(wanted)
    assert [name for name in wanted if wanted[name] != held[name]] == []

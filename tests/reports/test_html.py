"""Every page is HTML5 without a parse error, named, headed and linked as it should be."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from fleetlog.domain.fleet import FleetState
from tests.reports.hard_marinas import HOSTILE, crowded_fleet, hostile_fleet
from tests.reports.marina import CONTEXT, TODAY, render_pages, small_fleet
from tests.reports.pages import faults, found, parsed, text_of


@pytest.mark.parametrize(
    "make",
    [small_fleet, hostile_fleet, lambda: crowded_fleet(5), lambda: FleetState(TODAY, [])],
    ids=["small", "hostile", "crowded", "empty"],
)
def test_every_page_is_valid_and_whole(make: Callable[[], FleetState]) -> None:
    wrong = {path: faults(page) for path, page in render_pages(make(), CONTEXT).items()}
    assert {path: said for path, said in wrong.items() if said} == {}


def test_every_link_leads_to_a_page_or_a_place_on_it() -> None:
    pages = render_pages(small_fleet(), CONTEXT)
    trees = {path: parsed(page) for path, page in pages.items()}
    ids = {path: {e.get("id") for e in tree.iter()} for path, tree in trees.items()}
    for path, tree in trees.items():
        for link in found(tree, "a"):
            href = link.get("href") or ""
            if href.startswith("mailto:"):
                continue
            to, _, anchor = href.partition("#")
            folder = path.rpartition("/")[0]
            target = re.sub(r"[^/]+/\.\./", "", f"{folder}/{to}".lstrip("/")) if to else path
            assert target in pages, (path, href)
            assert not anchor or anchor in ids[target], (path, href)


def test_what_people_write_comes_out_as_text_wherever_it_stands() -> None:
    for path, page in render_pages(hostile_fleet(), CONTEXT).items():
        assert "<script>alert(1)</script>\"'&amp;" in text_of(page), path
        assert "<script" not in page, path
        written = re.findall(r".{0,14}alert\(1\)", page, re.DOTALL)
        assert all(w.endswith(("&lt;script&gt;alert(1)", "%3Cscript%3Ealert(1)")) for w in written), path


def test_controls_and_marks_that_turn_the_writing_about_are_shown_as_unreadable() -> None:
    assert "\u202e" in HOSTILE
    for path, page in render_pages(hostile_fleet(), CONTEXT).items():
        assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e]", page), path
        assert "\ufffdabc" in page, path


def test_braces_in_a_name_are_no_template() -> None:
    page = render_pages(hostile_fleet("{{ 7*7 }}"), CONTEXT)["index.html"]
    assert "{{ 7*7 }}" in text_of(page)


@pytest.mark.parametrize(
    "name",
    ["CON", "../../etc/passwd", "a" * 5000, "\ud83d", "שלום", "x" * 300 + "/", "C:\\nul", "?\r\n?"],
    ids=["device", "climbing", "long", "half", "rtl", "slash", "drive", "lines"],
)
def test_odd_names_make_whole_pages_with_safe_file_names(name: str) -> None:
    pages = render_pages(hostile_fleet(name), CONTEXT)
    assert len(pages) == 4
    for path, page in pages.items():
        assert re.fullmatch(r"(?:owners/|engines/)?[A-Za-z0-9-]{1,60}\.html", path)
        page.encode("utf-8")
        assert faults(page) == []
        assert "\r" not in page


def test_the_same_fleet_gives_the_same_pages() -> None:
    assert render_pages(small_fleet(), CONTEXT) == render_pages(small_fleet(), CONTEXT)


def test_the_order_of_engines_in_the_fleet_does_not_matter() -> None:
    fleet = small_fleet()
    turned = FleetState(fleet.today, list(reversed(fleet.engines)))
    assert render_pages(turned, CONTEXT) == render_pages(fleet, CONTEXT)

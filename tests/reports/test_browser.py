"""Pages as a browser shows them: readable by all, on a phone, in light and dark, and on one sheet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from fleetlog.domain.fleet import FleetState
from fleetlog.reports.reminder_mail import reminder_mail
from tests.reports.hard_marinas import crowded_fleet, hostile_fleet
from tests.reports.marina import CONTEXT, render_pages, small_fleet
from tests.reports.story_pages import story_pages

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser

OPEN_FOLDS = "document.querySelectorAll('details').forEach(d => { d.open = true })"
HEIGHTS = "all => all.map(e => [e.innerText, e.getBoundingClientRect().height])"
GROUND = "(s => [s.backgroundColor, s.color])(getComputedStyle(document.body))"


def files_of(fleet: FleetState, folder: Path) -> dict[str, Path]:
    from tests.reports.browser import written

    return written(render_pages(fleet, CONTEXT), folder)


def reminder_of(fleet: FleetState, folder: Path) -> Path:
    (path,) = [path for path in files_of(fleet, folder).values() if path.parent.name == "owners"]
    return path


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return files_of(small_fleet(), tmp_path_factory.mktemp("small"))


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The pages of an engine's story: its history and its rebuild with photos, a card, an extract."""
    from tests.reports.browser import written

    folder = tmp_path_factory.mktemp("story")
    return written(story_pages(folder), folder)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("wide", [375, 1280])
def test_axe_finds_nothing_on_the_pages_of_an_engine_s_story(
    browser: Browser, story: dict[str, Path], scheme: str, wide: int
) -> None:
    from tests.reports.browser import violations, window

    wrong = {}
    with window(browser, wide=wide, scheme=scheme) as page:
        for name, path in story.items():
            page.goto(path.as_uri())
            wrong[name] = violations(page)
    assert {name: said for name, said in wrong.items() if said} == {}


def test_a_photo_beside_a_page_is_drawn(browser: Browser, story: dict[str, Path]) -> None:
    from tests.reports.browser import window

    drawn = {}
    with window(browser) as page:
        for name, path in story.items():
            page.goto(path.as_uri())
            for image in page.query_selector_all("img"):
                image.scroll_into_view_if_needed()
                page.wait_for_function("i => i.complete && i.naturalWidth", arg=image)
            drawn[name.partition("/")[0]] = len(page.query_selector_all("img"))
    assert drawn == {"engines": 2, "rebuilds": 2, "card.html": 0, "extract.html": 0}


@pytest.mark.parametrize(("name", "most"), [("card", 4), ("rebuilds", 2)])
def test_a_card_and_a_rebuild_are_printed_without_waste(
    browser: Browser, story: dict[str, Path], name: str, most: int
) -> None:
    from tests.reports.browser import printed_sheets, window

    (path,) = [path for one, path in story.items() if one.startswith(name)]
    with window(browser) as page:
        assert printed_sheets(page, path, "A4") <= most


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("wide", [375, 1280])
def test_axe_finds_nothing_on_any_kind_of_page(
    browser: Browser, small: dict[str, Path], scheme: str, wide: int
) -> None:
    from tests.reports.browser import violations, window

    reminder = next(name for name in small if name.startswith("owners/ada"))
    wrong = {}
    with window(browser, wide=wide, scheme=scheme) as page:
        for name in ("index.html", "due.html", "engines/TB-0007.html", reminder):
            page.goto(small[name].as_uri())
            wrong[name] = violations(page)
    assert {name: said for name, said in wrong.items() if said} == {}


@pytest.mark.parametrize("wide", [320, 375, 1280])
def test_no_page_wants_scrolling_sideways(
    browser: Browser, small: dict[str, Path], story: dict[str, Path], tmp_path: Path, wide: int
) -> None:
    from tests.reports.browser import window, written

    endless = hostile_fleet("W" * 300 if wide < 700 else "Wide " * 60)
    owner = endless.engines[0].facts.owner
    assert owner is not None
    mail = reminder_mail(owner, endless.engines, (), CONTEXT, endless.today).html
    pages = {**small, **story, **files_of(endless, tmp_path), **written({"mail.html": mail}, tmp_path)}
    too_wide = {}
    with window(browser, wide=wide) as page:
        for name, path in pages.items():
            page.goto(path.as_uri())
            page.evaluate(OPEN_FOLDS)
            shown = page.evaluate("document.documentElement.scrollWidth")
            if shown > wide:
                too_wide[name] = shown
    assert too_wide == {}


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_reminder_for_up_to_two_engines_is_one_sheet_however_much_is_due(
    browser: Browser, tmp_path: Path, paper: str
) -> None:
    from tests.reports.browser import printed_sheets, window

    fleets = {
        (words, engines): crowded_fleet(engines, words)
        for words in ("", "of the outboard’s lower unit", "W" * 40)
        for engines in (1, 2)
    }
    with window(browser) as page:
        sheets = {
            case: printed_sheets(page, reminder_of(fleet, tmp_path / str(number)), paper)
            for number, (case, fleet) in enumerate(fleets.items())
        }
    assert sheets == dict.fromkeys(fleets, 1)


def test_more_engines_than_fit_a_sheet_take_another(browser: Browser, tmp_path: Path) -> None:
    from tests.reports.browser import printed_sheets, window

    with window(browser) as page:
        assert printed_sheets(page, reminder_of(crowded_fleet(5), tmp_path), "A4") == 3


def test_links_and_folds_are_large_enough_to_be_touched(browser: Browser, small: dict[str, Path]) -> None:
    from tests.reports.browser import window

    low = {}
    with window(browser, wide=375) as page:
        for name, path in small.items():
            page.goto(path.as_uri())
            heights = page.eval_on_selector_all("a:not(.skip), summary", HEIGHTS)
            low[name] = [text for text, height in heights if 0 < height < 24]
    assert {name: said for name, said in low.items() if said} == {}


@pytest.mark.parametrize(
    ("scheme", "media", "ground", "ink"),
    [
        ("dark", "screen", "rgb(16, 24, 29)", "rgb(238, 243, 245)"),
        ("light", "screen", "rgb(255, 255, 255)", "rgb(23, 36, 43)"),
        ("dark", "print", "rgb(255, 255, 255)", "rgb(0, 0, 0)"),
    ],
)
def test_dark_pages_are_dark_and_printed_ones_are_black_on_white(
    browser: Browser, small: dict[str, Path], scheme: str, media: str, ground: str, ink: str
) -> None:
    from tests.reports.browser import window

    with window(browser, scheme=scheme) as page:
        page.emulate_media(media="print" if media == "print" else "screen")
        page.goto(small["index.html"].as_uri())
        assert page.evaluate(GROUND) == [ground, ink]

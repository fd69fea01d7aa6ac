"""A headless Chromium for tests of pages: finds the one that is installed, opens pages in it, prints them."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Browser, Page, sync_playwright

COMMANDS = ("chromium", "chromium-browser", "chrome")
HOW_TO_INSTALL = (
    "The browser tests need Chromium: install it (on Debian: apt-get install chromium), "
    "or put the path of one into FLEETLOG_CHROMIUM."
)
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
ARGUMENTS = ("--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-dev-shm-usage")


def find_chromium() -> str | None:
    """The path of a Chromium: what FLEETLOG_CHROMIUM says, else the first command found."""
    told = os.environ.get("FLEETLOG_CHROMIUM")
    if told:
        return told if Path(told).exists() else None
    return next((path for path in map(shutil.which, COMMANDS) if path), None)


@contextmanager
def chromium(path: str) -> Iterator[Browser]:
    """A headless Chromium, closed at the end."""
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=list(ARGUMENTS))
        yield browser
        browser.close()


def written(pages: Mapping[str, str], folder: Path) -> dict[str, Path]:
    """The pages as files, for a browser to open."""
    paths = {}
    for name, text in pages.items():
        paths[name] = folder / name
        paths[name].parent.mkdir(parents=True, exist_ok=True)
        paths[name].write_bytes(text.encode("utf-8"))
    return paths


@contextmanager
def window(browser: Browser, *, wide: int = 1280, scheme: Any = "light") -> Iterator[Page]:
    """A window so many pixels wide, in one colour scheme.

    A page that asks for more than itself, and the photos beside the pages, fails.
    """
    context = browser.new_context(viewport={"width": wide, "height": 900}, color_scheme=scheme)
    page = context.new_page()
    asked: list[str] = []
    wanted: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("framenavigated", lambda frame: wanted.append(frame.url))
    yield page
    context.close()
    asked = [url for url in asked if not re.match(r"file://.*/papers/[0-9a-f]{64}\.", url)]
    assert asked == wanted, sorted(set(asked) - set(wanted))


def violations(page: Page) -> list[str]:
    """What axe-core finds on a page with all folds open, one line each."""
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
    page.evaluate(AXE_SCRIPT)
    options = {"runOnly": {"type": "tag", "values": list(RULES)}}
    found = page.evaluate("options => axe.run(document, options).then(all => all.violations)", options)
    return [
        f"{rule['id']}: {node['html'][:160]} {node.get('failureSummary', '')}"
        for rule in found
        for node in rule["nodes"]
    ]


def printed_sheets(page: Page, path: Path, paper: str) -> int:
    """How many sheets of a paper a page takes when it is printed with its own margins."""
    page.goto(path.as_uri())
    document = page.pdf(format=paper, prefer_css_page_size=False)
    counts = re.findall(rb"/Type\s*/Pages\b[^>]*?/Count\s+(\d+)", document)
    assert counts, "no page tree in the document"
    return max(map(int, counts))

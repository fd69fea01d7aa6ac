"""The browser of the tests of pages, and a word on them where they are left out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A headless Chromium; without one installed the test fails and says how to get it."""
    from tests.reports.browser import HOW_TO_INSTALL, chromium, find_chromium

    path = find_chromium()
    if path is None:
        pytest.fail(HOW_TO_INSTALL)
    with chromium(path) as running:
        yield running


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Says that the browser tests were left out, and how to run them."""
    if config.option.markexpr == "not browser":
        terminalreporter.write_line("Browser tests are left out; run them with: python -m pytest -m browser")

"""reports/ holds the pages of the invented marina as they come out today, no more and no fewer.

After a wanted change: `FLEETLOG_ACCEPT=1 python -m pytest tests/reports/test_goldens.py` writes them anew,
and still fails that once, so that the difference is looked at.
"""

from __future__ import annotations

import os
import re
from difflib import unified_diff
from pathlib import Path

import pytest

from fleetlog.store.opening import open_log
from fleetlog.usecases.demo import DEMO_CONTEXT, DEMO_OCCASION, fill_demo
from fleetlog.usecases.reporting import make_reports
from tests.files import files_in
from tests.reports.pages import faults, text_of

REPORTS = Path(__file__).parents[2] / "reports"
ACCEPT = "FLEETLOG_ACCEPT"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """All that the demo writes, by the place of each file."""
    out = tmp_path_factory.mktemp("demo")
    log = open_log(str(out / "log.sqlite"), at=DEMO_OCCASION.at)
    fill_demo(log)
    make_reports(log, DEMO_OCCASION, REPORTS if os.environ.get(ACCEPT) else out / "reports", DEMO_CONTEXT)
    log.dispose()
    return files_in(REPORTS if os.environ.get(ACCEPT) else out / "reports")


@pytest.fixture(scope="module")
def pages(made: dict[str, bytes]) -> dict[str, str]:
    """The pages of the invented marina."""
    return {name: content.decode("utf-8") for name, content in made.items() if name.endswith(".html")}


def test_the_committed_pages_are_what_the_demo_writes_today(made: dict[str, bytes]) -> None:
    if os.environ.get(ACCEPT):
        pytest.fail("the pages were written anew: look at the difference, then run this without accepting")
    held = files_in(REPORTS)
    missing, extra = sorted(set(made) - set(held)), sorted(set(held) - set(made))
    assert not missing, f"pages that are not in reports/: {missing}"
    assert not extra, f"files in reports/ that are no pages: {extra}"
    changed = [name for name in made if made[name] != held[name]]
    assert not changed, f"{len(changed)} pages differ, {_first_difference(held, made, changed[0])}"


def _first_difference(held: dict[str, bytes], wanted: dict[str, bytes], name: str) -> str:
    was, now = (files[name].decode("utf-8", "replace").splitlines() for files in (held, wanted))
    lines = unified_diff(was, now, "held", "now", lineterm="", n=0)
    return f"the first {name}:\n" + "\n".join(list(lines)[:12])


def test_pages_of_the_invented_marina_are_valid_and_whole(pages: dict[str, str]) -> None:
    engines = [name for name in sorted(pages) if name.startswith("engines/")]
    chosen = {"engines/VK6-20417.html", *engines[::9], *(name for name in pages if name not in engines)}
    wrong = {name: faults(pages[name]) for name in chosen}
    assert {name: said for name, said in wrong.items() if said} == {}


def test_the_pages_show_what_the_marina_was_invented_for(pages: dict[str, str]) -> None:
    engines = [name for name in pages if name.startswith("engines/")]
    owners = [name for name in pages if name.startswith("owners/")]
    assert len(engines) == 90
    assert 35 <= len(owners) <= 42
    due = pages["due.html"]
    for state in ("overdue", "no-record", "needs-a-reading", "due", "next-access"):
        assert f'id="{state}"' in due
    rebuilt = text_of(pages["engines/VK6-20417.html"])
    assert "Since the powerhead rebuild of" in rebuilt
    assert "Renew cam cover gasket (bank 1): put back used" in rebuilt
    assert "Readings held" in text_of(pages["engines/ML4-0512.html"])
    assert '<span class="tag">voided</span>' in pages["engines/ML4-0266.html"]
    swapped = pages["engines/VK6-20733.html"]
    assert re.search(r'<img src="\.\./papers/[0-9a-f]{64}\.png" alt="gear case as found\.png"', swapped)
    assert "It came from engine VK6-18114." in text_of(swapped)
    told = text_of(swapped).replace("\N{NO-BREAK SPACE}", " ")
    assert "engine VK6-18114 from 3 June 2021 to 22 March 2023 (65.1 h, 21 months); here from" in told
    assert "by demo on 15 April 2026" in told
    assert "These want no reminders" in text_of(pages["index.html"])

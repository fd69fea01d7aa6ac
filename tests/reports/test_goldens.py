"""reports/ holds the pages of the invented marina as they come out today, no more and no fewer.

After a wanted change: `FLEETLOG_ACCEPT=1 python -m pytest tests/reports/test_goldens.py` writes them anew,
and still fails that once, so that the difference is looked at.
"""

from __future__ import annotations

import os
import re
from dataclasses import replace
from difflib import unified_diff
from pathlib import Path

import pytest

from fleetlog.domain.fleet import FleetState
from fleetlog.reports.rendering import render_pages
from fleetlog.reports.writing import LIST_NAME, list_text, write_pages
from fleetlog.store.opening import open_log
from fleetlog.usecases.demo import DEMO_CONTEXT, DEMO_OCCASION, demo_fleet_state, fill_demo
from fleetlog.usecases.reporting import papers_shown, papers_to_show
from tests.reports.pages import faults, text_of

REPORTS = Path(__file__).parents[2] / "reports"
ACCEPT = "FLEETLOG_ACCEPT"


@pytest.fixture(scope="module")
def marina(tmp_path_factory: pytest.TempPathFactory) -> tuple[FleetState, dict[str, Path]]:
    """The invented marina on its day, and the files of its photos and papers."""
    log = open_log(str(tmp_path_factory.mktemp("demo") / "log.sqlite"), at=DEMO_OCCASION.at)
    fill_demo(log)
    fleet = demo_fleet_state(log)
    log.dispose()
    return fleet, papers_to_show(log, papers_shown(fleet))


@pytest.fixture(scope="module")
def pages(marina: tuple[FleetState, dict[str, Path]]) -> dict[str, str]:
    """The pages of the invented marina, made from its files."""
    fleet, papers = marina
    return render_pages(fleet, replace(DEMO_CONTEXT, papers=frozenset(papers)))


def test_the_committed_pages_are_what_comes_out_today(
    pages: dict[str, str], marina: tuple[FleetState, dict[str, Path]]
) -> None:
    files = {f"papers/{name}": path for name, path in marina[1].items()}
    wanted = {name: text.encode() for name, text in pages.items()}
    wanted |= {LIST_NAME: list_text([*pages, *files]).encode()}
    wanted |= {name: path.read_bytes() for name, path in files.items()}
    held = {
        path.relative_to(REPORTS).as_posix(): path.read_bytes()
        for path in REPORTS.rglob("*")
        if path.is_file()
    }
    if os.environ.get(ACCEPT):
        write_pages(pages, REPORTS, files=files)
        pytest.fail("the pages were written anew: look at the difference, then run this without accepting")
    missing, extra = sorted(set(wanted) - set(held)), sorted(set(held) - set(wanted))
    assert not missing, f"pages that are not in reports/: {missing}"
    assert not extra, f"files in reports/ that are no pages: {extra}"
    changed = [name for name in wanted if wanted[name] != held[name]]
    assert not changed, f"{len(changed)} pages differ, {_first_difference(held, wanted, changed[0])}"


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
    assert "Renew cam cover gasket, bank 1: put back used" in rebuilt
    assert "Readings held" in text_of(pages["engines/ML4-0512.html"])
    assert '<span class="tag">voided</span>' in pages["engines/ML4-0266.html"]
    swapped = pages["engines/VK6-20733.html"]
    assert re.search(r'<img src="\.\./papers/[0-9a-f]{64}\.png" alt="gear case as found\.png"', swapped)
    assert "It came from engine VK6-18114." in text_of(swapped)
    told = text_of(swapped).replace("\N{NO-BREAK SPACE}", " ")
    assert "engine VK6-18114 from 3 June 2021 to 22 March 2023 (65.1 h, 21 months); here from" in told
    assert "by demo on 15 April 2026" in told
    assert "These want no reminders" in text_of(pages["index.html"])

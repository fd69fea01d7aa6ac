"""How long reminder pages take from templates, and the same pages by plain f-strings; prints, judges nothing.

python -m tests.benchmarks.reports [--pages N] [--engines N] [--rounds N]

With `--engines`, besides, how long `fleetlog report` takes for such a fleet on one process and on two, from
its start to its end: medians of the rounds, which take turns.
"""

from __future__ import annotations

import argparse
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from html import escape, unescape
from pathlib import Path

from fleetlog.reports.cautions import FOR_OWNERS
from fleetlog.reports.outlook import outlook_of
from fleetlog.reports.owner_page import OwnerPage, owner_page
from fleetlog.reports.rendering import STYLE, laid_out
from fleetlog.store.opening import open_log
from fleetlog.usecases.refreshing import refresh_log
from tests.benchmarks.fleet import TODAY as FLEET_TODAY
from tests.benchmarks.scale import AT, fill
from tests.reports.marina import ADA, CONTEXT, TODAY, small_fleet

WIDTHS = ("What", "Why now", "By when")


def by_f_strings(page: OwnerPage, today: str) -> str:
    """A reminder with the text of `owner.html`, by hand."""
    sections = ""
    for number, section in enumerate(page.sections, 1):
        rows = ""
        for line in section.lines:
            used = "".join(f'<span class="bar-row">{u.bar} {escape(u.text)}</span>' for u in line.used)
            rows += (
                f'<tr><th scope="row">{line.badge} <span class="work">{escape(line.work)}</span></th>'
                f'<td data-label="Why now">{escape(line.why)} {escape(line.waits)}'
                f'<span class="used-bars">{used}</span></td>'
                f'<td data-label="By when">{escape(line.by_when)}</td></tr>'
            )
        heads = "".join(f'<th scope="col">{head}</th>' for head in WIDTHS)
        notes = "".join(f"<p>{escape(note)}</p>" for note in section.notes)
        sections += (
            f'<section aria-labelledby="engine-{number}"><h2 id="engine-{number}">{escape(section.name)} '
            f'<span class="about">{escape(section.about)}</span></h2><table class="cards letter-table">'
            f'<caption class="hidden">Work on {escape(section.name)}</caption><thead><tr>{heads}</tr></thead>'
            f'<tbody>{rows}</tbody></table><p class="more">{escape(section.more)}</p>{notes}'
            f'<p class="based">{escape(section.based_on)}</p></section>'
        )
    rows = "".join(
        f'<tr><th scope="row">{escape(row.engine)}</th><td data-label="Last known">{escape(row.last)}</td>'
        '<td data-label="Meter shows" class="blank"><span>h</span></td>'
        '<td data-label="Read on" class="blank"><span class="hidden">date</span></td></tr>'
        for row in page.rows
    )
    lines = "<br>".join(f"<code>{escape(line)}</code>" for line in page.one_line)
    heads = "".join(
        f'<th scope="col">{head}</th>' for head in ("Boat and engine", "Last known", "Meter shows", "Read on")
    )
    address = "".join(f"<br>{escape(part)}" for part in page.address)
    return (
        f'<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>Reminder for '
        f'{escape(page.owner)} – {escape(CONTEXT.marina)}</title>{STYLE}</head><body class="letter">'
        f'<a class="skip" href="#main">Skip to the content</a><header><p class="marina">'
        f'{escape(CONTEXT.marina)}</p></header><main id="main"><div class="address"><p class="to">'
        f'{escape(page.owner)}{address}</p><p class="when">{today}<br>{escape(page.reach)}</p></div>'
        f"<h1>Engine service reminder</h1><p>Dear {escape(page.owner)},</p><p>{escape(page.opening)} "
        '<a class="target screen" href="#answer">Answer with today’s hours</a></p>'
        f'{sections}<section class="answer" aria-labelledby="answer"><h2 id="answer">'
        f"Your answer: today’s hours</h2><p>{escape(page.reply)}</p>"
        f'<table class="cards form"><caption class="hidden">Hours to fill in</caption><thead><tr>{heads}</tr>'
        f"</thead><tbody>{rows}</tbody></table><p>Or send this line back with the figures and the day "
        f"(year-month-day) filled in: {lines} "
        f'<a class="target screen" href="{escape(page.mail_to)}">Write the e-mail</a></p><p class="caution">'
        f"{escape(FOR_OWNERS)}</p>"
        f"</section></main><footer><p>As known on {today}. Made with fleetlog {CONTEXT.version}.</p></footer>"
        "</body></html>"
    )


def words_of(page: str) -> str:
    """The words of a page without its tags, for comparing what two pages say."""
    return "".join(unescape(re.sub(r"<style>.*?</style>|<[^>]+>", "", page, flags=re.DOTALL)).split())


def seconds(count: int, make: Callable[[], object]) -> float:
    """How long it takes to make so many."""
    start = time.perf_counter()
    for _ in range(count):
        make()
    return time.perf_counter() - start


def on_processes(engines: int, rounds: int) -> None:
    """Print how long all pages of a fleet take on one process and on two."""
    with tempfile.TemporaryDirectory() as made:
        path, out = Path(made) / "log.db", Path(made) / "reports"
        log = open_log(str(path), at=AT)
        fill(log, engines)
        refresh_log(log, FLEET_TODAY, processes=1)
        log.dispose()
        took: dict[str, list[float]] = {"1": [], "2": []}
        given = os.environ | {
            "FLEETLOG_LOG": str(path),
            "FLEETLOG_TODAY": FLEET_TODAY.isoformat(),
            "PYTHONPYCACHEPREFIX": str(Path(made) / "bytecode"),
        }
        given.pop("PYTHONDONTWRITEBYTECODE", None)
        words = [sys.executable, "-m", "fleetlog", "report", "--out", str(out), "--processes"]
        subprocess.run(
            [*words, "1"], check=True, capture_output=True, env=given
        )  # bytecode, as when installed
        for processes in [*took] * rounds:
            say = partial(subprocess.run, [*words, processes], check=True, capture_output=True, env=given)
            took[processes].append(seconds(1, say))
        one, two = (statistics.median(times) for times in took.values())
        pages = sum(1 for _ in out.rglob("*.html"))
    print(f"{pages} pages of {engines} engines: {one:.1f} s on one process, {two:.1f} s on two,")
    print(f"{one / two:.2f} times as quick")


def main() -> None:
    """Print the times of both ways and their ratio."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--pages", type=int, default=10_000)
    parser.add_argument("--engines", type=int, default=0)
    parser.add_argument("--rounds", type=int, default=3)
    given = parser.parse_args()
    count = given.pages
    engines = small_fleet().engines[:2]
    outlooks = {state.serial: outlook_of(state, TODAY) for state in engines}
    view = owner_page(ADA, engines, outlooks, CONTEXT, TODAY)
    by_template = laid_out("owner.html", view, CONTEXT, TODAY)
    by_hand = by_f_strings(view, "15\N{NO-BREAK SPACE}April\N{NO-BREAK SPACE}2026")
    if words_of(by_template) != words_of(by_hand):
        raise SystemExit("the two pages do not say the same")
    views = seconds(count, lambda: owner_page(ADA, engines, outlooks, CONTEXT, TODAY))
    template = seconds(count, lambda: laid_out("owner.html", view, CONTEXT, TODAY))
    hand = seconds(count, lambda: by_f_strings(view, "15 April 2026"))
    print(f"{count} reminders for two engines, {len(by_template)} characters each")
    print(f"facts, words and bars   {views:7.2f} s (needed either way)")
    print(f"laid out by f-strings   {hand:7.2f} s")
    print(f"laid out by templates   {template:7.2f} s, {template / hand:.1f} times as long")
    print(f"both steps together     {(views + template) / (views + hand):7.1f} times as long")
    if given.engines:
        on_processes(given.engines, given.rounds)


if __name__ == "__main__":
    main()

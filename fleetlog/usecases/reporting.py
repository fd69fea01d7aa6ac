"""Writes the HTML pages of the marina: due list, owners' reminders, engines' histories."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from fleetlog.domain.fleet import FleetState
from fleetlog.domain.parts import makers_of
from fleetlog.reports.context import ReportContext
from fleetlog.reports.paper_views import papers_seen
from fleetlog.reports.rendering import render_lives
from fleetlog.reports.writing import write_pages, write_reports
from fleetlog.store.log import Log
from fleetlog.usecases.chances import FirmFits, with_chances
from fleetlog.usecases.fleet import fleet_state_in_full
from fleetlog.usecases.life import answers_for_pages
from fleetlog.usecases.lives import lives_in
from fleetlog.usecases.occasion import Occasion

if TYPE_CHECKING:
    from fleetlog.life.answer import LifeAnswer


def make_reports(log: Log, occasion: Occasion, out: Path, context: ReportContext) -> list[Path]:
    """Write every page into a folder, with copies of the photos and papers that the pages show.

    Returns the pages' paths, the index first.
    """
    with log.reading() as reader:
        state = fleet_state_in_full(reader, occasion.today, context.within_days, hours_ahead=True)
        recorded = lives_in(
            (engine.ledger for engine in state.engines),
            reader.schedules(),
            makers_of(reader.parts()),
            occasion.today,
        )
        context = replace(context, head=reader.head())
    state = with_chances(state, FirmFits(recorded))
    return write_reports(state, out, context, answers_for_pages(recorded), papers_to_show(log, state))


def papers_to_show(log: Log, state: FleetState) -> dict[str, Path]:
    """The files of the papers that pages show, by name: those that stand and are there.

    Of a log in a database whose papers' folder was not named, none.
    """
    shown = [one.paper for engine in state.engines for one in papers_seen(engine) if one.taken_back is None]
    if not shown or not log.papers.is_known:
        return {}
    faulty = {fault.paper.sha256 for fault in log.papers.faults(shown, thoroughly=False)}
    return {p.file_name: log.papers.path_of(p) for p in shown if p.sha256 not in faulty}


def write_life_page(out: Path, answer: LifeAnswer, context: ReportContext, today: date) -> Path:
    """Write the page of one kind of item, beside whatever pages are there; returns its path."""
    [written] = write_pages(render_lives([answer], context, today), out, is_whole=False)
    return written

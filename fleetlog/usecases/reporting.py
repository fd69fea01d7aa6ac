"""Writes the HTML pages of the marina: due list, owners' reminders, engines' histories."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from fleetlog.domain.parts import makers_of
from fleetlog.reports.context import ReportContext
from fleetlog.reports.rendering import render_lives
from fleetlog.reports.writing import write_pages, write_reports
from fleetlog.store.log import Log
from fleetlog.usecases.chances import FirmFits, with_chances
from fleetlog.usecases.fleet import fleet_state
from fleetlog.usecases.life import answers_for_pages
from fleetlog.usecases.lives import lives_in
from fleetlog.usecases.occasion import Occasion

if TYPE_CHECKING:
    from fleetlog.life.answer import LifeAnswer


def make_reports(log: Log, occasion: Occasion, out: Path, context: ReportContext) -> list[Path]:
    """Write every page into a folder; returns their paths, the index first."""
    with log.reading() as reader:
        state = fleet_state(reader, occasion.today, context.within_days)
        recorded = lives_in(
            (engine.ledger for engine in state.engines),
            reader.schedules(),
            makers_of(reader.parts()),
            occasion.today,
        )
        context = replace(context, head=reader.head())
    return write_reports(with_chances(state, FirmFits(recorded)), out, context, answers_for_pages(recorded))


def write_life_page(out: Path, answer: LifeAnswer, context: ReportContext, today: date) -> Path:
    """Write the page of one kind of item, beside whatever pages are there; returns its path."""
    [written] = write_pages(render_lives([answer], context, today), out, is_whole=False)
    return written

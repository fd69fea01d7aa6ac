"""Writes the HTML pages of the marina: due list, owners' reminders, engines' histories."""

from __future__ import annotations

from pathlib import Path

from fleetlog.reports.context import ReportContext
from fleetlog.reports.writing import write_reports
from fleetlog.store.log import Log
from fleetlog.usecases.fleet import fleet_state
from fleetlog.usecases.occasion import Occasion


def make_reports(log: Log, occasion: Occasion, out: Path, context: ReportContext) -> list[Path]:
    """Write every page into a folder; returns their paths, the index first."""
    with log.reading() as reader:
        state = fleet_state(reader, occasion.today, context.within_days)
    return write_reports(state, out, context)

"""The invented marina: a log filled from the folder that is shipped with the program, on a day of its own."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

from fleetlog import __version__
from fleetlog.errors.log import DemoNeedsEmptyLog
from fleetlog.reports.context import ReportContext
from fleetlog.store.log import Log
from fleetlog.usecases.imports.folder import ImportReport, import_folder
from fleetlog.usecases.occasion import Occasion

DEMO_TODAY = date(2026, 4, 15)
"""The spring day on which the invented marina stands."""

DEMO_OCCASION = Occasion("demo", datetime(2026, 4, 15, 7, 0, tzinfo=UTC), DEMO_TODAY)

DEMO_CONTEXT = ReportContext(
    marina="Tern Cove Marina (invented)",
    version=__version__,
    reply_email="service@terncove.example",
    reply_by="call 555-0100 or come by the workshop",
    note="Everything here is invented for the demonstration. The engine maker's manual rules.",
    tells_head=False,
)
"""How its pages are signed. Its log is made anew each time, with another head: they come out the same."""


def demo_folder() -> Path:
    """Where the invented marina's files are: in the installed package, else beside it in the checkout."""
    package = Path(__file__).resolve().parents[1]
    inside = package / "demo_fleet"
    return inside if inside.is_dir() else package.parent / "demo_fleet"


def fill_demo(log: Log) -> ImportReport:
    """Take the invented marina into an empty log; raises DemoNeedsEmptyLog for one that has engines."""
    with log.reading() as reader:
        if reader.serials():
            raise DemoNeedsEmptyLog()
    occasion = DEMO_OCCASION
    return import_folder(log, occasion, demo_folder())

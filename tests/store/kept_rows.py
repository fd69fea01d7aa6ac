"""What is kept for speed, by hand."""

from __future__ import annotations

from datetime import date, timedelta

from fleetlog.domain.kept import KeptEngine, KeptLine
from fleetlog.store.kept.lines import rows_to_keep
from fleetlog.store.log import Log

TODAY = date(2026, 4, 1)
FIRST, LAST = date(2026, 3, 1), date(2026, 6, 1)


def a_line(rule: str, shows_on: date | None, always: str | None = None) -> KeptLine:
    """A line of which every column is filled."""
    due_on = None if shows_on is None else shows_on + timedelta(days=5)
    return KeptLine(
        rule,
        "bank 1",
        FIRST,
        1200,
        due_on,
        2200,
        "hours",
        shows_on,
        shows_on,
        due_on,
        LAST,
        2400,
        always,
        FIRST,
        shows_on,
    )


def an_engine(serial: str, *lines: KeptLine) -> KeptEngine:
    """What is kept of an engine that holds from FIRST to LAST."""
    return KeptEngine(serial, FIRST, LAST, "fit-1", "gull", "ann", FIRST, 1234, "two readings", 1, lines)


def keep_a_line(log: Log, serial: str) -> None:
    """Keeps one line of an engine that is in the log."""
    with log.reading() as reader:
        seen = reader.kept.seen([serial])
    engine = an_engine(serial, a_line("impeller", TODAY))
    assert log.keep(engines=[rows_to_keep(engine)], seen=seen) == 1

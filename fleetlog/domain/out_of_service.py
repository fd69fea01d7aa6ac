"""Engines of which nothing falls due: sold, scrapped, or not in service yet."""

from __future__ import annotations

from datetime import date

from fleetlog.domain.records import Engine

WITHOUT_LINES = ("sold", "scrapped")
"""Engines of these states have no due lines."""


def why_without_lines(engine: Engine, today: date) -> str | None:
    """Why an engine has no due lines on a day, as what is said of it; None where it has lines."""
    if engine.state in WITHOUT_LINES:
        return f"is {engine.state}; nothing falls due"
    if engine.in_service_on is not None and engine.in_service_on > today:
        return f"comes into service on {engine.in_service_on.isoformat()}; nothing falls due before that day"
    return None

"""Due lines as plain objects, as scripts read them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from fleetlog.domain.hours import hours_number
from fleetlog.domain.kept import ListedLine


def due_objects(lines: Iterable[ListedLine]) -> list[dict[str, Any]]:
    """One object a line: dates as ISO text, hours as numbers with one decimal, None for what there is not."""
    return [_due_object(line) for line in lines]


def _due_object(line: ListedLine) -> dict[str, Any]:
    return {
        "serial": line.serial,
        "boat": line.boat,
        "boat_id": line.boat_id,
        "owner": line.owner,
        "owner_id": line.owner_id,
        "rule": line.rule.key,
        "title": line.rule.title,
        "item": line.rule.item,
        "position": line.position,
        "state": line.state,
        "last_done_on": _day(line.last_done_on),
        "last_done_hours": _hours(line.last_done_tenths),
        "due_on": _day(line.due_on),
        "due_hours": _hours(line.due_tenths),
        "governs": line.governs,
        "early_on": _day(line.early_on),
        "likely_on": _day(line.likely_on),
        "late_on": _day(line.late_on),
        "engine_hours": _hours(line.engine_tenths),
        "engine_hours_on": _day(line.engine_read_on),
        "deferred_until": _day(line.deferred_on),
        "deferred_until_hours": _hours(line.deferred_tenths),
        "access": line.rule.access,
        "consequence": line.rule.consequence,
        "why": line.why,
    }


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _hours(tenths: int | None) -> float | None:
    return None if tenths is None else hours_number(tenths)

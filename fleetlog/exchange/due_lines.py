"""Due lines as plain objects, as scripts read them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from fleetlog.domain.due import DueLine
from fleetlog.domain.explain import explain
from fleetlog.domain.hours import Tenths, hours_number


def due_objects(lines: Iterable[DueLine]) -> list[dict[str, Any]]:
    """One object a line: dates as ISO text, hours as numbers with one decimal, None for what there is not."""
    return [_due_object(line) for line in lines]


def _due_object(line: DueLine) -> dict[str, Any]:
    facts, window, deferral = line.facts, line.window, line.deferral
    return {
        "serial": line.serial,
        "boat": facts.boat.name if facts.boat else None,
        "boat_id": facts.boat.boat_id if facts.boat else None,
        "owner": facts.owner.name if facts.owner else None,
        "owner_id": facts.owner_id,
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
        "early_on": _day(window.early_on if window else None),
        "likely_on": _day(window.likely_on if window else None),
        "late_on": _day(window.late_on if window else None),
        "engine_hours": _hours(facts.last_reading.tenths if facts.last_reading else None),
        "engine_hours_on": _day(facts.last_reading.on if facts.last_reading else None),
        "deferred_until": _day(deferral.until_on if deferral else None),
        "deferred_until_hours": _hours(deferral.until_tenths if deferral else None),
        "access": line.rule.access,
        "consequence": line.rule.consequence,
        "why": explain(line),
    }


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _hours(tenths: Tenths | None) -> float | None:
    return None if tenths is None else hours_number(tenths)

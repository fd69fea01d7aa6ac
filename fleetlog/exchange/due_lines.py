"""Due lines as plain objects, as scripts read them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from fleetlog.domain.hours import hours_number
from fleetlog.domain.kept import ListedLine


def due_objects(lines: Iterable[ListedLine]) -> list[dict[str, Any]]:
    """One object a line: hours as numbers with one decimal, None for what there is not."""
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
        "last_done_on": line.last_done_on,
        "last_done_hours": hours_number(line.last_done_tenths),
        "due_on": line.due_on,
        "due_hours": hours_number(line.due_tenths),
        "governs": line.governs,
        "early_on": line.early_on,
        "likely_on": line.likely_on,
        "late_on": line.late_on,
        "engine_hours": hours_number(line.engine_tenths),
        "engine_hours_on": line.engine_read_on,
        "deferred_until": line.deferred_on,
        "deferred_until_hours": hours_number(line.deferred_tenths),
        "access": line.rule.access,
        "consequence": line.rule.consequence,
        "why": line.why,
    }

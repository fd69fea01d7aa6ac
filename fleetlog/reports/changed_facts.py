"""Facts of an engine that were said otherwise before: which, until when, by whom and why."""

from __future__ import annotations

from datetime import date

from fleetlog.domain.fleet import EngineState
from fleetlog.domain.records import Change
from fleetlog.domain.renumbered import SERIAL
from fleetlog.reports.words import capital, day_text

_PLACES = ("boat_id", "position")
"""Where an engine stood is told by its stays on boats."""


def changed_facts(state: EngineState, today: date) -> list[str]:
    """A sentence for each change seen on a day, the latest first, then for each move that was not so."""
    seen = state.ledger.changes_on(today)
    changed = [_sentence(change) for change in reversed(seen) if change.field not in _PLACES]
    return changed + [
        f"The move to {boat.boat.name if boat else mount.boat_id} on {day_text(mount.from_on)} was not so;"
        f" taken back by {word.by} on {day_text(word.at.date())}: {word.reason}"
        for mount, word in state.ledger.not_moved
        if word.takes_back
        for boat in [state.ledger.boats.get(mount.boat_id or "")]
    ]


def _sentence(change: Change) -> str:
    why = f": {change.reason}" if change.reason else ""
    if change.field == SERIAL:
        return (
            f"The serial number was first written “{change.was}”; corrected by {change.by} on"
            f" {day_text(change.changed_at.date())}{why}"
        )
    was = f"“{change.was}”" if change.was is not None else "not known"
    return (
        f"{capital(change.field.replace('_', ' '))} was {was} until {day_text(change.until_on)};"
        f" changed by {change.by} on {day_text(change.changed_at.date())}{why}"
    )

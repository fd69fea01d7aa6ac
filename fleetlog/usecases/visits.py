"""Visits: why a boat came, what was complained of and found, what was advised, and when it left."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.history import EngineHistory
from fleetlog.domain.records import Boat, Visit
from fleetlog.errors import as_word
from fleetlog.errors.naming import Ambiguous, NotKnown
from fleetlog.errors.recording import AlreadyThere
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.evidence import end_visit
from fleetlog.usecases.finding import find_boat
from fleetlog.usecases.history import history_in
from fleetlog.usecases.homes import homes_of
from fleetlog.usecases.occasion import Occasion, new_id


@again_if_lost
def open_visit(
    log: Log,
    occasion: Occasion,
    boat: str,
    opened_on: date,
    visit_id: str | None,
    facts: Mapping[str, Any],
) -> Visit:
    """A boat has come in (or is called on); without an id one is made."""
    occasion.refuse_future("a visit", opened_on)
    with log.writing(occasion.by, occasion.at) as writer:
        opened = Visit(visit_id or new_id("v"), find_boat(writer, boat).boat_id, opened_on)
        visit = replace(opened, **facts)
        if writer.existing("visits", [visit.visit_id]):
            raise AlreadyThere("visit", visit.visit_id)
        writer.add(Batch(visits=[visit]))
        return visit


@again_if_lost
def close_visit(log: Log, occasion: Occasion, typed: str, closed_on: date) -> tuple[Visit, bool]:
    """The boat has left; a visit is closed once. Gives it, and whether anything was recorded in it.

    Raises what `find_visit` and `end_visit` raise.
    """
    occasion.refuse_future("the end of a visit", closed_on)
    with log.writing(occasion.by, occasion.at) as writer:
        visit = find_visit(writer, typed)
        return end_visit(writer, visit, closed_on), bool(writer.serials_of_visit(visit.visit_id))


def find_visit(reader: Reader, typed: str) -> Visit:
    """The visit of an id, or the only open one of a boat.

    Raises NotKnown, or Ambiguous where a boat has several open ones.
    """
    visit: Visit | None = reader.row("visits", typed)
    if visit is not None:
        return visit
    try:
        boat = find_boat(reader, typed)
    except NotKnown:
        raise NotKnown("visit", typed, [], "fleetlog visit list shows them") from None
    found = reader.open_visits(boat.boat_id)
    if not found:
        those = f"fleetlog visit list --boat {as_word(boat.boat_id)} shows those that are closed"
        raise NotKnown("visit", typed, [], f"{boat.name} has no open one; {those}")
    if len(found) > 1:
        raise Ambiguous("visit", typed, [f"{v.visit_id} of {v.opened_on}" for v in found], "say which")
    return found[0]


def list_visits(log: Log, occasion: Occasion, boat: str | None, *, open_only: bool) -> list[dict[str, Any]]:
    """One row a visit, the latest first."""
    with log.reading() as reader:
        wanted = None if boat is None else find_boat(reader, boat).boat_id
        boats = reader.boats()
        visits: list[Visit] = reader.rows("visits")
    chosen = [
        v
        for v in visits
        if (wanted is None or v.boat_id == wanted)
        and (not open_only or v.closed_on is None)
        and (v.opened_on is None or v.opened_on <= occasion.today)
    ]
    chosen.sort(key=lambda v: (v.opened_on or date.min, v.visit_id), reverse=True)
    return [_row(visit, boats) for visit in chosen]


def show_visit(log: Log, occasion: Occasion, typed: str) -> tuple[dict[str, Any], list[EngineHistory]]:
    """One visit as a row of the list, and the history of each engine on which something was done in it."""
    with log.reading() as reader:
        visit = find_visit(reader, typed)
        homes = homes_of(reader, occasion.today)
        histories = [history_in(reader, homes, serial) for serial in reader.serials_of_visit(visit.visit_id)]
        return _row(visit, reader.boats()), histories


def _row(visit: Visit, boats: Mapping[str, Boat]) -> dict[str, Any]:
    boat = boats.get(visit.boat_id or "")
    return {
        "visit_id": visit.visit_id,
        "boat": boat.name if boat else None,
        "opened_on": visit.opened_on,
        "closed_on": visit.closed_on,
        "why": visit.why,
        "complaint": visit.complaint,
        "cause": visit.cause,
        "correction": visit.correction,
        "advised": visit.advised,
        "note": visit.note,
    }

"""The visit that work belongs to: the one that is named, which is opened where the log does not have it.

Work that names no visit is in none; of an open visit of the boat it is told that it was left out so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Visit
from fleetlog.errors.recording import VisitIsClosed, VisitOfAnotherBoat
from fleetlog.store.reader import Reader

BoatIdOn = Callable[[date], str | None]
"""Which boat the work is on, by the day: of an engine the one that it stands on then."""


def add_visit(
    reader: Reader, batch: Batch, named: Visit, on: date, boat_id_on: BoatIdOn, *, late: bool = False
) -> Visit:
    """The visit that work of a day `on` belongs to, by the id of `named`.

    Where the log does not have it, `named` is added to the batch, as a visit of the boat on its first day.
    Raises VisitOfAnotherBoat, and VisitIsClosed unless work may come `late`, after the visit was closed.
    """
    known: Visit | None = reader.existing("visits", [named.visit_id]).get(named.visit_id)
    if known is None:
        made = replace(named, boat_id=boat_id_on(named.opened_on or on))
        batch.visits.append(made)
        return made
    if known.closed_on is not None and not late:
        raise VisitIsClosed(known.visit_id, known.closed_on)
    boat_id = boat_id_on(on)
    if known.boat_id and boat_id and known.boat_id not in (boat_id, boat_id_on(known.opened_on or on)):
        boats = reader.names("boats")
        raise VisitOfAnotherBoat(known.visit_id, boats[known.boat_id], boats[boat_id])
    return known


def visit_left_out(reader: Reader, named: str | None, on: date, boat_id_on: BoatIdOn) -> Visit | None:
    """The visit of the boat that is open on a day, where work of that day names none.

    To be asked before the work is added, which may open a visit of its own.
    """
    boat_id = boat_id_on(on) if named is None else None
    return None if boat_id is None else reader.open_visit(boat_id, on)

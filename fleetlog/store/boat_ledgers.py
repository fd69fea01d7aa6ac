"""Puts the ledgers of boats together, and finds the owners whom they name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from sqlalchemy import Connection

from fleetlog.domain.ledger import BoatLedger, as_corrected, as_replanned
from fleetlog.domain.records import Owner
from fleetlog.store.keyed_rows import changes_by_key, corrections_by_key, rows_by_keys
from fleetlog.store.shapes import SHAPES


def boat_ledgers_of(
    connection: Connection,
    boat_ids: Iterable[str] | None,
    *,
    changed: bool = True,
    corrected: bool = True,
    replanned: bool = True,
) -> dict[str, BoatLedger]:
    """The boats of these ids (None: all boats) with their owners, lay-ups and changes.

    Without changes where none is `changed`, with owners as recorded where none is `corrected`, and with
    lay-ups as recorded where none is `replanned`.
    """
    wanted = None if boat_ids is None else list(boat_ids)
    if wanted == []:
        return {}
    rows: dict[str, dict[str, list[Any]]] = {}
    for kind in ("boats", "ownership", "layups", *(("layup_changes",) if replanned else ())):
        shape = SHAPES[kind]
        found = (
            shape.every_row.each(connection)
            if wanted is None
            else rows_by_keys(connection, kind, "boat_id", wanted)
        )
        grouped = rows[kind] = defaultdict(list)
        for row in found:
            value = shape.made(*row)
            grouped[value.boat_id].append(value)
    changes = changes_by_key(connection, "boats", wanted if changed else [])
    corrections = corrections_by_key(connection, "ownership", wanted) if corrected else {}
    ledgers = {}
    for boat_id, (boat,) in rows["boats"].items():
        owned, not_sold = as_corrected(rows["ownership"].get(boat_id, ()), corrections.get(boat_id, ()))
        said = rows["layup_changes"].get(boat_id, ()) if replanned else ()
        layups, said_anew = as_replanned(rows["layups"].get(boat_id, ()), said)
        of_boat = tuple(changes.get(boat_id, ()))
        ledgers[boat_id] = BoatLedger(boat, owned, layups, of_boat, not_sold, said_anew)
    return ledgers


def owners_of(connection: Connection, boats: Iterable[BoatLedger]) -> dict[str, Owner]:
    """The owners whom these boats name, now or formerly."""
    wanted: set[str | None] = set()
    for ledger in boats:
        wanted.add(ledger.boat.owner_id)
        wanted.update(owned.owner_id for owned in ledger.ownership)
        wanted.update(owned.owner_id for owned, _ in ledger.not_sold)
        wanted.update(change.was for change in ledger.changes if change.field == "owner_id")
    return {row[0]: Owner(*row) for row in rows_by_keys(connection, "owners", "owner_id", wanted - {None})}

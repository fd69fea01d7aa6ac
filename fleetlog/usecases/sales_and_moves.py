"""Boats sold and engines moved to another boat, each from a day on; and either taken back."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from fleetlog.domain.batch import Batch
from fleetlog.domain.ledger import taken_back
from fleetlog.domain.records import Boat, Correction, Engine, Mount, Owner, Ownership
from fleetlog.errors.naming import ReasonNeeded
from fleetlog.errors.recording import NoSuchMove, NoSuchSale, OneADay
from fleetlog.store.log import Log
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.finding import find_boat, find_owner, find_serial
from fleetlog.usecases.occasion import Occasion, new_id


@again_if_lost
def sell_boat(
    log: Log, occasion: Occasion, boat: str, owner: str, on: date, reason: str | None
) -> tuple[Boat, Owner]:
    """A boat belongs to another owner from a day on; its engines go with it."""
    with log.writing(occasion.by, occasion.at) as writer:
        sold, buyer = find_boat(writer, boat), find_owner(writer, owner)
        if writer.existing("ownership", [(sold.boat_id, on)]):
            if on not in taken_back(writer.boat_ledger(sold.boat_id).not_sold):
                raise OneADay(f"{sold.name} got an owner", on)
            word = _otherwise(occasion, "ownership", sold.boat_id, on, owner_id=buyer.owner_id)
            writer.add(Batch(corrections=[word]))
        else:
            writer.add(Batch(ownership=[Ownership(sold.boat_id, buyer.owner_id, on)]))
        after = replace(sold, owner_id=buyer.owner_id)
        if after != sold:
            writer.change("boats", after, on, reason)
        return after, buyer


@again_if_lost
def take_back_sale(
    log: Log, occasion: Occasion, boat: str, on: date, reason: str
) -> tuple[Boat, Owner | None]:
    """Say of a boat's sale of a day that it was not so; gives the boat, and whose it was still.

    It belonged from then on to whom it had belonged to the day before, until it was sold next. The row stays,
    and shows as taken back. Raises NoSuchSale.
    """
    ReasonNeeded.unless(reason, "taking a sale back")
    with log.writing(occasion.by, occasion.at) as writer:
        found = find_boat(writer, boat)
        ledger = writer.boat_ledger(found.boat_id)
        sales = {o.from_on: o for o in ledger.ownership if o.from_on not in taken_back(ledger.not_sold)}
        if on not in sales:
            raise NoSuchSale(found.name, on, sorted(sales))
        owner_id = ledger.owner_id_on(on - timedelta(days=1))
        if owner_id == sales[on].owner_id:
            owner_id = None  # whose it had been was never said
        word = _otherwise(occasion, "ownership", found.boat_id, on, owner_id=owner_id, reason=reason)
        writer.add(Batch(corrections=[word]))
        was, now = (one.owner_id_on(date.max) for one in (ledger, writer.boat_ledger(found.boat_id)))
        still = found if was == now else replace(found, owner_id=now)
        if still != found:
            writer.change("boats", still, on, reason)
        return still, writer.row("owners", owner_id) if owner_id is not None else None


@again_if_lost
def move_engine(
    log: Log,
    occasion: Occasion,
    engine: str,
    boat: str | None,
    position: str | None,
    on: date,
    reason: str | None,
) -> tuple[Engine, Boat | None]:
    """Move an engine to another boat (or off its boat) on a day; the stay before it ends that day."""
    with log.writing(occasion.by, occasion.at) as writer:
        ledger = writer.ledger(find_serial(writer, engine))
        now = ledger.engine
        to = None if boat is None else find_boat(writer, boat)
        recorded = writer.existing("mounts", [(now.serial, on)]) if to is not None else {}
        if recorded and on not in taken_back(ledger.not_moved):
            raise OneADay(f"{now.serial} was put on a boat", on)
        standing = ledger.mount_on(on)
        if recorded and to is not None:
            word = _otherwise(occasion, "mounts", now.serial, on, boat_id=to.boat_id, position=position)
            writer.add(Batch(corrections=[word]))
        elif standing is not None and standing.to_on is None:
            writer.end("mounts", (now.serial, standing.from_on), on)
        elif standing is None and now.boat_id is not None and not ledger.mounts:
            since = now.in_service_on or on
            if since < on:
                writer.add(Batch(mounts=[Mount(now.serial, now.boat_id, since, now.position, on)]))
        if to is not None and not recorded:
            writer.add(Batch(mounts=[Mount(now.serial, to.boat_id, on, position)]))
        moved = replace(now, boat_id=to.boat_id if to else None, position=position)
        if moved != now:
            writer.change("engines", moved, on, reason)
        return moved, to


@again_if_lost
def take_back_move(
    log: Log, occasion: Occasion, engine: str, on: date, reason: str
) -> tuple[Engine, Boat | None]:
    """Say of an engine's move of a day that it was not so; gives the engine, and the boat it was on still.

    It stood from then on where it had stood the day before, until it was moved next. The row stays, and shows
    as taken back. Raises NoSuchMove.
    """
    ReasonNeeded.unless(reason, "taking a move back")
    with log.writing(occasion.by, occasion.at) as writer:
        ledger = writer.ledger(find_serial(writer, engine))
        serial, mounts = ledger.engine.serial, ledger.mounts
        before, position = ledger.place_on(on - timedelta(days=1))
        boat_id = before.boat.boat_id if before is not None else None
        moves = {m.from_on: m for m in mounts if m.from_on not in taken_back(ledger.not_moved)}
        ends = {mount.to_on for mount in mounts if mount.to_on is not None} - {m.from_on for m in mounts}
        if on in moves:
            if (moves[on].boat_id, moves[on].position) == (boat_id, position):
                before = boat_id = position = None  # where it had stood was never said
            stood = {"boat_id": boat_id, "position": position}
            word = _otherwise(occasion, "mounts", serial, on, **stood, reason=reason)
            writer.add(Batch(corrections=[word]))
        elif on in ends and boat_id is not None:
            writer.add(Batch(mounts=[Mount(serial, boat_id, on, position)]))
        else:
            raise NoSuchMove(serial, on, sorted({*moves, *ends}))
        was, now = ledger.place_on(date.max), writer.ledger(serial).place_on(date.max)
        still = ledger.engine
        if was != now:
            place, position = now
            still = replace(still, boat_id=place.boat.boat_id if place else None, position=position)
            if still != ledger.engine:
                writer.change("engines", still, on, reason)
        return still, before.boat if before is not None else None


def _otherwise(occasion: Occasion, kind: str, key: str, on: date, **said: str | None) -> Correction:
    """The word that a sale or a move of a day was not so, and what was."""
    return Correction(new_id("x"), kind, key, on, occasion.at, occasion.by, **said)

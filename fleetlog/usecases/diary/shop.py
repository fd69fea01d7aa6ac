"""What the shop is told beside bookings: owners' wishes, and parts ordered, arrived or counted."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.bookings import wishes_on
from fleetlog.domain.diary_records import ARRIVED, COUNTED, ORDERED, PartMove, Wish
from fleetlog.errors.naming import NotKnown
from fleetlog.store.log import Log
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.finding import find_boat, find_owner
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.part_register import order_numbers
from fleetlog.usecases.recording import refuse_row


@again_if_lost
def record_wish(log: Log, occasion: Occasion, boat: str | None, owner: str | None, wish: Wish) -> Wish:
    """An owner asks for something, for a boat or for all of theirs. Its id is made. Raises RowRefused."""
    with log.writing(occasion.by, occasion.at) as writer:
        wish = replace(
            wish,
            wish_id=new_id("w"),
            boat_id=None if boat is None else find_boat(writer, boat).boat_id,
            owner_id=None if owner is None else find_owner(writer, owner).owner_id,
            told_on=occasion.today,
            by=occasion.by,
        )
        refuse_row(wish)
        writer.add(Batch(wishes=[wish]))
        return wish


@again_if_lost
def withdraw_wish(log: Log, occasion: Occasion, wish_id: str, reason: str) -> None:
    """A wish holds no longer from today on. Raises NotInLog or EndIsSet."""
    with log.writing(occasion.by, occasion.at) as writer:
        writer.end("wishes", wish_id, occasion.today, reason)


def list_wishes(log: Log, occasion: Occasion) -> list[dict[str, Any]]:
    """The wishes that hold today, one row each."""
    with log.reading() as reader:
        wishes = wishes_on(reader.rows("wishes"), occasion.today)
        boats, owners = reader.boats(), reader.owners()
    return [
        {
            "wish_id": w.wish_id,
            "for": boats[w.boat_id].name
            if w.boat_id in boats
            else owners[w.owner_id].name
            if w.owner_id in owners
            else None,
            "not_before_on": w.not_before_on,
            "not_after_on": w.not_after_on,
            "not_in_from_on": w.not_in_from_on,
            "not_in_to_on": w.not_in_to_on,
            "weekdays": w.weekdays,
            "note": w.note,
        }
        for w in wishes
    ]


@again_if_lost
def order_part(
    log: Log, occasion: Occasion, number: str, amount: Decimal, expected_on: date | None, boat: str | None
) -> PartMove:
    """Parts are ordered, for a boat or for the shelf; a known number is spelled as it is known."""
    with log.writing(occasion.by, occasion.at) as writer:
        boat_id = None if boat is None else find_boat(writer, boat).boat_id
        move = PartMove(
            new_id("o"),
            order_numbers(writer, occasion.today).spelled(number),
            ORDERED,
            amount,
            occasion.today,
            expected_on,
            None,
            boat_id,
            None,
            occasion.by,
        )
        writer.add(Batch(part_moves=[move]))
        return move


@again_if_lost
def part_arrived(log: Log, occasion: Occasion, order_id: str, amount: Decimal | None) -> PartMove:
    """What was ordered is here, all of it where no amount is said. Raises NotKnown."""
    with log.writing(occasion.by, occasion.at) as writer:
        writer.alone_with("part_moves")
        moves: list[PartMove] = writer.rows("part_moves")
        order = next((m for m in moves if m.move_id == order_id and m.move == ORDERED), None)
        here = sum((m.amount for m in moves if m.order_id == order_id and m.move == ARRIVED), Decimal(0))
        if order is None or here >= order.amount:
            raise NotKnown("open order", order_id, [], "fleetlog diary parts list shows what is on order")
        move = PartMove(
            new_id("o"), order.part_number, ARRIVED, amount or order.amount - here, occasion.today,
            order_id=order_id, by=occasion.by,
        )  # fmt: skip
        writer.add(Batch(part_moves=[move]))
        return move


@again_if_lost
def count_part(log: Log, occasion: Occasion, number: str, amount: Decimal) -> PartMove:
    """So many lie on the shelf; what is used from tomorrow on is taken off. Spelled as `order_part` does."""
    with log.writing(occasion.by, occasion.at) as writer:
        number = order_numbers(writer, occasion.today).spelled(number)
        move = PartMove(new_id("o"), number, COUNTED, amount, occasion.today, by=occasion.by)
        writer.add(Batch(part_moves=[move]))
        return move

"""What is written when one item moves from an engine to another; a whole assembly is in `swap`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from fleetlog.domain.records import Entry
from fleetlog.domain.stints import TrackedItem
from fleetlog.domain.transfer import NewId, Written, given_away, with_entries
from fleetlog.domain.travel import Home, age_on, item_there, shelved_item, with_prior_age
from fleetlog.domain.values import value_class
from fleetlog.errors.travel import NothingToTake


@value_class(frozen=True, slots=True)
class Move:
    """One item that goes from an engine to another, from a position to a position.

    `is_shelved` says that it came off before, so that what the giving engine has now stays there. What came
    off as transferred is taken without that, where nothing has been fitted since.
    """

    item: str
    on: date
    from_position: str | None = None
    to_position: str | None = None
    is_shelved: bool = False
    meter_tenths: int | None = None
    giver_meter_tenths: int | None = None
    why: str = "scheduled"
    note: str | None = None
    by: str | None = None
    checked_by: str | None = None


def write_move(
    giver: Home,
    taker: Home,
    move: Move,
    new_id: NewId,
    visit_id: str | None,
    giver_visit_id: str | None,
    gone: Sequence[TrackedItem],
) -> Written:
    """The entries of a move: *removed* as transferred where it is still fitted, and *fitted* used elsewhere.

    Its age is looked up. `gone` are items that went to other engines before. Raises NothingToTake.
    """
    written = Written()
    last = item_there(giver, move.item, move.from_position)
    there: TrackedItem | None = last
    if move.is_shelved or not last.is_on:
        there = shelved_item(giver, move.item, move.from_position, move.on, gone)
        if there is None or not (move.is_shelved or there.stints[-1].why_off == "transferred"):
            raise NothingToTake(giver.serial, move.item, move.from_position, last.stints[-1].to_on)
    else:
        place, note = (move.item, move.from_position), f"went to engine {taker.serial}"
        written.on_giver.append(given_away(move, new_id(), giver.serial, giver_visit_id, place, note))
        giver = with_entries(giver, written.on_giver, move.on)
        there = shelved_item(giver, move.item, move.from_position, move.on)
    fitted = None if there is None else there.fitted
    entry = Entry(
        new_id(),
        taker.serial,
        move.on,
        "fitted",
        visit_id=visit_id,
        meter_tenths=move.meter_tenths,
        item=move.item,
        position=move.to_position,
        part_number=fitted.part_number if fitted else None,
        lot=fitted.lot if fitted else None,
        condition="used",
        from_serial=giver.serial,
        reason=move.why,
        note=move.note,
        by=move.by,
        checked_by=move.checked_by,
    )
    written.on_taker.append(with_prior_age(entry, age_on(giver, there, move.on)))
    return written

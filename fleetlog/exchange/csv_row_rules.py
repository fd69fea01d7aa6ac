"""What the cells of a row must be to each other: which action needs an item, no end before its start."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from fleetlog.domain.records import Change, Deferral, Entry, Layup, Mount, Visit, Void
from fleetlog.exchange.csv_cells import CellNotUsable
from fleetlog.exchange.csv_files import facts_of

Wrong = tuple[str, str]
"""The field that is wrong, and what was expected in it."""

_SAYS_WHY = ("removed", "fitted")
_ONLY_FITTED = ("condition", "prior_tenths", "prior_months", "from_serial")


def _entry(entry: Entry) -> Iterator[Wrong]:
    action = entry.action
    if action == "rebuilt":
        if entry.scope is None:
            yield "scope", "the scope of the rebuild: powerhead, top end or lower unit"
    else:
        if entry.item is None:
            yield "item", f"the item that was {action}"
        if entry.scope is not None:
            yield "scope", f"nothing, as only a rebuild has a scope and the action is {action}"
    if entry.reason is not None and action not in _SAYS_WHY:
        yield "reason", f"nothing, as a reason says why an item came off and the action is {action}"
    if action != "fitted":
        for name in _ONLY_FITTED:
            if getattr(entry, name) is not None:
                yield name, f"nothing, as it speaks of an item that is fitted and the action is {action}"
    if action in ("removed", "reused"):
        for name in ("again_tenths", "again_months"):
            if getattr(entry, name) is not None:
                yield name, f"nothing, as a next look is set by work done and the action is {action}"


def _mount(mount: Mount) -> Iterator[Wrong]:
    if mount.to_on is not None and mount.to_on < mount.from_on:
        yield "to_on", f"a date from {mount.from_on} on, the day it was mounted"


def _layup(layup: Layup) -> Iterator[Wrong]:
    if layup.to_on is not None and layup.to_on < layup.from_on:
        yield "to_on", f"a date from {layup.from_on} on, the start of the lay-up"


def _visit(visit: Visit) -> Iterator[Wrong]:
    if visit.opened_on is not None and visit.closed_on is not None and visit.closed_on < visit.opened_on:
        yield "closed_on", f"a date from {visit.opened_on} on, the day the visit was opened"


def _void(void: Void) -> Iterator[Wrong]:
    if void.replaced_by == void.entry_id:
        yield "replaced_by", "another entry than the one that is voided"


def _deferral(deferral: Deferral) -> Iterator[Wrong]:
    if deferral.until_on is None and deferral.until_tenths is None:
        yield "until_on", "a date, or engine hours in until_hours"


def _change(change: Change) -> Iterator[Wrong]:
    facts = facts_of(change.kind)
    read = facts.get(change.field)
    if read is None:
        yield "field", f"one of: {', '.join(facts)}"
    elif change.was is not None:
        try:
            read(change.was)
        except CellNotUsable as error:
            yield "was", str(error)


_RULES: dict[type[Any], Callable[[Any], Iterator[Wrong]]] = {
    Entry: _entry,
    Mount: _mount,
    Layup: _layup,
    Visit: _visit,
    Void: _void,
    Deferral: _deferral,
    Change: _change,
}


def rule_for(row_type: type[Any]) -> Callable[[Any], Iterator[Wrong]] | None:
    """The rule that rows of a type must obey; None where any row will do."""
    return _RULES.get(row_type)

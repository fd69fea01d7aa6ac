"""What the fields of a row must be to each other: which action needs an item, no end before its start.

A folder that is taken in and what a person records obey the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

from fleetlog.domain.diary_records import BOOKED, COUNTED, Booking, DiaryPlan, PartMove, Wish
from fleetlog.domain.evidence import Answer, Check, Measurement, Tool, Torque
from fleetlog.domain.promises import Advice, Term
from fleetlog.domain.records import Correction, Deferral, Entry, Layup, LayupChange, Mount, Visit, Void
from fleetlog.domain.superseded import Supersession
from fleetlog.domain.units import newton_metres
from fleetlog.domain.words import WITHDRAWN, same_name

Wrong = tuple[str, str]
"""The field that is wrong, and what was expected in it."""

NEEDED = "something, as the row makes no sense without it"
"""What is expected where nothing is said and something has to be."""

_SAYS_WHY = ("removed", "fitted")
_ONLY_FITTED = ("prior_tenths", "prior_months", "from_serial")


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


def _in_order(begin: date | None, what_begins: str, name: str, end: date | None) -> Iterator[Wrong]:
    if begin is not None and end is not None and end < begin:
        yield name, f"a date from {begin} on, {what_begins}"


def _mount(mount: Mount) -> Iterator[Wrong]:
    yield from _in_order(mount.from_on, "the day it was mounted", "to_on", mount.to_on)


def _correction(correction: Correction) -> Iterator[Wrong]:
    is_sale = correction.kind == "ownership"
    for name in ("boat_id", "position") if is_sale else ("owner_id",):
        if getattr(correction, name) is not None:
            yield name, f"nothing, as it is {'a sale' if is_sale else 'a move'} that was not so"


def _layup(layup: Layup) -> Iterator[Wrong]:
    yield from _in_order(layup.from_on, "the start of the lay-up", "to_on", layup.to_on)


def _layup_change(row: LayupChange) -> Iterator[Wrong]:
    yield from _in_order(row.from_on, "the start of the lay-up", "to_on", row.to_on)
    if row.change == WITHDRAWN:
        if row.to_on is not None:
            yield "to_on", "nothing, as the lay-up is withdrawn"
        if row.reason is None:
            yield "reason", "why the lay-up is withdrawn"


def _visit(visit: Visit) -> Iterator[Wrong]:
    yield from _in_order(visit.opened_on, "the day the visit was opened", "closed_on", visit.closed_on)


def _void(void: Void) -> Iterator[Wrong]:
    if void.replaced_by == void.entry_id:
        yield "replaced_by", "another entry than the one that is voided"


def _deferral(deferral: Deferral) -> Iterator[Wrong]:
    if deferral.until_on is None and deferral.until_tenths is None:
        yield "until_on", "a date, or engine hours in until_hours"


def _tool(tool: Tool) -> Iterator[Wrong]:
    if not 0 <= tool.low < tool.high:
        yield "high", f"a figure above {tool.low}, the low end of the range, itself 0 or more"
    yield from _in_order(tool.in_use_from_on, "the day the tool came into use", "retired_on", tool.retired_on)
    yield from _why_it_ended("retired", tool.retired_on, tool.retired_reason)


def _why_it_ended(how: str, ended_on: date | None, reason: str | None) -> Iterator[Wrong]:
    if reason is not None and ended_on is None:
        yield f"{how}_reason", f"nothing, as {how}_on says no day"


def _said(row: Any, *names: str) -> Iterator[Wrong]:
    for name in names:
        if not getattr(row, name).strip():
            yield name, NEEDED


def _measurement(measurement: Measurement) -> Iterator[Wrong]:
    yield from _said(measurement, "item", "quantity")
    yield from _band(measurement)


def _band(row: Torque | Measurement) -> Iterator[Wrong]:
    if row.low is not None and row.high is not None and row.high < row.low:
        yield "high", f"{row.low} or more, as that is the low limit"


def _torque(torque: Torque) -> Iterator[Wrong]:
    yield from _said(torque, "joint")
    yield from _band(torque)
    if torque.applied < 0:
        yield "applied", "a torque of 0 or more"
    yield from newton_metres_problems(torque)


def newton_metres_problems(torque: Torque) -> Iterator[Wrong]:
    """What is wrong with the N·m beside a torque: they have to be what the figure as read comes to."""
    for name, read in (("applied_nm", torque.applied), ("target_nm", torque.target)):
        kept = getattr(torque, name)
        if read is None and kept is not None:
            yield name, "nothing, as there is no target"
        elif read is not None and kept != (right := newton_metres(read, torque.unit)):
            yield name, f"{right}, which is {read} {torque.unit}, or nothing"


def check_problems(check: Check) -> Iterator[Wrong]:
    """What is wrong with a check: a step not done without a reason, more counted than there are."""
    if check.result == "not done" and check.reason is None:
        yield "reason", "why the step was not done"
    if check.counted is not None and check.out_of is not None and check.counted > check.out_of:
        yield "counted", f"at most {check.out_of}, as there are no more"


def _answer(answer: Answer) -> Iterator[Wrong]:
    yield from _said(answer, "what")
    if sum(about is not None for about in (answer.torque_id, answer.measurement_id, answer.check_id)) != 1:
        yield "torque_id", "one of torque_id, measurement_id and check_id, and only one"


def _term(term: Term) -> Iterator[Wrong]:
    if term.months is None and term.tenths is None:
        yield "months", "months, hours or both: how long the term runs"
    if term.position is not None and term.item is None:
        yield "position", "nothing, as the term names no item"
    yield from _in_order(term.starts_on, "the day it starts", "withdrawn_on", term.withdrawn_on)
    yield from _why_it_ended("withdrawn", term.withdrawn_on, term.withdrawn_reason)


def _advice(advice: Advice) -> Iterator[Wrong]:
    if advice.follows == advice.advice_id:
        yield "follows", "the id of the first word, not the row's own"
    if advice.follows is not None and advice.answer is None:
        yield "answer", "the answer that came later, as the row follows another"


def _supersession(row: Supersession) -> Iterator[Wrong]:
    if same_name(row.part_number, row.superseded_by):
        yield "superseded_by", "another number than the one that it replaces"
    yield from _why_it_ended("withdrawn", row.withdrawn_on, row.withdrawn_reason)


def _wish(wish: Wish) -> Iterator[Wrong]:
    if (wish.owner_id is None) == (wish.boat_id is None):
        yield "boat_id", "the boat that it is wished for, or the owner of all the boats, and only one of them"
    if wish.not_in_to_on is not None and wish.not_in_from_on is None:
        yield "not_in_from_on", "the first day of the time that is ruled out"
    suits = "the first day that suits"
    yield from _in_order(wish.not_before_on, suits, "not_after_on", wish.not_after_on)
    first = "the first day that is ruled out"
    yield from _in_order(wish.not_in_from_on, first, "not_in_to_on", wish.not_in_to_on)
    yield from _why_it_ended("withdrawn", wish.withdrawn_on, wish.withdrawn_reason)


def _booking(booking: Booking) -> Iterator[Wrong]:
    if booking.change == BOOKED:
        for name in ("boat_id", "on", "tenths", "technician", "place"):
            if getattr(booking, name) is None:
                yield name, "what was agreed, as the change is booked"


def _plan(plan: DiaryPlan) -> Iterator[Wrong]:
    yield from _in_order(plan.from_on, "the first day of the plan", "to_on", plan.to_on)


def _part_move(move: PartMove) -> Iterator[Wrong]:
    if move.amount < 0 or (move.amount == 0 and move.move != COUNTED):
        yield "amount", "an amount above 0 (0 only where it was counted)"


_RULES: dict[type[Any], Callable[[Any], Iterator[Wrong]]] = {
    Entry: _entry,
    Mount: _mount,
    Correction: _correction,
    Layup: _layup,
    LayupChange: _layup_change,
    Visit: _visit,
    Void: _void,
    Deferral: _deferral,
    Tool: _tool,
    Torque: _torque,
    Measurement: _measurement,
    Check: check_problems,
    Answer: _answer,
    Wish: _wish,
    Booking: _booking,
    DiaryPlan: _plan,
    PartMove: _part_move,
    Term: _term,
    Advice: _advice,
    Supersession: _supersession,
}


def rule_for(row_type: type[Any]) -> Callable[[Any], Iterator[Wrong]] | None:
    """The rule that rows of a type must obey; None where any row will do."""
    return _RULES.get(row_type)

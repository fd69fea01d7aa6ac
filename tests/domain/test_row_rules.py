"""What a row must be by itself: a sound row of each kind breaks no rule, and each rule is broken alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest

from fleetlog.domain.diary_records import Booking, DiaryPlan, PartMove, Wish
from fleetlog.domain.evidence import Answer, Check, Measurement, Tool, Torque
from fleetlog.domain.promises import Advice, Term
from fleetlog.domain.records import (
    Correction,
    Deferral,
    Entry,
    Layup,
    LayupChange,
    Mount,
    Reading,
    Visit,
    Void,
)
from fleetlog.domain.row_rules import rule_for
from fleetlog.domain.superseded import Supersession

DAY, BEFORE, AFTER = date(2024, 5, 2), date(2024, 5, 1), date(2024, 5, 3)
AT = datetime(2024, 5, 2, 9, tzinfo=UTC)
D = Decimal

FITTED = Entry("e", "E1", DAY, "fitted", item="belt")
REMOVED = replace(FITTED, action="removed")
INSPECTED = replace(FITTED, action="inspected")
REBUILT = Entry("e", "E1", DAY, "rebuilt", scope="powerhead")
REUSED = replace(FITTED, action="reused")
MOUNT = Mount("E1", "B", DAY)
SALE = Correction("c", "ownership", "B", DAY, AT, "ann", owner_id="O")
MOVE = Correction("c", "mounts", "E1", DAY, AT, "ann", boat_id="B", position="port")
LAYUP = Layup("B", DAY)
ENDS = LayupChange("c", "B", DAY, "ends", AT, "ann", to_on=AFTER)
NOT_LAID_UP = LayupChange("c", "B", DAY, "withdrawn", AT, "ann", reason="afloat")
VISIT = Visit("v", "B", DAY)
VOID = Void("e", AT, "ann", "wrong", replaced_by="f")
PUT_OFF = Deferral("d", "E1", "belt", "ann", AT, "busy", until_on=DAY)
TOOL = Tool("w", "Wrench", "N·m", D(0), D(1), in_use_from_on=DAY, retired_on=DAY, retired_reason="bent")
TORQUE = Torque("t", "E1", DAY, "nut", D(49), "lbf·ft", target=D(50), low=D(47), high=D(51))
MEASURED = Measurement("m", "E1", DAY, "anode", "mass", D(40), low=D(50), high=D(50))
CHECK = Check("k", "E1", DAY, "grounds", "done", counted=6, out_of=6)
ANSWER = Answer("a", "E1", DAY, "put right", "again", "Kim", torque_id="t")
TERM = Term("w", "E1", "warranty", DAY, months=12, item="belt", position="port", withdrawn_on=DAY)
ADVICE = Advice("a", "E1", DAY, "hoses", answer="declined", follows="b")
NEWER = Supersession("P-1", "P-2", withdrawn_on=DAY, withdrawn_reason="mistyped")
WISH = Wish("w", boat_id="B", not_before_on=DAY, not_after_on=DAY, not_in_from_on=DAY, not_in_to_on=DAY)
BOOKED = Booking("c", "b", "booked", AT, "ann", "B", DAY, None, 20, "Kim", "bay 1")
PLAN = DiaryPlan("p", AT, "ann", DAY, DAY, 1, 1, 1, 1)
ORDERED = PartMove("m", "P-1", "ordered", D("0.1"), DAY)


def broken(row: Any) -> list[str]:
    rule = rule_for(type(row))
    assert rule is not None
    return [field for field, _ in rule(row)]


@pytest.mark.parametrize(
    "row",
    [
        FITTED,
        replace(FITTED, prior_tenths=1, prior_months=1, from_serial="E2", reason="worn", again_tenths=1),
        REMOVED,
        replace(REMOVED, reason="failed"),
        INSPECTED,
        replace(INSPECTED, again_tenths=1, again_months=1),
        REBUILT,
        REUSED,
        MOUNT,
        replace(MOUNT, to_on=DAY),
        SALE,
        MOVE,
        LAYUP,
        replace(LAYUP, to_on=DAY),
        ENDS,
        replace(ENDS, to_on=DAY),
        replace(ENDS, to_on=None),
        NOT_LAID_UP,
        VISIT,
        replace(VISIT, closed_on=DAY),
        replace(VISIT, opened_on=None, closed_on=DAY),
        VOID,
        replace(VOID, replaced_by=None),
        PUT_OFF,
        replace(PUT_OFF, until_on=None, until_tenths=1),
        TOOL,
        replace(TOOL, in_use_from_on=None),
        replace(TOOL, retired_on=None, retired_reason=None),
        TORQUE,
        replace(TORQUE, applied=D(0), applied_nm=None, target=None, target_nm=None, low=None),
        MEASURED,
        replace(MEASURED, low=None),
        replace(MEASURED, high=None),
        CHECK,
        replace(CHECK, counted=5),
        replace(CHECK, counted=7, out_of=None),
        replace(CHECK, counted=None),
        replace(CHECK, result="not done", reason="later"),
        ANSWER,
        replace(ANSWER, torque_id=None, check_id="k"),
        TERM,
        replace(TERM, months=None, tenths=1, item=None, position=None, withdrawn_reason="void"),
        ADVICE,
        replace(ADVICE, answer=None, follows=None),
        NEWER,
        replace(NEWER, withdrawn_on=None, withdrawn_reason=None),
        WISH,
        replace(WISH, not_in_from_on=None, not_in_to_on=None),
        replace(WISH, boat_id=None, owner_id="O", not_in_to_on=None, withdrawn_on=DAY, withdrawn_reason="x"),
        BOOKED,
        Booking("c", "b", "released", AT, "ann"),
        PLAN,
        ORDERED,
        replace(ORDERED, move="counted", amount=D(0)),
    ],
)
def test_a_sound_row_breaks_no_rule(row: Any) -> None:
    assert broken(row) == []


@pytest.mark.parametrize(
    ("row", "fields"),
    [
        (replace(FITTED, item=None), ["item"]),
        (replace(FITTED, scope="powerhead"), ["scope"]),
        (replace(REBUILT, scope=None), ["scope"]),
        (replace(REBUILT, reason="worn"), ["reason"]),
        (replace(INSPECTED, reason="worn"), ["reason"]),
        (replace(REUSED, reason="worn"), ["reason"]),
        (
            replace(INSPECTED, prior_tenths=1, prior_months=1, from_serial="E2"),
            ["prior_tenths", "prior_months", "from_serial"],
        ),
        (replace(REMOVED, again_tenths=1, again_months=1), ["again_tenths", "again_months"]),
        (replace(REUSED, again_months=1), ["again_months"]),
        (replace(MOUNT, to_on=BEFORE), ["to_on"]),
        (replace(SALE, boat_id="B", position="port"), ["boat_id", "position"]),
        (replace(MOVE, owner_id="O"), ["owner_id"]),
        (replace(LAYUP, to_on=BEFORE), ["to_on"]),
        (replace(ENDS, to_on=BEFORE), ["to_on"]),
        (replace(NOT_LAID_UP, to_on=AFTER, reason=None), ["to_on", "reason"]),
        (replace(VISIT, closed_on=BEFORE), ["closed_on"]),
        (replace(VOID, replaced_by="e"), ["replaced_by"]),
        (replace(PUT_OFF, until_on=None), ["until_on"]),
        (replace(TOOL, high=D(0)), ["high"]),
        (replace(TOOL, low=D(-1)), ["high"]),
        (replace(TOOL, retired_on=BEFORE), ["retired_on"]),
        (replace(TOOL, retired_on=None), ["retired_reason"]),
        (replace(TORQUE, joint=" "), ["joint"]),
        (replace(TORQUE, low=D(52)), ["high"]),
        (replace(TORQUE, applied=D(-1), applied_nm=None), ["applied"]),
        (replace(TORQUE, applied_nm=D(49), target_nm=D(50)), ["applied_nm", "target_nm"]),
        (replace(TORQUE, target=None), ["target_nm"]),
        (replace(MEASURED, item="", quantity=" "), ["item", "quantity"]),
        (replace(MEASURED, low=D(51)), ["high"]),
        (replace(CHECK, counted=7), ["counted"]),
        (replace(CHECK, result="not done"), ["reason"]),
        (replace(ANSWER, what=""), ["what"]),
        (replace(ANSWER, torque_id=None), ["torque_id"]),
        (replace(ANSWER, measurement_id="m"), ["torque_id"]),
        (replace(TERM, months=None), ["months"]),
        (replace(TERM, item=None), ["position"]),
        (replace(TERM, withdrawn_on=BEFORE), ["withdrawn_on"]),
        (replace(TERM, withdrawn_on=None, withdrawn_reason="void"), ["withdrawn_reason"]),
        (replace(ADVICE, follows="a"), ["follows"]),
        (replace(ADVICE, answer=None), ["answer"]),
        (replace(NEWER, superseded_by="p-1"), ["superseded_by"]),
        (replace(NEWER, withdrawn_on=None), ["withdrawn_reason"]),
        (replace(WISH, boat_id=None), ["boat_id"]),
        (replace(WISH, owner_id="O"), ["boat_id"]),
        (replace(WISH, not_in_from_on=None), ["not_in_from_on"]),
        (replace(WISH, not_after_on=BEFORE), ["not_after_on"]),
        (replace(WISH, not_in_to_on=BEFORE), ["not_in_to_on"]),
        (replace(WISH, withdrawn_reason="moved"), ["withdrawn_reason"]),
        (
            Booking("c", "b", "booked", AT, "ann"),
            ["boat_id", "on", "tenths", "technician", "place"],
        ),
        (replace(PLAN, to_on=BEFORE), ["to_on"]),
        (replace(ORDERED, amount=D(0)), ["amount"]),
        (replace(ORDERED, move="counted", amount=D(-1)), ["amount"]),
    ],
)
def test_what_a_row_cannot_be_is_named_by_its_field(row: Any, fields: list[str]) -> None:
    assert broken(row) == fields


def test_a_reading_may_be_anything() -> None:
    assert rule_for(Reading) is None

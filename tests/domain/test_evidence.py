"""Evidence: bands, counts and answers; wrenches in and out of calibration; what a rebuild leaves unsaid."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlog.domain.calibration import calibration_state, torque_flags
from fleetlog.domain.evidence import (
    Answer,
    Calibration,
    Check,
    Measurement,
    Tool,
    ToolLedger,
    Torque,
    Use,
)
from fleetlog.domain.evidence_rules import evidence_problems
from fleetlog.domain.evidence_text import flags_of, open_points, standing_out
from fleetlog.domain.ledger import EngineLedger, Evidence
from fleetlog.domain.months import add_months
from fleetlog.domain.records import Engine, Entry
from fleetlog.domain.units import (
    TORQUE_UNITS,
    UNITS,
    converted,
    figure_number,
    figure_text,
    newton_metres,
    rounded,
    torque_shown,
    torque_unit,
    unit_named,
)
from fleetlog.errors.evidence import UnitsDoNotMatch, UnitUnknown

DAY = date(2026, 4, 15)
figures = st.decimals(0, 100_000, places=3, allow_nan=False, allow_infinity=False)


def torque(applied: str = "49", unit: str = "lbf·ft", **more: object) -> Torque:
    return Torque("t1", "A", DAY, "nut", Decimal(applied), unit, "v1", **more)  # type: ignore[arg-type]


ANODE = Measurement("m", "A", DAY, "anode", "mass left", Decimal(40), low=Decimal(50))

# Units


@given(figures, st.sampled_from(UNITS), st.sampled_from(UNITS))
def test_a_figure_converted_there_and_back_is_the_same_figure(value, one, other):
    if one.quantity != other.quantity:
        with pytest.raises(UnitsDoNotMatch):
            converted(value, one.name, other.name)
        return
    there = converted(value, one.name, other.name)
    assert there * other.factor / one.factor == Fraction(value)


@given(figures, st.integers(0, 6))
def test_a_rounded_figure_is_within_half_a_unit_of_its_last_place(value, decimals):
    close = rounded(Fraction(value) / 7, decimals)
    assert abs(Fraction(close) - Fraction(value) / 7) <= Fraction(1, 2 * 10**decimals)
    assert -close.as_tuple().exponent == decimals  # type: ignore[operator]
    assert rounded(-Fraction(value) / 7, decimals) == -close


def test_half_of_the_last_place_is_rounded_away_from_zero():
    assert [str(rounded(Fraction(n, 2), 0)) for n in (1, 3, -1)] == ["1", "2", "-1"]


@given(figures)
def test_a_figure_is_written_without_exponent_and_comes_back(value):
    text = figure_text(value)
    assert "E" not in text
    assert Decimal(text) == value
    assert not ("." in text and text.endswith("0"))


def test_amounts_have_no_needless_zeros():
    shown = [figure_text(amount) for amount in (Decimal("1.50"), 20, Decimal("0.5"), Decimal("100.000"))]
    assert shown == ["1.5", "20", "0.5", "100"]
    assert {figure_text(Decimal(zero)) for zero in ("0", "0.0", ".0", "-0", "-0.00", "-.0", "0e3")} == {"0"}


def test_units_are_known_in_their_usual_spellings_and_no_name_means_two():
    pound_feet = ("lbf.ft", "FT-LB", "lb·ft", " lbf·ft ", "ft lb", "ft-lbs", "lbs.ft", "lbft", "FtLbs")
    assert {unit_named(s).name for s in pound_feet} == {"lbf·ft"}
    assert {unit_named(s).name for s in ("in lb", "in-lbs", "lbf.in", "lbf in")} == {"lbf·in"}
    assert unit_named("nm").name == "N·m"
    names = [name.casefold() for unit in UNITS for name in (unit.name, *unit.also)]
    assert len(names) == len(set(names))
    with pytest.raises(UnitUnknown, match="'lbf' is not known"):
        unit_named("lbf")
    with pytest.raises(UnitUnknown, match=r"expected N·m, lbf·ft, lbf·in, kgf·m$"):
        unit_named("turns and a half")


def test_a_torque_is_shown_as_read_and_in_newton_metres():
    assert torque_shown(Decimal("49.0"), "lbf·ft") == "49 lbf·ft (66.4 N·m)"
    assert torque_shown(Decimal("66.4"), "N·m") == "66.4 N·m"
    numbers = [figure_number(figure) for figure in (Decimal("49.0"), Decimal("49.5"), 49)]
    assert [(number, type(number)) for number in numbers] == [(49, int), (49.5, float), (49, int)]


def test_a_torque_has_a_unit_of_torque():
    assert torque_unit("FT-LB") == "lbf·ft"
    for other in ("bar", "mm", "turns and a half"):
        with pytest.raises(UnitUnknown, match=f"'{other}' is not known here: expected N·m, "):
            torque_unit(other)


# What is off, and what was said about it


@pytest.mark.parametrize(
    ("row", "is_off"),
    [
        (torque("47", low=Decimal(47), high=Decimal(51)), False),
        (torque("51", low=Decimal(47), high=Decimal(51)), False),
        (torque("46.9", low=Decimal(47), high=Decimal(51)), True),
        (torque("51.1", low=Decimal(47), high=Decimal(51)), True),
        (torque("0"), False),
        (Measurement("m", "A", DAY, "anode", "mass left", Decimal(40), low=Decimal(50)), True),
        (Measurement("m", "A", DAY, "anode", "mass left", Decimal(40), low=Decimal(50), stage="left"), True),
        (
            Measurement("m", "A", DAY, "anode", "mass left", Decimal(40), low=Decimal(50), stage="found"),
            False,
        ),
        (Check("c", "A", DAY, "grounds", "done", counted=6, out_of=6), False),
        (Check("c", "A", DAY, "grounds", "done", counted=5, out_of=6), True),
        (Check("c", "A", DAY, "grounds", "done", counted=5), False),
        (Check("c", "A", DAY, "grounds", "not done", reason="later", counted=0, out_of=6), False),
        (Check("c", "A", DAY, "kill cord", "failed"), True),
        (Check("c", "A", DAY, "kill cord", "not applicable"), False),
    ],
)
def test_what_is_outside_its_band_failed_or_miscounted_is_off(row, is_off):
    assert row.is_off == is_off


def test_a_visit_is_kept_open_by_what_is_off_until_it_is_answered():
    off = torque("40", low=Decimal(47))
    failed = Check("c1", "A", DAY, "kill cord", "failed", "v1", reason="runs on")
    elsewhere = replace(failed, check_id="c2", visit_id="v2")
    evidence = Evidence((off,), (), (failed, elsewhere))
    assert [p.about for p in open_points(evidence, "v1")] == ["t1", "c1"]
    assert open_points(evidence, "v1")[1].text == "kill cord: failed (runs on)"
    answered = replace(
        evidence, answers=(Answer("a1", "A", DAY, "put right", "again", "Kim", torque_id="t1"),)
    )
    assert [p.about for p in open_points(answered, "v1")] == ["c1"]
    assert not answered.is_withdrawn("t1")
    wrong = Answer("a2", "A", DAY, "entered wrong", "typed wrong", "Kim", check_id="c1")
    answered = replace(answered, answers=(*answered.answers, wrong))
    assert open_points(answered, "v1") == []
    assert answered.is_withdrawn("c1")
    assert not answered.is_withdrawn("c1", DAY - timedelta(days=1))


def test_a_step_for_two_that_one_alone_saw_stands_out_and_is_not_off():
    marks = Check("c1", "A", DAY, "marks aligned", "done", card="belt", card_revision=2, step="m", by="Kim")
    checks = (
        marks,
        replace(marks, check_id="c2", title="turned over", result="failed", checked_by="kim"),
        replace(marks, check_id="c3", title="seen by two", checked_by="Lou"),
        replace(marks, check_id="c4", title="not done", result="not done", reason="later"),
        replace(marks, check_id="c5", title="older card", card_revision=1),
        replace(marks, check_id="c6", title="other step", step="n"),
        replace(marks, check_id="c7", title="no card", card=None, card_revision=None, step=None),
    )
    evidence = Evidence(checks=checks, steps_for_two=frozenset({("belt", 2, "m")}))
    flagged = {about: flags for about, row in evidence.rows() if (flags := flags_of(row, evidence))}
    alone = "no second person is named"
    assert flagged == {"c1": [alone], "c2": ["OFF: turned over: failed", alone]}
    assert list(standing_out(evidence.rows(), evidence, DAY)) == [
        "OFF: turned over: failed",
        "no second person is named for 2 steps that one was to see: marks aligned; turned over",
    ]
    wrong = Answer("a1", "A", DAY, "entered wrong", "typed wrong", "Kim", check_id="c1")
    answered = replace(evidence, answers=(wrong,))
    assert list(standing_out(answered.rows(), answered, DAY))[1:] == [
        "no second person is named for 1 step that one was to see: turned over"
    ]


@given(figures, st.sampled_from(TORQUE_UNITS))
def test_a_torque_keeps_its_newton_metres_beside_it(value, unit):
    made = Torque("t", "A", DAY, "nut", value, unit, target=value)
    assert made.applied_nm == made.target_nm == newton_metres(value, unit)
    assert list(evidence_problems(EngineLedger(Engine("A"), evidence=Evidence((made,))))) == []


def test_evidence_that_does_not_agree_with_itself_is_found():
    crooked = torque("49", applied_nm=Decimal(49), entry_id="e9")
    stray = Answer("a1", "A", DAY, "put right", "again", "Kim", check_id="c9")
    entries = (Entry("e1", "A", DAY, "serviced"),)
    ledger = EngineLedger(
        Engine("A"),
        entries,
        evidence=Evidence((crooked,), (replace(ANODE, entry_id="e8"),), answers=(stray,)),
    )
    found = {(p.kind, p.key, p.field, p.value): p.expected for p in evidence_problems(ledger)}
    assert found == {
        ("torques", "t1", "applied_nm", "49"): "66.4351, which is 49 lbf·ft, or nothing",
        ("torques", "t1", "entry_id", "e9"): "an entry of engine A",
        ("measurements", "m", "entry_id", "e8"): "an entry of engine A",
        ("answers", "a1", "check_id", "c9"): "a torque, measurement or check of engine A",
    }
    rows = (torque(entry_id="e1"),), (replace(ANODE, entry_id="e1"),)
    answers = (replace(stray, check_id=None, torque_id="t1"),)
    assert list(evidence_problems(replace(ledger, evidence=Evidence(*rows, answers=answers)))) == []


# Torque tools

WRENCH = Tool("w", "Wrench", "lbf·ft", Decimal(10), Decimal(80), date(2024, 3, 1))


def state_on(day: date, *calibrated: date, tool: Tool = WRENCH, uses: tuple[Use, ...] = ()):
    calibrations = tuple(Calibration(f"k{n}", "w", on) for n, on in enumerate(calibrated))
    return calibration_state(ToolLedger(tool, calibrations, uses), day)


def test_a_calibration_counts_from_first_use_where_the_wrench_was_used_only_later():
    assert state_on(DAY, date(2023, 11, 1)).due_on == date(2025, 3, 1)
    assert state_on(DAY, date(2024, 11, 1)).due_on == date(2025, 11, 1)


def test_only_what_was_known_by_the_day_counts():
    early = state_on(date(2025, 3, 1), date(2024, 3, 1), date(2025, 6, 1))
    assert (early.is_due, early.due_on) == (False, date(2025, 3, 1))
    assert state_on(date(2025, 3, 2), date(2024, 3, 1), date(2025, 6, 1)).is_due
    assert not state_on(date(2026, 6, 1), date(2024, 3, 1), date(2025, 6, 1)).is_due
    assert state_on(date(2024, 2, 1), date(2024, 3, 1)).why == "no calibration on record"


def test_cycles_are_fasteners_since_the_calibration_and_the_first_limit_counts():
    uses = (Use(date(2024, 2, 1), 9000), Use(date(2024, 4, 1), 4999), Use(date(2024, 5, 1), 1))
    just = state_on(date(2024, 5, 1), date(2024, 3, 1), uses=uses)
    assert (just.cycles, just.is_due) == (5000, False)
    over = state_on(date(2024, 6, 1), date(2024, 3, 1), uses=(*uses, Use(date(2024, 5, 2), 1)))
    assert over.why == "5001 cycles since 2024-03-01, more than 5000"


def test_a_shop_may_ask_for_fewer_cycles_and_months():
    tool = replace(WRENCH, calibrate_cycles=10, calibrate_months=6)
    uses = [Use(date(2024, 2, 29), 9), Use(date(2024, 3, 1), 1), Use(date(2024, 4, 1), 9)]
    just = state_on(date(2024, 5, 1), date(2024, 3, 1), tool=tool, uses=tuple(uses))
    assert (just.most_cycles, just.is_due, just.due_on) == (10, False, date(2024, 9, 1))
    uses.append(Use(date(2024, 4, 2), 1))
    over = state_on(date(2024, 5, 1), date(2024, 3, 1), tool=tool, uses=tuple(uses))
    assert over.is_due


def test_a_wrench_that_was_never_calibrated_is_due_and_its_cycles_are_told():
    uses = tuple(Use(DAY + timedelta(days=days), 1 + days) for days in (0, 1, 2))
    state = state_on(DAY + timedelta(days=1), uses=uses)
    assert (state.is_due, state.due_on, state.cycles) == (True, None, 3)


@given(st.dates(date(2000, 1, 1), date(2090, 1, 1)), st.integers(0, 800), st.none() | st.integers(1, 60))
def test_a_wrench_is_in_calibration_to_the_last_day_of_its_months(calibrated, days, months):
    tool = replace(WRENCH, in_use_from_on=None, calibrate_months=months)
    day = calibrated + timedelta(days=days)
    assert state_on(day, calibrated, tool=tool).is_due == (day > add_months(calibrated, months or 12))


def test_a_torque_at_the_very_end_of_the_range_is_in_range_in_any_unit():
    ledger = ToolLedger(WRENCH, (Calibration("k", "w", date(2026, 1, 1)),))
    assert torque_flags(torque("80", tool_id="w"), ledger) == []
    assert torque_flags(torque("10", tool_id="w"), ledger) == []
    assert torque_flags(torque("80.001", tool_id="w"), ledger) == [
        "80.001 lbf·ft (108.5 N·m) is outside the range of Wrench, 10 to 80 lbf·ft"
    ]
    assert torque_flags(torque("960", "lbf·in", tool_id="w"), ledger) == []
    assert torque_flags(torque("49"), None) == []
    assert torque_flags(torque("49", tool_id="w"), None) == ["tool w is not in the log"]


def test_a_torque_by_a_wrench_out_of_calibration_is_flagged():
    def flags(calibrated_on: date) -> list[str]:
        return torque_flags(torque(tool_id="w"), ToolLedger(WRENCH, (Calibration("k", "w", calibrated_on),)))

    assert flags(date(2025, 4, 15)) == []
    assert flags(date(2025, 4, 14)) == [
        "Wrench: calibration ran out on 2026-04-14, 12 months after 2025-04-14"
    ]


@pytest.mark.parametrize("in_use_from_on", [None, DAY])
def test_a_wrench_may_be_used_from_its_first_day(in_use_from_on):
    tool = replace(WRENCH, in_use_from_on=in_use_from_on, retired_on=DAY + timedelta(days=1))
    ledger = ToolLedger(tool, (Calibration("k", "w", date(2026, 1, 1)),))
    assert torque_flags(torque(tool_id="w"), ledger) == []


def test_a_wrench_not_yet_or_no_longer_in_use_is_flagged():
    tool = replace(WRENCH, in_use_from_on=date(2026, 5, 1), retired_on=DAY)
    ledger = ToolLedger(tool, (Calibration("k", "w", date(2026, 1, 1)),))
    assert torque_flags(torque(tool_id="w"), ledger) == [
        "Wrench was in use only from 2026-05-01 on",
        "Wrench was retired on 2026-04-15",
    ]

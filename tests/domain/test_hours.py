"""Hours are exact tenths: what is read, scaled and shown of them."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlog.domain.hours import (
    age_text,
    hours_number,
    hours_text,
    rounded_tenths,
    scaled_tenths,
    tenths_from_hours,
    tenths_from_text,
)


@pytest.mark.parametrize(
    ("text", "tenths"),
    [
        ("412", 4120),
        ("412.5", 4125),
        ("412.50", 4125),
        ("0", 0),
        ("0.1", 1),
        ("-3.2", -32),
        ("0412.500", 4125),
    ],
)
def test_a_figure_is_read_as_whole_tenths(text: str, tenths: int) -> None:
    assert tenths_from_text(text) == tenths


@pytest.mark.parametrize(
    "text", ["", "412.55", "412,5", "4.1e2", " 412", "412.", ".5", "+4", "٤١٢", "12345678", "nan", "1 000"]
)
def test_anything_else_is_no_figure(text: str) -> None:
    with pytest.raises(ValueError, match=r"^" + text.replace("+", r"\+").replace(".", r"\.") + r"$"):
        tenths_from_text(text)


def test_ten_times_a_tenth_is_one_hour() -> None:
    assert sum([tenths_from_text("0.1")] * 10) == tenths_from_text("1.0")


@given(st.integers(-(10**7) + 1, 10**7 - 1))
def test_what_is_shown_reads_back_as_it_was(tenths: int) -> None:
    assert tenths_from_text(hours_text(tenths)) == tenths
    assert hours_number(tenths) == tenths / 10


@pytest.mark.parametrize(
    ("tenths", "shown"),
    [
        (Fraction(333, 2), "16.7"),
        (Fraction(1664, 10), "16.6"),
        (Fraction(-1, 2), "0.0"),
        (Fraction(-3, 2), "-0.1"),
        (-32, "-3.2"),
        (4, "0.4"),
    ],
)
def test_half_a_tenth_is_shown_rounded_up(tenths: Fraction | int, shown: str) -> None:
    assert hours_text(tenths) == shown


@given(st.fractions(min_value=-10_000, max_value=10_000))
def test_rounding_is_never_more_than_half_a_tenth_off(tenths: Fraction) -> None:
    assert -Fraction(1, 2) < rounded_tenths(tenths) - tenths <= Fraction(1, 2)


@given(st.decimals("0.01", 1, places=2), st.integers(0, 10**6))
def test_a_factor_is_applied_exactly(factor: Decimal, tenths: int) -> None:
    assert scaled_tenths(tenths, factor) == Fraction(tenths) * int(factor * 100) / 100


def test_an_interval_in_hours_is_exact_and_whole_where_it_can_be() -> None:
    assert tenths_from_hours(Decimal("0.1")) == 1
    assert tenths_from_hours(100) == 1000
    assert tenths_from_hours(Decimal("33.33")) == Fraction(3333, 10)
    assert isinstance(tenths_from_hours(Decimal("12.5")), int)
    assert isinstance(scaled_tenths(1000, Decimal("0.5")), int)


def test_hours_that_are_not_known_are_no_number_and_an_age_from_before_the_first_reading_is_the_least() -> (
    None
):
    assert hours_number(None) is None
    assert [age_text(4125, is_least=is_least) for is_least in (False, True)] == [
        "412.5 h",
        "at least 412.5 h",
    ]

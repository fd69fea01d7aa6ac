"""Hours as exact tenths: ten times 0.1 h is 1.0 h.

Meters show tenths of an hour, so figures are whole tenths. What is worked out from them (an interpolated
figure, a limit shortened by a factor) is an exact fraction of a tenth; it is compared as it is and
rounded only when it is shown.
"""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from fleetlog.errors import counted

Tenths = int | Fraction
"""Tenths of an hour: whole where a meter showed them, a fraction where they were worked out."""

_FIGURE = re.compile(r"(-?\d{1,7})(?:\.(\d)0*)?", re.ASCII)


def tenths_from_text(text: str) -> int:
    """Whole tenths of an hour from a figure in hours such as `412`, `412.5` or `412.50`.

    Raises ValueError for anything else, a second decimal other than 0 included.
    """
    figure = _FIGURE.fullmatch(text)
    if figure is None:
        raise ValueError(text)
    hours, tenth = figure.groups("0")
    return int(hours + tenth)


def tenths_from_hours(hours: Decimal | int) -> Tenths:
    """Exact tenths from a decimal number of hours, such as an interval of a schedule."""
    tenths = Fraction(hours) * 10
    return tenths.numerator if tenths.denominator == 1 else tenths


@lru_cache
def scaled_tenths(tenths: Tenths, factor: Decimal) -> Tenths:
    """Exact tenths times a decimal factor, such as one for severe use."""
    product = tenths * Fraction(factor)
    return product.numerator if product.denominator == 1 else product


def rounded_tenths(tenths: Tenths) -> int:
    """The whole tenths that are shown: half a tenth is rounded up."""
    return (
        tenths
        if isinstance(tenths, int)
        else (2 * tenths.numerator + tenths.denominator) // (2 * tenths.denominator)
    )


def hours_number(tenths: Tenths | None) -> float | None:
    """Hours with one decimal, as a number for JSON; None where they are not known."""
    return None if tenths is None else rounded_tenths(tenths) / 10


def hours_text(tenths: Tenths) -> str:
    """Hours with one decimal, such as `412.5`."""
    whole = rounded_tenths(tenths)
    sign, size = ("-", -whole) if whole < 0 else ("", whole)
    return f"{sign}{size // 10}.{size % 10}"


def age_text(tenths: Tenths, *, is_least: bool) -> str:
    """An age such as `412.5 h`, or `at least 412.5 h` where a part of it was run before the first reading."""
    return f"{'at least ' if is_least else ''}{hours_text(tenths)} h"


def age_words(tenths: Tenths | None, months: int | None, *, is_least: bool) -> str:
    """What is known of an age: `412.5 h and 14 months`, one of both, or nothing; `is_least` is of hours."""
    known = [] if tenths is None else [age_text(tenths, is_least=is_least)]
    known += [] if months is None else [counted(months, "month")]
    return " and ".join(known)

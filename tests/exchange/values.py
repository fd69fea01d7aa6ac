"""Values for made-up rows: texts that try to break a CSV file, days, figures."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

_BLANKS = " \t\xa0"
_HOSTILE = st.sampled_from(list("=+-@'\",;\t\r\n|<&\\é√🛥ß\u2028\x85\x1f0123 ab"))
texts = st.text(
    st.one_of(_HOSTILE, st.characters(exclude_categories=["Cs"], exclude_characters="\0")),
    min_size=1,
    max_size=12,
).filter(lambda t: t.strip() and t[0] not in " \xa0" and t[-1] not in _BLANKS)
names = st.sampled_from(["timing belt", "=SUM(A1)", "'quoted'", "Ölfilter", "anode, upper", 'the "old" one'])
keys = st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=8)
days = st.dates(date(1990, 1, 1), date(2030, 12, 31))
earlier_days = st.dates(date(1900, 1, 1), date(1990, 12, 31))
"""Days of service: nothing is recorded long before them."""
moments = st.datetimes(datetime(1990, 1, 1), datetime(2030, 12, 31), timezones=st.just(UTC))
tenths = st.integers(0, 99_999)
months = st.integers(0, 240)


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """The value, or nothing."""
    return st.none() | strategy


figures = st.integers(0, 9_999_999).map(lambda n: Decimal(n) / 1000)


def some(draw: st.DrawFn, strategy: st.SearchStrategy[Any], key: Any, most: int = 4) -> list[Any]:
    """A few values, each key once."""
    return draw(st.lists(strategy, max_size=most, unique_by=key))

"""Column types of the log: days and UTC moments kept as whole numbers.

A day is its ordinal (1 is 1 January of year 1) and a moment the microseconds since 1970 in UTC: both
sort as they should on every database, take a few bytes each, which counts over millions of readings,
and leave no time zone for a driver to drop. In SQLite, `date(read_on + 1721424.5)` shows a day.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from sqlalchemy import BigInteger, Dialect, Integer, Text
from sqlalchemy.types import TypeDecorator

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)


def day_number(day: date | None) -> int | None:
    """The number that a day is kept as."""
    return None if day is None else day.toordinal()


def moment_number(moment: datetime) -> int:
    """The microseconds since 1970 that a moment is kept as; ValueError where it has no time zone."""
    if moment.tzinfo is None:
        raise ValueError(f"{moment} has no time zone")
    return datetime.__sub__(moment, _EPOCH) // _MICROSECOND  # by itself pendulum's gives an interval


def figure_kept(figure: Decimal | None) -> str | None:
    """The text that an exact figure is kept as."""
    if figure is None:
        return None
    from fleetlog.domain.units import figure_text  # a look-up seldom meets one

    return figure_text(figure)


class _Days(dict[int | None, date | None]):
    """Days by number; one value for every row of a day, whatever the number of rows."""

    def __missing__(self, number: int | None) -> date | None:
        assert number is not None
        day = self[number] = date.fromordinal(number)
        return day


_DAYS = _Days({None: None})


def _moment(number: int | None) -> datetime | None:
    return None if number is None else _EPOCH + timedelta(microseconds=number)


class Day(TypeDecorator[date]):
    """A plain date."""

    impl = Integer
    cache_ok = True

    def bind_processor(self, dialect: Dialect) -> Callable[[date | None], int | None]:
        return day_number

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], date | None]:
        return _DAYS.__getitem__


class Moment(TypeDecorator[datetime]):
    """An aware moment; whatever its time zone, it comes back as UTC."""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> int | None:
        return None if value is None else moment_number(value)

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], datetime | None]:
        return _moment


class Figure(TypeDecorator[Decimal]):
    """An exact decimal figure, as text."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Decimal | None, dialect: Dialect) -> str | None:
        return figure_kept(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Decimal | None:
        return None if value is None else Decimal(value)

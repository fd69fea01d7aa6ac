"""Ranges of serial numbers, as makers name them: `AB1000..AB1999`, or one number alone."""

from __future__ import annotations

import re

from fleetlog.domain.values import value_class

_ENDS_IN_DIGITS = re.compile(r"(.*?)(\d+)", re.ASCII | re.DOTALL)


@value_class(frozen=True, slots=True)
class SerialRange:
    """Serial numbers of one beginning from a first to a last number, both counted; case does not count.

    Without numbers (`first` and `last` None) it is the one serial that `beginning` spells.
    """

    beginning: str
    first: int | None = None
    last: int | None = None

    def covers(self, serial: str) -> bool:
        """Whether a serial number lies in the range."""
        key = serial.strip().casefold()
        if self.first is None or self.last is None:
            return key == self.beginning
        found = _ENDS_IN_DIGITS.fullmatch(key)
        return found is not None and found[1] == self.beginning and self.first <= int(found[2]) <= self.last


def serial_range_from_text(text: str) -> SerialRange:
    """The range that `AB1000..AB1999` or `AB1234` names. Raises ValueError for anything else.

    Both ends have the same beginning and as many digits, so that nobody has to guess what lies between.
    """
    first, dots, last = (part.strip().casefold() for part in text.partition(".."))
    if not dots:
        if not first:
            raise ValueError(text)
        return SerialRange(first)
    low, high = _ENDS_IN_DIGITS.fullmatch(first), _ENDS_IN_DIGITS.fullmatch(last)
    if low is None or high is None or low[1] != high[1] or len(low[2]) != len(high[2]):
        raise ValueError(text)
    if int(low[2]) > int(high[2]):
        raise ValueError(text)
    return SerialRange(low[1], int(low[2]), int(high[2]))

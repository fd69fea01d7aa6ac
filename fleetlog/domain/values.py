"""The decorator of plain values: a frozen dataclass to mypy, made as quickly as an open one.

A frozen dataclass sets each of its fields by a call, which took most of the time in which ledgers are read.
Here mypy refuses what would change a value once it is made; nothing else guards it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

__all__ = ["value_class"]

if TYPE_CHECKING:
    from dataclasses import dataclass as value_class
else:

    def value_class(*, frozen: bool, slots: bool) -> Callable[[type], type]:
        return dataclass(slots=slots, unsafe_hash=frozen)

"""What is wrong with a row of the ledger, as a value: it can be shown with its place, many at once."""

from __future__ import annotations

from typing import Any

from fleetlog.domain.values import value_class


@value_class(frozen=True, slots=True)
class LedgerProblem:
    """A row that cannot stand: kind and key as in a `Batch`, the field, its value, what was expected."""

    kind: str
    key: Any
    field: str
    value: str
    expected: str

"""Counts agree with their words; positions without a name are any."""

from __future__ import annotations

from dataclasses import fields

import pytest

from fleetlog.domain.batch import Batch
from fleetlog.domain.words import counted_kind, same_place
from fleetlog.errors import counted


def test_one_is_told_in_the_singular_and_none_in_the_plural() -> None:
    assert [counted(n, "engine") for n in (0, 1, 2)] == ["0 engines", "1 engine", "2 engines"]
    assert [counted(n, "entry is", "entries are") for n in (1, 2)] == ["1 entry is", "2 entries are"]


@pytest.mark.parametrize("kind", [f.name for f in fields(Batch)])
def test_of_every_kind_of_row_one_is_called_by_its_singular(kind: str) -> None:
    singular = {
        "entries": "entry",
        "wishes": "wish",
        "advice": "advice",
        "ownership": "ownership",
        "shop": "shop",
    }
    assert counted_kind(2, kind) == f"2 {kind}"
    assert counted_kind(1, kind) == f"1 {singular.get(kind, kind[:-1])}"


def test_places_are_one_by_their_name_in_any_case_and_any_where_none_is_said() -> None:
    assert same_place("Bank 1", " bank 1")
    assert not same_place("bank 1", "bank 2")
    assert same_place(None, "bank 1")
    assert same_place("bank 1", None)

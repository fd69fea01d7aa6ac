"""Lets the rows left of a damaged log refer to nothing that is lost, so that their folder is taken in."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from operator import attrgetter
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Boat, Engine, Owner, Visit
from fleetlog.exchange.csv.files import BY_KIND
from fleetlog.usecases.imports.references import IN_VISITS, KEYED_BY_KIND, REFERENCES

_BARE = {
    "owners": lambda key: Owner(key, key),
    "boats": lambda key: Boat(key, None, key),
    "engines": Engine,
    "visits": Visit,
}
"""How a row is made of which nothing but its key is left."""

_CAN_DO_WITHOUT = frozenset(
    {
        ("voids", "replaced_by"),
        ("torques", "entry_id"),
        ("torques", "tool_id"),
        ("measurements", "entry_id"),
        ("advice", "follows"),
    }
)
"""Kinds and fields of rows that are still true where what the field refers to is lost."""


_REFERRING = (
    *((kind, (field,), target) for kind, field, target in REFERENCES if target not in _BARE),
    ("layup_changes", ("boat_id", "from_on"), "layups"),
)
"""Kind by kind, the fields that together refer to rows of which none can be made, and their kind."""


def fill_gaps(batch: Batch, apart: Batch) -> tuple[list[str], list[str]]:
    """Puts in a bare row for each owner, boat, engine and visit that is lost and that other rows refer to.

    A row that refers to another kind of row that is lost is left out, or does without it where it can; one
    whose other row is set `apart` goes there too, to come in with it. Gives both in sentences: what was done
    for what is lost, and what was set apart.
    """
    remarks: list[str] = []
    said: list[str] = []
    for kind, fields, target in _REFERRING:
        if (kind, fields[0]) in _CAN_DO_WITHOUT:
            remarks += _doing_without(batch, kind, fields[0], target)
        else:
            said += _with_apart(batch, apart, kind, attrgetter(*fields), target)
            remarks += _without_lost(batch, kind, attrgetter(*fields), target)
    for target, bare in _BARE.items():
        rows = getattr(batch, target)
        known = set(map(BY_KIND[target].key_of, rows))
        lost = [key for key in dict.fromkeys(_spoken_of(batch, target)) if key not in known]
        rows += map(bare, lost)
        remarks += [f"{target}: the row of {key} is lost; a bare one was put in its place" for key in lost]
    return remarks, said


def _with_apart(
    batch: Batch, apart: Batch, kind: str, key_of: Callable[[Any], Any], target: str
) -> Iterator[str]:
    """Sets apart the rows of a kind that refer to rows which are."""
    there = set(map(BY_KIND[target].key_of, getattr(apart, target)))
    there -= set(map(BY_KIND[target].key_of, getattr(batch, target)))
    going = [row for row in getattr(batch, kind) if key_of(row) in there] if there else []
    if not going:
        return
    getattr(apart, kind).extend(going)
    setattr(batch, kind, [row for row in getattr(batch, kind) if key_of(row) not in there])
    for row in going:
        row_key, key = _shown(BY_KIND[kind].key_of(row)), _shown(key_of(row))
        yield f"{kind} {row_key}: {key} of {target}, which it refers to, is set apart"


def _without_lost(batch: Batch, kind: str, key_of: Callable[[Any], Any], target: str) -> Iterator[str]:
    """Leaves out the rows of a kind that refer to rows that are lost."""
    known = {None, *map(BY_KIND[target].key_of, getattr(batch, target))}
    for row in getattr(batch, kind):
        if key_of(row) not in known:
            yield f"{_named(kind, row)} left out, {_lost(key_of(row), target)}"
    setattr(batch, kind, [row for row in getattr(batch, kind) if key_of(row) in known])


def _doing_without(batch: Batch, kind: str, field: str, target: str) -> Iterator[str]:
    """Takes out of the rows of a kind what refers by a field to rows that are lost."""
    known = {None, *map(BY_KIND[target].key_of, getattr(batch, target))}
    rows = getattr(batch, kind)
    for place, row in enumerate(rows):
        key = getattr(row, field)
        if key not in known:
            rows[place] = replace(row, **{field: None})
            yield f"{_named(kind, row)} written without its {field}, {_lost(key, target)}"


def _named(kind: str, row: Any) -> str:
    return f"{kind}: {_shown(BY_KIND[kind].key_of(row))} was"


def _lost(key: Any, target: str) -> str:
    return f"as {_shown(key)} of {target}, which it refers to, is lost"


def _shown(key: Any) -> str:
    return ", ".join(map(str, key)) if isinstance(key, tuple) else str(key)


def _spoken_of(batch: Batch, target: str) -> Iterator[Any]:
    """The keys of a kind that the rows of others speak of."""
    fields = [(kind, field) for kind, field, meant in REFERENCES if meant == target]
    if target == "visits":
        fields += [(kind, "visit_id") for kind in IN_VISITS]
    for kind, field in fields:
        yield from filter(None, (getattr(row, field) for row in getattr(batch, kind)))
    for kind, of_kind, meant in KEYED_BY_KIND:
        if meant == target:
            yield from (row.key for row in getattr(batch, kind) if row.kind == of_kind)

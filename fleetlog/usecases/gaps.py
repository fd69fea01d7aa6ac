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


def fill_gaps(batch: Batch, apart: Batch) -> tuple[list[str], list[str]]:
    """Puts in a bare row for each owner, boat, engine and visit that is lost and that other rows refer to.

    A row that refers to another kind of row that is lost is left out, or does without it where it can; one
    whose other row is set `apart` goes there too, to come in with it. Gives both in sentences: what was done
    for what is lost, and what was set apart.
    """
    remarks: list[str] = []
    said: list[str] = []
    for kind, field, target in REFERENCES:
        if target not in _BARE:
            if (kind, field) not in _CAN_DO_WITHOUT:
                said += _with_apart(batch, apart, kind, attrgetter(field), target)
            remarks += _without_lost(batch, kind, field, target)
    said += _with_apart(batch, apart, "layup_changes", attrgetter("boat_id", "from_on"), "layups")
    remarks += _of_lost_layups(batch)
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


def _without_lost(batch: Batch, kind: str, field: str, target: str) -> Iterator[str]:
    """Takes out of the rows of a kind what refers to rows that are lost."""
    known = set(map(BY_KIND[target].key_of, getattr(batch, target)))
    kept = []
    for row in getattr(batch, kind):
        key = getattr(row, field)
        if key is None or key in known:
            kept.append(row)
            continue
        shown = f"{kind}: {_shown(BY_KIND[kind].key_of(row))} was"
        lost = f"as {key} of {target}, which it refers to, is lost"
        if (kind, field) in _CAN_DO_WITHOUT:
            kept.append(replace(row, **{field: None}))
            yield f"{shown} written without its {field}, {lost}"
        else:
            yield f"{shown} left out, {lost}"
    setattr(batch, kind, kept)


def _of_lost_layups(batch: Batch) -> Iterator[str]:
    """Takes out the words on lay-ups that are lost."""
    known = {(layup.boat_id, layup.from_on) for layup in batch.layups}
    for word in batch.layup_changes:
        if (word.boat_id, word.from_on) not in known:
            day = word.from_on.isoformat()
            yield (
                f"layup_changes: {word.change_id} was left out, as the lay-up of {word.boat_id} from {day},"
                " which it refers to, is lost"
            )
    batch.layup_changes = [w for w in batch.layup_changes if (w.boat_id, w.from_on) in known]


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

"""Leaves facts as the log was told since: a folder from before a change would take it back unnoticed.

A spreadsheet that is imported again and again goes on saying what it said. Where a person has changed a fact
in the log and the folder still has the one before, the log's stands, and the import says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Any

from fleetlog.domain.records import Change, fact_text
from fleetlog.errors import as_word
from fleetlog.exchange.csv.files import BY_KIND
from fleetlog.exchange.csv.folder import FolderContents
from fleetlog.exchange.problems import Remark, printable
from fleetlog.store.reader import Reader
from fleetlog.usecases.imports.merge import Merge

SAID_BY_FOLDER = "said so in an imported folder"
"""The reason of a change that an import makes; what a folder said, a later folder may take back."""

_WAYS: Mapping[tuple[str, str], str] = {
    ("boats", "owner_id"): "boat sell {} --to OWNER",
    ("engines", "boat_id"): "engine move {} --to BOAT --position PLACE",
    ("engines", "position"): "engine move {} --to BOAT --position PLACE",
}


def leave_what_was_said_since(contents: FolderContents, merge: Merge, reader: Reader) -> None:
    """Takes out of the changes those that only say again what a person has changed since, with a remark."""
    brought = {(c.kind, c.key, c.field, c.was) for c in merge.new.changes}
    for kind, rows in list(merge.changed.items()):
        key_of = BY_KIND[kind].key_of
        last = reader.last_changes(kind, [key_of(row) for _, row in rows])
        kept: list[tuple[Any, Any]] = []
        for old, row in rows:
            key = key_of(row)
            stale = {
                f.name: last[key, f.name]
                for f in fields(row)
                if getattr(row, f.name) != getattr(old, f.name)
                and _is_from_before(last.get((key, f.name)), row)
                and (kind, key, f.name, fact_text(getattr(old, f.name))) not in brought
            }
            if stale:
                row = replace(row, **{name: getattr(old, name) for name in stale})
                merge.findings.append(Remark(_text(kind, key, stale, old), *contents.place_of(kind, key)))
            if row == old:
                merge.unchanged[kind] += 1
            else:
                kept.append((old, row))
        if kept:
            merge.changed[kind] = kept
        else:
            del merge.changed[kind]


def _is_from_before(change: Change | None, row: Any) -> bool:
    return (
        change is not None
        and change.reason != SAID_BY_FOLDER
        and change.was == fact_text(getattr(row, change.field))
    )


def _text(kind: str, key: str, stale: Mapping[str, Change], old: Any) -> str:
    since = max(change.until_on for change in stale.values())
    facts = "; ".join(
        f"{BY_KIND[kind].column_of(name)} {_quoted(fact_text(getattr(old, name)))}, was {_quoted(change.was)}"
        for name, change in stale.items()
    )
    way = next((_WAYS[kind, name] for name in stale if (kind, name) in _WAYS), f"{kind[:-1]} change {{}}")
    return (
        f"the log says otherwise since {since.isoformat()}, and stands: {facts}; put it right here too, or"
        f" say it anew: fleetlog {way.format(as_word(key))}"
    )


def _quoted(text: str | None) -> str:
    return "nothing" if text is None else f'"{printable(text)}"'

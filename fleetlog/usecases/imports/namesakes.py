"""Tells new owners of a folder who may be one with another: called the same, or spelt nearly so."""

from __future__ import annotations

from collections.abc import Iterator

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import FORGOTTEN_NAME
from fleetlog.domain.words import spelling_key
from fleetlog.errors import counted
from fleetlog.exchange.csv.folder import FolderContents
from fleetlog.exchange.problems import Remark
from fleetlog.store.reader import Reader


def owners_spelt_alike(contents: FolderContents, new: Batch, reader: Reader) -> Iterator[Remark]:
    """A finding on the new owners whose name another one has but for case, accents, spaces and signs."""
    if not new.owners:
        return
    names = reader.names("owners")
    known = {spelling_key(name): owner_id for owner_id, name in names.items() if name != FORGOTTEN_NAME}
    alike = []
    for owner in new.owners:
        names[owner.owner_id] = owner.name
        other = known.setdefault(spelling_key(owner.name), owner.owner_id)
        if other != owner.owner_id and owner.name != FORGOTTEN_NAME:
            alike.append((owner, other))
    if alike:
        owner, other = alike[0]
        more = f"; so is that of {counted(len(alike) - 1, 'other owner')}" if alike[1:] else ""
        said = (
            f"the name of owner {owner.owner_id}, {owner.name!r}, is that of {other}, {names[other]!r}, or"
            f" nearly so{more}; they stay two: if they are one, write one owner_id for both"
        )
        yield Remark(said, *contents.place_of("owners", owner.owner_id))

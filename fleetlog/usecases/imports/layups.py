"""What an import says of lay-ups: a boat laid up twice at once, and words on lay-ups that are nowhere."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from fleetlog.domain.batch import Batch
from fleetlog.domain.ledger import as_replanned
from fleetlog.domain.records import Layup, LayupChange
from fleetlog.domain.season import shared_layups, shared_text
from fleetlog.exchange.csv.folder import FolderContents
from fleetlog.exchange.problems import Problem, Remark
from fleetlog.store.reader import Reader
from fleetlog.usecases.imports.merge import Existing, known_keys


def laid_up_twice(contents: FolderContents, new: Batch, reader: Reader) -> Iterator[Remark]:
    """Findings on new lay-ups that share days with others of the boat, as one whose first day was edited."""
    layups: dict[str, list[Layup]] = defaultdict(list)
    words: dict[str, list[LayupChange]] = defaultdict(list)
    for layup in new.layups:
        layups[layup.boat_id].append(layup)
    for word in new.layup_changes:
        words[word.boat_id].append(word)
    in_log = reader.boat_ledgers_of(layups)
    for boat_id, of_boat in layups.items():
        recorded = in_log[boat_id].layups if boat_id in in_log else ()
        standing, _ = as_replanned([*recorded, *of_boat], words[boat_id])
        for one, two in shared_layups(standing):
            place = next((lay for lay in (two, one) if (lay.boat_id, lay.from_on) in _keys(of_boat)), None)
            if place is not None:
                at = contents.place_of("layups", (boat_id, place.from_on))
                yield Remark(shared_text(boat_id, one, two), *at)


def check_layup_changes(contents: FolderContents, existing: Existing) -> None:
    """Adds a problem for each word on a lay-up that neither the folder nor the log has."""
    found = contents.files.get("layup_changes")
    if found is None or ("layups" in contents.files and not contents.files["layups"].whole):
        return
    known = known_keys(contents, "layups")
    missing = {(row.boat_id, row.from_on) for row in found.rows} - known
    missing -= set(existing("layups", sorted(missing)))
    for row, line in zip(found.rows, found.lines, strict=True):
        if (row.boat_id, row.from_on) in missing:
            expected = f"the first day of a lay-up of {row.boat_id} in layups.csv or in the log"
            contents.problem_list.add(
                Problem(found.file.name, line, "from", row.from_on.isoformat(), expected)
            )


def _keys(layups: list[Layup]) -> set[object]:
    return {(layup.boat_id, layup.from_on) for layup in layups}

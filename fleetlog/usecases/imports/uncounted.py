"""New entries that count for less than whoever wrote them down may think: without hours, or for no line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fleetlog.domain.records import Entry
from fleetlog.domain.satisfaction import not_counted
from fleetlog.domain.schedule import Schedule
from fleetlog.errors import counted
from fleetlog.exchange.csv.files import BY_KIND
from fleetlog.exchange.problems import Remark
from fleetlog.usecases.imports.ledgers import GrownLedger
from fleetlog.usecases.imports.merge import LineOf


@dataclass(slots=True)
class _Told:
    """The first entry of which one thing is to be told, its line, and how many there are."""

    first: Entry
    line: int | None
    count: int = 1


class Uncounted:
    """What is told of the new entries of all engines, each thing once."""

    def __init__(self) -> None:
        self._without_hours: _Told | None = None
        self._for_no_line: dict[str, _Told] = {}

    def look_at(self, grown: GrownLedger, schedule: Schedule | None, line_of: LineOf) -> None:
        """Looks at the new entries of one engine, each on its line of the folder."""
        new = grown.after.entries[len(grown.before.entries) if grown.before is not None else 0 :]
        for entry in new:
            if grown.hours.first_after_unread([entry]) is not None:
                self._without_hours = _more(self._without_hours, entry, line_of)
            said = not_counted(schedule, entry) if schedule is not None else None
            if said is not None:
                self._for_no_line[said] = _more(self._for_no_line.get(said), entry, line_of)

    def remarks(self) -> Iterator[Remark]:
        """What is to be said of them."""
        file = BY_KIND["entries"].name
        told = self._without_hours
        if told is not None:
            entries = counted(told.count, "entry", "entries")
            yield Remark(
                f"{entries} without hours from before the first reading of the engine ({_named(told.first)}):"
                " what it ran from then to that reading is not counted, so limits by hours may come sooner"
                " than told; where a card has the hours, give them",
                file,
                told.line,
            )
        for said, found in self._for_no_line.items():
            others = f", as {found.count - 1} more" if found.count > 1 else ""
            yield Remark(f"{_named(found.first)}{others}: {said}", file, found.line)


def _more(told: _Told | None, entry: Entry, line_of: LineOf) -> _Told:
    if told is None:
        return _Told(entry, line_of("entries", entry.entry_id))
    told.count += 1
    return told


def _named(entry: Entry) -> str:
    return f"{entry.serial} {entry.item or entry.scope} {entry.action} on {entry.on.isoformat()}"

"""By which serial numbers a folder knows engines of the log: former ones, and ones that it has corrected."""

from __future__ import annotations

from collections.abc import Sequence

from fleetlog.domain.records import Change
from fleetlog.domain.renumbered import SERIAL, Numbers
from fleetlog.store.log import Log
from fleetlog.store.writer import Writer


class FolderNumbers:
    """Matches the numbers of a folder with engines of the log, and takes over what the folder corrected."""

    def __init__(self, log: Log) -> None:
        self._log = log
        self._corrected: dict[str, str] = {}

    def of(self, changes: Sequence[Change]) -> Numbers:
        """The numbers of a folder that has these changes."""
        corrections = [
            (change.key, change.was)
            for change in sorted(changes, key=lambda change: change.changed_at)
            if change.kind == "engines" and change.field == SERIAL and change.was is not None
        ]
        with self._log.reading() as reader:
            now = reader.former_serials()
            for right, was in corrections:
                if not reader.has_engine(right):
                    if reader.has_engine(was):
                        self._corrected[was] = right
                        now[right] = was
                    elif was in now:
                        now.setdefault(right, now[was])
            first = reader.first_serials()
        return Numbers(now, first | {number: first.get(serial, serial) for number, serial in now.items()})

    def write(self, writer: Writer) -> None:
        """Has the engines whose numbers the folder corrected known by them."""
        for serial, right in self._corrected.items():
            writer.renumber(serial, right)

"""Takes the readings and entries of a folder in, a stretch of engines at a time: merged, checked, written.

They are most of what a folder holds; everything else of it is in memory until it is written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.problems import LedgerProblem
from fleetlog.domain.records import Entry
from fleetlog.domain.schedule import Schedule
from fleetlog.exchange.csv.files import BY_KIND
from fleetlog.exchange.csv.folder import FolderContents
from fleetlog.exchange.problems import MOST_REPORTED, Problem, ProblemList
from fleetlog.exchange.rows_aside import PUT_ASIDE, PlacedRows, RowsAside
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import schedule_of
from fleetlog.usecases.imports.ledgers import GrownLedger, GrownLedgers, LedgerRules, Takings, ages_looked_up
from fleetlog.usecases.imports.left_out import LeftOutOfEngines
from fleetlog.usecases.imports.merge import LineOf, Merge, merge_rows
from fleetlog.usecases.imports.readings import odd_readings
from fleetlog.usecases.imports.references import OddRows, References
from fleetlog.usecases.imports.uncounted import Uncounted


@dataclass(slots=True)
class _Stretch:
    """The readings and entries of some engines as the folder has them, and what the import does to them."""

    placed: dict[str, PlacedRows] = field(default_factory=dict)
    merge: Merge = field(default_factory=Merge)
    _lines: dict[str, dict[Any, int]] = field(default_factory=dict)

    def keys(self, kind: str) -> Iterable[Any]:
        """The keys of the folder's rows of a kind."""
        return map(BY_KIND[kind].key_of, self.placed[kind][0]) if kind in self.placed else ()

    def line_of(self, kind: str, key: Any) -> int | None:
        """The line on which a row begins, None where the folder does not have it."""
        if kind not in self.placed:
            return None
        if kind not in self._lines:
            self._lines[kind] = dict(zip(self.keys(kind), self.placed[kind][1], strict=True))
        return self._lines[kind].get(key)


class EngineRowsTaken:
    """What an import does to readings and entries. `merge` is that of all other rows, not written yet."""

    def __init__(
        self,
        contents: FolderContents,
        aside: RowsAside,
        merge: Merge,
        references: References,
        reader: Reader,
        today: date,
    ) -> None:
        self._contents, self._aside, self._merge = contents, aside, merge
        self._references, self._reader, self._today = references, reader, today
        self._none_in_log = {kind for kind in PUT_ASIDE if not reader.has_any(kind)}
        self._ledgers = GrownLedgers(reader, merge, self._existing)
        self._left_out = LeftOutOfEngines(contents, aside, reader)
        self.findings: list[str] = []
        """What is usable but odd: readings held from now on, wrong ones beside their correction, what
        came off twice; the first ones."""
        self.more_findings = 0
        """How many more there are."""
        aside.name(self._ledgers.serials)
        known = self._existing("entries", [entry.entry_id for _, entry in aside.moved])
        self.moved = [(line, entry) for line, entry in aside.moved if entry.entry_id not in known]
        """The new entries of items from other engines, each after its line."""

    def take(
        self, schedules: Mapping[str, Schedule], odd: OddRows, take_new: Callable[[Batch, LineOf], None]
    ) -> None:
        """Adds problems to the contents, and hands new rows to `take_new` as long as there are none."""
        problems = self._contents.problem_list
        rules = LedgerRules(self._contents, schedules)
        ages = self._ages(schedules)
        uncounted = Uncounted()
        for serials in self._aside.stretches():
            stretch = self._stretch(serials, problems)
            merge = stretch.merge
            for kind, (rows, _) in stretch.placed.items():
                self._left_out.meet(kind, rows, merge)
            merge.new.entries = [ages.get(e.entry_id, e) for e in merge.new.entries]
            self._references.meet("entries", stretch.keys("entries"))
            self._references.add_bare_visits(merge)
            odd.look_at(merge.new, stretch.line_of)
            in_folder = set(stretch.keys("readings"))
            for grown in self._ledgers.of(self._ledgers.growing(serials, merge), merge):
                for problem in rules.broken(grown):
                    problems.add(self._placed(stretch, problem))
                if not problems:
                    self._remark(str(self._placed(stretch, odd_one)) for odd_one in rules.odd(grown))
                    uncounted.look_at(grown, schedule_of(grown.after, schedules), stretch.line_of)
                    if grown.bears_on_hours:
                        self._remark(odd_readings(grown, in_folder))
            if not problems:
                take_new(merge.new, stretch.line_of)
            self._merge.unchanged.update(merge.unchanged)
            self._merge.rulings += merge.rulings
        self._references.check_put_aside()
        if not problems:
            self._contents.findings.extend(uncounted.remarks())
            self._contents.findings.extend(self._left_out.remarks())

    def _remark(self, findings: Iterable[str]) -> None:
        for finding in findings:
            if len(self.findings) < MOST_REPORTED:
                self.findings.append(finding)
            else:
                self.more_findings += 1

    def _existing(self, kind: str, keys: list[Any]) -> Mapping[Any, Any]:
        """The rows that the log had of a kind before the import, by key."""
        return {} if kind in self._none_in_log else self._reader.existing(kind, keys)

    def _stretch(self, serials: Iterable[str], problems: ProblemList) -> _Stretch:
        stretch = _Stretch()
        for kind in PUT_ASIDE:
            if kind in self._contents.files:
                found = self._contents.files[kind]
                stretch.placed[kind] = self._aside.rows_of(found.file, serials)
                merge_rows(found, stretch.placed[kind], self._existing, stretch.merge, problems)
        return stretch

    def _ages(self, schedules: Mapping[str, Schedule]) -> dict[str, Entry]:
        moved = [entry for _, entry in self.moved]
        takings = Takings(self._reader, moved, self._merge.new.voids)
        return ages_looked_up(moved, self._givers, takings, schedules, self._today)

    def _givers(self, serials: list[str]) -> Iterable[GrownLedger]:
        return self._ledgers.of(serials, self._stretch(serials, ProblemList()).merge)

    def _placed(self, stretch: _Stretch, problem: LedgerProblem) -> Problem:
        """A broken rule with the place of the row in the folder, or its id where it is in the log already."""
        file = BY_KIND[problem.kind]
        if problem.kind in PUT_ASIDE:
            line = stretch.line_of(problem.kind, problem.key)
        else:
            _, line = self._contents.place_of(problem.kind, problem.key)
        place = file.name if line is not None else f"{file.name}, {problem.key} (in the log already)"
        return Problem(place, line, file.column_of(problem.field), problem.value, problem.expected)

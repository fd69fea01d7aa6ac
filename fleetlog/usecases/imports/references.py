"""Checks that what the rows of a folder refer to is in the folder or in the log, and offers what is near."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date
from operator import attrgetter
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.looser import late_firsts, looser, looser_for
from fleetlog.domain.nearest import MISSPELT, nearest, offer
from fleetlog.domain.records import Engine, Entry, Visit
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.words import ASSEMBLIES, USES, WATERS, name_key, same_name
from fleetlog.errors import counted, one_of
from fleetlog.exchange.csv.cells import REFERENCE
from fleetlog.exchange.csv.files import BY_KIND, CSV_FILES
from fleetlog.exchange.csv.folder import FolderContents
from fleetlog.exchange.problems import Problem, Remark
from fleetlog.exchange.rows_aside import PUT_ASIDE, RowsAside
from fleetlog.exchange.toml_files import SCHEDULES
from fleetlog.store.reader import Reader
from fleetlog.usecases.imports.merge import LineOf, Merge, known_keys

_MEANT = {
    "owner_id": "owners",
    "boat_id": "boats",
    "serial": "engines",
    "entry_id": "entries",
    "replaced_by": "entries",
    "tool_id": "tools",
    "torque_id": "torques",
    "measurement_id": "measurements",
    "check_id": "checks",
    "paper_id": "papers",
    "plan_id": "plans",
    "follows": "advice",
}
"""Rows of which kind are meant by a field that refers to others."""

REFERENCES = tuple(
    (file.kind, column.fills, _MEANT[column.fills])
    for file in CSV_FILES
    for column in file.columns
    if column.kind is REFERENCE
    and column.fills in _MEANT
    and (file.kind, column.fills) != ("engines", "serial")
)
"""Kind by kind, the fields that refer to rows, and the kind of these."""

KEYED_BY_KIND = (
    ("changes", "owners", "owners"),
    ("changes", "boats", "boats"),
    ("changes", "engines", "engines"),
    ("corrections", "ownership", "boats"),
    ("corrections", "mounts", "engines"),
)
"""Kinds whose rows say by their own `kind` what the row is of that their `key` means."""

_TO_PUT_ASIDE = tuple(reference for reference in REFERENCES if reference[2] in PUT_ASIDE)
_SAID = {
    "owners": "an owner",
    "boats": "a boat",
    "engines": "an engine",
    "entries": "an entry",
    "tools": "a tool",
    "torques": "a torque",
    "measurements": "a measurement",
    "checks": "a check",
    "papers": "a paper",
    "advice": "advice",
    "plans": "a plan",
}
IN_VISITS = tuple(
    file.kind
    for file in CSV_FILES
    if any(column.fills == "visit_id" and column.kind is REFERENCE for column in file.columns)
)
_DATED = (
    ("engines", "in_service_on"),
    ("readings", "on"),
    ("entries", "on"),
    ("meters", "fitted_on"),
    ("torques", "on"),
    ("measurements", "on"),
    ("checks", "on"),
    ("papers", "taken_on"),
    ("advice", "on"),
)


class References:
    """Whether what rows refer to is in the folder or, where it is not there, in the log.

    `check` looks at all rows but for those that refer to readings and entries: these are put `aside`, so
    their ids are known only once all were met (`meet`), and then `check_put_aside` looks at them.
    """

    def __init__(self, contents: FolderContents, aside: RowsAside, reader: Reader) -> None:
        self._contents, self._aside, self._reader = contents, aside, reader
        self._in_folder = {kind: known_keys(contents, kind) for kind in (*_SAID, "visits")}
        self._wanted = {key for kind, name, _ in _TO_PUT_ASIDE for key in self._said(kind, name)}
        self._offered: dict[str, Collection[str]] = {}

    def _said(self, kind: str, field_name: str, applies: Callable[[Any], bool] | None = None) -> set[Any]:
        """What the rows of a kind refer to by a field."""
        if kind in PUT_ASIDE:
            return set(self._aside.serials)
        rows = self._contents.files[kind].rows if kind in self._contents.files else ()
        return set(map(attrgetter(field_name), filter(applies, rows))) - {None}

    def meet(self, kind: str, keys: Iterable[Any]) -> None:
        """Remembers those rows of a kind put aside to which others refer."""
        self._in_folder[kind].update(self._wanted.intersection(keys))

    def are_written(self, kind: str) -> None:
        """Forgets the keys of a kind whose rows are all written: from now on the log knows them."""
        if kind in self._in_folder:
            self._in_folder[kind] = set()

    def unknown(self, kind: str, keys: Iterable[str]) -> set[str]:
        """Those of the keys that neither the folder nor the log has."""
        missing = set(keys) - self._in_folder[kind]
        return missing - self._reader.known(kind, missing)

    def is_whole(self, kind: str) -> bool:
        """Whether all rows of the kind's file could be told apart, so that what is not there is missing."""
        return kind not in self._contents.files or self._contents.files[kind].whole

    def check(self) -> None:
        """Adds a problem for each row that refers to what is nowhere, but for what `check_put_aside` does."""
        for reference in REFERENCES:
            if reference not in _TO_PUT_ASIDE:
                self._check(*reference)
        for kind, of_kind, target in KEYED_BY_KIND:
            self._check(kind, "key", target, lambda row, of_kind=of_kind: row.kind == of_kind)  # type: ignore[misc]

    def check_put_aside(self) -> None:
        """Adds a problem for each row that refers to one that might have been put aside and is nowhere."""
        for reference in _TO_PUT_ASIDE:
            self._check(*reference)

    def _check(
        self, kind: str, field_name: str, target: str, applies: Callable[[Any], bool] | None = None
    ) -> None:
        found = self._contents.files.get(kind)
        if found is None or not self.is_whole(target):
            return
        unknown = self.unknown(target, self._said(kind, field_name, applies))
        if not unknown:
            return
        column = found.file.column_of(field_name)
        is_aside = kind in PUT_ASIDE
        rows, lines = self._aside.rows_of(found.file, unknown) if is_aside else (found.rows, found.lines)
        for row, line in zip(rows, lines, strict=True):
            value = getattr(row, field_name)
            if value in unknown and (applies is None or applies(row)):
                expected = f"{_SAID[target]} of {target}.csv or of the log{self._near(target, value)}"
                self._contents.problem_list.add(Problem(found.file.name, line, column, value, expected))

    def _near(self, target: str, value: str) -> str:
        if self._contents.problem_list.is_full:
            return ""
        if target not in self._offered:
            self._offered[target] = self._in_folder[target].union(self._keys_in_log(target))
        return offer(value, self._offered[target])

    def _keys_in_log(self, target: str) -> Collection[str]:
        """All the keys that the log has of owners, boats or engines; of other kinds none is offered."""
        if target == "engines":
            return self._reader.serials()
        return self._reader.names(target) if target in ("owners", "boats") else ()

    def add_bare_visits(self, merge: Merge) -> None:
        """Makes a visit of each id that ties entries together and is described nowhere."""
        rows = (row for kind in IN_VISITS for row in getattr(merge.new, kind))
        said = dict.fromkeys(row.visit_id for row in rows if row.visit_id is not None)
        unknown = self.unknown("visits", said)
        merge.new.visits.extend(Visit(visit_id) for visit_id in said if visit_id in unknown)
        self._in_folder["visits"] |= unknown


def check_schedules(contents: FolderContents, in_log: Iterable[str]) -> None:
    """Adds a problem for each engine whose schedule is nowhere, and a finding for families without one."""
    found = contents.files.get("engines")
    if found is None:
        return
    known = contents.schedule_names.union(in_log)
    families: Counter[str] = Counter()
    for engine, line in zip(found.rows, found.lines, strict=True):
        if engine.schedule is not None:
            if engine.schedule not in known:
                expected = (
                    f"the name of a schedule in schedules/ or in the log{offer(engine.schedule, known)}"
                )
                contents.problem_list.add(Problem("engines.csv", line, "schedule", engine.schedule, expected))
        elif engine.family is not None and engine.family not in known:
            families[engine.family] += 1
    for family, count in sorted(families.items()):
        said = (
            f"{counted(count, 'engine')} of family {family} without a service schedule: none is called"
            f" {family}{offer(family, known)}; nothing comes due on them"
        )
        contents.findings.append(Remark(said))


def loosened(in_log: Mapping[str, Schedule], newest: Mapping[str, Schedule]) -> Iterator[Remark]:
    """Findings on schedules that are new: what falls due later by them, or no more, or late at first."""
    for name, schedule in newest.items():
        before, place = in_log.get(name), f"{SCHEDULES.folder}/{name}.toml"
        if before is None or before.revision < schedule.revision:
            yield from (Remark(said, place) for said in late_firsts(schedule))
        if before is not None and before.revision < schedule.revision:
            revised = f"revision {schedule.revision} in place of {before.revision}"
            yield from (Remark(f"{revised}: {said}", place) for said in looser(before, schedule))


def under_looser_schedules(
    contents: FolderContents, changed: Iterable[tuple[Engine, Engine]], schedules: Mapping[str, Schedule]
) -> Iterator[Remark]:
    """Findings on engines, as they were and are, that another schedule asks for less, or later."""
    for was, now in changed:
        place = contents.place_of("engines", now.serial)
        yield from (Remark(f"{now.serial}: {said}", *place) for said in looser_for(was, now, schedules))


def of_unknown_use(contents: FolderContents, new: Batch, schedules: Iterable[Schedule]) -> Iterator[Remark]:
    """Findings on new boats of which nobody says how they are used, where a schedule asks for that."""
    asked = {word for schedule in schedules for rule in schedule.rules for word, _ in rule.severe}
    for fact, choices in (("water", WATERS), ("use", USES)):
        words = [word for word in choices if word in asked]
        boats = [boat for boat in new.boats if getattr(boat, fact) is None]
        if words and boats:
            said = (
                f"{counted(len(boats), 'boat')} without a {fact}: no interval is shortened there for"
                f" {one_of(words)}, though a schedule has factors for it"
            )
            yield Remark(said, *contents.place_of("boats", boats[0].boat_id))


def check_capitals(contents: FolderContents, new: Sequence[Engine], serials_in_log: Iterable[str]) -> None:
    """Adds a problem for each new engine whose serial number another one has but for capitals: it is one."""
    known = {name_key(serial): serial for serial in serials_in_log}
    for engine in new:
        other = known.setdefault(name_key(engine.serial), engine.serial)
        if other != engine.serial:
            file, line = contents.place_of("engines", engine.serial)
            expected = f"one engine in one spelling; {other} is it but for capitals: write it so everywhere"
            contents.problem_list.add(Problem(file, line, "serial", engine.serial, expected))


class OddRows:
    """New rows that are usable but odd: dated after today, or of an item as if misspelt."""

    def __init__(self, today: date, schedules: Iterable[Schedule]) -> None:
        self._today = today
        self._scheduled = {rule.item for schedule in schedules for rule in schedule.rules}
        self._known = set(map(name_key, self._scheduled))
        self._unscheduled: dict[str, int | None] = {}
        self._later: Counter[str] = Counter()
        self._first_lines: dict[str, int] = {}

    def look_at(self, new: Batch, line_of: LineOf) -> None:
        """Looks at new rows, each on its line of the folder."""
        first: dict[str | None, Entry] = {}
        for entry in new.entries:
            first.setdefault(entry.item, entry)
        for item, entry in first.items():
            if item and item not in self._unscheduled and name_key(item) not in self._known:
                self._unscheduled[item] = line_of("entries", entry.entry_id)
        for kind, field_name in _DATED:
            later = [r for r in getattr(new, kind) if (on := getattr(r, field_name)) and on > self._today]
            if later:
                self._later[kind] += len(later)
                lines = (line_of(kind, BY_KIND[kind].key_of(row)) for row in later)
                self._first_lines[kind] = min(filter(None, (self._first_lines.get(kind), *lines)))

    def findings(self) -> Iterator[Remark]:
        """What is to be said of them."""
        for item, line in self._unscheduled.items():
            if meant := self._meant(item):
                said = f"is in no schedule, so that nothing falls due by it; {meant!r} is"
                yield Remark(f"item {item!r} {said}", BY_KIND["entries"].name, line)
        for kind, _ in _DATED:
            if count := self._later[kind]:
                others = f", as {count - 1} more" if count > 1 else ""
                said = f"dated after today, {self._today}{others}: not seen before that day comes"
                yield Remark(said, BY_KIND[kind].name, self._first_lines[kind])

    def _meant(self, item: str) -> str | None:
        """The item of a schedule that is likely meant: spelled nearly so, or with these words in it."""
        if alike := nearest(item, self._scheduled, most=1, likeness=MISSPELT):
            return alike[0]
        if any(same_name(item, assembly) for assembly in ASSEMBLIES):
            return None
        words = f" {name_key(item)} "
        return next((s for s in sorted(self._scheduled) if words in f" {name_key(s)} "), None)


def fitted_from_nowhere(moved: Iterable[tuple[int, Entry]], references: References) -> Iterator[Remark]:
    """Findings on new entries, each after its line, of items from engines that are nowhere."""
    fitted = list(moved)
    unknown = references.unknown("engines", {e.from_serial for _, e in fitted if e.from_serial is not None})
    for line, entry in fitted:
        if entry.from_serial in unknown and not entry.has_prior_age:
            said = (
                f"engine {entry.from_serial} is not in the log, so the age of the {entry.item} from it is not"
                " known; state prior_hours and prior_months"
            )
            yield Remark(said, BY_KIND["entries"].name, line)

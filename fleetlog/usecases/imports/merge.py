"""Compares the rows of a folder with those that the log has: which are new, which say something else."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, replace
from operator import attrgetter
from typing import Any

from fleetlog.domain.batch import FILLED_LATER, Batch
from fleetlog.domain.chain import is_forgotten
from fleetlog.domain.evidence import CardText
from fleetlog.domain.records import Engine, Layup, Owner
from fleetlog.domain.schedule import ScheduleText
from fleetlog.domain.words import same_name
from fleetlog.errors import as_word
from fleetlog.exchange.csv.cells import neutralised
from fleetlog.exchange.csv.files import BY_KIND, CSV_FILES, FACTS_OF
from fleetlog.exchange.csv.folder import FolderContents
from fleetlog.exchange.csv.reading import FileRows
from fleetlog.exchange.problems import Problem, ProblemList, Remark
from fleetlog.exchange.rows_aside import PlacedRows

Existing = Callable[[str, list[Any]], Mapping[Any, Any]]
"""The rows that the log has of a kind, by key, among the keys asked for."""

Standing = Callable[[Layup], Layup | None]
"""A lay-up as it stands in the log by the last word on it; None where it was withdrawn."""

LineOf = Callable[[str, Any], int | None]
"""Tells on which line of the folder the row of a kind and key begins; None where it has none."""

_KEYS_AT_ONCE = 10_000
WHY_IT_ENDED = frozenset({"withdrawn_reason", "retired_reason"})
_STAYS_FORGOTTEN = (
    "what this says was erased from the log by `owner forget` and stays so; take it out of the folder too"
)
_NAMES_OF_PARTS = frozenset({"item", "position"})
_PRIOR_AGE = frozenset({"prior_tenths", "prior_months"})


@dataclass(slots=True)
class Merge:
    """What an import will do: rows to add, facts that change, ends that are filled in, rulings on readings.

    `changed` has the rows of owners, boats and engines as they will be, each with the row as it was; a
    ruling is the serial, the id of a reading of the log, and its status. `findings` say what the folder
    tells of people, boats and engines that the log was made to forget: none of it is taken in.
    """

    new: Batch = field(default_factory=Batch)
    changed: dict[str, list[tuple[Any, Any]]] = field(default_factory=dict)
    filled_in: dict[str, list[Any]] = field(default_factory=dict)
    rulings: list[tuple[str, str, str]] = field(default_factory=list)
    unchanged: Counter[str] = field(default_factory=Counter)
    findings: list[Remark] = field(default_factory=list)

    def engines_changed_in(self, *facts: str) -> list[Engine]:
        """Engines of the log, as they will be, that get another of these facts."""
        engines = self.changed.get("engines", [])
        return [now for was, now in engines if any(getattr(now, f) != getattr(was, f) for f in facts)]

    def counts_of_changes(self) -> dict[str, int]:
        """How many rows of each kind get another fact, an end or a ruling."""
        counts = {kind: len(rows) for kind, rows in (self.changed | self.filled_in).items()}
        if self.rulings:
            counts["readings"] = len(self.rulings)
        return counts


def merge_with_log(
    contents: FolderContents,
    existing: Existing,
    newest: Mapping[str, Mapping[str, int]],
    standing: Standing | None,
) -> Merge:
    """Sorts the rows of a folder by what the log has already; contradictions become problems of the folder.

    Rows that were put aside are left to `merge_rows`.
    `newest` has the newest revision in the log of each schedule and of each card, by kind and name; without
    `standing` no lay-up has a later word.
    """
    merge = Merge()
    for kind, revisions in newest.items():
        _merge_texts(kind, contents, existing, revisions, merge)
    for file in CSV_FILES:
        if file.kind in contents.files:
            found = contents.files[file.kind]
            row_merge = _RowMerge(found, merge, contents.problem_list, standing)
            row_merge.take((found.rows, found.lines), existing)
    return merge


def merge_rows(
    found: FileRows, placed: PlacedRows, existing: Existing, merge: Merge, problems: ProblemList
) -> None:
    """Sorts some rows of a file by what the log has already; contradictions go to `problems`."""
    _RowMerge(found, merge, problems).take(placed, existing)


def _merge_texts(
    kind: str, contents: FolderContents, existing: Existing, newest: Mapping[str, int], merge: Merge
) -> None:
    texts: list[ScheduleText | CardText] = getattr(contents.batch, kind)
    known = existing(kind, [(t.name, t.revision) for t in texts])
    brought = {t.name: t.revision for t in sorted(texts, key=lambda t: t.revision)}
    for text in texts:
        old: ScheduleText | CardText | None = known.get((text.name, text.revision))
        latest = newest.get(text.name, 0)
        if old is not None and old.text == text.text:
            merge.unchanged[kind] += 1
        elif old is None and (text.revision > latest or brought[text.name] >= latest):
            getattr(merge.new, kind).append(text)
        else:
            file, _ = contents.place_of(kind, (text.name, text.revision))
            found = f"another text under revision {text.revision}" if old else f"revision {text.revision}"
            expected = f"a revision above {latest}, which the log has: raise the revision"
            contents.problem_list.add(Problem(file, None, None, found, expected))


class _RowMerge:
    """The comparing of the rows of one file."""

    def __init__(
        self, found: FileRows, merge: Merge, problems: ProblemList, standing: Standing | None = None
    ) -> None:
        self.file, self.merge, self.problems, self.standing = found.file, merge, problems, standing
        self.given = tuple(f.name for f in fields(self.file.row_type) if f.name in found.given)
        self.said = attrgetter(*self.given) if self.given else lambda _row: ()
        self.fresh: list[Any] = getattr(merge.new, self.file.kind)
        self.is_fact = self.file.kind in FACTS_OF

    def take(self, placed: PlacedRows, existing: Existing) -> None:
        key_of, (rows, lines) = self.file.key_of, placed
        for start in range(0, len(rows), _KEYS_AT_ONCE):
            part = rows[start : start + _KEYS_AT_ONCE]
            known = existing(self.file.kind, list(map(key_of, part)))
            if not known:
                self.fresh += part
                continue
            for row, line in zip(part, lines[start : start + _KEYS_AT_ONCE], strict=True):
                old = known.get(key_of(row))
                if old is None:
                    self.fresh.append(row)
                elif self.said(row) == self.said(old):
                    self.merge.unchanged[self.file.kind] += 1
                elif self.is_fact:
                    self._change(row, old, line)
                else:
                    self._compare(row, old, line)

    def _differing(self, row: Any, old: Any) -> list[str]:
        """The fields in which a row says something else than the log; names of parts compare without case.

        A text that was forgotten counts as said: with it gone, nobody can tell.
        """
        return [
            name
            for name in self.given
            if (said := getattr(row, name)) != (had := getattr(old, name))
            and not is_forgotten(had)
            and not (name in _NAMES_OF_PARTS and same_name(said, had))
        ]

    def _change(self, row: Any, old: Any, line: int) -> None:
        if self._was_forgotten(old):
            self.merge.findings.append(Remark(_STAYS_FORGOTTEN, self.file.name, line))
        if isinstance(old, Owner) and old.is_forgotten:
            self.merge.unchanged[self.file.kind] += 1
            return
        facts = {name: getattr(row, name) for name in self._differing(row, old)}
        if self.file.named_by is not None and row.name == getattr(row, self.file.named_by):
            facts.pop("name", None)
        if facts:
            self.merge.changed.setdefault(self.file.kind, []).append((old, replace(old, **facts)))
        else:
            self.merge.unchanged[self.file.kind] += 1

    def _was_forgotten(self, old: Any) -> bool:
        if isinstance(old, Owner):
            return old.is_forgotten
        return any(is_forgotten(getattr(old, name)) for name in self.given)

    def _compare(self, row: Any, old: Any, line: int) -> None:
        kind = self.file.kind
        differing = self._differing(row, old)
        filled = FILLED_LATER.get(kind)
        if kind == "readings" and "status" in differing:
            differing.remove("status")
            if not differing and row.status is not None:
                self.merge.rulings.append((row.serial, row.reading_id, row.status))
                return
        elif filled is not None:
            differing = [n for n in differing if n not in WHY_IT_ENDED or getattr(row, n) is not None]
            if filled in differing and getattr(row, filled) is None:
                differing.remove(filled)
            elif (
                filled in differing
                and getattr(old, filled) is None
                and {filled} >= {*differing} - WHY_IT_ENDED
                and self._as_it_stands(old) == old
            ):
                self.merge.filled_in.setdefault(kind, []).append(row)
                return
        elif kind == "entries" and row.from_serial is not None and not row.has_prior_age:
            differing = [name for name in differing if name not in _PRIOR_AGE]
        stands = self._as_it_stands(old) if differing else old
        if not differing or row == stands:
            self.merge.unchanged[kind] += 1
            return
        name = differing[0]
        value, had = self._shown(name, getattr(row, name)), self._shown(name, getattr(stands or old, name))
        way_out = "what the log holds is never edited"
        if kind == "entries":
            way_out = "entries are never edited: void it and enter another"
        elif isinstance(row, Layup) and row.to_on is not None:
            days = f"--from {row.from_on.isoformat()} --to {row.to_on.isoformat()}"
            way_out = f"plans change by fleetlog boat lay-up {as_word(row.boat_id)} {days}"
        expected = f"{_quoted(had)}, as the log has this row already with other content; {way_out}"
        self.problems.add(Problem(self.file.name, line, self.file.column_of(name), value, expected))

    def _as_it_stands(self, old: Any) -> Any:
        """A row of the log as it stands; None for a lay-up that was withdrawn."""
        return self.standing(old) if self.standing is not None and isinstance(old, Layup) else old

    def _shown(self, name: str, value: Any) -> str:
        if value is None:
            return ""
        column = next(c for c in self.file.columns if c.fills == name)
        return neutralised(column.kind.write(value))


def _quoted(text: str) -> str:
    return f'"{text}"' if text else "nothing"


def known_keys(contents: FolderContents, kind: str) -> set[Any]:
    """The keys of a kind that a folder speaks of, those of rows with problems too."""
    found = contents.files.get(kind)
    if found is None:
        return set()
    key_of = BY_KIND[kind].key_of
    return {key_of(row) for row in found.rows} | found.spoiled_keys

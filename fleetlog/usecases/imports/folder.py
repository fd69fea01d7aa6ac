"""Takes a CSV folder into the log: all of it or nothing, and nothing twice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, field, fields, replace
from datetime import date
from functools import partial
from math import inf
from operator import itemgetter
from pathlib import Path
from typing import Any

from fleetlog.domain.batch import FILLED_LATER, Batch
from fleetlog.domain.records import Change, Layup, fact_text
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.schedule_text import schedule_from_toml
from fleetlog.errors.folders import ImportRefused
from fleetlog.exchange.csv.files import BY_KIND
from fleetlog.exchange.csv.folder import FolderContents, read_folder
from fleetlog.exchange.problems import MOST_REPORTED, Remark, Told
from fleetlog.exchange.rows_aside import PUT_ASIDE, RowsAside
from fleetlog.store.log import Log
from fleetlog.store.papers import PaperFolder
from fleetlog.store.reader import Reader
from fleetlog.store.writer import Writer
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.collecting import many_values
from fleetlog.usecases.imports.engines import EngineRowsTaken
from fleetlog.usecases.imports.layups import check_layup_changes, laid_up_twice
from fleetlog.usecases.imports.left_out import left_out_of_register
from fleetlog.usecases.imports.merge import WHY_IT_ENDED, LineOf, Merge, merge_with_log
from fleetlog.usecases.imports.namesakes import owners_spelt_alike
from fleetlog.usecases.imports.numbers import FolderNumbers
from fleetlog.usecases.imports.papers import NeededPapers
from fleetlog.usecases.imports.references import (
    OddRows,
    References,
    check_capitals,
    check_schedules,
    fitted_from_nowhere,
    loosened,
    of_unknown_use,
    under_looser_schedules,
)
from fleetlog.usecases.imports.said_since import SAID_BY_FOLDER, leave_what_was_said_since
from fleetlog.usecases.occasion import Occasion

_ROWS_PREVIEWED = 3
_ROWS_AT_ONCE = 10_000
_BEFORE_ENGINE_ROWS = (
    "schedules",
    "owners",
    "boats",
    "engines",
    "ownership",
    "layups",
    "layup_changes",
    "visits",
)
_LET_GO = ("owners", "boats", "ownership", "layups", "layup_changes", "visits")
"""Kinds of which there are many, and which nothing asks about once they are written."""
_JUDGED_TOGETHER = ("bookings", "part_moves", "supersessions")
"""Kinds whose rows are judged by each other, whoever adds them."""


@dataclass(slots=True)
class ImportReport:
    """What an import did, in rows by kind, and remarks on what is usable but odd.

    `first_rows` are, of a preview, the first new rows of each kind, as a folder would have them.
    """

    new: dict[str, int] = field(default_factory=dict)
    changed: dict[str, int] = field(default_factory=dict)
    unchanged: dict[str, int] = field(default_factory=dict)
    findings: list[str] = field(default_factory=list)
    first_rows: dict[str, list[dict[str, str]]] = field(default_factory=dict)


@again_if_lost
@many_values()
def import_folder(
    log: Log,
    occasion: Occasion,
    path: Path,
    *,
    separator: str = ",",
    decimal_comma: bool = False,
    encoding: str = "utf-8",
    preview: bool = False,
    placed: Callable[[Told], Told] = lambda told: told,
) -> ImportReport:
    """Reads a folder and writes what is new in it, in one transaction; with `preview` nothing is written.

    Facts of owners, boats and engines that are said otherwise become changes dated today. Raises
    ImportRefused with everything that is wrong, of which nothing is kept, and what `read_folder` raises.
    `placed` gives what is told the place that a person knows, where the folder was made of another file.
    """
    with closing(RowsAside()) as aside:
        numbers = FolderNumbers(log)
        contents = read_folder(
            path,
            separator=separator,
            decimal_comma=decimal_comma,
            encoding=encoding,
            aside=aside,
            numbers=numbers.of,
        )
        with log.writing(occasion.by, occasion.at) as writer:
            report = _taken_in(contents, aside, log.papers, writer, occasion.today, preview, placed)
            if not preview:
                numbers.write(writer)
            return report


def _taken_in(
    contents: FolderContents,
    aside: RowsAside,
    folder: PaperFolder,
    writer: Writer,
    today: date,
    preview: bool,
    placed: Callable[[Told], Told],
) -> ImportReport:
    """Checks all and writes what is new as it goes; the transaction is undone where something is wrong."""
    writer.alone_with(*(kind for kind in _JUDGED_TOGETHER if getattr(contents.batch, kind)))
    in_log = writer.schedules()
    newest_in_log = _newest_revisions(writer, in_log)
    standing = partial(_standing, writer) if writer.has_any("layup_changes") else None
    merge = merge_with_log(contents, writer.existing, newest_in_log, standing)
    contents.findings.extend(left_out_of_register(contents, writer))
    leave_what_was_said_since(contents, merge, writer)
    references = References(contents, aside, writer)
    references.check()
    check_layup_changes(contents, writer.existing)
    check_schedules(contents, in_log)
    if merge.new.engines:
        check_capitals(contents, merge.new.engines, writer.serials())
    references.add_bare_visits(merge)
    newest = _newest(contents, merge, in_log)
    contents.findings.extend(loosened(in_log, newest))
    engines = merge.changed.get("engines", [])
    contents.findings.extend(under_looser_schedules(contents, engines, newest))
    contents.findings.extend(of_unknown_use(contents, merge.new, newest.values()))
    contents.findings.extend(laid_up_twice(contents, merge.new, writer))
    contents.findings.extend(owners_spelt_alike(contents, merge.new, writer))
    odd = OddRows(today, newest.values())

    def line_of(kind: str, key: Any) -> int | None:
        return contents.place_of(kind, key)[1]

    odd.look_at(merge.new, line_of)
    odd.look_at(Batch(engines=merge.engines_changed_in("in_service_on")), line_of)
    papers = NeededPapers(contents, folder, writer)
    rows = EngineRowsTaken(contents, aside, merge, references, writer, today)
    new = _NewRows(None if preview else writer)
    first, rest = _parted(merge.new)
    if not contents.problem_list:
        for kind in _BEFORE_ENGINE_ROWS:
            if preview:
                new.take(Batch(**{kind: getattr(first, kind)}), line_of)
                continue
            if kind in _LET_GO:
                contents.let_go(kind)
            for block in _let_go_of(getattr(first, kind)):
                new.take(Batch(**{kind: block}), line_of)
            references.are_written(kind)
    rows.take(newest, odd, new.take_engines)
    contents.findings.extend(odd.findings())
    contents.findings.extend(fitted_from_nowhere(rows.moved, references))
    papers.check()
    problems = contents.problem_list
    if problems:
        raise ImportRefused([str(placed(p)) for p in problems.kept], problems.more)
    new.take(rest, line_of)
    if not preview:
        papers.put()
        _write_changes(merge, writer, today)
    remarks = [*contents.findings, *merge.findings, *map(Remark, rows.findings)]
    findings = [str(placed(remark)) for remark in remarks[:MOST_REPORTED]]
    more = len(remarks) - len(findings) + rows.more_findings
    if more:
        findings.append(f"and {more} more")
    return ImportReport(
        new.counts_by_kind(),
        merge.counts_of_changes(),
        dict(merge.unchanged),
        findings,
        new.first_rows(),
    )


class _NewRows:
    """The new rows, which are written as they come; without a writer the first ones are kept to be shown."""

    def __init__(self, writer: Writer | None) -> None:
        self._writer = writer
        self._counts: Counter[str] = Counter()
        self._first: dict[str, list[tuple[float, Any]]] = {}

    def take(self, new: Batch, line_of: LineOf) -> None:
        """Takes rows in. What a folder has no row of, as visits that only entries name, comes last."""
        self._counts.update(new.counts())
        if self._writer is not None:
            self._writer.add(new)
            return
        for kind, rows in new.by_kind():
            if kind in BY_KIND and rows:
                key_of = BY_KIND[kind].key_of
                placed = [(line_of(kind, key_of(row)) or inf, row) for row in rows[:_ROWS_PREVIEWED]]
                first = sorted([*self._first.get(kind, ()), *placed], key=itemgetter(0))
                self._first[kind] = first[:_ROWS_PREVIEWED]

    def take_engines(self, new: Batch, line_of: LineOf) -> None:
        """Takes in all readings and entries of some engines."""
        self.take(new, line_of)
        if self._writer is not None:
            self._writer.end_kinds(*PUT_ASIDE)

    def counts_by_kind(self) -> dict[str, int]:
        """How many there are, in the order of the kinds."""
        return {f.name: self._counts[f.name] for f in fields(Batch) if self._counts[f.name]}

    def first_rows(self) -> dict[str, list[dict[str, str]]]:
        """The first rows of each kind that has a CSV file, what they say by column."""
        return {
            kind: [
                {
                    c.name: c.kind.write(said)
                    for c in file.columns
                    if (said := getattr(row, c.fills)) is not None
                }
                for _, row in self._first[kind]
            ]
            for kind, file in BY_KIND.items()
            if kind in self._first
        }


def _standing(reader: Reader, layup: Layup) -> Layup | None:
    """A lay-up of the log as it stands by the last word on it."""
    layups = reader.boat_ledger(layup.boat_id).layups
    return next((lay for lay in layups if lay.from_on == layup.from_on), None)


def _newest_revisions(reader: Reader, schedules: dict[str, Schedule]) -> dict[str, dict[str, int]]:
    """The newest revision in the log of each schedule, card and shop text, by kind and name."""
    return {
        "schedules": {name: s.revision for name, s in schedules.items()},
        "cards": {name: c.revision for name, c in reader.cards().items()},
        "shop": {text.name: text.revision for text in reader.rows("shop")},
    }


def _parted(new: Batch) -> tuple[Batch, Batch]:
    """The rows that are written before readings and entries, and the others.

    The others that belong to an engine's ledger come last: until then the log tells what the ledger was
    before the import, with which the grown one is compared.
    """
    first, rest = Batch(), Batch()
    for kind, rows in new.by_kind():
        setattr(first if kind in _BEFORE_ENGINE_ROWS else rest, kind, rows)
    return first, rest


def _let_go_of(rows: list[Any]) -> Iterator[list[Any]]:
    """The rows, some thousand at a time, of which none is held afterwards."""
    rows.reverse()
    while rows:
        yield [rows.pop() for _ in range(min(len(rows), _ROWS_AT_ONCE))]


def _newest(contents: FolderContents, merge: Merge, in_log: dict[str, Schedule]) -> dict[str, Schedule]:
    """The newest revision of each schedule as it will be; one that has problems in the folder is left out."""
    newest = dict(in_log)
    for text in sorted(merge.new.schedules, key=lambda s: s.revision):
        schedule, _ = schedule_from_toml(text.name, text.text)
        if schedule is not None and (
            text.name not in newest or newest[text.name].revision < schedule.revision
        ):
            newest[text.name] = schedule
    sound = {s.name for s in contents.batch.schedules}
    return {n: s for n, s in newest.items() if n in sound or n not in contents.schedule_names}


def _write_changes(merge: Merge, writer: Writer, today: date) -> None:
    """Writes what the folder says otherwise, and ends and rulings that it adds."""
    told: dict[tuple[str, str], list[Change]] = {}
    for change in merge.new.changes:
        told.setdefault((change.kind, change.key), []).append(change)
    for kind, rows in merge.changed.items():
        for old, row in rows:
            changes = told.get((kind, BY_KIND[kind].key_of(row)), [])
            for until_on, stage in _stages(old, row, changes, today):
                writer.change(kind, stage, until_on, SAID_BY_FOLDER)
    for kind, ended in merge.filled_in.items():
        for row in ended:
            reason = next((getattr(row, name) for name in WHY_IT_ENDED if hasattr(row, name)), None)
            writer.end(kind, BY_KIND[kind].key_of(row), getattr(row, FILLED_LATER[kind]), reason)
    for _, reading_id, status in merge.rulings:
        writer.rule_on_reading(reading_id, status, "said so in the imported readings.csv")


def _stages(old: Any, row: Any, changes: list[Change], today: date) -> Iterator[tuple[date, Any]]:
    """A changed row in steps: facts whose change the folder dates itself, on those days, the others today."""
    dated = {c.field: c.until_on for c in changes if c.was == fact_text(getattr(old, c.field))}
    steps: dict[date, dict[str, Any]] = {}
    for f in fields(row):
        if getattr(row, f.name) != getattr(old, f.name):
            steps.setdefault(dated.get(f.name, today), {})[f.name] = getattr(row, f.name)
    for until_on in sorted(steps):
        old = replace(old, **steps[until_on])
        yield until_on, old

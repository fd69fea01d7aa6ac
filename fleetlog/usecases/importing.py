"""Takes a CSV folder into the log: all of it or nothing, and nothing twice."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field, fields, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Change, fact_text
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.schedule_text import schedule_from_toml
from fleetlog.errors.folders import ImportRefused
from fleetlog.exchange.csv_files import BY_KIND
from fleetlog.exchange.csv_folder import FolderContents, read_folder
from fleetlog.exchange.problems import MOST_REPORTED, Told
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.store.writer import Writer
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.collecting import many_values
from fleetlog.usecases.import_ledgers import UNDER_RULES, GrownLedgers, check_ledgers, look_up_ages
from fleetlog.usecases.import_merge import Merge, merge_with_log
from fleetlog.usecases.import_papers import NeededPapers
from fleetlog.usecases.import_readings import find_odd_readings
from fleetlog.usecases.import_references import References, check_schedules, find_odd_rows

_ROWS_PREVIEWED = 3


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
    path: str | Path,
    *,
    by: str,
    at: datetime,
    today: date,
    separator: str = ",",
    decimal_comma: bool = False,
    encoding: str = "utf-8",
    preview: bool = False,
    placed: Callable[[Told], Told] = lambda told: told,
) -> ImportReport:
    """Reads a folder and writes what is new in it, in one transaction; with `preview` nothing is written.

    Facts of owners, boats and engines that are said otherwise become changes dated `today`. Raises
    ImportRefused with everything that is wrong, before anything is written, and what `read_folder` raises.
    `placed` gives what is told the place that a person knows, where the folder was made of another file.
    """
    contents = read_folder(path, separator=separator, decimal_comma=decimal_comma, encoding=encoding)
    with log.writing(by, at) as writer:
        merge = _checked(contents, writer, today)
        papers = NeededPapers(contents, log.papers, writer)
        papers.check()
        problems = contents.problem_list
        if problems:
            raise ImportRefused([str(placed(p)) for p in problems.kept], problems.more)
        find_odd_readings(contents, merge, writer)
        if not preview:
            papers.put()
            _write(merge, writer, today)
    findings = [str(placed(remark)) for remark in contents.findings[:MOST_REPORTED]]
    if len(contents.findings) > len(findings):
        findings.append(f"and {len(contents.findings) - len(findings)} more")
    return ImportReport(
        merge.new.counts(),
        merge.counts_of_changes(),
        dict(merge.unchanged),
        findings,
        _first_rows(merge.new) if preview else {},
    )


def _first_rows(new: Batch) -> dict[str, list[dict[str, str]]]:
    """The first rows of each kind that has a CSV file, what they say by column."""
    return {
        kind: [
            {c.name: c.kind.write(said) for c in file.columns if (said := getattr(row, c.fills)) is not None}
            for row in getattr(new, kind)[:_ROWS_PREVIEWED]
        ]
        for kind, file in BY_KIND.items()
        if getattr(new, kind)
    }


def _checked(contents: FolderContents, reader: Reader, today: date) -> Merge:
    """What is to be written, with every problem found on the way added to the contents."""
    in_log = reader.schedules()
    newest = {
        "schedules": {name: s.revision for name, s in in_log.items()},
        "cards": {name: c.revision for name, c in reader.cards().items()},
        "shop": {text.name: text.revision for text in reader.rows("shop")},
    }
    merge = merge_with_log(contents, reader.existing, newest)

    def all_keys(kind: str) -> Collection[str]:
        keys: dict[str, Any] = {"owners": reader.owners, "boats": reader.boats, "engines": reader.serials}
        return list(keys[kind]())

    references = References(contents, reader.existing, all_keys)
    references.check()
    check_schedules(contents, in_log)
    references.add_bare_visits(merge)
    find_odd_rows(contents, merge, references, today)
    schedules = _newest(contents, merge, in_log)
    look_up_ages(reader, merge, reader.existing, schedules)
    check_ledgers(contents, GrownLedgers(reader, merge, reader.existing, UNDER_RULES), schedules)
    return merge


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


def _write(merge: Merge, writer: Writer, today: date) -> None:
    writer.add(merge.new)
    told: dict[tuple[str, str], list[Change]] = {}
    for change in merge.new.changes:
        told.setdefault((change.kind, change.key), []).append(change)
    for kind, rows in merge.changed.items():
        for old, row in rows:
            changes = told.get((kind, BY_KIND[kind].key_of(row)), [])
            for until_on, stage in _stages(old, row, changes, today):
                writer.change(kind, stage, until_on)
    for visit in merge.filled_in.get("visits", []):
        writer.close_visit(visit.visit_id, visit.closed_on)
    for mount in merge.filled_in.get("mounts", []):
        writer.end_mount(mount.serial, mount.from_on, mount.to_on)
    for layup in merge.filled_in.get("layups", []):
        writer.end_layup(layup.boat_id, layup.from_on, layup.to_on)
    for term in merge.filled_in.get("terms", []):
        writer.withdraw_term(term.term_id, term.withdrawn_on, term.withdrawn_reason)
    for row in merge.filled_in.get("supersessions", []):
        writer.withdraw_supersession(
            row.part_number, row.superseded_by, row.withdrawn_on, row.withdrawn_reason
        )
    for wish in merge.filled_in.get("wishes", []):
        writer.withdraw_wish(wish.wish_id, wish.withdrawn_on, wish.withdrawn_reason)
    for tool in merge.filled_in.get("tools", []):
        writer.retire_tool(tool.tool_id, tool.retired_on, tool.retired_reason)
    for reading_id, status in merge.rulings:
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

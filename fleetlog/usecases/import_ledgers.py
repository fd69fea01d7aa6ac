"""What the ledgers will be once a folder is taken in: ages that are looked up, rules that must hold."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from fleetlog.domain.evidence import Answer, Check, Measurement, Torque
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.ledger_rules import ledger_problems
from fleetlog.domain.problems import LedgerProblem
from fleetlog.domain.records import Deferral, Engine, Entry, Meter, Mount, Reading, Void
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.schedule_text import schedule_from_toml
from fleetlog.domain.words import same_name
from fleetlog.exchange.csv_files import BY_KIND
from fleetlog.exchange.csv_folder import FolderContents
from fleetlog.exchange.problems import Problem
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import schedule_of
from fleetlog.usecases.import_merge import Existing, Merge
from fleetlog.usecases.item_age import age_of_item_on

_ENGINES_AT_ONCE = 1_000
_EVIDENCE = ("torques", "measurements", "checks", "answers")
UNDER_RULES = ("entries", "deferrals", *_EVIDENCE)
"""Kinds of rows that have to keep the rules of the ledger, and voids besides."""

_BEARING_ON_RULES = ("engines", "visits", "voids", *UNDER_RULES)
_OF_AN_ENGINE = ("readings", "meters", "mounts", *UNDER_RULES)


@dataclass(slots=True)
class _NewRows:
    """The rows that an import adds to one engine."""

    entries: list[Entry] = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)
    meters: list[Meter] = field(default_factory=list)
    mounts: list[Mount] = field(default_factory=list)
    deferrals: list[Deferral] = field(default_factory=list)
    voids: list[Void] = field(default_factory=list)
    torques: list[Torque] = field(default_factory=list)
    measurements: list[Measurement] = field(default_factory=list)
    checks: list[Check] = field(default_factory=list)
    answers: list[Answer] = field(default_factory=list)

    @property
    def are_under_rules(self) -> bool:
        """Whether some of them have to keep the rules of the ledger."""
        return bool(self.voids) or any(getattr(self, kind) for kind in UNDER_RULES)


class GrownLedgers:
    """The ledgers of engines as they will be, with as much of their boats as the log has already.

    `kinds` are the kinds of new rows that are asked about; of others they have what the log has. New rows
    stand after those of the log, without numbers of their own.
    """

    def __init__(
        self, reader: Reader, merge: Merge, existing: Existing, kinds: Iterable[str] = _OF_AN_ENGINE
    ) -> None:
        self._reader, self._merge = reader, merge
        new = merge.new
        self._new: defaultdict[str, _NewRows] = defaultdict(_NewRows)
        for kind in kinds:
            for row in getattr(new, kind):
                getattr(self._new[row.serial], kind).append(row)
        for void, serial in _with_serials(new.voids, new.entries, existing):
            self._new[serial].voids.append(void)
        self._engines = {e.serial: e for e in new.engines}
        self._changed = {now.serial: now for _, now in merge.changed.get("engines", [])}
        self._visits = {v.visit_id: v for v in new.visits}
        self._rulings = dict(merge.rulings)

    def serials(self) -> list[str]:
        """The engines that get rows of the kinds asked about, or voids."""
        return list(self._new)

    def serials_under_rules(self) -> list[str]:
        """The engines that get entries, voids, deferrals or evidence."""
        return [s for s, rows in self._new.items() if rows.are_under_rules]

    def of(self, serials: Iterable[str]) -> Iterator[tuple[EngineLedger | None, EngineLedger]]:
        """The ledgers of engines as they are, None for a new one, and as they will be.

        An engine that neither the folder nor the log has is left out.
        """
        in_log = []
        for serial in dict.fromkeys(serials):
            if serial in self._engines:
                yield None, self._grown(EngineLedger(self._engines[serial]))
            else:
                in_log.append(serial)
        for start in range(0, len(in_log), _ENGINES_AT_ONCE):
            known = self._reader.existing("engines", in_log[start : start + _ENGINES_AT_ONCE])
            for ledger in self._reader.ledgers(list(known)) if known else ():
                yield ledger, self._grown(ledger)

    def _grown(self, ledger: EngineLedger) -> EngineLedger:
        engine: Engine = self._changed.get(ledger.engine.serial, ledger.engine)
        new = self._new[ledger.engine.serial] if ledger.engine.serial in self._new else _NewRows()
        visits = {
            e.visit_id: self._visits[e.visit_id]
            for e in new.entries
            if e.visit_id is not None and e.visit_id in self._visits
        }
        return replace(
            ledger,
            engine=engine,
            entries=(*ledger.entries, *new.entries),
            readings=(*map(self._ruled, ledger.readings), *new.readings),
            meters=(*ledger.meters, *new.meters),
            mounts=(*ledger.mounts, *new.mounts),
            deferrals=(*ledger.deferrals, *new.deferrals),
            voids=(*ledger.voids, *new.voids),
            evidence=replace(
                ledger.evidence,
                torques=(*ledger.evidence.torques, *new.torques),
                measurements=(*ledger.evidence.measurements, *new.measurements),
                checks=(*ledger.evidence.checks, *new.checks),
                answers=(*ledger.evidence.answers, *new.answers),
            ),
            visits={**ledger.visits, **visits},
        )

    def _ruled(self, reading: Reading) -> Reading:
        """A reading of the log as the import rules on it."""
        status = self._rulings.get(reading.reading_id)
        return reading if status is None else replace(reading, status=status)


def _with_serials(voids: list[Void], entries: list[Entry], existing: Existing) -> Iterator[tuple[Void, str]]:
    """The voids, each with the engine whose entry it takes back; those of unknown entries left out."""
    if not voids:
        return
    of_entry = {e.entry_id: e.serial for e in entries}
    elsewhere = [v.entry_id for v in voids if v.entry_id not in of_entry]
    of_entry |= {e.entry_id: e.serial for e in existing("entries", elsewhere).values()}
    for void in voids:
        if void.entry_id in of_entry:
            yield void, of_entry[void.entry_id]


def _numbered(ledger: EngineLedger) -> EngineLedger:
    """A grown ledger, the rows whose age or order is asked about numbered as they stand."""
    return replace(
        ledger,
        entries=tuple(replace(row, sequence=n) for n, row in enumerate(ledger.entries, start=1)),
        readings=tuple(replace(row, sequence=n) for n, row in enumerate(ledger.readings, start=1)),
        meters=tuple(replace(row, sequence=n) for n, row in enumerate(ledger.meters, start=1)),
    )


def look_up_ages(reader: Reader, merge: Merge, existing: Existing, schedules: Mapping[str, Schedule]) -> None:
    """Fills in the prior age of new items that come from another engine, where it is not stated.

    The earlier ones first, so that an item that moves on from engine to engine takes its whole age along, and
    what was taken from an engine before, by entries of the log or of the folder, is not taken from it again.
    """
    asked = sorted((e for e in merge.new.entries if _wants_age(e)), key=lambda e: e.on)
    if not asked:
        return
    givers = {e.from_serial for e in asked if e.from_serial is not None}
    ledgers = {
        after.engine.serial: _numbered(after)
        for _, after in GrownLedgers(reader, merge, existing).of(sorted(givers))
    }
    told: dict[str, Entry] = {}
    takings = _Takings(reader, merge)
    for entry in asked:
        giver = ledgers.get(entry.from_serial or "")
        if giver is None or entry.item is None:
            continue
        schedule = schedule_of(giver, schedules)
        giver = _before_its_successor(giver, entry)
        taken = [told.get(e.entry_id, e) for e in takings.before(entry)]
        tenths, months = age_of_item_on(giver, schedule, entry.item, entry.position, entry.on, taken)
        told[entry.entry_id] = replace(entry, prior_tenths=tenths, prior_months=months)
        taker = ledgers.get(entry.serial)
        if taker is not None:
            ledgers[entry.serial] = _with_prior_age(taker, entry.entry_id, tenths, months)
    merge.new.entries = [told.get(e.entry_id, e) for e in merge.new.entries]


class _Takings:
    """What was taken from each engine to be fitted elsewhere, in the log and by an import."""

    def __init__(self, reader: Reader, merge: Merge) -> None:
        self._reader = reader
        self._voided = {void.entry_id for void in merge.new.voids}
        self._places = {e.entry_id: place for place, e in enumerate(merge.new.entries)}
        self._new: defaultdict[str, list[Entry]] = defaultdict(list)
        for entry in merge.new.entries:
            if entry.from_serial is not None and entry.action == "fitted":
                self._new[entry.from_serial].append(entry)
        self._in_log: dict[str, list[Entry]] = {}

    def before(self, entry: Entry) -> list[Entry]:
        """What was taken from the engine that an entry takes from, before it does."""
        giver = entry.from_serial or ""
        if giver not in self._in_log:
            self._in_log[giver] = self._reader.entries_from(giver)
        moment = (entry.on, self._places[entry.entry_id])
        new = [e for e in self._new[giver] if (e.on, self._places[e.entry_id]) < moment]
        earlier = [e for e in self._in_log[giver] if e.on <= entry.on] + new
        return [e for e in earlier if e.entry_id not in self._voided]


def _wants_age(entry: Entry) -> bool:
    return entry.from_serial is not None and entry.prior_tenths is None and entry.prior_months is None


def _before_its_successor(giver: EngineLedger, taken: Entry) -> EngineLedger:
    """The giver without what was fitted in the place of the item on the day it was taken over."""
    return replace(
        giver,
        entries=tuple(
            e
            for e in giver.entries
            if not (e.action == "fitted" and e.on == taken.on and same_name(e.item, taken.item))
        ),
    )


def _with_prior_age(
    ledger: EngineLedger, entry_id: str, tenths: int | None, months: int | None
) -> EngineLedger:
    entries = (
        replace(e, prior_tenths=tenths, prior_months=months) if e.entry_id == entry_id else e
        for e in ledger.entries
    )
    return replace(ledger, entries=tuple(entries))


def check_ledgers(contents: FolderContents, ledgers: GrownLedgers, schedules: Mapping[str, Schedule]) -> None:
    """Adds a problem for each rule of the ledger that an engine keeps now and would break after the import.

    What was in order under a schedule that the folder says held before is in order still. Engines with rows
    that could not be read are left out, as what is missing might be what keeps the rule.
    """
    if any(kind in contents.files and not contents.files[kind].whole for kind in _BEARING_ON_RULES):
        return
    spoiled: set[str] = set().union(*(found.spoiled_serials for found in contents.files.values()))
    if "voids" in contents.files and contents.files["voids"].spoiled_keys:
        return
    serials = [s for s in ledgers.serials_under_rules() if s not in spoiled]
    for before, after in ledgers.of(serials):
        schedule = schedule_of(after, schedules)
        problems = ledger_problems(after, schedule)
        if problems and before is not None:
            known = set(ledger_problems(before, schedule))
            problems = [p for p in problems if p not in known]
        for former in _former_schedules(contents, after) if problems else ():
            broken = {_row_of(p) for p in ledger_problems(after, former)}
            problems = [p for p in problems if _row_of(p) in broken]
        for problem in problems:
            contents.problem_list.add(_placed(contents, problem))


def _former_schedules(contents: FolderContents, ledger: EngineLedger) -> Iterator[Schedule]:
    """The other revisions that the folder has of an engine's schedule, and those of schedules it once had."""
    engine = ledger.engine
    names = {engine.schedule_name}
    names.update(
        c.was
        for c in contents.batch.changes
        if (c.kind, c.key) == ("engines", engine.serial) and c.field in ("schedule", "family")
    )
    for text in contents.batch.schedules:
        schedule = schedule_from_toml(text.name, text.text)[0] if text.name in names else None
        if schedule is not None:
            yield schedule


def _row_of(problem: LedgerProblem) -> tuple[str, str, str]:
    return problem.kind, problem.key, problem.field


def _placed(contents: FolderContents, problem: LedgerProblem) -> Problem:
    """A broken rule with the place of the row in the folder, or its id where it is in the log already."""
    file, line = contents.place_of(problem.kind, problem.key)
    place = file if line is not None else f"{file}, {problem.key} (in the log already)"
    column = BY_KIND[problem.kind].column_of(problem.field)
    return Problem(place, line, column, problem.value, problem.expected)

"""What the ledgers will be once a folder is taken in: ages that are looked up, rules that must hold."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.evidence import Answer, Check, Measurement, Torque
from fleetlog.domain.hour_record import HourRecord, hour_record
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.ledger_rules import before_service, ledger_problems, taken_off_twice
from fleetlog.domain.problems import LedgerProblem
from fleetlog.domain.records import Deferral, Engine, Entry, Meter, Mount, Reading, Void
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.schedule_text import schedule_from_toml
from fleetlog.domain.words import same_name
from fleetlog.exchange.csv.folder import FolderContents
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import schedule_of
from fleetlog.usecases.imports.merge import Existing, Merge
from fleetlog.usecases.item_age import age_of_item_on

_EVIDENCE = ("torques", "measurements", "checks", "answers")
_UNDER_RULES = ("entries", "deferrals", *_EVIDENCE)
"""Kinds of rows that have to keep the rules of the ledger, and voids besides."""

_BEARING_ON_RULES = ("engines", "visits", "voids", *_UNDER_RULES)
_ON_HOURS = ("readings", "entries", "meters")
_FACTS_LOOKED_AT = ("in_service_on", "hour_meter")
_HELD = ("meters", "mounts", "deferrals", *_EVIDENCE)
"""Kinds of rows of an engine that are in memory for the whole fleet."""


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

    def have_any(self, kinds: Iterable[str]) -> bool:
        """Whether there are rows of these kinds, or voids."""
        return bool(self.voids) or any(getattr(self, kind) for kind in kinds)


@dataclass(frozen=True, eq=False)
class GrownLedger:
    """The ledger of an engine as it is, None for a new one, and as it will be.

    It says whether new rows of it have to keep the rules of the ledger, and whether some bear on its hours.
    """

    before: EngineLedger | None
    after: EngineLedger
    is_under_rules: bool
    bears_on_hours: bool

    @cached_property
    def hours(self) -> HourRecord:
        """The engine hours as they will be, worked out once for all that is asked of them."""
        return hour_record(self.after, date.max)


class GrownLedgers:
    """The ledgers of engines as they will be, with as much of their boats as the log has already.

    New rows stand after those of the log, without numbers of their own. `merge` has the rows of the fleet
    but for readings and entries, which are given for the engines that are asked about.
    """

    def __init__(self, reader: Reader, merge: Merge, existing: Existing) -> None:
        self._reader = reader
        new = merge.new
        self._held: dict[str, _NewRows] = defaultdict(_NewRows)
        for kind in _HELD:
            for row in getattr(new, kind):
                getattr(self._held[row.serial], kind).append(row)
        in_log = existing("entries", [v.entry_id for v in new.voids]) if new.voids else {}
        self._voids: dict[str, Void] = {}
        for void in new.voids:
            if void.entry_id in in_log:
                self._held[in_log[void.entry_id].serial].voids.append(void)
            else:
                self._voids[void.entry_id] = void
        self._engines = {e.serial: e for e in new.engines}
        self._changed = {now.serial: now for _, now in merge.changed.get("engines", [])}

        kinds = (*_UNDER_RULES, *_ON_HOURS)
        self.serials = dict.fromkeys(serial for serial, rows in self._held.items() if rows.have_any(kinds))
        """The engines that get rows which are in memory and are looked at, voids of entries of the log, or
        facts that change what its rows tell."""
        self.serials |= dict.fromkeys(now.serial for now in merge.engines_changed_in(*_FACTS_LOOKED_AT))

    def growing(self, serials: Iterable[str], merge: Merge) -> list[str]:
        """Those of the engines that get rows which are looked at; `merge` has their readings and entries."""
        added = {r.serial for r in merge.new.readings} | {e.serial for e in merge.new.entries}
        added |= {serial for serial, _, _ in merge.rulings}
        return [serial for serial in serials if serial in added or serial in self.serials]

    def of(self, serials: Iterable[str], merge: Merge) -> Iterator[GrownLedger]:
        """The ledgers of engines as an import leaves them; `merge` has their readings and entries.

        An engine that neither the folder nor the log has is left out.
        """
        growing = self._with_held(serials, merge)
        rulings = {reading_id: status for _, reading_id, status in merge.rulings}
        in_log = []
        for serial, rows in growing.items():
            if serial in self._engines:
                yield self._grown(None, EngineLedger(self._engines[serial]), rows, rulings)
            else:
                in_log.append(serial)
        known = self._reader.existing("engines", in_log)
        for ledger in self._reader.ledgers(list(known)) if known else ():
            yield self._grown(ledger, ledger, growing[ledger.engine.serial], rulings)

    def _with_held(self, serials: Iterable[str], merge: Merge) -> dict[str, _NewRows]:
        rows = {
            serial: replace(held, entries=[], readings=[], voids=[*held.voids])
            if (held := self._held.get(serial)) is not None
            else _NewRows()
            for serial in serials
        }
        for reading in merge.new.readings:
            rows[reading.serial].readings.append(reading)
        for entry in merge.new.entries:
            rows[entry.serial].entries.append(entry)
            if entry.entry_id in self._voids:
                rows[entry.serial].voids.append(self._voids[entry.entry_id])
        return rows

    def _grown(
        self, before: EngineLedger | None, ledger: EngineLedger, new: _NewRows, rulings: Mapping[str, str]
    ) -> GrownLedger:
        engine: Engine = self._changed.get(ledger.engine.serial, ledger.engine)
        after = replace(
            ledger,
            engine=engine,
            entries=(*ledger.entries, *new.entries),
            readings=(*(_ruled(row, rulings) for row in ledger.readings), *new.readings),
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
        )
        bears_on_hours = (
            new.have_any(_ON_HOURS)
            or engine.hour_meter != ledger.engine.hour_meter
            or any(r.reading_id in rulings for r in ledger.readings)
        )
        return GrownLedger(before, after, new.have_any(_UNDER_RULES), bears_on_hours)


def _ruled(reading: Reading, rulings: Mapping[str, str]) -> Reading:
    """A reading of the log as the import rules on it."""
    status = rulings.get(reading.reading_id)
    return reading if status is None else replace(reading, status=status)


def _numbered(ledger: EngineLedger) -> EngineLedger:
    """A grown ledger, the rows whose age or order is asked about numbered as they stand."""
    return replace(
        ledger,
        entries=tuple(replace(row, sequence=n) for n, row in enumerate(ledger.entries, start=1)),
        readings=tuple(replace(row, sequence=n) for n, row in enumerate(ledger.readings, start=1)),
        meters=tuple(replace(row, sequence=n) for n, row in enumerate(ledger.meters, start=1)),
    )


def ages_looked_up(
    moved: Sequence[Entry],
    ledgers_of: Callable[[list[str]], Iterable[GrownLedger]],
    takings: Takings,
    schedules: Mapping[str, Schedule],
    today: date,
) -> dict[str, Entry]:
    """The new entries of items from other engines whose prior age is not stated, with it, by id.

    The earlier ones first, so that an item that moves on from engine to engine takes its whole age along, and
    what was taken from an engine before, by entries of the log or of the folder, is not taken from it again.
    """
    asked = sorted(
        (e for e in moved if e.from_serial is not None and not e.has_prior_age), key=lambda e: e.on
    )
    givers = {e.from_serial for e in asked if e.from_serial is not None}
    ledgers = {grown.after.engine.serial: _numbered(grown.after) for grown in ledgers_of(sorted(givers))}
    told: dict[str, Entry] = {}
    for entry in asked:
        giver = ledgers.get(entry.from_serial or "")
        if giver is None or entry.item is None:
            continue
        schedule = schedule_of(giver, schedules)
        giver = _before_its_successor(giver, entry)
        taken = [told.get(e.entry_id, e) for e in takings.before(entry)]
        ran = age_of_item_on(giver, schedule, entry.item, entry.position, entry.on, today, taken)
        told[entry.entry_id] = replace(entry, prior_tenths=ran.tenths, prior_months=ran.months)
        taker = ledgers.get(entry.serial)
        if taker is not None:
            ledgers[entry.serial] = _with_prior_age(taker, entry.entry_id, *ran.known)
    return told


class Takings:
    """What was taken from each engine to be fitted elsewhere, in the log and by an import.

    `moved` are the new entries of items from other engines, in the order of the folder.
    """

    def __init__(self, reader: Reader, moved: Sequence[Entry], voids: Iterable[Void]) -> None:
        self._reader = reader
        self._voided = {void.entry_id for void in voids}
        self._places = {e.entry_id: place for place, e in enumerate(moved)}
        self._new: defaultdict[str, list[Entry]] = defaultdict(list)
        for entry in moved:
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


class LedgerRules:
    """The rules of the ledger that an engine keeps now and would break after an import.

    A row that a former schedule of the engine allows, by what the folder says of it, breaks no rule. Engines
    with rows that could not be read are left out: what is missing might be what keeps the rule.
    """

    def __init__(self, contents: FolderContents, schedules: Mapping[str, Schedule]) -> None:
        self._contents, self._schedules = contents, schedules
        files = contents.files
        self._can_be_told = all(files[kind].whole for kind in _BEARING_ON_RULES if kind in files) and not (
            "voids" in files and files["voids"].spoiled_keys
        )
        self._spoiled: set[str] = set().union(*(found.spoiled_serials for found in files.values()))

    def broken(self, grown: GrownLedger) -> list[LedgerProblem]:
        """What the new rows of an engine break."""
        after = grown.after
        if not self._can_be_told or after.engine.serial in self._spoiled:
            return []
        if not grown.is_under_rules:
            known = set() if grown.before is None else set(before_service(grown.before))
            return [p for p in before_service(after) if p not in known]
        schedule = schedule_of(after, self._schedules)
        problems = ledger_problems(after, schedule)
        if problems and grown.before is not None:
            known = set(ledger_problems(grown.before, schedule))
            problems = [p for p in problems if p not in known]
        return broken_under_all(problems, after, self._contents.batch)

    def odd(self, grown: GrownLedger) -> list[LedgerProblem]:
        """What the new rows of an engine leave odd but usable."""
        known = set() if grown.before is None else set(taken_off_twice(grown.before))
        return [p for p in taken_off_twice(grown.after) if p not in known]


def broken_under_all(
    problems: list[LedgerProblem], ledger: EngineLedger, batch: Batch
) -> list[LedgerProblem]:
    """Those of the problems of an engine's rows that no schedule allows which, by a batch, it once had."""
    for former in _former_schedules(ledger.engine, batch) if problems else ():
        broken = {_row_of(p) for p in ledger_problems(ledger, former)}
        problems = [p for p in problems if _row_of(p) in broken]
    return problems


def _former_schedules(engine: Engine, batch: Batch) -> Iterator[Schedule]:
    """Other revisions that a batch has of an engine's schedule, and those of schedules it once had."""
    names = {engine.schedule_name}
    names.update(
        c.was
        for c in batch.changes
        if (c.kind, c.key) == ("engines", engine.serial) and c.field in ("schedule", "family")
    )
    for text in batch.schedules:
        schedule = schedule_from_toml(text.name, text.text)[0] if text.name in names else None
        if schedule is not None:
            yield schedule


def _row_of(problem: LedgerProblem) -> tuple[str, Any, str]:
    return problem.kind, problem.key, problem.field

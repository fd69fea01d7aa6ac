"""Takes out what an import would refuse of rows that are sound by themselves: texts, and rows that clash.

What is read of a damaged log may lack a row that kept the rules: of an entry whose void is lost there may be
two of one day.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.ledger import EngineLedger, Evidence
from fleetlog.domain.ledger_rules import before_service, ledger_problems
from fleetlog.domain.records import Engine
from fleetlog.domain.schedule import Schedule
from fleetlog.exchange.csv.files import BY_KIND
from fleetlog.exchange.toml_files import SCHEDULES, TOML_KINDS, TomlKind
from fleetlog.usecases.finding import schedule_of
from fleetlog.usecases.imports.ledgers import broken_under_all

_OF_LEDGER = ("entries", "readings", "meters", "deferrals", "torques", "measurements", "checks", "answers")


def take_out_clashing(batch: Batch) -> tuple[Batch, list[str], list[str]]:
    """Takes the texts and rows out of a batch for which an import would refuse it; gives them, and why, each.

    Last what an engine has to do without so that its rows stay: a schedule that is lost, or a day of service
    long after most of them.
    """
    apart, said, remarks = Batch(), list[str](), list[str]()
    newest: dict[str, dict[str, Any]] = {}
    for kind in TOML_KINDS:
        newest[kind.folder] = {}
        said += _without_wrong_texts(kind, batch, apart, newest[kind.folder])
    schedules: dict[str, Schedule] = newest[SCHEDULES.folder]
    remarks += _without_lost_schedules(batch, schedules)
    broken: dict[str, dict[Any, str]] = defaultdict(dict)
    for ledger in list(_ledgers(batch)):
        if _is_in_service_after_most(ledger):
            ledger = replace(ledger, engine=replace(ledger.engine, in_service_on=None))
            remarks.append(_without_day(batch, ledger.engine))
        problems = ledger_problems(ledger, schedule_of(ledger, schedules))
        for problem in broken_under_all(problems, ledger, batch):
            column = BY_KIND[problem.kind].column_of(problem.field)
            broken[problem.kind].setdefault(problem.key, f"{column}: expected {problem.expected}")
    for name, rows in broken.items():
        key_of = BY_KIND[name].key_of
        setattr(apart, name, [row for row in getattr(batch, name) if key_of(row) in rows])
        setattr(batch, name, [row for row in getattr(batch, name) if key_of(row) not in rows])
        said += [f"{name} {key}: {why}" for key, why in rows.items()]
    return apart, said, remarks


def _without_wrong_texts(kind: TomlKind, batch: Batch, apart: Batch, newest: dict[str, Any]) -> Iterator[str]:
    """Takes out texts that cannot be read, and older revisions of them, which would count in their place.

    The `newest` revision of each of the others is handed on by name, as it was read.
    """
    kept, wrong = [], set[str]()
    for text in sorted(getattr(batch, kind.folder), key=lambda one: (one.name, -one.revision)):
        parsed, faults = kind.read(text.name, text.text)
        if parsed is not None and parsed.revision != text.revision:
            faults = [f"the text says revision {parsed.revision}"]
        if not faults and text.name in wrong:
            faults = ["a newer revision is set apart"]
        if faults:
            wrong.add(text.name)
            getattr(apart, kind.folder).append(text)
            yield f"{kind.folder} {text.name}, revision {text.revision}: {faults[0]}"
        else:
            kept.append(text)
            newest.setdefault(text.name, parsed)
    setattr(batch, kind.folder, sorted(kept, key=lambda one: (one.name, one.revision)))


def _without_lost_schedules(batch: Batch, schedules: dict[str, Schedule]) -> Iterator[str]:
    for place, engine in enumerate(batch.engines):
        if engine.schedule is not None and engine.schedule not in schedules:
            batch.engines[place] = replace(engine, schedule=None)
            lost = f"as the text of {engine.schedule} is lost"
            yield f"engines: {engine.serial} was written without its schedule, {lost}"


def _ledgers(batch: Batch) -> Iterator[EngineLedger]:
    """The ledgers of the engines of a batch, as far as the rules look at them."""
    of: dict[str, dict[str, list[Any]]] = defaultdict(lambda: defaultdict(list))
    for kind in _OF_LEDGER:
        for row in getattr(batch, kind):
            of[row.serial][kind].append(row)
    serial_of = {entry.entry_id: entry.serial for entry in batch.entries}
    for void in batch.voids:
        if void.entry_id in serial_of:
            of[serial_of[void.entry_id]]["voids"].append(void)
    for engine in batch.engines:
        rows = defaultdict(tuple, {kind: tuple(found) for kind, found in of[engine.serial].items()})
        evidence = Evidence(rows["torques"], rows["measurements"], rows["checks"], rows["answers"])
        yield EngineLedger(
            engine,
            rows["entries"],
            rows["readings"],
            rows["meters"],
            voids=rows["voids"],
            deferrals=rows["deferrals"],
            evidence=evidence,
        )


def _is_in_service_after_most(ledger: EngineLedger) -> bool:
    """Whether the day of service is likelier wrong than the days of the rows long before it."""
    dated = len(ledger.entries) + len(ledger.readings) + len(ledger.meters)
    return 2 * len(list(before_service(ledger))) > dated


def _without_day(batch: Batch, engine: Engine) -> str:
    place = next(n for n, one in enumerate(batch.engines) if one.serial == engine.serial)
    day, batch.engines[place] = batch.engines[place].in_service_on, engine
    return (
        f"engines: {engine.serial} was written without its day of service {day}, as most of its rows are long"
        " before it"
    )

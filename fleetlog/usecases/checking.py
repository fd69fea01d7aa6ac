"""Checks a log against its own rules, and says exactly what is off."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from fleetlog.domain.beyond import apart
from fleetlog.domain.evidence_text import open_points
from fleetlog.domain.held_text import fall_text, held_text, no_meter_text
from fleetlog.domain.hour_record import figures_without_meter, hour_record
from fleetlog.domain.ledger_rules import ledger_problems, taken_off_twice
from fleetlog.domain.out_of_service import WITHOUT_LINES, why_without_lines
from fleetlog.domain.places import shared_places
from fleetlog.domain.problems import LedgerProblem
from fleetlog.domain.satisfaction import seen_on
from fleetlog.domain.season import shared_layups, shared_text
from fleetlog.domain.taken_off import off_of, off_texts, taken_off
from fleetlog.errors import as_word
from fleetlog.store.log import Log
from fleetlog.usecases.chain_problems import chain_problems
from fleetlog.usecases.collecting import many_values
from fleetlog.usecases.diary.check import diary_remarks
from fleetlog.usecases.finding import schedule_of
from fleetlog.usecases.paper_keeping import paper_problems
from fleetlog.usecases.refreshing import kept_problems
from fleetlog.usecases.travel import still_on_the_giver


@dataclass(frozen=True, slots=True)
class CheckReport:
    """What a check looked at, what is wrong, and what waits for a person's word."""

    engines: int
    entries: int
    problems: list[str]
    waiting: list[str]
    heads: list[str]
    """Every head that the log had, one a writing, the first one first."""
    head: str
    damage: list[str] = field(default_factory=list)
    """Those of the problems that the database finds in its own pages."""


@many_values()
def check_log(
    log: Log, today: date, printed_head: str | None = None, *, papers_shared: bool = False
) -> CheckReport:
    """Check the file, its references, its chains, every ledger, the papers, and what is kept for speed.

    In a folder of papers that is shared with other logs (`papers_shared`: that of backups) files of no paper
    are passed over.
    """
    with log.reading() as reader:
        damage = reader.damage()
        chains = reader.check_chains()
        schedules = reader.schedules()
        ledgers = list(reader.ledgers())
        boats = reader.boat_ledgers()
        kept = kept_problems(reader, today)
        diary = diary_remarks(reader, today)
        paper_faults, paper_remarks = paper_problems(log, reader, shared=papers_shared)
    problems, waiting = [*damage, *chain_problems(chains, printed_head)], []
    for whole in ledgers:
        ledger, beyond = apart(whole)
        schedule = schedule_of(ledger, schedules)
        serial = ledger.engine.serial
        problems += map(str, beyond)
        problems += [_told(serial, problem) for problem in ledger_problems(ledger, schedule)]
        now = ledger.engine_on(today)
        if now.state not in WITHOUT_LINES and (why := why_without_lines(now, today)):
            waiting.append(f"engine {serial} {why}")
        if schedule is None:
            waiting.append(f"engine {serial}: no service schedule, so nothing falls due")
        hours = hour_record(ledger, today)
        waiting += [f"engine {held_text(serial, held)}" for held in hours.held]
        waiting += [f"engine {fall_text(serial, fall)}" for fall in hours.falls]
        if figures := figures_without_meter(ledger):
            waiting.append(f"engine {no_meter_text(serial, figures)}")
        waiting += [_told(serial, problem) for problem in taken_off_twice(ledger)]
        gone = taken_off(seen_on(ledger, today), schedule)
        waiting += [f"engine {text}" for text in off_texts(off_of(serial, gone))]
        waiting += [
            f"engine {serial}: {point.text}; say what was done: fleetlog answer {as_word(point.about)} ..."
            for point in open_points(ledger.evidence)
        ]
    problems += [*kept, *paper_faults]
    waiting += [*paper_remarks, *diary]
    waiting += [
        shared_text(boat_id, *two) for boat_id, boat in boats.items() for two in shared_layups(boat.layups)
    ]
    waiting += shared_places(ledgers, today)
    waiting += still_on_the_giver(ledgers, schedules, today)
    entries = sum(len(led.entries) for led in ledgers)
    return CheckReport(len(ledgers), entries, problems, waiting, chains.heads, chains.head, damage)


def _told(serial: str, problem: LedgerProblem) -> str:
    """A problem with its row; a row of two keys is known by what is wrong with it."""
    named = f" {problem.key}" if isinstance(problem.key, str) else ""
    row = f"engine {serial}, {problem.kind}{named}, {problem.field} {problem.value!r}"
    return f"{row}: expected {problem.expected}"

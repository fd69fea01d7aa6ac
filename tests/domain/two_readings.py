"""Compares the interval engine with the second reading of its rules on one case."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from fleetlog.domain.due import DueLine
from fleetlog.domain.hour_record import hour_record
from fleetlog.domain.usage import DateWindow, HoursTarget
from tests.domain.lines import due_lines
from tests.domain.nasty_ledgers import Case
from tests.domain.second_reading import Facts, SecondReading, read_again


@dataclass(frozen=True)
class SteadyForecast:
    """Every target is reached ten, twenty or thirty days after the last reading, or after `since`."""

    last_on: date

    def windows(self, targets: Sequence[HoursTarget]) -> Sequence[DateWindow]:
        starts = [self.last_on if t.since is None else t.since for t in targets]
        return [DateWindow(*(s + timedelta(days=d) for d in (10, 20, 30))) for s in starts]

    def basis(self) -> str:
        return "a steady pace"


def hours(tenths: int | Fraction | None) -> Fraction | None:
    return None if tenths is None else Fraction(tenths) / 10


def facts_of(line: DueLine) -> Facts:
    """What the package says of one line, in the second reading's terms."""
    deferral = line.deferral
    return Facts(
        line.last_done_on,
        hours(line.last_done_tenths),
        line.due_on,
        hours(line.due_tenths),
        None if deferral is None else deferral.until_on,
        None if deferral is None else hours(deferral.until_tenths),
        line.state if line.state in ("overdue", "no record", "next access") else "open",
        not line.standing.rebuild_says_so,
    )


def first_reading(case: Case, second: SecondReading) -> list[DueLine]:
    start = second.engine_hours_on or case.today
    return due_lines(case.ledger, case.schedule, case.today, SteadyForecast(start))


def disagreements(case: Case) -> list[str]:
    """In words, where the two readings differ on one case."""
    second = read_again(case.ledger, case.schedule, case.today)
    lines = first_reading(case, second)
    found = []
    ours = {(line.rule.key, line.position): facts_of(line) for line in lines}
    for place in {**ours, **second.lines}:
        if ours.get(place) != second.lines.get(place):
            found.append(f"{place}: {ours.get(place)} against {second.lines.get(place)}")
    held = {(h.on, hours(h.meter_tenths)) for h in hour_record(case.ledger, case.today).held}
    if held != set(second.held):
        found.append(f"held {held} against {second.held}")
    for line in lines:
        last = line.facts.last_reading
        said = (None, None) if last is None else (last.on, hours(last.tenths))
        if said != (second.engine_hours_on, second.engine_hours):
            found.append(f"last reading {said} against {second.engine_hours_on}, {second.engine_hours}")
    return found

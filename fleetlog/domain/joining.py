"""An engine just met: what its schedule asks of its past, and what the answers become in the ledger.

What an owner's papers or memory tell is hearsay: it is recorded, and says so.

The entries belong to no visit: entries of one visit stand for each other, and these lie years apart. An
original part is one fitted new on the in-service date at 0 h, since the first reading would else count as
its start. *Unknown* writes nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from fleetlog.domain.explain import limits_text
from fleetlog.domain.interval import standings
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Entry
from fleetlog.domain.schedule import Rule, Schedule
from fleetlog.domain.transfer import NewId
from fleetlog.domain.values import value_class
from fleetlog.domain.words import DONE_AS, name_key, same_name

DONE, ORIGINAL, UNKNOWN = "done", "original", "unknown"
JOIN_ANSWERS = (DONE, ORIGINAL, UNKNOWN)


@value_class(frozen=True, slots=True)
class AskedLine:
    """One line of the schedule that the ledger knows no work for."""

    rule: Rule
    position: str | None

    @property
    def can_be_original(self) -> bool:
        """Whether a part can be the one the engine came with; work that was only looked at cannot."""
        return self.rule.action == "replace"

    @property
    def interval(self) -> str:
        return limits_text(self.rule.every)


@value_class(frozen=True, slots=True)
class JoinAnswer:
    """What is known of one line: done on a day and at hours (whole tenths, as the meter showed), original,
    or unknown."""

    rule: str
    position: str | None
    answer: str
    on: date | None = None
    meter_tenths: int | None = None
    part_number: str | None = None
    note: str | None = None


def asked_lines(ledger: EngineLedger, schedule: Schedule, today: date) -> list[AskedLine]:
    """The lines to ask about: those with an interval that nothing in the ledger satisfies yet.

    A line that another one renews is asked about too, as it may have been done alone.
    """
    _, found = standings(ledger, schedule, today)
    return [AskedLine(s.rule, s.position) for s in found if s.last is None and s.rule.is_by_interval]


def join_entries(
    ledger: EngineLedger,
    asked: Sequence[AskedLine],
    answers: Sequence[JoinAnswer],
    source: str,
    told_on: date,
    by: str,
    new_id: NewId,
) -> Iterator[Entry]:
    """The entries that answers become; what is unknown becomes none.

    Two rules that ask for the same of one item get one entry. An original part is one fitted new on the
    in-service date at 0 h. `source` says where the answer is from.
    """
    engine = ledger.engine
    told_already: set[tuple[date, str, str, str]] = set()
    for answer in answers:
        line = next(a for a in asked if is_line(a, answer.rule, answer.position))
        on, meter, said = answer.on, answer.meter_tenths, ""
        if answer.answer == ORIGINAL:
            on, said = engine.in_service_on, "the original part"
            meter = 0 if engine.hour_meter and not ledger.meters else None
        if answer.answer == UNKNOWN or on is None:
            continue
        action = DONE_AS[line.rule.action]
        deed = (on, action, name_key(line.rule.item), name_key(line.position or ""))
        if deed in told_already:
            continue
        told_already.add(deed)
        told = f"hearsay, told on {told_on.isoformat()}: {source}"
        yield Entry(
            new_id(),
            engine.serial,
            on,
            action,
            meter_tenths=meter,
            item=line.rule.item,
            position=line.position,
            part_number=answer.part_number,
            condition="new" if action == "fitted" else None,
            note="; ".join(text for text in (said, answer.note, told) if text),
            by=by,
        )


def is_line(line: AskedLine, rule: str, position: str | None) -> bool:
    """Whether a line is the one of that rule at that position."""
    return line.rule.key == rule and same_name(line.position, position)

"""What owners were advised: recorded with how they were told, answered later, listed while it is open."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from fleetlog.domain.advice import CLOSED_BY, AdviceStanding, advice_standings
from fleetlog.domain.batch import Batch
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.promises import Advice
from fleetlog.domain.records import Visit
from fleetlog.domain.satisfaction import seen_on
from fleetlog.errors.parts import AdviceClosed, NothingAdvised
from fleetlog.store.log import Log
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.finding import (
    find_item,
    find_owner,
    find_position,
    find_row,
    find_rule,
    find_serial,
    needed_schedule,
    schedule_of,
)
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.visit_of_work import add_visit


@dataclass(frozen=True, slots=True)
class AdviceSaid:
    """What an owner was told of an engine; `rule` or `item` say what work it is about."""

    what: str
    on: date
    rule: str | None = None
    item: str | None = None
    position: str | None = None
    how: str | None = None
    told_to: str | None = None
    answer: str | None = None
    visit_id: str | None = None
    note: str | None = None
    told_by: str | None = None


@again_if_lost
def advise(log: Log, occasion: Occasion, engine: str, said: AdviceSaid) -> Advice:
    """Record what an owner was advised, when and how, and what he answered if he has."""
    if not said.what.strip():
        raise NothingAdvised
    occasion.refuse_future("advice", said.on)
    with log.writing(occasion.by, occasion.at) as writer:
        serial = find_serial(writer, engine)
        ledger = writer.ledger(serial)
        schedule = schedule_of(ledger, writer.schedules())
        rule = item = position = None
        if said.rule is not None:
            wanted = find_rule(needed_schedule(ledger, writer.schedules()), said.rule)
            rule, item = wanted.key, wanted.item
        elif said.item is not None:
            item = find_item(seen_on(ledger, date.max), schedule, said.item, is_new_kind=True)
        if item is not None and said.position is not None:
            position = find_position(schedule, item, said.position)
        told_to = said.told_to
        if told_to is None:
            owner = ledger.owners.get(ledger.owner_id_on(said.on) or "")
            told_to = owner.name if owner is not None else None
        advice = Advice(
            new_id("n"),
            serial,
            said.on,
            said.what.strip(),
            rule,
            item,
            position,
            said.how,
            told_to,
            said.answer,
            None,
            said.visit_id,
            said.note,
            said.told_by or occasion.by,
        )
        batch = Batch(advice=[advice])
        if said.visit_id is not None:
            named = Visit(said.visit_id, None, said.on)
            add_visit(writer, batch, named, said.on, ledger.boat_id_on, late=True)
        writer.add(batch)
        return advice


@again_if_lost
def answer_advice(
    log: Log, occasion: Occasion, advice_id: str, answer: str, on: date, how: str | None, note: str | None
) -> Advice:
    """Record what was heard later. Raises NotKnown, and AdviceClosed where it is done or withdrawn."""
    occasion.refuse_future("an answer", on)
    with log.writing(occasion.by, occasion.at) as writer:
        row: Advice = find_row(writer, "advice", "advice", advice_id)
        if row.follows is not None:
            row = writer.existing("advice", [row.follows])[row.follows]
        ledger = writer.ledger(row.serial)
        standing = next(s for s in _standings(ledger, None, date.max) if s.first.advice_id == row.advice_id)
        if standing.answer in CLOSED_BY:
            raise AdviceClosed(row.advice_id, standing.answer or "")
        later = replace(
            row,
            advice_id=new_id("n"),
            on=on,
            how=how,
            answer=answer,
            follows=row.advice_id,
            visit_id=None,
            note=note,
            by=occasion.by,
        )
        writer.add(Batch(advice=[later]))
        return later


def _standings(ledger: EngineLedger, schedule: Any, today: date) -> list[AdviceStanding]:
    return advice_standings(ledger.advice, seen_on(ledger, today), schedule)


def list_advice(
    log: Log, occasion: Occasion, engine: str | None, owner: str | None, *, with_closed: bool
) -> list[dict[str, Any]]:
    """One row a piece of advice, the newest first; what is done or withdrawn only if asked for."""
    with log.reading() as reader:
        wanted = None if owner is None else find_owner(reader, owner).owner_id
        serials = None if engine is None else [find_serial(reader, engine)]
        schedules = reader.schedules()
        rows = []
        for ledger in reader.ledgers(serials):
            if not ledger.advice:
                continue
            boat, _ = ledger.place_on(occasion.today)
            owner_id = boat.owner_id_on(occasion.today) if boat is not None else None
            if wanted is not None and owner_id != wanted:
                continue
            known = ledger.owners.get(owner_id or "")
            names = boat.boat.name if boat else None, known.name if known else None
            for standing in _standings(ledger, schedule_of(ledger, schedules), occasion.today):
                if with_closed or standing.is_open:
                    rows.append(_row(standing, *names))
    return sorted(rows, key=lambda r: (r["on"], r["serial"]), reverse=True)


def _row(standing: AdviceStanding, boat: str | None, owner: str | None) -> dict[str, Any]:
    first, latest = standing.first, standing.latest
    return {
        "advice_id": first.advice_id,
        "serial": first.serial,
        "boat": boat,
        "owner": owner,
        "on": first.on,
        "what": first.what,
        "rule": first.rule,
        "item": first.item,
        "position": first.position,
        "how": first.how,
        "told_to": first.told_to,
        "answer": "done" if standing.done_by is not None else standing.answer,
        "answered_on": latest.on if latest.answer is not None else None,
        "open": standing.is_open,
        "done_by_entry": standing.done_by.entry_id if standing.done_by else None,
        "visit_id": first.visit_id,
        "note": latest.note or first.note,
        "by": first.by,
    }

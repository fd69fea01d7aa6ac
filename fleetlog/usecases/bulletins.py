"""Bulletins: one-time work by family and serial numbers, who is affected, and who is done."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from fleetlog.domain.hour_record import is_past
from fleetlog.domain.hours import hours_number
from fleetlog.domain.interval import done_since_issued
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.nearest import nearest
from fleetlog.domain.out_of_service import WITHOUT_LINES
from fleetlog.domain.satisfaction import seen_on
from fleetlog.domain.schedule import Rule, Schedule
from fleetlog.domain.words import name_key
from fleetlog.errors.naming import Ambiguous, NotKnown
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import refuse_empty, schedule_of
from fleetlog.usecases.occasion import Occasion


@dataclass(frozen=True, slots=True)
class _Affected:
    ledger: EngineLedger
    schedule: Schedule
    rule: Rule


def list_bulletins(log: Log, occasion: Occasion) -> list[dict[str, Any]]:
    """One row a bulletin of the schedules in the log: how many engines it is for, and how many are done."""
    with log.reading() as reader:
        affected = _affected(reader, occasion.today)
        schedules = reader.schedules()
    rows = []
    for schedule in sorted(schedules.values(), key=lambda s: s.name):
        for rule in schedule.rules:
            if rule.once:
                here = [a for a in affected if a.schedule.name == schedule.name and a.rule.key == rule.key]
                done = sum(_is_done(a, occasion.today) for a in here)
                rows.append(
                    {
                        **_facts(schedule, rule),
                        "engines": len(here),
                        "done": done,
                        "open": len(here) - done,
                    }
                )
    return rows


def show_bulletin(
    log: Log, occasion: Occasion, typed: str, *, open_only: bool
) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """A bulletin, and one row an engine that it is for: where it stands, and when it was done or is due."""
    with log.reading() as reader:
        schedule, rule = _find(reader, typed)
        affected = _affected(reader, occasion.today)
    rows = []
    for one in affected:
        if one.schedule.name != schedule.name or one.rule.key != rule.key:
            continue
        for position in rule.lines():
            row = _row(one, position, occasion.today)
            if not open_only or row["state"] != "done":
                rows.append(row)
    return _facts(schedule, rule), sorted(rows, key=lambda r: (r["state"] == "done", r["serial"]))


def _affected(reader: Reader, today: date) -> list[_Affected]:
    schedules = reader.schedules()
    with_bulletins = {s.name for s in schedules.values() if any(r.once for r in s.rules)}
    if not with_bulletins:
        return []
    found = []
    for ledger in reader.ledgers():
        schedule = schedule_of(ledger, schedules)
        if schedule is None or schedule.name not in with_bulletins:
            continue
        engine = ledger.engine_on(today)
        if engine.state in WITHOUT_LINES:
            continue
        for rule in schedule.rules:
            is_issued = rule.issued_on is None or rule.issued_on <= today
            if rule.once and is_issued and rule.is_for(engine.serial):
                found.append(_Affected(ledger, schedule, rule))
    return found


def _is_done(one: _Affected, today: date) -> bool:
    seen = seen_on(one.ledger, today)
    return all(done_since_issued(seen, one.schedule, one.rule, place) for place in one.rule.lines())


def _find(reader: Reader, typed: str) -> tuple[Schedule, Rule]:
    known = [(s, r) for s in reader.schedules().values() for r in s.rules if r.once]
    refuse_empty("bulletin", typed)
    wanted = name_key(typed)
    exact = [(s, r) for s, r in known if wanted in (name_key(r.key), name_key(f"{s.name}/{r.key}"))]
    matching = exact or [(s, r) for s, r in known if wanted in name_key(r.key) or wanted in name_key(r.title)]
    if len(matching) == 1:
        return matching[0]
    if matching:
        raise Ambiguous("bulletin", typed, [f"{s.name}/{r.key}" for s, r in matching])
    raise NotKnown(
        "bulletin", typed, nearest(typed, [r.key for _, r in known]), "it is a rule with once = true"
    )


def _facts(schedule: Schedule, rule: Rule) -> dict[str, Any]:
    return {
        "bulletin": rule.key,
        "title": rule.title,
        "schedule": schedule.name,
        "item": rule.item,
        "issued_on": rule.issued_on,
        "by_on": rule.by.on,
        "by_hours": hours_number(rule.by.tenths),
        "consequence": rule.consequence,
    }


def _row(one: _Affected, position: str | None, today: date) -> dict[str, Any]:
    ledger, rule = one.ledger, one.rule
    seen = seen_on(ledger, today)
    done = done_since_issued(seen, one.schedule, rule, position)
    owner_id = seen.boat_ledger.owner_id_on(today) if seen.boat_ledger else None
    owner = ledger.owners.get(owner_id or "")
    last = seen.hours.last
    open_state = "overdue" if is_past(rule.by.on, rule.by.tenths, today, seen.hours) else "open"
    return {
        "serial": ledger.engine.serial,
        "position": position,
        "boat": seen.boat.name if seen.boat else None,
        "owner": owner.name if owner else None,
        "state": "done" if done else open_state,
        "done_on": done[0].entry.on if done else None,
        "done_by": done[0].entry.by if done else None,
        "engine_hours": hours_number(last.tenths) if last else None,
    }

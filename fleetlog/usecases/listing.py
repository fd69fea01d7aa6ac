"""Lists of owners, boats, engines and schedules, as rows for a person to read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any, NamedTuple

from fleetlog.domain.due import DEFAULT_WINDOW_DAYS
from fleetlog.domain.explain import limits_text
from fleetlog.domain.hour_record import hour_record
from fleetlog.domain.hours import hours_number, hours_text
from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.records import Boat, Layup, Owner
from fleetlog.domain.schedule import Rule
from fleetlog.domain.taken_off import off_of
from fleetlog.domain.words import WITHDRAWN, with_position
from fleetlog.store.log import Log
from fleetlog.usecases.finding import find_boat, find_owner, find_schedule, find_serial
from fleetlog.usecases.occasion import Occasion


def list_owners(log: Log, occasion: Occasion) -> list[dict[str, Any]]:
    """One row an owner, by name, with how many boats are theirs today."""
    with log.reading() as reader:
        owners, boats = reader.owners(), reader.boat_ledgers()
    count: dict[str | None, int] = {}
    for boat in boats.values():
        owner_id = boat.owner_id_on(occasion.today)
        count[owner_id] = count.get(owner_id, 0) + 1
    return [
        {**asdict(o), "boats": count.get(o.owner_id, 0)}
        for o in sorted(owners.values(), key=lambda o: o.name)
    ]


def list_boats(log: Log, occasion: Occasion) -> list[dict[str, Any]]:
    """One row a boat, by name, with its owner of today and its engines."""
    with log.reading() as reader:
        owners, boats = reader.owners(), reader.boat_ledgers()
        return _boat_rows(boats.values(), reader.ledgers(), owners, occasion.today)


def _boat_rows(
    boats: Iterable[BoatLedger], ledgers: Iterable[EngineLedger], owners: Mapping[str, Owner], today: date
) -> list[dict[str, Any]]:
    engines: dict[str, list[str]] = {}
    for ledger in ledgers:
        place, _ = ledger.place_on(today)
        if place is not None:
            engines.setdefault(place.boat.boat_id, []).append(ledger.engine.serial)
    rows = []
    for boat_ledger in sorted(boats, key=lambda b: b.boat.name):
        boat = boat_ledger.boat_on(today)
        owner = owners.get(boat_ledger.owner_id_on(today) or "")
        serials = ", ".join(sorted(engines.get(boat.boat_id, [])))
        rows.append({**asdict(boat), "owner": owner.name if owner else None, "engines": serials})
    return rows


def list_engines(log: Log, occasion: Occasion) -> list[dict[str, Any]]:
    """One row an engine, by serial, with where it stands today and its last accepted reading."""
    with log.reading() as reader:
        ledgers = list(reader.ledgers())
    return [_engine_row(led, occasion.today) for led in sorted(ledgers, key=lambda led: led.engine.serial)]


def _engine_row(ledger: EngineLedger, today: date) -> dict[str, Any]:
    engine = ledger.engine_on(today)
    place, position = ledger.place_on(today)
    last = hour_record(ledger, today).last
    return {
        "serial": engine.serial,
        "maker": engine.maker,
        "model": engine.model,
        "family": engine.family,
        "schedule": engine.schedule_name,
        "model_year": engine.model_year,
        "in_service_on": engine.in_service_on,
        "logged_from_new": engine.logged_from_new,
        "hour_meter": engine.hour_meter,
        "state": engine.state,
        "boat": place.boat_on(today).name if place else None,
        "position": position,
        "engine_hours": hours_number(last.tenths) if last else None,
        "engine_hours_on": last.on if last else None,
    }


def show_owner(log: Log, occasion: Occasion, owner: str) -> tuple[Owner, list[dict[str, Any]]]:
    """An owner and the rows of their boats."""
    with log.reading() as reader:
        found = find_owner(reader, owner)
        boats = [b for b in reader.boat_ledgers().values() if b.owner_id_on(occasion.today) == found.owner_id]
        serials = {serial for b in boats for serial in reader.serials_of_boat(b.boat.boat_id)}
        ledgers = reader.ledgers(sorted(serials))
        return found, _boat_rows(boats, ledgers, {found.owner_id: found}, occasion.today)


class BoatShown(NamedTuple):
    """A boat as it is today, whose it is, the rows of its engines, its lay-ups, and what was not so."""

    boat: Boat
    owner: Owner | None
    engines: list[dict[str, Any]]
    layups: Sequence[Layup]
    not_laid_up: list[dict[str, Any]]
    not_sold: list[dict[str, Any]]


def show_boat(log: Log, occasion: Occasion, boat: str) -> BoatShown:
    """All that is shown of a boat."""
    with log.reading() as reader:
        found = find_boat(reader, boat)
        ledger = reader.boat_ledger(found.boat_id)
        owner_id = ledger.owner_id_on(occasion.today) or ""
        owner = reader.existing("owners", [owner_id]).get(owner_id)
        rows = [
            _engine_row(led, occasion.today)
            for led in sorted(
                reader.ledgers(reader.serials_of_boat(found.boat_id)), key=lambda led: led.engine.serial
            )
            if (place := led.place_on(occasion.today)[0]) is not None and place.boat.boat_id == found.boat_id
        ]
        said = {owned.owner_id or "": owned for owned, _ in ledger.not_sold}
        buyers = reader.existing("owners", list(said))
    not_sold = [
        {
            "on": owned.from_on,
            "owner": buyers[owned.owner_id].name if owned.owner_id in buyers else owned.owner_id,
            "reason": word.reason,
            "by": word.by,
        }
        for owned, word in ledger.not_sold
        if word.takes_back
    ]
    begins = {layup.from_on for layup in ledger.layups}
    not_laid_up = [
        {"from_on": layup.from_on, "to_on": layup.to_on, "reason": word.reason, "by": word.by}
        for layup, word in ledger.replanned
        if word.change == WITHDRAWN and layup.from_on not in begins
    ]
    now = ledger.boat_on(occasion.today)
    return BoatShown(now, owner, rows, ledger.layups, not_laid_up, not_sold)


def show_engine(log: Log, occasion: Occasion, engine: str) -> dict[str, Any]:
    """The row of one engine, with its hours of today as they are reckoned where they were not read.

    `reckoned_low_hours` and `reckoned_high_hours` are a window of eight in ten; `reckoned_today` says it.
    """
    from fleetlog.reports.outlook import hours_today
    from fleetlog.reports.words import reckoned_shown
    from fleetlog.usecases.fleet import fleet_state

    with log.reading() as reader:
        serial = find_serial(reader, engine)
        state = fleet_state(reader, occasion.today, DEFAULT_WINDOW_DAYS, [serial], year_ahead=True)
    [found] = state.engines
    reckoned = hours_today(found, occasion.today)
    low, middle, high = (None, None, None) if reckoned is None else (round(hours, 1) for hours in reckoned)
    return {
        **_engine_row(found.ledger, occasion.today),
        "reckoned_low_hours": low,
        "reckoned_hours": middle,
        "reckoned_high_hours": high,
        "reckoned_today": reckoned and reckoned_shown(*reckoned).replace("\xa0", " "),
        "off_with_nothing_put_on": "; ".join(_off_since(*off) for off in off_of(serial, found.off)) or None,
    }


def _off_since(_serial: str, item: str, position: str | None, on: date) -> str:
    return f"{with_position(item, position)} since {on.isoformat()}"


def list_schedules(log: Log) -> list[dict[str, Any]]:
    """One row a service schedule, its newest revision."""
    with log.reading() as reader:
        schedules = reader.schedules()
    return [
        {"name": s.name, "title": s.title, "revision": s.revision, "rules": len(s.rules), "note": s.note}
        for s in sorted(schedules.values(), key=lambda s: s.name)
    ]


def list_rules(log: Log, name: str) -> list[dict[str, Any]]:
    """One row a rule of a schedule."""
    with log.reading() as reader:
        return [_rule_row(rule) for rule in find_schedule(reader, name).rules]


def _rule_row(rule: Rule) -> dict[str, Any]:
    if rule.once:
        by = [rule.by.on.isoformat()] if rule.by.on is not None else []
        by += [f"{hours_text(rule.by.tenths)} h"] if rule.by.tenths is not None else []
        interval = f"once, by {' or '.join(by)}"
    elif rule.renew_when_disturbed:
        interval = "whenever disturbed"
    else:
        interval = rule.season or limits_text(rule.every)
    return {
        "key": rule.key,
        "title": rule.title,
        "item": rule.item,
        "action": rule.action,
        "positions": ", ".join(rule.positions) or None,
        "interval": interval,
        "first": limits_text(rule.first) if rule.first else None,
        "access": rule.access,
        "consequence": rule.consequence,
    }

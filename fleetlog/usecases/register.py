"""Owners, boats and engines: added, changed with the date kept, laid up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any, TypeVar

from fleetlog.domain.batch import Batch
from fleetlog.domain.hour_record import figures_without_meter
from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.ledger_rules import before_service
from fleetlog.domain.looser import looser_for
from fleetlog.domain.nearest import MISSPELT, nearest
from fleetlog.domain.places import shared_places
from fleetlog.domain.records import Boat, Change, Engine, Layup, LayupChange, Owner, name_of
from fleetlog.domain.season import shared_layups
from fleetlog.domain.words import (
    ENDS,
    ENGINE_STATES,
    REMIND_BY,
    USES,
    WATERS,
    WITHDRAWN,
    name_key,
    spelling_key,
)
from fleetlog.errors.naming import BadChoice, NotKnown, ReasonNeeded
from fleetlog.errors.recording import (
    AlreadyThere,
    InServiceAfterWork,
    LayupReversed,
    NoSuchLayup,
    NothingToChange,
    NotLaidUp,
    PlacedByMove,
    SerialTaken,
)
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.store.writer import Writer
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.finding import find_boat, find_owner, find_serial
from fleetlog.usecases.occasion import Occasion, new_id

Row = TypeVar("Row", Owner, Boat, Engine)

CHOICES: Mapping[str, tuple[str, ...]] = {
    "remind_by": REMIND_BY,
    "water": WATERS,
    "use": USES,
    "state": ENGINE_STATES,
}
"""The facts that are one of a few words."""


@again_if_lost
def add_owner(log: Log, occasion: Occasion, owner_id: str | None, facts: Mapping[str, object]) -> Owner:
    """A new owner; without an id one is made."""
    owner = Owner(owner_id or new_id("o"), **_checked(facts))  # type: ignore[arg-type]
    with log.writing(occasion.by, occasion.at) as writer:
        if writer.existing("owners", [owner.owner_id]):
            raise AlreadyThere("owner", owner.owner_id)
        writer.add(Batch(owners=[owner]))
    return owner


def namesakes(log: Log, kind: str, key: str, name: str) -> tuple[list[str], dict[str, str]]:
    """The other owners or boats of a name, by their ids; and those spelt nearly so, their names by id.

    Of boats, whose names are much alike, only what differs by no letter is near.
    """
    with log.reading() as reader:
        names = reader.names(kind)
    del names[key]
    same = [other for other, theirs in names.items() if name_key(theirs) == name_key(name)]
    near = set(nearest(name, names.values(), likeness=MISSPELT)) if kind == "owners" else set()
    alike = {
        other: theirs
        for other, theirs in names.items()
        if other not in same and (theirs in near or spelling_key(theirs) == spelling_key(name))
    }
    return same, alike


@again_if_lost
def add_boat(
    log: Log, occasion: Occasion, boat_id: str | None, owner: str | None, facts: Mapping[str, object]
) -> Boat:
    """A new boat, of an owner named or known by id; without an id one is made."""
    with log.writing(occasion.by, occasion.at) as writer:
        owner_id = None if owner is None else find_owner(writer, owner).owner_id
        boat = Boat(boat_id or new_id("b"), owner_id, **_checked(facts))  # type: ignore[arg-type]
        if writer.existing("boats", [boat.boat_id]):
            raise AlreadyThere("boat", boat.boat_id)
        writer.add(Batch(boats=[boat]))
    return boat


@again_if_lost
def add_engine(
    log: Log, occasion: Occasion, serial: str, boat: str | None, facts: Mapping[str, object]
) -> Engine:
    """A new engine, on a boat named or known by id."""
    with log.writing(occasion.by, occasion.at) as writer:
        boat_id = None if boat is None else find_boat(writer, boat).boat_id
        engine = Engine(serial.strip(), boat_id=boat_id, **_checked(facts))  # type: ignore[arg-type]
        _refuse_taken(writer, engine.serial)
        _refuse_unknown_schedule(writer, engine.schedule)
        writer.add(Batch(engines=[engine]))
    return engine


@again_if_lost
def change_owner(
    log: Log, occasion: Occasion, owner: str, facts: Mapping[str, object], reason: str | None
) -> tuple[Owner, list[Change]]:
    """Say otherwise what is said of an owner; what it was is kept, with today's date."""
    with log.writing(occasion.by, occasion.at) as writer:
        before = find_owner(writer, owner)
        return _changed(writer, occasion, "owners", before, before.owner_id, facts, reason)


@again_if_lost
def change_boat(
    log: Log, occasion: Occasion, boat: str, facts: Mapping[str, object], reason: str | None
) -> tuple[Boat, list[Change]]:
    """Say otherwise what is said of a boat; what it was is kept, with today's date."""
    with log.writing(occasion.by, occasion.at) as writer:
        before = find_boat(writer, boat)
        return _changed(writer, occasion, "boats", before, before.boat_id, facts, reason)


@again_if_lost
def change_engine(
    log: Log, occasion: Occasion, engine: str, facts: Mapping[str, object], reason: str | None
) -> tuple[Engine, list[Change], int, list[str]]:
    """Say otherwise what is said of an engine, its state (sold, scrapped, laid by) included.

    With it come how many figures of hours count for nothing, as it has no hour meter, and what another
    schedule does not ask for any more, or later. Raises PlacedByMove where a move said where it stands.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        ledger = writer.ledger(find_serial(writer, engine))
        before = ledger.engine
        position, mount = facts.get("position"), ledger.mount_on(occasion.today)
        if position is not None and mount is not None and mount.position != position:
            boat = name_of(writer.boats(), mount.boat_id or "")
            raise PlacedByMove(before.serial, boat, str(position), mount.from_on, occasion.today)
        schedule = facts.get("schedule")
        _refuse_unknown_schedule(writer, None if schedule is None else str(schedule))
        after, changes = _changed(writer, occasion, "engines", before, before.serial, facts, reason)
        _refuse_after_work(ledger, after)
        uncounted = figures_without_meter(replace(ledger, engine=after))
        return after, changes, uncounted, list(looser_for(before, after, writer.schedules()))


def others_at_its_place(log: Log, occasion: Occasion, serial: str) -> list[str]:
    """What is to be said where another engine stands today at the place of this one."""
    with log.reading() as reader:
        boat_id = reader.ledger(serial).boat_id_on(occasion.today)
        aboard = reader.ledgers(reader.serials_of_boat(boat_id)) if boat_id is not None else ()
        return [said for said in shared_places(aboard, occasion.today) if serial in said]


def _refuse_after_work(ledger: EngineLedger, after: Engine) -> None:
    """Refuse a day of service long after work and figures that the log has: it would hide what is due."""
    known = set(before_service(ledger))
    early = [p.value for p in before_service(replace(ledger, engine=after)) if p not in known]
    if early and after.in_service_on is not None:
        raise InServiceAfterWork(after.serial, after.in_service_on, date.fromisoformat(min(early)))


def _changed(
    writer: Writer,
    occasion: Occasion,
    kind: str,
    before: Row,
    key: str,
    facts: Mapping[str, object],
    reason: str | None,
) -> tuple[Row, list[Change]]:
    checked: dict[str, Any] = _checked(facts)
    after = replace(before, **checked)
    if after == before:
        raise NothingToChange(kind[:-1], key)
    return after, writer.change(kind, after, occasion.today, reason)


@again_if_lost
def correct_serial(log: Log, occasion: Occasion, engine: str, right: str, reason: str) -> tuple[str, Engine]:
    """Correct the serial number of an engine, with a reason; gives the wrong one, and the engine.

    The engine is the same, with all that was recorded of it; the wrong number still finds it. Raises
    AlreadyThere and SerialTaken for a number that another engine has or once had.
    """
    ReasonNeeded.unless(reason, f"correcting the serial number of {engine}")
    right = right.strip()
    with log.writing(occasion.by, occasion.at) as writer:
        before = writer.ledger(find_serial(writer, engine)).engine
        if before.serial == right:
            raise NothingToChange("engine", right)
        _refuse_taken(writer, right, before.serial)
        writer.correct_serial(before.serial, right, occasion.today, reason)
        return before.serial, replace(before, serial=right)


def _refuse_taken(reader: Reader, serial: str, of: str | None = None) -> None:
    """Refuses the serial number of another engine than `of`, a former one too."""
    key = name_key(serial)
    if any(name_key(s) == key and s != of for s in reader.serials_like(serial)):
        raise AlreadyThere("engine", serial)
    for former, now in reader.former_serials().items():
        if name_key(former) == key and now != of:
            raise SerialTaken(serial, now)


@again_if_lost
def lay_up(
    log: Log, occasion: Occasion, boat: str, from_on: date, to_on: date | None
) -> tuple[Boat, Layup, date | None, list[Layup]]:
    """Record a time in which a boat is stored, past or planned; without an end it goes on.

    Said again of the same first day it gets another end. Gives the boat, the lay-up, the end that it had
    until now, and the boat's other lay-ups of which it shares days.
    """
    if to_on is not None and to_on < from_on:
        raise LayupReversed(from_on, to_on)
    with log.writing(occasion.by, occasion.at) as writer:
        laid = find_boat(writer, boat)
        layup, ledger = Layup(laid.boat_id, from_on, to_on), writer.boat_ledger(laid.boat_id)
        recorded = (laid.boat_id, from_on) in writer.existing("layups", [(laid.boat_id, from_on)])
        standing = next((lay for lay in ledger.layups if lay.from_on == from_on), None)
        if standing == layup:
            raise AlreadyThere("lay-up", f"{laid.name} from {from_on.isoformat()}")
        if recorded:
            _end_layup(writer, occasion, ledger, layup)
        else:
            writer.add(Batch(layups=[layup]))
        shared = shared_layups([layup, *(lay for lay in ledger.layups if lay.from_on != from_on)])
        others = [two if one == layup else one for one, two in shared if layup in (one, two)]
        return laid, layup, standing.to_on if standing else None, others


@again_if_lost
def launch(log: Log, occasion: Occasion, boat: str, on: date) -> tuple[Layup, date | None]:
    """End the lay-up of a boat: one without an end, or before the planned day, which is given too."""
    with log.writing(occasion.by, occasion.at) as writer:
        laid = find_boat(writer, boat)
        ledger = writer.boat_ledger(laid.boat_id)
        begun = [lay for lay in ledger.layups if lay.from_on <= on]
        going_on = [lay for lay in begun if lay.to_on is None or on < lay.to_on]
        if not going_on:
            ended = [(lay.from_on, lay.to_on) for lay in begun if lay.to_on is not None]
            raise NotLaidUp(laid.name, on, max(ended, default=None))
        latest = max(going_on, key=lambda lay: (lay.to_on is None, lay.from_on))
        until_then = replace(latest, to_on=on)
        _end_layup(writer, occasion, ledger, until_then)
        return until_then, latest.to_on


def _end_layup(writer: Writer, occasion: Occasion, ledger: BoatLedger, layup: Layup) -> None:
    """Writes the end of a recorded lay-up: into its row where nothing was said yet, else as a later word."""
    is_open = any(lay.from_on == layup.from_on and lay.to_on is None for lay in ledger.layups)
    if (
        is_open
        and layup.to_on is not None
        and not any(c.from_on == layup.from_on for _, c in ledger.replanned)
    ):
        writer.end("layups", (layup.boat_id, layup.from_on), layup.to_on)
        return
    word = LayupChange(new_id("l"), layup.boat_id, layup.from_on, ENDS, occasion.at, occasion.by, layup.to_on)
    writer.add(Batch(layup_changes=[word]))


@again_if_lost
def withdraw_layup(log: Log, occasion: Occasion, boat: str, from_on: date, reason: str) -> tuple[Boat, Layup]:
    """Say that a lay-up was not, or will not be; it stays in the record as withdrawn. Raises NoSuchLayup."""
    ReasonNeeded.unless(reason, "withdrawing a lay-up")
    with log.writing(occasion.by, occasion.at) as writer:
        found = find_boat(writer, boat)
        layups = {lay.from_on: lay for lay in writer.boat_ledger(found.boat_id).layups}
        if from_on not in layups:
            raise NoSuchLayup(found.name, from_on, sorted(layups))
        word = LayupChange(
            new_id("l"), found.boat_id, from_on, WITHDRAWN, occasion.at, occasion.by, reason=reason
        )
        writer.add(Batch(layup_changes=[word]))
        return found, layups[from_on]


def _checked(facts: Mapping[str, object]) -> dict[str, object]:
    """The facts, those that are one of a few words in the spelling of the list; raises BadChoice.

    A blank text says that a fact is not known.
    """
    checked = {
        name: None if isinstance(value, str) and not value.strip() else value for name, value in facts.items()
    }
    for field, choices in CHOICES.items():
        value = checked.get(field)
        if value is not None:
            spelled = {name_key(c): c for c in choices}
            if name_key(str(value)) not in spelled:
                raise BadChoice(field, str(value), choices)
            checked[field] = spelled[name_key(str(value))]
    return checked


_NEW_SCHEDULE = "a new one is taken in by fleetlog import, of a folder with schedules/ in it"


def _refuse_unknown_schedule(reader: Reader, name: str | None) -> None:
    known = reader.schedules()
    if name is not None and name not in known:
        raise NotKnown("service schedule", name, nearest(name, known) or sorted(known), _NEW_SCHEDULE)

"""Swaps assemblies, moves items from engine to engine, and follows one item through all of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from fleetlog.domain.batch import Batch
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.move import Move, write_move
from fleetlog.domain.records import Entry, Visit
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.stints import TrackedItem
from fleetlog.domain.swap import SaidOfItem, Swap, riding_items, write_swap
from fleetlog.domain.transfer import Place, Written
from fleetlog.domain.travel import Home, Homes, Journey, homes_among, in_two_places, journey_of
from fleetlog.domain.words import ASSEMBLIES, name_key, said_text, same_name, same_place, with_position
from fleetlog.errors import as_word
from fleetlog.errors.naming import BadChoice
from fleetlog.errors.travel import NothingRecordedOf, SameEngineTwice
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.store.writer import Writer
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.finding import ALL_POSITIONS, find_item, find_position, find_serial, schedule_of
from fleetlog.usecases.homes import homes_of
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.recording import grown_by, meter_figure
from fleetlog.usecases.visit_of_work import add_visit, visit_left_out


@dataclass(frozen=True, slots=True)
class SwapSaid:
    """What a person says of a swap; items may carry a position after a colon, such as `anode:upper`.

    Hours are whole tenths, as the meters showed. `renewed` came new with a used assembly; `ages` are items
    with hours and months of their own.
    """

    assembly: str
    on: date
    giver: str | None = None
    is_used: bool = False
    is_rebuilt: bool = False
    is_shelved: bool = False
    prior_tenths: int | None = None
    prior_months: int | None = None
    carried: Sequence[str] = ()
    renewed: Sequence[str] = ()
    ages: Sequence[tuple[str, int | None, int | None]] = ()
    why: str = "scheduled"
    hours_tenths: int | None = None
    giver_hours_tenths: int | None = None
    visit_id: str | None = None
    part_number: str | None = None
    note: str | None = None
    done_by: str | None = None
    checked_by: str | None = None


@again_if_lost
def swap_assembly(log: Log, occasion: Occasion, engine: str, said: SwapSaid, *, is_tried: bool) -> Written:
    """Fit another assembly and all that rides on it, in one visit a boat and one transaction.

    With `is_tried` nothing is written: the entries are those that would be.
    """
    assembly = next((a for a in ASSEMBLIES if same_name(a, said.assembly)), None)
    if assembly is None:
        raise BadChoice("assembly", said.assembly, ASSEMBLIES)
    with log.writing(occasion.by, occasion.at) as writer:
        homes = homes_of(writer, said.on, occasion.today)
        givers = [] if said.giver is None else [said.giver]
        taker, *others = _held_together(writer, homes, occasion, said.on, engine, *givers)
        giver = others[0] if others else None
        visits = _Visits(taker, giver, said.on, said.visit_id, f"another {assembly}")
        swap = Swap(
            assembly,
            said.on,
            is_used=said.is_used or said.prior_tenths is not None or said.prior_months is not None,
            is_rebuilt=said.is_rebuilt,
            is_shelved=said.is_shelved,
            prior_tenths=said.prior_tenths,
            prior_months=said.prior_months,
            why=said.why,
            carried=tuple(_place(taker, text) for text in said.carried),
            said=(
                *(SaidOfItem(*_riding(taker, assembly, text), False) for text in said.renewed),
                *(SaidOfItem(*_riding(taker, assembly, text), True, *age) for text, *age in said.ages),
            ),
            meter_tenths=meter_figure(taker.ledger, said.on, said.hours_tenths, are_engine_hours=False),
            giver_meter_tenths=_giver_figure(giver, said.on, said.giver_hours_tenths),
            part_number=said_text(said.part_number),
            note=said.note,
            by=said.done_by or occasion.by,
            checked_by=said.checked_by,
        )
        gone = [] if giver is None else list(homes.taken(giver.serial).values())
        written = write_swap(taker, giver, swap, _entry_id, visits.taker_id, visits.giver_id, gone)
        _keep(writer, taker, giver, written, visits, is_tried=is_tried)
        return written


@dataclass(frozen=True, slots=True)
class MoveSaid:
    """What a person says of an item that goes to another engine. Hours are whole tenths, as meters showed."""

    item: str
    to_serial: str
    on: date
    from_position: str | None = None
    to_position: str | None = None
    is_shelved: bool = False
    why: str = "scheduled"
    hours_tenths: int | None = None
    giver_hours_tenths: int | None = None
    visit_id: str | None = None
    note: str | None = None
    done_by: str | None = None
    checked_by: str | None = None


@again_if_lost
def move_item(log: Log, occasion: Occasion, engine: str, said: MoveSaid, *, is_tried: bool) -> Written:
    """Take an item off one engine and fit it to another, with its age looked up; both or neither.

    `why` says why the one that was there came off. With `is_tried` nothing is written.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        homes = homes_of(writer, said.on, occasion.today)
        taker, giver = _held_together(writer, homes, occasion, said.on, said.to_serial, engine)
        item = find_item(giver.seen, giver.schedule, said.item, is_new_kind=False)
        to_item = find_item(taker.seen, taker.schedule, item, is_new_kind=True)
        to_position = said.to_position if said.to_position is not None else said.from_position
        known = taker.schedule.positions_of(to_item) if taker.schedule is not None else []
        if said.to_position is None and not any(same_name(p, to_position) for p in known):
            to_position = None
        move = Move(
            to_item,
            said.on,
            find_position(giver.schedule, item, said.from_position),
            find_position(taker.schedule, to_item, to_position),
            said.is_shelved,
            meter_figure(taker.ledger, said.on, said.hours_tenths, are_engine_hours=False),
            _giver_figure(giver, said.on, said.giver_hours_tenths),
            said.why,
            said.note,
            said.done_by or occasion.by,
            said.checked_by,
        )
        gone = list(homes.taken(giver.serial).values())
        visits = _Visits(taker, giver, said.on, said.visit_id, f"{item} from another engine")
        written = write_move(giver, taker, move, _entry_id, visits.taker_id, visits.giver_id, gone)
        _keep(writer, taker, giver, written, visits, is_tried=is_tried)
        return written


def _entry_id() -> str:
    return new_id("e")


def _held_together(writer: Writer, homes: Homes, occasion: Occasion, on: date, *typed: str) -> list[Home]:
    """The engines that items go between, the one that gets them first; they are held together."""
    occasion.refuse_future("work", on)
    serials = [find_serial(writer, one) for one in typed]
    if len(set(serials)) < len(serials):
        raise SameEngineTwice(serials[0])
    writer.hold_engines(serials)
    return [homes.known(serial) for serial in serials]


def _giver_figure(giver: Home | None, on: date, hours_tenths: int | None) -> int | None:
    return None if giver is None else meter_figure(giver.ledger, on, hours_tenths, are_engine_hours=False)


def _place(home: Home, text: str, *, is_new_kind: bool = True) -> Place:
    """An item, with a position after a colon where it has one, in the spelling of the schedule."""
    item, _, position = (part.strip() for part in text.partition(":"))
    spelled = find_item(home.seen, home.schedule, item, is_new_kind=is_new_kind)
    return spelled, find_position(home.schedule, spelled, position or ALL_POSITIONS)


def _riding(home: Home, assembly: str, text: str) -> Place:
    item, position = _place(home, text, is_new_kind=False)
    riding = {name_key(name): name for name, _ in riding_items(home.schedule, assembly)}
    if name_key(item) not in riding:
        raise BadChoice(f"item on the {assembly}", item, tuple(riding.values()) or ("(nothing rides on it)",))
    return item, position


class _Visits:
    """The visits of a swap or a move: the one named or a new one, and one of its own for the giving boat.

    A visit is of one boat, so that nothing of one owner's is told on the page of another's engine.
    """

    def __init__(self, taker: Home, giver: Home | None, on: date, visit_id: str | None, why: str) -> None:
        self.taker_id = visit_id or new_id("v")
        self.giver_id = new_id("v")
        self._taker, self._giver, self._on, self._why = taker, giver, on, why
        self._named = visit_id

    def left_out(self, reader: Reader) -> Visit | None:
        """The open visit of the boat that takes, where none was named."""
        return visit_left_out(reader, self._named, self._on, self._taker.ledger.boat_id_on)

    def add(self, reader: Reader, batch: Batch, written: Written) -> None:
        """Add the visits that the log does not have yet to a batch; those not named are over the same day."""
        self._add(reader, batch, self.taker_id, self._taker)
        if self._giver is not None and written.on_giver:
            self._add(reader, batch, self.giver_id, self._giver)

    def _add(self, reader: Reader, batch: Batch, visit_id: str, home: Home) -> None:
        closed_on = None if visit_id == self._named else self._on
        visit = Visit(visit_id, None, self._on, closed_on, self._why)
        add_visit(reader, batch, visit, self._on, home.ledger.boat_id_on, late=True)


def _keep(
    writer: Writer,
    taker: Home,
    giver: Home | None,
    written: Written,
    visits: _Visits,
    *,
    is_tried: bool,
) -> None:
    for home, entries in ((taker, written.on_taker), (giver, written.on_giver)):
        if home is not None:
            grown_by(home.ledger, home.schedule, entries)
    written.outside = visits.left_out(writer)
    batch = Batch(entries=[*written.on_giver, *written.on_taker])
    visits.add(writer, batch, written)
    if not is_tried:
        writer.add(batch)


@dataclass(frozen=True, slots=True)
class Traced:
    """An item that is or was on an engine, and its journey over all engines."""

    serial: str
    journey: Journey
    now_on: str | None


def trace_item(
    log: Log, occasion: Occasion, engine: str, item: str, position: str | None, *, with_former: bool
) -> list[Traced]:
    """The stints of the item that an engine has now (or had last), of each position; all former ones too."""
    with log.reading() as reader:
        homes = homes_of(reader, occasion.today)
        home = homes.known(find_serial(reader, engine))
        kind = find_item(home.seen, home.schedule, item, is_new_kind=False)
        if position is not None:
            position = find_position(home.schedule, kind, position)
        found = [
            tracked
            for tracked in home.items
            if same_name(tracked.item, kind) and same_place(tracked.position, position)
        ]
        if not found:
            raise NothingRecordedOf(home.serial, kind)
        if not with_former:
            last = {name_key(tracked.position or ""): tracked for tracked in found}
            found = [tracked for tracked in found if tracked is last[name_key(tracked.position or "")]]
        journeys = [journey_of(homes, home.serial, tracked) for tracked in reversed(found)]
    return [Traced(home.serial, j, j.legs[-1].serial if j.is_on else None) for j in journeys]


def given_but_on_still(log: Log, occasion: Occasion, entry: Entry) -> list[str]:
    """What waits for a word on the engine that an item was just fitted from: its record has it on still."""
    if entry.from_serial is None:
        return []
    with log.reading() as reader:
        ledgers = list(reader.ledgers([entry.from_serial, entry.serial]))
        return still_on_the_giver(ledgers, reader.schedules(), occasion.today)


def still_on_the_giver(
    ledgers: Iterable[EngineLedger], schedules: Mapping[str, Schedule], today: date
) -> list[str]:
    """What waits for a word: an item fitted from another engine whose own record has it on still."""
    homes = [Home(ledger, schedule_of(ledger, schedules), today) for ledger in ledgers]
    among = homes_among(homes)
    return [
        f"engine {home.serial}: its {with_position(item.item, item.position)} was fitted to engine"
        f" {entry.serial} on {entry.on.isoformat()}, but here it is on still: fleetlog remove"
        f" {as_word(home.serial)} {as_word(item.item)}{_place_option(home, item)} --reason transferred"
        f" --on {entry.on.isoformat()}"
        for home in homes
        for entry, item in in_two_places(among, home.serial)
    ]


def _place_option(home: Home, item: TrackedItem) -> str:
    """The option that a command wants which names an item of an engine; none where it sits in one place."""
    places = home.schedule.positions_of(item.item) if home.schedule is not None else []
    if item.position is None and len(places) < 2:
        return ""
    return f" --position {as_word(item.position or ALL_POSITIONS)}"

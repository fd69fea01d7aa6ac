"""From the due list to the work that the diary plans: owed lines, lay-ups, wishes, stock, bookings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import ROUND_CEILING
from typing import TypeVar

from fleetlog.diary.season import LayUp, best_spans, expected_layups, pull_to_layups
from fleetlog.diary.shop import BookedVisit, Shop, Wishes
from fleetlog.diary.shop_text import ShopSetup, shop_from_toml
from fleetlog.diary.slots import first_slot
from fleetlog.diary.supply import Arrival, Supply
from fleetlog.diary.work import DateSpan, OwedWork
from fleetlog.domain.beyond import is_within
from fleetlog.domain.bookings import BookingState, bookings_of, jobs_held, wishes_on
from fleetlog.domain.diary_records import JobKey, ShopText, Wish, weekdays_from_text
from fleetlog.domain.due import DueLine
from fleetlog.domain.fleet import FleetState
from fleetlog.domain.ledger import BoatLedger
from fleetlog.domain.months import DAYS_OF_A_MONTH
from fleetlog.domain.nearest import nearest
from fleetlog.domain.records import Boat, Owner, name_of
from fleetlog.domain.schedule import PartNeed
from fleetlog.domain.stock import Stock, parts_used, stock_on
from fleetlog.domain.superseded import OrderNumbers
from fleetlog.domain.taken_off import off_of, off_texts
from fleetlog.domain.usage import DateWindow
from fleetlog.domain.words import name_key
from fleetlog.errors import as_word
from fleetlog.errors.diary import NoShop, ShopInLogUnreadable
from fleetlog.errors.naming import NotKnown
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import refuse_empty
from fleetlog.usecases.fleet import fleet_state
from fleetlog.usecases.part_register import order_numbers

LAY_UPS_AHEAD_DAYS = 400
"""Lay-ups are assumed so far ahead, so that work is pulled to them in the load of the coming months too."""

Told = TypeVar("Told")


@dataclass(frozen=True, slots=True)
class DiaryState:
    """All that the diary is made from, as known on a day.

    `work` has every line of every engine on a boat, with twelve-month lines pulled to a lay-up and without
    those that a booking holds; `lines` has the due lines by the same key; `without_boat` counts the owed
    lines of engines on no boat, which no visit can be made for; `off` says what came off with nothing put on
    since, which is in no visit before its lines are due, and `past` which bookings are past and hold their
    work still.
    """

    today: date
    setup: ShopSetup
    fleet: FleetState
    boats: Mapping[str, Boat]
    owners: Mapping[str, Owner]
    owner_of: Mapping[str, str]
    layups: Mapping[str, tuple[LayUp, ...]]
    wishes: Sequence[Wish]
    bookings: Sequence[BookingState]
    lines: Mapping[JobKey, DueLine]
    work: tuple[OwedWork, ...]
    without_boat: int
    off: Sequence[str]
    past: Sequence[str]
    stock: Stock
    numbers: OrderNumbers

    @property
    def open_bookings(self) -> list[BookingState]:
        """The bookings that are agreed and still to be done."""
        return [booking for booking in self.bookings if booking.is_open]

    def boat_name(self, boat_id: str) -> str:
        """The name of a boat, or its id where it has none."""
        return name_of(self.boats, boat_id)

    def owner(self, boat_id: str) -> Owner | None:
        """Whose boat it is on the day."""
        return self.owners.get(self.owner_of.get(boat_id, ""))


def needed_shop(reader: Reader) -> ShopSetup:
    """The newest revision of the shop; raises NoShop or ShopInLogUnreadable."""
    setup = known_shop(reader)
    if setup is None:
        raise NoShop()
    return setup


def known_shop(reader: Reader) -> ShopSetup | None:
    """The newest revision of the shop, or None where the log knows none; raises ShopInLogUnreadable."""
    texts: list[ShopText] = reader.rows("shop")
    if not texts:
        return None
    newest = max(texts, key=lambda text: text.revision)
    setup, problems = shop_from_toml(newest.name, newest.text)
    if setup is None:
        raise ShopInLogUnreadable(newest.revision, problems)
    return setup


def diary_state(reader: Reader, today: date, to_on: date) -> DiaryState:
    """What is to be planned as far as `to_on`. Raises NoShop or ShopInLogUnreadable."""
    numbers = order_numbers(reader, today)
    setup = _as_ordered(needed_shop(reader), numbers)
    fleet = fleet_state(reader, today, max(0, (to_on - today).days))
    ledgers = reader.boat_ledgers()
    bookings = bookings_of(reader.rows("bookings"), today)
    held = jobs_held(bookings)
    lines = {
        (line.serial, line.rule.key, line.position): line for engine in fleet.engines for line in engine.lines
    }
    far_on = max(to_on, today + timedelta(days=LAY_UPS_AHEAD_DAYS))
    layups = {boat_id: _layups(ledger, today, far_on) for boat_id, ledger in ledgers.items()}
    work = [
        _owed(line, setup, numbers, today)
        for key, line in lines.items()
        if line.facts.boat and key not in held
    ]
    without_boat = sum(line.facts.boat is None and line.wants_doing for line in lines.values())
    return DiaryState(
        today=today,
        setup=setup,
        fleet=fleet,
        boats={boat_id: ledger.boat for boat_id, ledger in ledgers.items()},
        owners=reader.owners(),
        owner_of={b: owner_id for b, ledger in ledgers.items() if (owner_id := ledger.owner_id_on(today))},
        layups=layups,
        wishes=wishes_on(reader.rows("wishes"), today),
        bookings=bookings,
        lines=lines,
        work=pull_to_layups(work, layups, today),
        without_boat=without_boat,
        past=past_bookings(bookings, {b: ledger.boat for b, ledger in ledgers.items()}, today),
        off=off_texts(off for engine in fleet.engines for off in off_of(engine.serial, engine.off)),
        numbers=numbers,
        stock=stock_on(reader.rows("part_moves"), parts_used(fleet), today, numbers),
    )


def past_bookings(bookings: Iterable[BookingState], boats: Mapping[str, Boat], today: date) -> list[str]:
    """A sentence for each booking that is past and of which nobody said what became: it holds its work."""
    return [
        f"booking {b.booking_id} of {name_of(boats, b.boat_id)} was on {b.on}, and its work is in no plan;"
        f" say what became of it: fleetlog diary done {as_word(b.booking_id)}, or release it"
        for b in bookings
        if b.is_open and b.on < today
    ]


def _layups(ledger: BoatLedger, from_on: date, to_on: date) -> tuple[LayUp, ...]:
    known = [LayUp(layup.from_on, layup.to_on) for layup in ledger.layups if is_within(layup)]
    return expected_layups(known, from_on, to_on)


def _as_ordered(setup: ShopSetup, numbers: OrderNumbers) -> ShopSetup:
    """The shop with its prices and lead times by the numbers to order."""
    return replace(
        setup, prices=_by_order(setup.prices, numbers), lead_days=_by_order(setup.lead_days, numbers)
    )


def _by_order(told: Mapping[str, Told], numbers: OrderNumbers) -> dict[str, Told]:
    """What is told of part numbers, by those to order; what is told of these themselves comes first."""
    old_first = sorted(told, key=lambda number: numbers.of(number) == numbers.spelled(number))
    return {numbers.of(number): told[number] for number in old_first}


def _owed(line: DueLine, setup: ShopSetup, numbers: OrderNumbers, today: date) -> OwedWork:
    rule, boat = line.rule, line.facts.boat
    assert boat is not None
    labour = rule.labour_hours
    window = None if line.window is None else line.window.within_sight(today)
    return OwedWork(
        serial=line.serial,
        boat_id=boat.boat_id,
        owner_id=line.facts.owner_id or "",
        rule=rule.key,
        title=rule.title,
        item=rule.item,
        position=line.position,
        state=line.state,
        due_on=line.due_on,
        early_on=window.early_on if window else None,
        likely_on=window.likely_on if window else None,
        late_on=window.late_on if window else None,
        access=rule.opens,
        labour_tenths=setup.usual_labour_tenths
        if labour is None
        else int((labour * 10).to_integral_value(ROUND_CEILING)),
        parts=tuple(PartNeed(numbers.of(part.number), part.quantity) for part in rule.parts),
        consequence=rule.consequence,
        season=rule.season,
        interval_days=_interval_days(line, window),
    )


def _interval_days(line: DueLine, window: DateWindow | None) -> int | None:
    """The interval in days: its months or, where hours govern, from the last time to the likely next one."""
    months = line.standing.interval.months
    by_months = None if months is None else round(months * DAYS_OF_A_MONTH)
    if line.governs != "hours" or line.last_done_on is None or window is None:
        return by_months
    by_hours = max(1, (window.likely_on - line.last_done_on).days)
    return by_hours if by_months is None else min(by_hours, by_months)


def supply_of(state: DiaryState) -> Supply:
    """The stock as the planner takes it; what is late is expected after the usual lead time from today."""
    setup = state.setup
    arrivals = []
    for order in state.stock.on_order:
        lead = setup.lead_days.get(order.part_number, setup.usual_lead_days)
        by_lead = date.fromordinal(state.today.toordinal() + lead)
        expected_on = by_lead if order.late or order.expected_on is None else order.expected_on
        arrivals.append(Arrival(order.part_number, order.amount, expected_on))
    return Supply(state.stock.on_shelf, tuple(arrivals), setup.lead_days, setup.usual_lead_days)


def wishes_told(wishes: Iterable[Wish], boat_id: str, owner_id: str | None) -> list[Wish]:
    """What is wished for a boat, first for itself, then by its owner for all of theirs."""
    told = [
        wish
        for wish in wishes
        if wish.boat_id == boat_id or (wish.boat_id is None and wish.owner_id and wish.owner_id == owner_id)
    ]
    return sorted(told, key=lambda wish: wish.boat_id is None)


def wishes_kept(told: Iterable[Wish]) -> Wishes:
    """Those of the wishes told that a visit keeps to, all together: not before, not after, not in."""
    told = list(told)
    return Wishes(
        not_before_on=max((w.not_before_on for w in told if w.not_before_on), default=None),
        not_after_on=min((w.not_after_on for w in told if w.not_after_on), default=None),
        not_in=tuple(
            DateSpan(w.not_in_from_on, w.not_in_to_on or w.not_in_from_on) for w in told if w.not_in_from_on
        ),
    )


def wishes_of(state: DiaryState, boat_id: str, from_on: date, to_on: date) -> Wishes:
    """All that is wished for a boat: what is kept to, preferred weekdays, and the time that suits it best."""
    told = wishes_told(state.wishes, boat_id, state.owner_of.get(boat_id))
    weekdays = (weekdays_from_text(wish.weekdays) for wish in told)
    boat = state.boats[boat_id]
    hire = [
        span
        for season in state.setup.seasons
        if season.use == boat.use
        for span in season.spans(from_on, to_on)
    ]
    return replace(
        wishes_kept(told),
        weekdays=next((days for days in weekdays if days), frozenset()),
        best=best_spans(boat.use or "private", state.layups.get(boat_id, ()), hire, from_on, to_on),
    )


def named_in_shop(kind: str, typed: str, names: Iterable[str]) -> str:
    """The one technician or place that is meant; raises NotKnown where there is none or more than one."""
    refuse_empty(kind, typed)
    known = list(names)
    wanted = name_key(typed)
    exact = [name for name in known if name_key(name) == wanted]
    matching = exact or [name for name in known if wanted in name_key(name)]
    if len(matching) == 1:
        return matching[0]
    raise NotKnown(kind, typed, matching or nearest(typed, known), "fleetlog diary shop lists them")


def booked_visits(shop: Shop, bookings: Iterable[BookingState]) -> list[BookedVisit]:
    """The open bookings as the planner takes them; one without an hour gets the first free time of its day.

    Where there is none it stands at the beginning of the technician's day, and the plan says what is wrong.
    """
    found: list[BookedVisit] = []
    open_ones = [booking for booking in bookings if booking.is_open]
    for booking in sorted(open_ones, key=lambda b: (b.from_tenths is None, b.on, b.booking_id)):
        start = booking.from_tenths
        if start is None:
            slot = first_slot(
                shop,
                found,
                booking.on,
                booking.tenths,
                technician=booking.technician,
                place=booking.place,
                boat_id=booking.boat_id,
            )
            times = [
                shop.technician_time(t, booking.on) for t in shop.technicians if t.name == booking.technician
            ]
            day_start = times[0].from_tenths if times and times[0] else 80
            start = slot.from_tenths if slot else day_start
        found.append(
            BookedVisit(
                f"booking {booking.booking_id}",
                booking.boat_id,
                booking.on,
                booking.place,
                booking.technician,
                start,
                booking.tenths,
                booking.lifts,
            )
        )
    return found

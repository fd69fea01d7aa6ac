"""What the diary tells ahead: the load of coming months, parts to have, estimates, boats to be fitted out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from fleetlog.diary.bundles import Bundle
from fleetlog.diary.estimate import Estimate, estimate
from fleetlog.diary.load import MonthLoad, monthly_load
from fleetlog.diary.season import FitOut, fit_out_list
from fleetlog.diary.supply import PartsReady
from fleetlog.errors.diary import RateNotKnown
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.diary.planning import bundled
from fleetlog.usecases.diary.work import DiaryState, booked_visits, diary_state, needed_shop
from fleetlog.usecases.finding import find_boat
from fleetlog.usecases.occasion import Occasion


def diary_today(reader: Reader, occasion: Occasion, days: int | None = None) -> DiaryState:
    """The diary's state as far ahead as the shop plans, or so many days."""
    ahead = needed_shop(reader).plan_days if days is None else days
    return diary_state(reader, occasion.today, occasion.today + timedelta(days=max(0, ahead - 1)))


def load_of(state: DiaryState, months: int) -> tuple[MonthLoad, ...]:
    """The load of the coming months; jobs that are booked count as booked."""
    shop = state.setup.shop
    return monthly_load(state.work, booked_visits(shop, state.open_bookings), shop, state.today, months)


def coming_load(log: Log, occasion: Occasion, months: int) -> tuple[tuple[MonthLoad, ...], Sequence[str]]:
    """The load of so many months from this one on, and what it does not count.

    That is the work of bookings that are past, and what came off with nothing put on since. Raises NoShop.
    """
    with log.reading() as reader:
        state = diary_today(reader, occasion)
    return load_of(state, months), [*state.past, *state.off]


ON_THE_SHELF = "on the shelf"
"""The source of a part that need not be waited for."""


@dataclass(frozen=True, slots=True)
class PartLine:
    """One part number that a boat's visit needs: how much, from where, and by when it is there.

    `source` is `on the shelf`, `on order` or `to order`.
    """

    visit: str
    boat: str
    part_number: str
    amount: Decimal
    source: str
    on: date
    order_by_on: date | None


@dataclass(frozen=True, slots=True)
class PartsOutlook:
    """The parts of every visit, and what is on order for the shop as a whole."""

    state: DiaryState
    lines: tuple[PartLine, ...]


def parts_outlook(log: Log, occasion: Occasion, days: int | None) -> PartsOutlook:
    """The parts that the visits to come need, the most pressing visit first. Raises NoShop."""
    with log.reading() as reader:
        state = diary_today(reader, occasion, days)
    ahead = state.setup.plan_days if days is None else days
    bundling, ready = bundled(state, state.today + timedelta(days=max(0, ahead - 1)))
    lines: list[PartLine] = []
    for bundle in bundling.bundles:
        lines += part_lines(state, bundle, ready)
    return PartsOutlook(state, tuple(lines))


def part_lines(state: DiaryState, bundle: Bundle, ready: Mapping[str, PartsReady]) -> list[PartLine]:
    """The parts of one visit: what is taken from the shelf, what is awaited and what must be ordered."""
    waits = ready[bundle.bundle_id].waits
    boat = state.boat_name(bundle.boat_id)
    found = []
    for need in bundle.parts:
        mine = [wait for wait in waits if wait.number == need.number]
        here = need.quantity - sum((wait.quantity for wait in mine), Decimal(0))
        if here > 0:
            found.append(PartLine(bundle.bundle_id, boat, need.number, here, ON_THE_SHELF, state.today, None))
        for wait in mine:
            lead = state.setup.lead_days.get(need.number, state.setup.usual_lead_days)
            order_by = (
                max(state.today, bundle.last_sensible_on - timedelta(days=lead)) if wait.to_order else None
            )
            source = "to order" if wait.to_order else "on order"
            found.append(
                PartLine(bundle.bundle_id, boat, need.number, wait.quantity, source, wait.on, order_by)
            )
    return found


def estimates_of(log: Log, occasion: Occasion, boat: str) -> tuple[DiaryState, list[tuple[Bundle, Estimate]]]:
    """About what the visits to come of one boat will cost. Raises NoShop, RateNotKnown."""
    with log.reading() as reader:
        wanted = find_boat(reader, boat)
        state = diary_today(reader, occasion)
    if state.setup.rate_per_hour is None:
        raise RateNotKnown()
    bundling, _ = bundled(state, state.today + timedelta(days=state.setup.plan_days - 1))
    return state, [
        (bundle, estimate(bundle, state.setup.rate_per_hour, state.setup.prices))
        for bundle in bundling.bundles
        if bundle.boat_id == wanted.boat_id
    ]


def fit_out(log: Log, occasion: Occasion, weeks: int) -> tuple[DiaryState, tuple[FitOut, ...]]:
    """The boats to be launched within so many weeks, with what each needs first. Raises NoShop."""
    with log.reading() as reader:
        state = diary_today(reader, occasion, weeks * 7 + 60)
    return state, fit_out_list(state.work, state.layups, occasion.today, weeks_before=weeks)

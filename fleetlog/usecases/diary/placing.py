"""Where a booking goes: technician, place and time, as said or as they are free, within the rules."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from fleetlog.diary.rules import broken_rules
from fleetlog.diary.shop import AFLOAT, BAY, BookedVisit, VisitRequest
from fleetlog.diary.shop_text import ShopSetup
from fleetlog.diary.slots import Slot, first_slot
from fleetlog.domain.bookings import BookingState, wishes_on
from fleetlog.domain.diary_records import Booking, Job, jobs_from_text
from fleetlog.domain.hours import hours_text
from fleetlog.errors.diary import NoFreeTime, SlotNotFree
from fleetlog.store.reader import Reader
from fleetlog.usecases.diary.cards import rule_of_job
from fleetlog.usecases.diary.work import (
    booked_visits,
    named_in_shop,
    needed_shop,
    wishes_kept,
    wishes_told,
)


@dataclass(frozen=True, slots=True)
class Agreement:
    """What is agreed of a visit; what is None is taken from the plan, or found free."""

    on: date | None = None
    from_tenths: int | None = None
    tenths: int | None = None
    technician: str | None = None
    place: str | None = None
    all_day: bool = False
    anyway: bool = False
    reason: str | None = None


class Placing:
    """The shop, its bookings and its owners' wishes as known on a day, to place bookings among them."""

    def __init__(self, reader: Reader, bookings: Iterable[BookingState], today: date) -> None:
        self.setup: ShopSetup = needed_shop(reader)
        self._today = today
        self._bookings = [booking for booking in bookings if booking.is_open]
        self._engines, self._schedules = reader.engines(), reader.schedules()
        self._wishes = wishes_on(reader.rows("wishes"), today)
        self._ledgers = reader.boat_ledgers()
        self._more: list[BookedVisit] = []

    def problems(self, row: Booking) -> list[str]:
        """The rules that a booking breaks beside the others, in sentences."""
        return self._problems(row, self._taken(row.booking_id))

    def hold(self, row: Booking) -> None:
        """Count a booking that is about to be written among the others."""
        self._more.append(_as_booked(row))

    def placed(self, row: Booking, agreed: Agreement) -> tuple[Booking, list[str]]:
        """The row with technician, place and time, and the rules that it breaks because that was wanted.

        Raises NotKnown for a technician or place that the shop has not; NoFreeTime; and SlotNotFree where
        rules are broken and nobody said `anyway` with a reason.
        """
        taken = self._taken(row.booking_id)
        on, tenths = row.on, row.tenths
        assert on is not None
        assert tenths is not None
        technician = self._technician(agreed.technician) or row.technician
        place = self._place(agreed.place) or row.place
        start = agreed.from_tenths if agreed.from_tenths is not None else row.from_tenths
        wanted_anyway = agreed.anyway and bool(agreed.reason)
        if technician is None or place is None or start is None:
            slot = self._slot(row, taken, on, tenths, technician, place)
            if slot is None and not (wanted_anyway and technician and place and start is not None):
                closure = self.setup.shop.closure_on(on)
                if closure is not None:
                    raise SlotNotFree([f"the shop is closed on {on} ({closure.why})"])
                raise NoFreeTime(on, hours_text(tenths), self._next_day(row, taken, technician, place))
            if slot is not None:
                technician, place = slot.technician, slot.place
                start = slot.from_tenths if start is None else start
        row = replace(row, technician=technician, place=place, from_tenths=start)
        if row.lifts is None:
            row = replace(row, lifts=self.setup.terms.lifts if self._kind_of(place) == BAY else 0)
        problems = self._problems(row, taken)
        if on < self._today:
            problems = [f"{on} is past, today is {self._today}", *problems]
        if problems and not wanted_anyway:
            raise SlotNotFree(problems)
        return (replace(row, from_tenths=None) if agreed.all_day else row), problems

    def _taken(self, booking_id: str) -> list[BookedVisit]:
        others = [booking for booking in self._bookings if booking.booking_id != booking_id]
        return [*booked_visits(self.setup.shop, others), *self._more]

    def _problems(self, row: Booking, taken: Sequence[BookedVisit]) -> list[str]:
        mine = _as_booked(row)
        asked = {mine.visit_id: self._request_of(row)}
        return [
            broken.text
            for broken in broken_rules([*taken, mine], asked, self.setup.shop)
            if mine.visit_id in broken.visit_ids
        ]

    def _request_of(self, row: Booking) -> VisitRequest:
        assert row.on is not None
        jobs = jobs_from_text(row.jobs)
        return self.request(f"booking {row.booking_id}", row.boat_id or "", row.on, row.tenths or 0, jobs)

    def request(
        self, visit_id: str, boat_id: str, on: date, tenths: int, jobs: Iterable[Job]
    ) -> VisitRequest:
        """What the jobs of a visit ask for in skills and places, and what the boat's owner wishes."""
        ledger = self._ledgers.get(boat_id)
        owner_id = ledger.owner_id_on(on) if ledger is not None else None
        terms = self.setup.terms
        skills: frozenset[str] = frozenset()
        places: frozenset[str] | None = None
        for job in jobs:
            rule = rule_of_job(job, self._engines, self._schedules)
            if rule is None:
                continue
            skills |= terms.skills(rule.item)
            kinds = terms.place_kinds(rule.opens)
            places = kinds if places is None else places & kinds
        if places is None:
            places = frozenset({BAY, AFLOAT})
        return VisitRequest(
            visit_id=visit_id,
            boat_id=boat_id,
            owner_id=owner_id or "",
            tenths=tenths,
            skills=skills,
            place_kinds=places or frozenset({BAY}),
            wishes=wishes_kept(wishes_told(self._wishes, boat_id, owner_id)),
        )

    def _slot(
        self,
        row: Booking,
        taken: Sequence[BookedVisit],
        on: date,
        tenths: int,
        technician: str | None,
        place: str | None,
    ) -> Slot | None:
        request = self._request_of(row)
        return first_slot(
            self.setup.shop,
            taken,
            on,
            tenths,
            request.skills,
            request.place_kinds,
            technician,
            place,
            row.boat_id,
        )

    def _next_day(
        self, row: Booking, taken: Sequence[BookedVisit], technician: str | None, place: str | None
    ) -> date | None:
        """The next day, as far as plans go, on which the booking would break no rule."""
        assert row.on is not None
        assert row.tenths is not None
        for ahead in range(1, self.setup.plan_days + 1):
            day = max(row.on, self._today - timedelta(days=1)) + timedelta(days=ahead)
            slot = self._slot(row, taken, day, row.tenths, technician, place)
            if slot is None:
                continue
            there = replace(
                row, on=day, technician=slot.technician, place=slot.place, from_tenths=slot.from_tenths
            )
            if not self._problems(there, taken):
                return day
        return None

    def _technician(self, typed: str | None) -> str | None:
        if typed is None:
            return None
        return named_in_shop("technician", typed, [person.name for person in self.setup.shop.technicians])

    def _place(self, typed: str | None) -> str | None:
        if typed is None:
            return None
        return named_in_shop("place", typed, [place.name for place in self.setup.shop.places])

    def _kind_of(self, place: str | None) -> str | None:
        return next((each.kind for each in self.setup.shop.places if each.name == place), None)


def _as_booked(row: Booking) -> BookedVisit:
    """A row that says all of what is agreed, as the planner takes it."""
    assert row.on is not None
    assert row.tenths is not None
    return BookedVisit(
        f"booking {row.booking_id}",
        row.boat_id or "",
        row.on,
        row.place or "",
        row.technician or "",
        row.from_tenths or 0,
        row.tenths,
        row.lifts or 0,
    )

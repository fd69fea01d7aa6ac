"""What the pages of the shop's diary are made of: visits with their jobs and parts, the shop, the load."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from fleetlog.diary.estimate import Estimate
from fleetlog.diary.load import MonthLoad
from fleetlog.diary.shop import Shop
from fleetlog.domain.diary_records import clock_text
from fleetlog.domain.fleet import EngineState
from fleetlog.domain.words import name_key

BOOKED, PLANNED, NO_DAY = "booked", "proposed", "no day"


@dataclass(frozen=True, slots=True)
class PageJob:
    """One line of a visit: what, on which engine and where on it, why, and behind which access."""

    serial: str
    title: str
    position: str | None
    engine_position: str | None
    why: str
    access: str | None

    @property
    def danger_words(self) -> str:
        """The words of the work and of the way to it, which its dangers are known by."""
        return f"{self.title} {self.access or ''}"

    @property
    def place(self) -> str:
        """The engine, where it stands on the boat, and the position on it."""
        return ", ".join(part for part in (self.serial, self.engine_position, self.position) if part)


@dataclass(frozen=True, slots=True)
class PagePart:
    """A part to pull: how much, and whether it lies on the shelf or when it comes."""

    number: str
    amount: Decimal
    source: str
    on: date | None


@dataclass(frozen=True, slots=True)
class PageVisit:
    """A visit: booked, proposed by the latest plan, or without a day (`why_not`, `remedy`)."""

    name: str
    state: str
    boat_id: str
    boat: str
    owner: str
    phone: str
    berth: str
    on: date | None
    from_tenths: int | None
    tenths: int
    technician: str
    place: str
    jobs: tuple[PageJob, ...]
    parts: tuple[PagePart, ...] = ()
    cards: tuple[tuple[str, str], ...] = ()
    last_on: date | None = None
    why_not: str | None = None
    remedy: str | None = None

    @property
    def clock(self) -> str:
        """`08:00–10:30`, or that no hour was set."""
        if self.from_tenths is None:
            return "no hour set"
        return f"{clock_text(self.from_tenths)}–{clock_text(self.from_tenths + self.tenths)}"


@dataclass(frozen=True, slots=True)
class PageFitOut:
    """A boat to be launched soon, and what it needs first."""

    boat: str
    launch_on: date
    assumed: bool
    jobs: tuple[PageJob, ...]


@dataclass(frozen=True, slots=True)
class DiaryData:
    """All that the diary's pages show, as known on a day.

    `plan` tells how good the latest plan is, in sentences; `waiting` the work that no visit is made for;
    `boats` has the engines of each boat by the boat's id; `part_names` what parts are called, by the number
    without case.
    """

    today: date
    shop_name: str
    shop: Shop
    currency: str
    rate_per_hour: Decimal | None
    plan: tuple[str, ...]
    visits: tuple[PageVisit, ...]
    waiting: tuple[tuple[str, PageJob], ...]
    fit_outs: tuple[PageFitOut, ...]
    load: tuple[MonthLoad, ...]
    estimates: Sequence[tuple[PageVisit, Estimate]]
    boats: Mapping[str, Sequence[EngineState]]
    part_names: Mapping[str, str]

    def part_called(self, number: str) -> str:
        """`oil filter (NV-2201)`, or the number alone where the register has no name for it."""
        name = self.part_names.get(name_key(number))
        return number if name is None else f"{name} ({number})"

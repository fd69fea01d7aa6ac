"""A technician's sheet of one day, and an owner's estimate with boxes to tick."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from fleetlog.diary.estimate import Estimate
from fleetlog.domain.units import figure_text
from fleetlog.reports.cautions import Caution, cautions_for_words
from fleetlog.reports.diary.data import DiaryData, PageJob, PagePart, PageVisit
from fleetlog.reports.diary.week_page import WEEKDAYS, dock_sheet_path
from fleetlog.reports.names import id_mark, slug
from fleetlog.reports.words import NBSP, day_text, hours_shown

DAYS_AHEAD = 7
"""Day sheets are written for today and as many days after it."""


@dataclass(frozen=True, slots=True)
class DayVisit:
    """A visit of the day: when, where, which boat, what to do and what to bring."""

    clock: str
    state: str
    boat: str
    sheet: str
    about: str
    jobs: Sequence[tuple[str, str, str]]
    cards: Sequence[str]
    parts: Sequence[tuple[str, str, str]]


@dataclass(frozen=True, slots=True)
class DaySheet:
    """The sheet of one technician on one day."""

    technician: str
    day: str
    visits: Sequence[DayVisit]
    cautions: Sequence[Caution]


def day_sheet_path(day: date, technician: str) -> str:
    """`days/2026-04-20-NAME-MARK.html`."""
    return f"days/{day.isoformat()}-{slug(technician) or 'technician'}-{id_mark(technician)}.html"


def day_sheets(data: DiaryData) -> dict[str, DaySheet]:
    """The sheets of the coming days by their paths, for every technician who has a visit then."""
    last = data.today + timedelta(days=DAYS_AHEAD)
    found: dict[tuple[date, str], list[PageVisit]] = {}
    for visit in data.visits:
        if visit.on is not None and data.today <= visit.on <= last:
            found.setdefault((visit.on, visit.technician), []).append(visit)
    return {
        day_sheet_path(day, technician): DaySheet(
            technician,
            f"{WEEKDAYS[day.weekday()]} {day_text(day)}",
            [_day_visit(v, data) for v in sorted(visits, key=lambda v: (v.from_tenths or 0, v.name))],
            cautions_for_words("; ".join(job.danger_words for visit in visits for job in visit.jobs)),
        )
        for (day, technician), visits in sorted(found.items())
    }


def _day_visit(visit: PageVisit, data: DiaryData) -> DayVisit:
    about = [hours_shown(visit.tenths), visit.place]
    about += [
        text for text in (f"lies at {visit.berth}" if visit.berth else "", visit.owner, visit.phone) if text
    ]
    return DayVisit(
        visit.clock,
        visit.state,
        visit.boat,
        f"../{dock_sheet_path(visit.boat_id, visit.boat)}",
        ", ".join(about),
        [(job.title, job.place, job.access or "") for job in visit.jobs],
        [f"{name} for {serial}" for name, serial in visit.cards],
        [(data.part_called(part.number), figure_text(part.amount), _source(part)) for part in visit.parts],
    )


def _source(part: PagePart) -> str:
    if part.source == "on the shelf" or part.on is None:
        return part.source
    return f"{part.source}, there on {day_text(part.on)}"


@dataclass(frozen=True, slots=True)
class EstimatePage:
    """About what a visit will cost, for its owner."""

    owner: str
    boat: str
    visit: str
    jobs: Sequence[PageJob]
    labour: str
    labour_amount: str
    parts: Sequence[tuple[str, str, str]]
    about: str
    unpriced: str


def estimate_path(visit: PageVisit) -> str:
    """`estimates/BOAT-MARK.html`, a page a visit."""
    return f"estimates/{slug(visit.boat) or 'boat'}-{id_mark(visit.name)}.html"


def estimate_page(visit: PageVisit, about: Estimate, data: DiaryData) -> EstimatePage:
    """The page of one visit's estimate."""
    currency = f"{NBSP}{data.currency}" if data.currency else ""
    day = f"{visit.state} {day_text(visit.on)}" if visit.on else "no day yet"
    return EstimatePage(
        visit.owner,
        visit.boat,
        day,
        visit.jobs,
        f"{hours_shown(about.labour_tenths)} at {data.rate_per_hour}{currency}",
        f"{about.labour_amount}{currency}",
        [
            (
                data.part_called(part.number),
                figure_text(part.quantity),
                "price not known" if part.amount is None else f"{part.amount}{currency}",
            )
            for part in about.parts
        ],
        f"{about.about_told}{currency}",
        "; ".join(data.part_called(number) for number in about.unpriced),
    )

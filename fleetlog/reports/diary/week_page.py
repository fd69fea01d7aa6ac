"""The diary by week: days across, technicians down, and bays and berths down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from fleetlog.diary.shop import Place, Technician
from fleetlog.reports.diary.data import BOOKED, DiaryData, PageVisit
from fleetlog.reports.names import id_mark, slug
from fleetlog.reports.words import NBSP, counted, day_text, hours_shown, span_text

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True, slots=True)
class WeekVisit:
    """A visit in a cell of the week."""

    clock: str
    boat: str
    sheet: str
    about: str
    state: str


@dataclass(frozen=True, slots=True)
class WeekCell:
    """A day of one technician or place: their visits, or why there are none."""

    day: str
    visits: Sequence[WeekVisit]
    nothing: str


@dataclass(frozen=True, slots=True)
class WeekRow:
    """A technician, a bay or a berth with its days, and the hours taken of those to be had."""

    name: str
    about: str
    cells: Sequence[WeekCell]


@dataclass(frozen=True, slots=True)
class WeekTable:
    """One of the two tables of the page."""

    title: str
    first: str
    anchor: str
    rows: Sequence[WeekRow]


@dataclass(frozen=True, slots=True)
class WeekPage:
    """A week from Monday to Friday, with the weekend where somebody works then."""

    title: str
    days: Sequence[str]
    tables: Sequence[WeekTable]
    earlier: str | None
    later: str | None
    closed: Sequence[str]


def monday_of(day: date) -> date:
    """The Monday of a day's week."""
    return day - timedelta(days=day.weekday())


def week_page_path(monday: date) -> str:
    """`weeks/2026-W17.html`, by the number of the week (ISO 8601)."""
    year, week, _ = monday.isocalendar()
    return f"weeks/{year}-W{week:02d}.html"


def dock_sheet_path(boat_id: str, boat: str) -> str:
    """`boats/NAME-MARK.html`."""
    return f"boats/{slug(boat) or 'boat'}-{id_mark(boat_id)}.html"


def weeks_of(data: DiaryData) -> list[date]:
    """The Mondays of all weeks from the first visit to come to the last; this week where there is none."""
    days = [visit.on for visit in data.visits if visit.on is not None and visit.on >= monday_of(data.today)]
    first, last = monday_of(min(days, default=data.today)), monday_of(max(days, default=data.today))
    return [first + timedelta(weeks=number) for number in range((last - first).days // 7 + 1)]


def week_page(monday: date, data: DiaryData, mondays: Sequence[date]) -> WeekPage:
    """The page of one of the weeks."""
    week = [monday + timedelta(days=number) for number in range(7)]
    visits = [visit for visit in data.visits if visit.on in week]
    shop = data.shop
    is_open = {
        day
        for day in week
        if any(shop.technician_time(t, day) for t in shop.technicians) or any(v.on == day for v in visits)
    }
    days = [day for day in week if day.weekday() < 5 or day in is_open]
    technicians = [
        _row(t.name, t, days, [v for v in visits if v.technician == t.name], data) for t in shop.technicians
    ]
    places = [_row(p.name, p, days, [v for v in visits if v.place == p.name], data) for p in shop.places]
    number = mondays.index(monday)
    return WeekPage(
        f"Week {monday.isocalendar().week}, {span_text(days[0], days[-1])}",
        [_day(day) for day in days],
        [
            WeekTable("By technician", "Technician", "technicians", technicians),
            WeekTable("By bay and berth", "Bay or berth", "places", places),
        ],
        f"../{week_page_path(mondays[number - 1])}" if number else None,
        f"../{week_page_path(mondays[number + 1])}" if number + 1 < len(mondays) else None,
        [f"{_day(day)}: closed, {closure.why}" for day in days if (closure := shop.closure_on(day))],
    )


def _day(day: date) -> str:
    return f"{WEEKDAYS[day.weekday()]} {day_text(day).rsplit(NBSP, 1)[0]}"


def _row(
    name: str, who: Technician | Place, days: Sequence[date], visits: Sequence[PageVisit], data: DiaryData
) -> WeekRow:
    cells = []
    there = 0
    for day in days:
        span = (
            data.shop.technician_time(who, day)
            if isinstance(who, Technician)
            else data.shop.place_time(who, day)
        )
        there += span.tenths if span else 0
        own = sorted((v for v in visits if v.on == day), key=lambda v: (v.from_tenths or 0, v.name))
        nothing = "" if own else "free" if span else "closed" if data.shop.closure_on(day) else "not here"
        cells.append(WeekCell(_day(day), [_visit(v, who) for v in own], nothing))
    taken = sum(visit.tenths for visit in visits)
    return WeekRow(name, f"{hours_shown(taken)} of {hours_shown(there)}", cells)


def _visit(visit: PageVisit, who: Technician | Place) -> WeekVisit:
    other = visit.place if isinstance(who, Technician) else visit.technician
    return WeekVisit(
        visit.clock,
        visit.boat,
        f"../{dock_sheet_path(visit.boat_id, visit.boat)}",
        f"{counted(len(visit.jobs), 'job')}, {other}",
        "" if visit.state == BOOKED else visit.state,
    )

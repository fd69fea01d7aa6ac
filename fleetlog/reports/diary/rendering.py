"""Lays the diary's pages out: first page, weeks, load, a dock sheet a boat, day sheets, estimates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fleetlog.reports.context import ReportContext
from fleetlog.reports.diary.data import NO_DAY, DiaryData, PageFitOut, PageJob, PageVisit
from fleetlog.reports.diary.dock_sheet import dock_sheet
from fleetlog.reports.diary.load_page import load_page
from fleetlog.reports.diary.sheets import day_sheets, estimate_page, estimate_path
from fleetlog.reports.diary.week_page import dock_sheet_path, week_page, week_page_path, weeks_of
from fleetlog.reports.names import name_order
from fleetlog.reports.rendering import TEMPLATES, laid_out
from fleetlog.reports.words import boat_name, day_text

STYLE = (TEMPLATES / "diary.css").read_text(encoding="utf-8")


@dataclass(frozen=True, slots=True)
class DiaryIndex:
    """The first page: where the others are, how good the plan is, what has no day and what waits."""

    shop: str
    plan: Sequence[str]
    weeks: Sequence[tuple[str, str]]
    days: Sequence[tuple[str, str]]
    sheets: Sequence[tuple[str, str]]
    estimates: Sequence[tuple[str, str]]
    no_day: Sequence[PageVisit]
    waiting: Sequence[tuple[str, PageJob]]
    fit_outs: Sequence[tuple[PageFitOut, str]]


def render_diary(data: DiaryData, context: ReportContext) -> dict[str, str]:
    """Every page of the diary by its path; the same data and context give the same pages."""
    pages: dict[str, str] = {}

    def add(path: str, template: str, view: object) -> None:
        page = laid_out(template, view, context, data.today)
        pages[path] = page.replace("</style>", f"{STYLE}</style>", 1)

    mondays = weeks_of(data)
    sheets = sorted(
        (
            (
                boat_name(engines[0].facts.boat),
                dock_sheet_path(boat_id, boat_name(engines[0].facts.boat)),
                boat_id,
            )
            for boat_id, engines in data.boats.items()
        ),
        key=lambda sheet: (name_order(sheet[0]), sheet[1]),
    )
    days = day_sheets(data)
    estimates = sorted(data.estimates, key=lambda pair: (name_order(pair[0].boat), pair[0].name))
    add(
        "index.html",
        "diary.html",
        DiaryIndex(
            data.shop_name,
            data.plan,
            [(week_page(m, data, mondays).title, week_page_path(m)) for m in mondays],
            [(f"{sheet.day}: {sheet.technician}", path) for path, sheet in days.items()],
            [(name, path) for name, path, _ in sheets],
            [(visit.boat, estimate_path(visit)) for visit, _ in estimates],
            [visit for visit in data.visits if visit.state == NO_DAY],
            data.waiting,
            [(f, day_text(f.launch_on)) for f in data.fit_outs],
        ),
    )
    add("load.html", "load.html", load_page(data))
    for monday in mondays:
        add(week_page_path(monday), "week.html", week_page(monday, data, mondays))
    for _, path, boat_id in sheets:
        add(path, "dock.html", dock_sheet(boat_id, data.boats[boat_id], data))
    for path, sheet in days.items():
        add(path, "day.html", sheet)
    for visit, about in estimates:
        add(estimate_path(visit), "estimate.html", estimate_page(visit, about, data))
    return pages

"""Lays the views out as HTML pages: templates compiled once, everything escaped, nothing left undefined."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from operator import itemgetter
from pathlib import Path
from typing import TYPE_CHECKING

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template

from fleetlog.domain.fleet import EngineState, FleetState
from fleetlog.domain.travel import Homes
from fleetlog.reports.cautions import ABOVE_ALL, FOR_OWNERS
from fleetlog.reports.context import ReportContext
from fleetlog.reports.due_page import DuePart, due_page, due_part
from fleetlog.reports.engine_page import engine_page
from fleetlog.reports.index_page import (
    IndexPart,
    LifeRow,
    OwnerOrder,
    engines_by_owner,
    index_page,
    index_part,
    owner_order,
    wants_reminders,
)
from fleetlog.reports.names import engine_page_path, owner_page_path, rebuild_page_path
from fleetlog.reports.outlook import Outlook, outlook_of
from fleetlog.reports.owner_page import owner_page
from fleetlog.reports.rebuild_page import rebuild_page, rebuilds_of
from fleetlog.reports.standing_by import homes_in
from fleetlog.reports.words import day_text

if TYPE_CHECKING:
    from fleetlog.life.answer import LifeAnswer

_UNFIT = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufdd0-\ufdef\ufffe\uffff\u202a-\u202e\u2066-\u2069]"
)
"""Characters that no page may hold: controls, halves of pairs, and marks that turn the writing about."""

TEMPLATES = Path(__file__).with_name("templates")
STYLE = f"<style>\n{(TEMPLATES / 'style.css').read_text(encoding='utf-8')}</style>"
"""The one stylesheet, put into every page once it is laid out."""


@dataclass(frozen=True, slots=True)
class PagesOfPart:
    """The pages of some engines and of their owners, and what they give to those of all.

    `pages` are texts by path relative to the folder of reports, `/` between folders. `owners` and `engines`
    are their paths by what they stand in order by: the owner, and the serial.
    """

    today: date
    pages: Mapping[str, str]
    owners: Sequence[tuple[OwnerOrder, str]]
    engines: Sequence[tuple[str, Sequence[str]]]
    index: IndexPart
    due: DuePart


def render_part(fleet: FleetState, context: ReportContext) -> PagesOfPart:
    """The pages of a part of a fleet: all engines of an owner, and all that items went between, are in one.

    The same engines and context give the same pages, letter for letter.
    """
    outlooks = {state.serial: outlook_of(state, fleet.today) for state in fleet.engines}
    homes = homes_in(fleet.engines, fleet.today)
    pages: dict[str, str] = {}
    owners, engines = [], []
    for owner, theirs in engines_by_owner(fleet):
        if wants_reminders(owner):
            view = owner_page(owner, theirs, outlooks, context, fleet.today)
            path = owner_page_path(owner.name, owner.owner_id)
            pages[path] = laid_out("owner.html", view, context, fleet.today)
            owners.append((owner_order(owner), path))
    for state in fleet.engines:
        of_engine = _engine_pages(state, outlooks[state.serial], homes, context)
        pages |= of_engine
        engines.append((state.serial, list(of_engine)))
    return PagesOfPart(fleet.today, pages, owners, engines, index_part(fleet), due_part(fleet))


def _engine_pages(
    state: EngineState, outlook: Outlook, homes: Homes, context: ReportContext
) -> dict[str, str]:
    today = state.seen.today
    told = engine_page(state, outlook, today, homes)
    pages = {engine_page_path(state.serial): laid_out("engine.html", told, context, today)}
    for rebuilt in rebuilds_of(state):
        rebuild = rebuild_page(state, rebuilt, today)
        path = rebuild_page_path(state.serial, rebuilt.entry_id)
        pages[path] = laid_out("rebuild.html", rebuild, context, today)
    return pages


def render_front(
    parts: Sequence[PagesOfPart],
    context: ReportContext,
    lives: Sequence[LifeAnswer],
    *,
    has_backtest: bool,
) -> dict[str, str]:
    """The first page and the due list, from all parts of a fleet.

    With `has_backtest` the first page links to the page of a backtest, which lies there already.
    """
    today = parts[0].today
    index = index_page([part.index for part in parts], life_rows(lives), has_backtest)
    due = due_page([part.due for part in parts])
    return {
        "index.html": laid_out("index.html", index, context, today),
        "due.html": laid_out("due.html", due, context, today),
    }


def paths_in_order(parts: Sequence[PagesOfPart]) -> list[str]:
    """The paths of the pages of all parts, owners by name and then engines by serial."""
    owners = sorted((owner for part in parts for owner in part.owners), key=itemgetter(0))
    engines = sorted((engine for part in parts for engine in part.engines), key=itemgetter(0))
    return [*(path for _, path in owners), *(path for _, paths in engines for path in paths)]


def life_rows(lives: Sequence[LifeAnswer]) -> list[LifeRow]:
    """The rows of the kinds of item on the first page, those with a page first."""
    if not lives:
        return []
    from fleetlog.reports.life_page import life_row

    return sorted((life_row(answer) for answer in lives), key=lambda row: (not row.page, row.item))


def render_lives(lives: Sequence[LifeAnswer], context: ReportContext, today: date) -> dict[str, str]:
    """The pages of the kinds of item whose lives have a fit, by their paths."""
    fitted = [answer for answer in lives if answer.whole.fit is not None]
    if not fitted:
        return {}
    from fleetlog.reports.life_page import life_page, life_page_path

    return {life_page_path(a): laid_out("life.html", life_page(a), context, today) for a in fitted}


def laid_out(template: str, view: object, context: ReportContext, today: date) -> str:
    """One page: a view laid out by a template."""
    page = _template(template).render(page=view, context=context, today=day_text(today))
    page = _UNFIT.sub("\N{REPLACEMENT CHARACTER}", page.replace("\r\n", "\n").replace("\r", "\n"))
    return page.replace("<style></style>", STYLE, 1)


@cache
def _template(name: str) -> Template:
    return _environment().get_template(name)


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES, encoding="utf-8"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        auto_reload=False,
    )
    environment.globals["above_all"] = ABOVE_ALL
    environment.globals["for_owners"] = FOR_OWNERS
    return environment

"""An extract of one engine's history for a buyer or an insurer: the engine, its records, and their hashes.

Boats and owners are left out unless the owner is asked for.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from fleetlog.domain.fleet import EngineState
from fleetlog.domain.records import Owner
from fleetlog.reports.changed_facts import changed_facts
from fleetlog.reports.context import ReportContext
from fleetlog.reports.history import Chapter, chapters
from fleetlog.reports.rendering import laid_out
from fleetlog.reports.words import engine_kind, family_text, hours_read, in_service_text


@dataclass(frozen=True, slots=True)
class Heads:
    """The heads of the chains as an extract is made: the engine's, and the log's."""

    engine: str
    log: str


@dataclass(frozen=True, slots=True)
class ExtractPage:
    """What an extract shows."""

    serial: str
    kind: str
    facts: Sequence[tuple[str, str]]
    engine_head: str
    log_head: str
    chapters: Sequence[Chapter]
    changed: Sequence[str]


def extract_page(state: EngineState, heads: Heads, today: date, owner: Owner | None) -> ExtractPage:
    """The extract of an engine on a day; with its owner's name and address where one is given."""
    facts = [*_facts(state), *(_owner(owner) if owner is not None else ())]
    kind = engine_kind(state.facts.engine)
    told = chapters(state, today)
    changed = changed_facts(state, today)
    return ExtractPage(state.serial, kind, facts, heads.engine, heads.log, told, changed)


def render_extract(page: ExtractPage, context: ReportContext, today: date) -> str:
    """The extract as one self-contained HTML file."""
    return laid_out("extract.html", page, context, today)


def _facts(state: EngineState) -> Iterator[tuple[str, str]]:
    engine = state.facts.engine
    if engine.family:
        yield "Family", family_text(engine)
    yield "In service", in_service_text(engine)
    yield "Engine hours", hours_read(state.facts)
    if state.seen.hours.held:
        yield "Readings held", f"{len(state.seen.hours.held)}, which count for nothing"


def _owner(owner: Owner) -> Iterator[tuple[str, str]]:
    yield "Owner", owner.name
    if owner.address:
        yield "Address", owner.address

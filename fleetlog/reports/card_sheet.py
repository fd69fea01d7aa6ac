"""The sheet of a work card: what to have ready, then every step with its boxes and blanks to sign."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fleetlog.domain.card import Card, Step
from fleetlog.domain.evidence import CHECK_RESULTS
from fleetlog.domain.records import Engine
from fleetlog.reports.cautions import Caution, cautions_for_words
from fleetlog.reports.context import ReportContext
from fleetlog.reports.rendering import laid_out
from fleetlog.reports.words import engine_kind


@dataclass(frozen=True, slots=True)
class StepView:
    """One step: what to do, why, with what, and what to read and write down."""

    number: int
    title: str
    why: str
    notes: Sequence[tuple[str, str]]
    figures: Sequence[str]
    second: bool


@dataclass(frozen=True, slots=True)
class PartView:
    """The steps under one heading of the card."""

    anchor: str
    heading: str
    steps: Sequence[StepView]


@dataclass(frozen=True, slots=True)
class SheetView:
    """A card made out for an engine."""

    title: str
    revision: int
    serial: str
    kind: str
    where: str
    note: str
    card_cautions: Sequence[str]
    cautions: Sequence[Caution]
    ready: Sequence[tuple[str, Sequence[str]]]
    results: Sequence[str]
    parts: Sequence[PartView]


def sheet_view(card: Card, engine: Engine, boat: str | None, position: str | None) -> SheetView:
    """What the sheet of a card for an engine says."""
    named = " ".join((card.title, *(text for s in card.steps for text in (s.title, s.part or ""))))
    ready = (("Tools", _gathered(card, "tools")), ("Consumables", _gathered(card, "consumables")))
    return SheetView(
        card.title,
        card.revision,
        engine.serial,
        engine_kind(engine),
        ", ".join(text for text in (boat, position) if text),
        card.note or "",
        card.cautions,
        cautions_for_words(named),
        [(name, texts) for name, texts in ready if texts],
        CHECK_RESULTS,
        [
            PartView(f"part-{place}", heading or "Steps", [_step(number, step) for number, step in steps])
            for place, (heading, steps) in enumerate(card.parts(), start=1)
        ],
    )


def card_sheet(
    card: Card, engine: Engine, boat: str | None, position: str | None, context: ReportContext, today: date
) -> str:
    """The sheet as an HTML page that stands alone."""
    return laid_out("card.html", sheet_view(card, engine, boat, position), context, today)


def _gathered(card: Card, name: str) -> list[str]:
    """What the card and its steps name, each once, in their order."""
    texts = [*getattr(card, name), *(text for step in card.steps for text in getattr(step, name))]
    return list(dict.fromkeys(texts))


def _step(number: int, step: Step) -> StepView:
    notes = [("Caution", text) for text in step.cautions]
    if step.torque is not None:
        torque = step.torque
        about = [f"{torque.fasteners} of them" if torque.fasteners and torque.fasteners > 1 else ""]
        about += [f"order: {torque.order}" if torque.order else "", torque.threads or ""]
        notes.append(("Joint", ", ".join(text for text in (torque.joint, *about) if text)))
    notes += [("With", text) for text in (*step.tools, *step.consumables)]
    to_read = [*step.figures(), *(["wrench"] if step.torque is not None else [])]
    return StepView(number, step.title, step.why or "", notes, to_read, step.second)

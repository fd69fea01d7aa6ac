"""Work cards: listed, taken in, printed for an engine, and recorded when they are done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from operator import attrgetter
from pathlib import Path

from fleetlog.domain.batch import Batch
from fleetlog.domain.card import Card
from fleetlog.domain.card_text import card_from_toml
from fleetlog.domain.evidence import CardText, Check
from fleetlog.domain.records import Engine, Visit
from fleetlog.errors.evidence import CardInLogUnreadable, CardRevisionUnknown, CardTextUnusable
from fleetlog.errors.files import FormOfAnotherEngine
from fleetlog.exchange.card_form import FilledForm, card_form, noted_steps
from fleetlog.exchange.form_text import read_text
from fleetlog.exchange.new_file import write_new
from fleetlog.reports.card_sheet import card_sheet
from fleetlog.reports.context import ReportContext
from fleetlog.reports.names import slug
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.evidence import Signed, WrittenEvidence, add_noted, written
from fleetlog.usecases.finding import find_one, find_serial
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.visit_of_work import add_visit, visit_left_out


@dataclass(frozen=True, slots=True)
class CardRecorded:
    """A card as it was recorded: the engine, the visit, how many rows, and what is left to be said.

    `seen_by_none` are the numbers of the steps that a second person was to see, and nobody is named.
    """

    card: Card
    serial: str
    batch: Batch
    evidence: WrittenEvidence
    seen_by_none: list[int]


def list_cards(log: Log, engine: str | None = None) -> list[Card]:
    """The newest revision of every card, or of those for an engine's family."""
    with log.reading() as reader:
        family = None
        if engine is not None:
            family = reader.ledger(find_serial(reader, engine)).engine.family
        cards = [_parsed(text) for text in reader.cards().values()]
    return sorted((c for c in cards if engine is None or c.is_for(family)), key=lambda c: c.name)


def show_card(log: Log, name: str) -> Card:
    """The newest revision of a card, by its name or title, or a part of one."""
    with log.reading() as reader:
        return find_card(reader, name)


def find_card(reader: Reader, typed: str, revision: int | None = None) -> Card:
    """The one card of that name or title, or whose name or title contains what was typed.

    Raises NotKnown, Ambiguous, and CardRevisionUnknown where it has no such revision.
    """
    cards = map(_parsed, reader.cards().values())
    card = find_one("work card", typed, cards, attrgetter("name", "title"), "fleetlog card list shows them")
    if revision is None or revision == card.revision:
        return card
    older = reader.existing("cards", [(card.name, revision)])
    if not older:
        raise CardRevisionUnknown(card.name, revision, card.revision)
    return _parsed(older[card.name, revision])


def _parsed(text: CardText) -> Card:
    card, problems = card_from_toml(text.name, text.text)
    if card is None:
        raise CardInLogUnreadable(text.name, text.revision, problems)
    return card


@again_if_lost
def take_card(log: Log, occasion: Occasion, path: Path) -> Card:
    """Take a card, or a newer revision of one, into the log; its name is the stem of its file.

    Raises CardTextUnusable with all that is wrong with it.
    """
    text = read_text(path)
    card, problems = card_from_toml(path.stem, text)
    if card is None:
        raise CardTextUnusable(path.name, problems)
    with log.writing(occasion.by, occasion.at) as writer:
        latest = writer.cards().get(card.name)
        if latest is not None and latest.revision >= card.revision and latest.text != text:
            problem = f"revision: expected one above {latest.revision}, which the log has"
            raise CardTextUnusable(path.name, [problem])
        if latest is None or latest.revision < card.revision:
            writer.add(Batch(cards=[CardText(card.name, card.revision, text)]))
    return card


def print_card(
    log: Log, occasion: Occasion, name: str, engine: str, out: Path | None, context: ReportContext
) -> tuple[Card, str, list[Path]]:
    """Write a card for an engine as a sheet to print (.html) and as a form to fill in (.toml).

    `out` is their path without suffix; without it they are named by card, engine and day.
    Nothing is written over. Raises NotKnown, Ambiguous, FileThereAlready, FileUnreadable.
    """
    with log.reading() as reader:
        ledger = reader.ledger(find_serial(reader, engine))
        card = find_card(reader, name)
    place, position = ledger.place_on(occasion.today)
    boat = place.boat_on(occasion.today).name if place else None
    engine_row: Engine = ledger.engine_on(occasion.today)
    sheet = card_sheet(card, engine_row, boat, position, context, occasion.today)
    if out is None:
        out = Path(f"{slug(card.name)}-{slug(engine_row.serial)}-{occasion.today.isoformat()}")
    paths = [out.with_name(f"{out.name}{suffix}") for suffix in (".html", ".toml")]
    write_new(paths[0], sheet.encode())
    try:
        write_new(paths[1], card_form(card, engine_row.serial, occasion.today).encode())
    except Exception:
        paths[0].unlink(missing_ok=True)
        raise
    return card, engine_row.serial, paths


@again_if_lost
def record_card(log: Log, occasion: Occasion, engine: str, form: FilledForm) -> CardRecorded:
    """Write a card that was done: every step as a check, with its torques and figures, all or nothing.

    Raises FormNotUsable, FormOfAnotherEngine, NotKnown, VisitIsClosed.
    """
    head = form.head
    with log.writing(occasion.by, occasion.at) as writer:
        serial = find_serial(writer, engine)
        if find_serial(writer, head.serial) != serial:
            raise FormOfAnotherEngine(head.serial, serial)
        card = find_card(writer, head.card, head.revision)
        noted = noted_steps(form, card)
        batch = Batch()
        visit_id = head.visit_id or new_id("v")
        visit = Visit(visit_id, None, head.on, why="booked service", note=f"Work card: {card.title}.")
        boat_id_on = writer.ledger(serial).boat_id_on
        outside = visit_left_out(writer, head.visit_id, head.on, boat_id_on)
        add_visit(writer, batch, visit, head.on, boat_id_on)
        signed = Signed(serial, head.on, head.by or occasion.by, visit_id, head.checked_by)
        add_noted(writer, batch, noted, signed)
        writer.add(batch)
        evidence = written(writer, serial, visit_id, batch, outside)
        return CardRecorded(card, serial, batch, evidence, _seen_by_none(card, batch.checks))


def _seen_by_none(card: Card, checks: Sequence[Check]) -> list[int]:
    """The numbers of the steps done that a second person is to see, where nobody but who did it is named."""
    of_step = {check.step: check for check in checks}
    return [
        number
        for number, step in enumerate(card.steps, start=1)
        if step.second and of_step[step.key].is_seen_by_one
    ]

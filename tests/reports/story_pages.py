"""Pages that tell an engine's story, with evidence and photos: rebuild, history, card, extract."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from fleetlog.domain.card_text import card_from_toml
from fleetlog.domain.fleet import EngineState, FleetState
from fleetlog.domain.papers import ERASED, WITHDRAWN, Paper, PaperWithdrawal, content_hash
from fleetlog.domain.records import Engine
from fleetlog.reports.card_sheet import card_sheet
from fleetlog.reports.extract_page import Heads, extract_page, render_extract
from fleetlog.usecases.demo import demo_folder
from tests.demo.drawings import CRACK, GEAR_CASE, drawing
from tests.reports.marina import CONTEXT, TODAY, engine_state, render_pages, schedule
from tests.reports.test_rebuild_page import DAY, with_evidence

PICTURE = drawing(GEAR_CASE + CRACK)
HASH = content_hash(PICTURE)
AT = datetime(2026, 1, 9, 12, tzinfo=UTC)


def with_papers() -> EngineState:
    """The storied engine with photos and papers on its rebuild, one withdrawn and one erased."""
    state = with_evidence()
    visit = next(e.visit_id for e in state.ledger.entries if e.action == "rebuilt")
    assert visit is not None
    photo = Paper(
        "p1", visit, HASH, "image/png", len(PICTURE), "gears <as> found.png", DAY, None, "worn", "Kim"
    )
    long_name = replace(photo, paper_id="p2", name="W" * 116 + ".png", note="W" * 80)
    bill = replace(photo, paper_id="p3", sha256="ab" * 32, media_type="application/pdf", name="bill.pdf")
    other = replace(bill, paper_id="p4", sha256="cd" * 32, name="other.pdf")
    gone = replace(bill, paper_id="p5", sha256="ef" * 32, name="Jo Doe.pdf", note="Jo at the pump")
    backs = (
        PaperWithdrawal("p4", WITHDRAWN, AT, "Lou", "of another boat"),
        PaperWithdrawal("p5", ERASED, AT, "Lou", "shows a person"),
    )
    papers = (photo, long_name, bill, other, gone)
    ledger = replace(state.ledger, papers=papers, paper_withdrawals=backs)
    written = {e.entry_id: ("Mia" if n else "Jon", AT) for n, e in enumerate(ledger.entries)}
    return replace(engine_state(ledger, schedule()), written_down=written)


def story_pages(folder: Path) -> dict[str, str]:
    """The pages by their paths; the picture is put into `papers/` of the folder."""
    state = with_papers()
    (folder / "papers").mkdir()
    (folder / "papers" / f"{HASH}.png").write_bytes(PICTURE)
    context = replace(CONTEXT, papers=frozenset({f"{HASH}.png"}))
    pages = render_pages(FleetState(TODAY, [state]), context)
    chosen = {name: text for name, text in pages.items() if name.startswith(("engines/", "rebuilds/"))}
    path = demo_folder() / "cards" / "belt and flywheel refit.toml"
    card, _ = card_from_toml(path.stem, path.read_text(encoding="utf-8"))
    assert card is not None
    chosen["card.html"] = card_sheet(card, Engine("E-1", "Norvane"), "Plain Twins", "port", CONTEXT, TODAY)
    extract = extract_page(state, Heads("a" * 64, "b" * 64), TODAY, None)
    return {**chosen, "extract.html": render_extract(extract, CONTEXT, TODAY)}

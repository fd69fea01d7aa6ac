"""An engine's history: its entries, the latest first, its rebuilds with what belongs to them, its items."""

from __future__ import annotations

from datetime import UTC, date, datetime

from fleetlog.domain.history import EngineHistory, history_of
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Engine, Entry, Reading, Visit, Void
from fleetlog.domain.travel import Home, homes_among

TODAY = date(2024, 6, 1)


def entry(entry_id: str, on: str, action: str, sequence: int, visit_id: str | None = None) -> Entry:
    return Entry(
        entry_id,
        "E1",
        date.fromisoformat(on),
        action,
        visit_id=visit_id,
        item=None if action == "rebuilt" else "belt",
        scope="powerhead" if action == "rebuilt" else None,
        sequence=sequence,
    )


LEDGER = EngineLedger(
    Engine("E1"),
    entries=(
        entry("late", "2024-07-01", "inspected", 0),
        entry("rebuild", "2024-03-03", "rebuilt", 1, "V"),
        entry("belt", "2024-03-01", "fitted", 2, "V"),
        entry("other", "2024-03-03", "inspected", 3, "W"),
        entry("same day", "2024-03-03", "inspected", 4),
        entry("wrong", "2024-04-01", "inspected", 5),
    ),
    readings=(Reading("r", "E1", date(2024, 3, 1), 500),),
    voids=(Void("wrong", datetime(2024, 4, 2, tzinfo=UTC), "ann", "typed twice"),),
    visits={"V": Visit("V", why="breakdown")},
)


def history(*, with_voided: bool = False) -> EngineHistory:
    home = Home(LEDGER, None, TODAY)
    return history_of(home, homes_among([home]), {}, with_voided=with_voided)


def test_entries_stand_the_latest_first_with_their_hours_and_visit() -> None:
    entries = history().entries
    assert [h.entry.entry_id for h in entries] == ["same day", "other", "rebuild", "belt"]
    assert {h.engine_tenths for h in entries} == {500}
    assert [h.visit and h.visit.why for h in entries] == [None, None, "breakdown", "breakdown"]


def test_voided_entries_are_shown_where_asked_for_and_say_why() -> None:
    voided = [h for h in history(with_voided=True).entries if h.void is not None]
    assert [(h.entry.entry_id, h.void and h.void.reason) for h in voided] == [("wrong", "typed twice")]


def test_a_rebuild_gathers_the_entries_of_its_visit_whatever_their_day() -> None:
    [rebuild] = history().rebuilds
    assert rebuild.rebuilt.entry.entry_id == "rebuild"
    assert [h.entry.entry_id for h in rebuild.entries] == ["same day", "belt"]


def test_what_is_fitted_now_is_listed() -> None:
    assert [(i.item, i.is_on) for i in history().items] == [("belt", True)]

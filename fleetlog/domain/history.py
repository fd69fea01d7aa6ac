"""What was done to an engine: its entries, its rebuilds, and what is fitted now with its age."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from fleetlog.domain.assemblies import AssemblyAge, assembly_ages
from fleetlog.domain.hours import Tenths
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Entry, Visit, Void
from fleetlog.domain.satisfaction import Seen, same_visit
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.stints import TrackedItem, items_now
from fleetlog.domain.travel import Home, Homes
from fleetlog.domain.values import value_class

if TYPE_CHECKING:
    from fleetlog.domain.advice import AdviceStanding
    from fleetlog.domain.papers import PaperStanding
    from fleetlog.domain.terms import TermStanding


@value_class(frozen=True, slots=True)
class HistoryEntry:
    """An entry with the engine hours it was made at, its visit, and its void where it was taken back.

    Beside who did the work and who checked it: who wrote it down, and when, where that is known.
    """

    entry: Entry
    engine_tenths: Tenths | None
    visit: Visit | None
    void: Void | None
    written_by: str | None = None
    written_at: datetime | None = None


@value_class(frozen=True, slots=True)
class Rebuild:
    """A rebuild and the entries of its visit that say what was renewed, put back used, or checked."""

    rebuilt: HistoryEntry
    entries: Sequence[HistoryEntry]


@value_class(frozen=True, slots=True)
class EngineHistory:
    """An engine's history as seen on a day, the latest first."""

    ledger: EngineLedger
    schedule: Schedule | None
    seen: Seen
    entries: Sequence[HistoryEntry]
    rebuilds: Sequence[Rebuild]
    items: Sequence[TrackedItem]
    taken_off: Sequence[TrackedItem]
    assemblies: Sequence[AssemblyAge]
    terms: Sequence[TermStanding]
    advice: Sequence[AdviceStanding]
    papers: Sequence[PaperStanding]


def history_of(
    home: Home, homes: Homes, written_down: Mapping[str, tuple[str, datetime]], *, with_voided: bool
) -> EngineHistory:
    """An engine's history as seen on a day; voided entries and papers taken back only where asked for.

    `homes` are the engines that its assemblies came from, `written_down` says of entries who wrote them down
    and when.
    """
    ledger, schedule, seen = home.ledger, home.schedule, home.seen
    voids = {v.entry_id: v for v in ledger.voids if v.voided_at.date() <= seen.today}
    listed = [
        HistoryEntry(
            e,
            seen.hours.known_tenths_at(e),
            ledger.visits.get(e.visit_id or ""),
            voids.get(e.entry_id),
            *written_down.get(e.entry_id, (None, None)),
        )
        for e in sorted(ledger.entries, key=lambda e: (e.on, e.sequence), reverse=True)
        if e.on <= seen.today and (with_voided or e.entry_id not in voids)
    ]
    rebuilds = [
        Rebuild(h, [other for other in listed if other is not h and same_visit(other.entry, h.entry)])
        for h in listed
        if h.entry.action == "rebuilt" and h.void is None
    ]
    return EngineHistory(
        ledger,
        schedule,
        seen,
        listed,
        rebuilds,
        items_now(seen, schedule),
        _taken_off(seen, schedule),
        assembly_ages(homes, home),
        _terms(ledger, seen),
        _advice(ledger, seen, schedule),
        _papers(ledger, seen, with_voided=with_voided),
    )


# Most engines have none of these: what works them out is loaded where there are some.


def _taken_off(seen: Seen, schedule: Schedule | None) -> Sequence[TrackedItem]:
    if not any(entry.action == "removed" for entry in seen.entries):
        return ()
    from fleetlog.domain.taken_off import taken_off

    return taken_off(seen, schedule)


def _terms(ledger: EngineLedger, seen: Seen) -> Sequence[TermStanding]:
    if not ledger.terms:
        return ()
    from fleetlog.domain.beyond import apart
    from fleetlog.domain.terms import term_standings

    sound, _ = apart(ledger)
    return term_standings(sound.terms, seen.hours, seen.today, None)


def _advice(ledger: EngineLedger, seen: Seen, schedule: Schedule | None) -> Sequence[AdviceStanding]:
    if not ledger.advice:
        return ()
    from fleetlog.domain.advice import advice_standings

    return advice_standings(ledger.advice, seen, schedule)


def _papers(ledger: EngineLedger, seen: Seen, *, with_voided: bool) -> Sequence[PaperStanding]:
    if not ledger.papers:
        return ()
    from fleetlog.domain.papers import papers_on

    found = papers_on(ledger.papers, ledger.paper_withdrawals, seen.today)
    return [one for one in found if with_voided or one.taken_back is None]

"""Everything the log holds about one engine, and what of it is seen on a given day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import field, replace
from datetime import date
from typing import TYPE_CHECKING, Any, TypeVar

from fleetlog.domain.records import (
    Boat,
    Change,
    Correction,
    Deferral,
    Engine,
    Entry,
    Layup,
    LayupChange,
    Meter,
    Mount,
    Owner,
    Ownership,
    Reading,
    Visit,
    Void,
    fact_from_text,
)
from fleetlog.domain.renumbered import SERIAL
from fleetlog.domain.values import value_class
from fleetlog.domain.words import WITHDRAWN

if TYPE_CHECKING:
    from fleetlog.domain.evidence import Answer, CardStep, Check, Measurement, ToolLedger, Torque
    from fleetlog.domain.papers import Paper, PaperWithdrawal
    from fleetlog.domain.promises import Advice, Term

Row = TypeVar("Row", Boat, Engine, Owner)


@value_class(frozen=True, slots=True)
class BoatLedger:
    """A boat with its owners, its lay-ups and what was once said of it otherwise.

    `not_sold` are sales that were taken back or said anew, as recorded, each with the word that says it, and
    `replanned` are lay-ups that were withdrawn or got another end.
    """

    boat: Boat
    ownership: tuple[Ownership, ...] = ()
    layups: tuple[Layup, ...] = ()
    changes: tuple[Change, ...] = ()
    not_sold: tuple[tuple[Ownership, Correction], ...] = ()
    replanned: tuple[tuple[Layup, LayupChange], ...] = ()

    def boat_on(self, day: date) -> Boat:
        """The boat as it was described on a day; before the first word of it, as first described."""
        return as_of(self.boat, self.changes, day)

    def owner_id_on(self, day: date) -> str | None:
        """Who owned the boat on a day."""
        owned = [o for o in self.ownership if o.from_on <= day]
        if owned:
            return max(owned, key=lambda o: o.from_on).owner_id
        return self.boat_on(day).owner_id


@value_class(frozen=True, slots=True)
class Evidence:
    """The evidence on one engine, in the order of its ledger, and the tools it was made with.

    `steps_for_two` are those steps of its cards that ask for a second person.
    """

    torques: tuple[Torque, ...] = ()
    measurements: tuple[Measurement, ...] = ()
    checks: tuple[Check, ...] = ()
    answers: tuple[Answer, ...] = ()
    tools: Mapping[str, ToolLedger] = field(default_factory=dict)
    steps_for_two: Set[CardStep] = frozenset()

    def answers_to(self, about: str, today: date = date.max) -> list[Answer]:
        """What was said by a day about a row, in order."""
        return [a for a in self.answers if a.about == about and a.on <= today]

    def is_withdrawn(self, about: str, today: date = date.max) -> bool:
        """Whether a row was said by a day to be entered wrong."""
        return any(a.outcome == "entered wrong" for a in self.answers_to(about, today))

    def measurements_on(self, today: date) -> list[Measurement]:
        """The measurements taken by a day, but for those that were said by then to be entered wrong."""
        return [
            m for m in self.measurements if m.on <= today and not self.is_withdrawn(m.measurement_id, today)
        ]

    def rows(self, visit_id: str | None = None) -> Iterator[tuple[str, Torque | Measurement | Check]]:
        """Every row with its id, of one visit where it is named."""
        for torque in self.torques:
            if visit_id is None or torque.visit_id == visit_id:
                yield torque.torque_id, torque
        for measurement in self.measurements:
            if visit_id is None or measurement.visit_id == visit_id:
                yield measurement.measurement_id, measurement
        for check in self.checks:
            if visit_id is None or check.visit_id == visit_id:
                yield check.check_id, check


NO_EVIDENCE = Evidence()


@value_class(frozen=True, slots=True)
class EngineLedger:
    """One engine's rows, in the order of the ledger, with the boats and owners they speak of.

    `papers` are those of its visits that name no other engine. `boats` and `owners` hold at least those
    that the engine's mounts and ownership name; they may be shared between the ledgers of a fleet.
    `replaced` are engines that came off those boats. `not_moved` are moves that were taken back or said anew,
    as recorded, each with the word that says it.
    """

    engine: Engine
    entries: tuple[Entry, ...] = ()
    readings: tuple[Reading, ...] = ()
    meters: tuple[Meter, ...] = ()
    mounts: tuple[Mount, ...] = ()
    voids: tuple[Void, ...] = ()
    deferrals: tuple[Deferral, ...] = ()
    changes: tuple[Change, ...] = ()
    evidence: Evidence = NO_EVIDENCE
    terms: tuple[Term, ...] = ()
    advice: tuple[Advice, ...] = ()
    papers: tuple[Paper, ...] = ()
    paper_withdrawals: tuple[PaperWithdrawal, ...] = ()
    visits: Mapping[str, Visit] = field(default_factory=dict)
    boats: Mapping[str, BoatLedger] = field(default_factory=dict)
    owners: Mapping[str, Owner] = field(default_factory=dict)
    replaced: tuple[EngineLedger, ...] = ()
    not_moved: tuple[tuple[Mount, Correction], ...] = ()

    def engine_on(self, day: date) -> Engine:
        """The engine as it was described on a day."""
        return as_of(self.engine, self.changes, day)

    def changes_on(self, day: date) -> list[Change]:
        """What was said of the engine otherwise until a day, the earliest first."""
        return sorted((c for c in self.changes if c.until_on <= day), key=lambda c: (c.until_on, c.sequence))

    def former_serials(self) -> list[str]:
        """The serial numbers by which the engine was known until they were corrected, each once."""
        former = dict.fromkeys(c.was for c in self.changes if c.field == SERIAL)
        return [was for was in former if was is not None and was != self.engine.serial]

    def voided_on(self, day: date) -> frozenset[str]:
        """The ids of the entries that were voided by the end of a day."""
        return frozenset(v.entry_id for v in self.voids if v.voided_at.date() <= day)

    def with_entries(self, entries: Iterable[Entry]) -> EngineLedger:
        """The ledger with more entries, after its own."""
        last = max((e.sequence for e in self.entries), default=0)
        more = (replace(entry, sequence=number) for number, entry in enumerate(entries, last + 1))
        return replace(self, entries=(*self.entries, *more))

    def entries_on(self, day: date) -> list[Entry]:
        """The entries that stand on a day: dated by then and not voided by then."""
        voided = self.voided_on(day)
        return [e for e in self.entries if e.on <= day and e.entry_id not in voided]

    def mount_on(self, day: date) -> Mount | None:
        """The stay on a boat that covers a day, the latest begun where several do."""
        covering = [m for m in self.mounts if m.from_on <= day and (m.to_on is None or day < m.to_on)]
        return max(covering, key=lambda m: m.from_on, default=None)

    def boats_ever(self) -> list[BoatLedger]:
        """Every boat of the log that the engine is or was on, as far as the log tells."""
        ids: set[str | None] = {self.engine.boat_id, *(mount.boat_id for mount in self.mounts)}
        ids |= {change.was for change in self.changes if change.field == "boat_id"}
        return [self.boats[boat_id] for boat_id in ids if boat_id is not None and boat_id in self.boats]

    def place_on(self, day: date) -> tuple[BoatLedger | None, str | None]:
        """The boat it stands on that day, and where on it. A mount wins over the engine's own row."""
        mount = self.mount_on(day)
        if mount is not None:
            return self.boats.get(mount.boat_id or ""), mount.position
        engine = self.engine_on(day)
        if engine.boat_id is None:
            return None, None
        return self.boats.get(engine.boat_id), engine.position

    def boat_id_on(self, day: date) -> str | None:
        """The boat it stands on that day, by its id."""
        boat, _ = self.place_on(day)
        return None if boat is None else boat.boat.boat_id

    def owner_id_on(self, day: date) -> str | None:
        """Whose the boat is that it stands on that day."""
        boat, _ = self.place_on(day)
        return None if boat is None else boat.owner_id_on(day)


Dated = TypeVar("Dated", Mount, Ownership)


def as_corrected(
    rows: Iterable[Dated], corrections: Sequence[Correction]
) -> tuple[tuple[Dated, ...], tuple[tuple[Dated, Correction], ...]]:
    """Stays of an engine, or ownership of a boat, as they were by the last correction of each.

    A row that was taken back says the same as the one before it, or what its correction says where there is
    none before. Gives those rows, and besides every correction, after the row as it was recorded.
    """
    if not corrections:
        return tuple(rows), ()
    recorded = {row.from_on: row for row in sorted(rows, key=lambda row: row.from_on)}
    last = {correction.from_on: correction for correction in corrections}
    were: list[Dated] = []
    for row in recorded.values():
        word = last.get(row.from_on)
        were.append(row if word is None else _corrected(row, word, were[-1] if were else None))
    return tuple(were), tuple((recorded[c.from_on], c) for c in corrections if c.from_on in recorded)


def taken_back(words: Iterable[tuple[Dated, Correction]]) -> set[date]:
    """The days whose sale or move was taken back and not said anew since."""
    last = {correction.from_on: correction for _, correction in words}
    return {day for day, correction in last.items() if correction.takes_back}


def _corrected(row: Dated, word: Correction, before: Dated | None) -> Dated:
    if isinstance(row, Ownership):
        said = before if word.takes_back and isinstance(before, Ownership) else word
        return replace(row, owner_id=said.owner_id)
    if word.takes_back and isinstance(before, Mount) and before.to_on == row.from_on:
        return replace(row, boat_id=before.boat_id, position=before.position)
    return replace(row, boat_id=word.boat_id, position=word.position)


def as_replanned(
    layups: Iterable[Layup], changes: Sequence[LayupChange]
) -> tuple[tuple[Layup, ...], tuple[tuple[Layup, LayupChange], ...]]:
    """Lay-ups of a boat as they are by the last word on each, and every word, after what was recorded."""
    recorded = {layup.from_on: layup for layup in layups}
    if not changes:
        return tuple(recorded.values()), ()
    last = {change.from_on: change for change in changes}
    stand = (
        replace(layup, to_on=last[day].to_on) if day in last else layup
        for day, layup in recorded.items()
        if day not in last or last[day].change != WITHDRAWN
    )
    return tuple(stand), tuple((recorded[c.from_on], c) for c in changes if c.from_on in recorded)


def as_of(row: Row, changes: tuple[Change, ...], day: date) -> Row:
    """A row as it stood on a day: today's, with the facts that were replaced after that day put back.

    A serial number that was corrected had never been so.
    """
    later = [c for c in changes if c.until_on > day and c.field != SERIAL]
    if not later:
        return row
    former: dict[str, Any] = {}
    for change in sorted(later, key=lambda c: (c.until_on, c.sequence), reverse=True):
        former[change.field] = fact_from_text(change.field, change.was)
    return replace(row, **former)

"""Engines on a day: each one's ledger, schedule and due lines, as lists and reports need them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from datetime import date, datetime

from fleetlog.domain.advice import AdviceStanding, advice_standings
from fleetlog.domain.beyond import RowBeyond
from fleetlog.domain.due import DueLine, EngineFacts
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.out_of_service import WITHOUT_LINES
from fleetlog.domain.satisfaction import Seen
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.stints import TrackedItem
from fleetlog.domain.taken_off import taken_off
from fleetlog.domain.terms import TermStanding, term_standings
from fleetlog.domain.usage import UsageForecast, YearAhead
from fleetlog.domain.values import value_class


@value_class(frozen=True, slots=True)
class EngineState:
    """One engine on a day. `lines` holds all its due lines, later ones included; none without a schedule.

    `ahead` is what it is expected to run, and `written_down` says of entries, by their ids, who wrote them
    down and when (UTC); both where they were asked for. `beyond` are rows that count for nothing in it.
    """

    ledger: EngineLedger
    schedule: Schedule | None
    seen: Seen
    facts: EngineFacts
    lines: Sequence[DueLine]
    forecast: UsageForecast
    ahead: YearAhead = field(default_factory=YearAhead)
    written_down: Mapping[str, tuple[str, datetime]] = field(default_factory=dict)
    beyond: Sequence[RowBeyond] = ()

    @property
    def serial(self) -> str:
        return self.ledger.engine.serial

    @property
    def off(self) -> Sequence[TrackedItem]:
        """What came off with nothing put on since."""
        return taken_off(self.seen, self.schedule)

    @property
    def terms(self) -> list[TermStanding]:
        """The terms that have begun, the next to end first."""
        return term_standings(self.ledger.terms, self.seen.hours, self.seen.today, self.forecast)

    @property
    def advice(self) -> list[AdviceStanding]:
        """All that was advised, the newest first."""
        return advice_standings(self.ledger.advice, self.seen, self.schedule)

    @property
    def is_unscheduled(self) -> bool:
        """Whether nothing can be said to be due, for want of a schedule; never of one sold or scrapped."""
        return self.schedule is None and self.facts.engine.state not in WITHOUT_LINES


@value_class(frozen=True, slots=True)
class FleetState:
    """The engines of a marina on a day."""

    today: date
    engines: Sequence[EngineState]

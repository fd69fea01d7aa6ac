"""The interval engine: an engine's ledger, its schedule, today and a forecast in; due lines out.

Pure: no store, no clock. `interval` works out the limits; here they meet the forecast and the day, and
become lines with a state.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from fleetlog.domain.condition import nearer
from fleetlog.domain.hour_record import AcceptedReading
from fleetlog.domain.hours import Tenths
from fleetlog.domain.interval import UNKNOWN, UNKNOWN_AGE, Standing, standings
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.out_of_service import why_without_lines
from fleetlog.domain.records import Boat, Deferral, Engine, Owner
from fleetlog.domain.satisfaction import Seen, seen_on
from fleetlog.domain.schedule import Rule, Schedule
from fleetlog.domain.usage import DateWindow, HoursTarget, meeting_window
from fleetlog.domain.values import value_class
from fleetlog.domain.words import DUE, LATER, NEEDS_A_READING, NEXT_ACCESS, NO_RECORD, OVERDUE, STATES

DEFAULT_WINDOW_DAYS = 60
"""How far ahead a line is due, where nothing else is asked for."""


@value_class(frozen=True, slots=True)
class EngineFacts:
    """What the lines of one engine have in common on a day."""

    engine: Engine
    position: str | None
    boat: Boat | None
    owner: Owner | None
    owner_id: str | None
    last_reading: AcceptedReading | None
    forecast_basis: str = ""

    @property
    def is_unread_since_new(self) -> bool:
        """Whether the last reading is the 0 h that a new engine has on its first day, without a look."""
        last, engine = self.last_reading, self.engine
        return bool(last and engine.logged_from_new and (last.on, last.tenths) == (engine.in_service_on, 0))


@value_class(frozen=True, slots=True)
class FailureChance:
    """The chance (0 to 1) that the item fails before the next likely visit, by the lives on record."""

    share: float
    before_on: date
    lives: int


@value_class(frozen=True, slots=True)
class DueLine:
    """One rule at one position of one engine: its limits, its window of dates, and its state on a day.

    Dates are plain; `due_tenths` and `last_done_tenths` are engine hours in tenths. `governs` says which
    limit comes or came first: hours, date, or None where there is none. `chance` is worked out where it
    is asked for, and only of kinds of item whose records give a firm answer.
    """

    facts: EngineFacts
    standing: Standing
    state: str
    governs: str | None
    window: DateWindow | None
    chance: FailureChance | None = None

    @property
    def rule(self) -> Rule:
        return self.standing.rule

    @property
    def position(self) -> str | None:
        return self.standing.position

    @property
    def serial(self) -> str:
        return self.facts.engine.serial

    @property
    def due_on(self) -> date | None:
        return self.standing.due_on

    @property
    def due_tenths(self) -> Tenths | None:
        return self.standing.due_tenths

    @property
    def last_done_on(self) -> date | None:
        return self.standing.last.entry.on if self.standing.last else None

    @property
    def last_done_tenths(self) -> Tenths | None:
        """Engine hours at the last work, from which its limit counts, be they those of the first reading."""
        return self.standing.last_done_tenths

    @property
    def likely_on(self) -> date | None:
        return self.window.likely_on if self.window else None

    @property
    def deferral(self) -> Deferral | None:
        return self.standing.deferral

    @property
    def wants_doing(self) -> bool:
        """Whether it asks for work or a reading by itself: not later, nor only at the next access."""
        return self.state not in (LATER, NEXT_ACCESS)

    @property
    def is_put_off(self) -> bool:
        """Whether it comes later as it was put off; not where its own limits come later still."""
        said = self.deferral
        return said is not None and is_put_off(
            self.state, (self.due_on, self.due_tenths), (said.until_on, said.until_tenths)
        )

    @property
    def order(self) -> tuple[int, date, str, int, int]:
        """Its place in a list."""
        return place_in_list(self.state, self.likely_on, self.serial, self.rule, self.position)


def is_put_off(
    state: str, due: tuple[date | None, Tenths | None], until: tuple[date | None, Tenths | None]
) -> bool:
    """Whether a line is later by the day or the hours to which it was put off."""
    return state == LATER and is_put_off_limit(due, until)


def is_put_off_limit(due: Sequence[object], until: Sequence[object]) -> bool:
    """Whether one of a line's limits is what the line was put off to; both as a day and as hours."""
    return any(said is not None and limit == said for limit, said in zip(due, until, strict=True))


def place_in_list(
    state: str, likely_on: date | None, serial: str, rule: Rule, position: str | None
) -> tuple[int, date, str, int, int]:
    """What lists of lines are sorted by: state, likely date (none last), serial, rule and position."""
    place = rule.lines().index(position)
    return STATES.index(state), likely_on or date.max, serial, rule.place, place


@value_class(frozen=True, slots=True)
class EngineLimits:
    """All that is known of an engine's lines on a day before a forecast is asked, and what it is asked for.

    `targets` holds those of every standing, one after the other.
    """

    seen: Seen
    facts: EngineFacts
    standings: Sequence[Standing]
    targets: Sequence[HoursTarget]

    def resting_on(self, basis: str) -> EngineLimits:
        """The same, with what the forecast of its dates rests on, in plain words."""
        return replace(self, facts=replace(self.facts, forecast_basis=basis))


def engine_limits(ledger: EngineLedger, schedule: Schedule | None, today: date) -> EngineLimits:
    """The limits of an engine's lines on a day, in the order of its schedule.

    It has none without a schedule, nor where it is sold, scrapped, or not in service yet.
    """
    found: Sequence[Standing] = ()
    if schedule is None or why_without_lines(ledger.engine_on(today), today) is not None:
        seen = seen_on(ledger, today)
    else:
        seen, found = standings(ledger, schedule, today)
    owner_id = seen.boat_ledger.owner_id_on(today) if seen.boat_ledger else None
    owner = ledger.owners.get(owner_id) if owner_id is not None else None
    last = seen.hours.last
    facts = EngineFacts(seen.engine, seen.position, seen.boat, owner, owner_id, last)
    asked = (limit_targets, wear_targets)
    targets = [target for standing in found for ask in asked for target in ask(standing, last)]
    return EngineLimits(seen, facts, found, targets)


def lines_from(limits: EngineLimits, windows: Sequence[DateWindow], within_days: int) -> list[DueLine]:
    """The lines of an engine on a day, with the windows of their targets in the same order."""
    facts, seen, last = limits.facts, limits.seen, limits.facts.last_reading
    until_on = seen.today + timedelta(days=within_days)
    begin = 0
    lines = []
    for standing in limits.standings:
        of_wear = begin + len(limit_targets(standing, last))
        end = of_wear + len(wear_targets(standing, last))
        window, governs = meeting_window(standing.due_on, [*windows[begin:of_wear], *_passed(seen, standing)])
        always = always_on_lists(standing, last)
        if standing.wear is not None and always not in (NEXT_ACCESS, NO_RECORD):
            window = nearer(window, standing.wear, windows[of_wear:end], seen.today)
        begin = end
        likely_on = window.likely_on if window else None
        state = state_on(seen.today, until_on, always, standing.due_on, likely_on)
        lines.append(DueLine(facts, standing, state, governs, window))
    return lines


def limit_targets(standing: Standing, last: AcceptedReading | None) -> Sequence[HoursTarget]:
    """What a forecast is asked for the limits of one standing: hours that no reading has reached yet."""
    if last is not None and standing.due_tenths is not None and last.tenths < standing.due_tenths:
        return (*standing.runs, HoursTarget(standing.due_tenths))
    return standing.runs


def wear_targets(standing: Standing, last: AcceptedReading | None) -> Sequence[HoursTarget]:
    """The engine hours, early, likely and late, at which an item's condition comes to its limit.

    A forecast answers only for hours above the last reading: what was to be reached before is asked for
    just above it.
    """
    if standing.wear is None or last is None:
        return ()
    return [HoursTarget(max(target.tenths, last.tenths + 1)) for target in standing.wear.targets]


def _passed(seen: Seen, standing: Standing) -> list[DateWindow]:
    """The day on which the hours limit was reached, where a reading shows it; not before it was issued."""
    if standing.due_tenths is None:
        return []
    reached = seen.hours.reached_on(standing.due_tenths)
    if reached is None:
        return []
    reached = max(reached, standing.rule.issued_on or reached)
    return [DateWindow.of_day(reached)]


def always_on_lists(standing: Standing, last: AcceptedReading | None) -> str | None:
    """The state of a line that stands on every list: owed, without record, overdue by a reading."""
    if standing.owed_since is not None:
        return NEXT_ACCESS
    if standing.counts_from in (UNKNOWN, UNKNOWN_AGE):
        return NO_RECORD
    if standing.due_tenths is not None and last is not None and last.tenths > standing.due_tenths:
        return OVERDUE
    return None


def state_on(
    today: date, until_on: date, always: str | None, due_on: date | None, likely_on: date | None
) -> str:
    """The state of a line on a day; `until_on` is the last day of the window asked for."""
    if always is not None:
        return always
    if due_on is not None and today > due_on:
        return OVERDUE
    if likely_on is None:
        return LATER
    if likely_on < today:
        return NEEDS_A_READING
    return DUE if likely_on <= until_on else LATER

"""The limits of one rule at one position: from what, by which interval, until when.

A `Standing` holds limits and facts only; what state a line is in on a day is worked out in `due`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal

from fleetlog.domain.condition import Wear, wear_of
from fleetlog.domain.hour_record import AcceptedReading, is_past
from fleetlog.domain.hours import Tenths, scaled_tenths
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.months import add_months
from fleetlog.domain.records import Boat, Deferral, Engine, Entry
from fleetlog.domain.satisfaction import (
    BY_ITSELF,
    BY_REBUILD,
    Done,
    Satisfaction,
    Seen,
    same_visit,
    satisfaction,
    seen_on,
    still_owed,
)
from fleetlog.domain.schedule import Limits, Rule, Schedule
from fleetlog.domain.season import first_mark_from, mark_after_work, season_marks
from fleetlog.domain.stints import TrackedItem
from fleetlog.domain.taken_off import removal_of, taken_off
from fleetlog.domain.usage import HoursTarget
from fleetlog.domain.values import value_class
from fleetlog.domain.words import same_name

NEW, JOINED, WORK, UNKNOWN_AGE, UNKNOWN = "new", "joined", "work", "unknown age", "unknown"
"""What a line counts from: a new engine, the start of a used one, work done, or nothing that is known."""

ONCE = "once"
"""One-time work counts from nothing: it has a deadline."""


@value_class(frozen=True, slots=True)
class Finding:
    """A technician's word that brings the next look closer, from the entry it stands on."""

    entry: Entry
    on: date | None
    tenths: Tenths | None


@value_class(frozen=True, slots=True)
class Standing:
    """Where one rule stands at one position of one engine, as known on a day.

    `counts_from` says what the base is. `due_tenths` are engine hours; `runs` are hours since a day that
    stand in for them where no reading tells (they are only forecast, never overdue). `due_on` and
    `due_tenths` have findings and deferral applied; `interval_on` and `interval_tenths` have not. `off` is
    the entry that took the item off, where nothing put on since is on record: the limits count on even so.
    `last_taken_as` is the first or last reading, where it stands for the unknown hours of the last work.
    """

    rule: Rule
    position: str | None
    counts_from: str
    last: Done | None = None
    last_done_tenths: Tenths | None = None
    interval: Limits = Limits()
    is_running_in: bool = False
    severe: tuple[str, Decimal] | None = None
    base_on: date | None = None
    base_tenths: Tenths | None = None
    interval_on: date | None = None
    interval_tenths: Tenths | None = None
    due_on: date | None = None
    due_tenths: Tenths | None = None
    runs: tuple[HoursTarget, ...] = ()
    owed_since: Entry | None = None
    finding: Finding | None = None
    deferral: Deferral | None = None
    rebuild_says_so: bool = True
    wear: Wear | None = None
    off: Entry | None = None
    last_taken_as: AcceptedReading | None = None

    @property
    def last_known_tenths(self) -> Tenths | None:
        """Engine hours at the last work for telling them: none from before the first reading."""
        return None if self.is_counted_from_first_reading else self.last_done_tenths

    @property
    def is_counted_from_first_reading(self) -> bool:
        """Whether it was last done before the first reading: its hours may run out sooner than told."""
        taken_as, last = self.last_taken_as, self.last
        return taken_as is not None and last is not None and last.entry.on < taken_as.on

    @property
    def is_moved_out(self) -> bool:
        """Whether a deferral has moved one of its limits out; not one that names no day or hours beyond."""
        said = self.deferral
        if said is None:
            return False
        is_later = said.until_on is not None and self.due_on == said.until_on != self.interval_on
        return is_later or (
            said.until_tenths is not None and self.due_tenths == said.until_tenths != self.interval_tenths
        )

    @property
    def is_used_at_least(self) -> bool:
        """Whether more of its hours may be used than is told: run before the first reading, or elsewhere."""
        return self.is_counted_from_first_reading or (
            self.rule.action == "replace"
            and self.last is not None
            and self.last.how == BY_ITSELF
            and self.last.entry.prior_is_least
        )


def standings(ledger: EngineLedger, schedule: Schedule, today: date) -> tuple[Seen, list[Standing]]:
    """What is seen of an engine on a day, and a standing for each line of its schedule."""
    seen = seen_on(ledger, today)
    gone = taken_off(seen, schedule)
    return seen, [s for rule in schedule.rules for s in _standings_of_rule(seen, schedule, rule, gone)]


def _standings_of_rule(
    seen: Seen, schedule: Schedule, rule: Rule, gone: Sequence[TrackedItem]
) -> Iterator[Standing]:
    if not rule.is_for(seen.engine.serial):
        return
    for position in rule.lines():
        if rule.once:
            standing = _once(seen, schedule, rule, position)
        elif rule.renew_when_disturbed:
            standing = _next_access(seen, schedule, rule, position)
        elif rule.season is not None:
            standing = _by_season(seen, schedule, rule, position)
        else:
            standing = _by_interval(seen, schedule, rule, position)
        if standing is not None:
            last = standing.last.entry if standing.last else None
            wear = wear_of(seen, rule, position)
            off = removal_of(gone, rule, position, last.on if last else None) if gone else None
            taken_as = seen.hours.reading_taken_for(last) if last else None
            if wear is not None or off is not None or taken_as is not None:
                standing = replace(standing, wear=wear, off=off, last_taken_as=taken_as)
            yield standing


def _next_access(seen: Seen, schedule: Schedule, rule: Rule, position: str | None) -> Standing | None:
    owed = still_owed(seen, rule, position)
    if owed is None:
        return None
    last = satisfaction(seen, schedule, rule, position).last
    return Standing(
        rule,
        position,
        WORK if last else UNKNOWN,
        last,
        seen.hours.tenths_at(last.entry) if last else None,
        owed_since=owed,
        rebuild_says_so=_rebuild_says_so(seen, rule, last),
    )


def _once(seen: Seen, schedule: Schedule, rule: Rule, position: str | None) -> Standing | None:
    """One-time work: no line before it was issued, nor after it was done since."""
    if rule.issued_on is not None and seen.today < rule.issued_on:
        return None
    if done_since_issued(seen, schedule, rule, position):
        return None
    on, tenths = rule.by.on, rule.by.tenths if seen.hours.metered else None
    standing = Standing(
        rule,
        position,
        ONCE,
        interval=Limits(rule.by.tenths),
        interval_on=on,
        interval_tenths=tenths,
        due_on=on,
        due_tenths=tenths,
    )
    if seen.engine.in_service_on is not None:
        standing = _with_run(seen, standing, seen.engine.in_service_on, 0)
    if on is None and tenths is None and not standing.runs:
        return replace(standing, counts_from=UNKNOWN)
    return _deferred(seen, standing, Satisfaction((), None))


def done_since_issued(seen: Seen, schedule: Schedule, rule: Rule, position: str | None) -> list[Done]:
    """What did one-time work at a position, the first first; work from before it was issued is none."""
    done = satisfaction(seen, schedule, rule, position).done
    return [d for d in done if rule.issued_on is None or d.entry.on >= rule.issued_on]


def _by_season(seen: Seen, schedule: Schedule, rule: Rule, position: str | None) -> Standing | None:
    marks = season_marks(seen.boat_ledger.layups, rule.season or "") if seen.boat_ledger else []
    if not marks:
        return None
    satisfied = satisfaction(seen, schedule, rule, position)
    last = satisfied.last
    due_on = mark_after_work(marks, last.entry.on) if last else first_mark_from(marks, seen.today)
    standing = Standing(
        rule,
        position,
        WORK if last else NEW,
        last,
        seen.hours.tenths_at(last.entry) if last else None,
        interval_on=due_on,
        due_on=due_on,
        rebuild_says_so=_rebuild_says_so(seen, rule, last),
    )
    return _deferred(seen, _found(seen, standing, satisfied), satisfied)


def _by_interval(seen: Seen, schedule: Schedule, rule: Rule, position: str | None) -> Standing:
    engine = seen.engine
    satisfied = satisfaction(seen, schedule, rule, position)
    last = satisfied.last
    is_running_in = rule.first is not None and _is_running_in(satisfied, engine)
    severe = severe_factor(rule, seen.boat)
    interval = interval_limits(rule, severe, is_running_in)
    base_on: date | None = None
    base_tenths: Tenths | None = None
    run_less: int = 0
    if last is None:
        counts_from = UNKNOWN
        if engine.in_service_on is not None:
            counts_from = NEW if engine.logged_from_new else JOINED
            base_on = engine.in_service_on
            base_tenths = 0 if seen.hours.metered else None
    else:
        entry = last.entry
        base_on, base_tenths, counts_from = entry.on, seen.hours.tenths_at(entry), WORK
        if last.how == BY_ITSELF and rule.action == "replace":
            if entry.prior_tenths is not None:
                run_less = entry.prior_tenths
                base_tenths = None if base_tenths is None else base_tenths - run_less
            if entry.prior_months is not None:
                base_on = add_months(base_on, -entry.prior_months)
            if entry.condition == "used" and not entry.has_prior_age:
                counts_from = UNKNOWN_AGE
    last_tenths = seen.hours.tenths_at(last.entry) if last else None
    if counts_from in (UNKNOWN, UNKNOWN_AGE):
        base_on = base_tenths = None
    on = None if base_on is None or interval.months is None else add_months(base_on, interval.months)
    tenths = None if base_tenths is None or interval.tenths is None else base_tenths + interval.tenths
    standing = Standing(
        rule,
        position,
        counts_from,
        last,
        last_tenths,
        interval,
        is_running_in,
        severe,
        base_on,
        base_tenths,
        interval_on=on,
        interval_tenths=tenths,
        due_on=on,
        due_tenths=tenths,
        rebuild_says_so=_rebuild_says_so(seen, rule, last),
    )
    if base_on is None:
        return standing
    if counts_from == JOINED and is_past(on, tenths, seen.today, seen.hours):
        return replace(
            standing, counts_from=UNKNOWN, base_on=None, base_tenths=None, due_on=None, due_tenths=None
        )
    since = last.entry.on if last else base_on
    standing = _with_run(seen, standing, since, run_less)
    return _deferred(seen, _found(seen, standing, satisfied), satisfied)


def _with_run(seen: Seen, standing: Standing, since: date, run_less: int) -> Standing:
    """Hours to be run since a day, where no reading tells engine hours.

    An engine whose meter was never read follows the calendar, if its rule has one.
    """
    if standing.interval.tenths is None or seen.hours.last is not None:
        return standing
    if seen.hours.metered and standing.interval_on is not None and standing.interval_tenths is None:
        return standing
    return replace(standing, runs=(HoursTarget(standing.interval.tenths - run_less, since),))


def _is_running_in(satisfied: Satisfaction, engine: Engine) -> bool:
    """Whether the first interval holds: not satisfied since new, or since the rebuild that restarts it."""
    in_service_on = engine.in_service_on
    work = [
        d.entry
        for d in satisfied.done
        if d.how != BY_REBUILD and (in_service_on is None or d.entry.on > in_service_on)
    ]
    rebuild = satisfied.running_in_since
    if rebuild is not None:
        return not any(e.on > rebuild.on and not same_visit(e, rebuild) for e in work)
    return engine.logged_from_new and in_service_on is not None and not work


def severe_factor(rule: Rule, boat: Boat | None) -> tuple[str, Decimal] | None:
    """The smallest factor that the boat's water or use brings, with the word that brings it."""
    if boat is None:
        return None
    applying = [(word, factor) for word, factor in rule.severe if word in (boat.water, boat.use)]
    return min(applying, key=lambda pair: pair[1], default=None)


def interval_limits(rule: Rule, severe: tuple[str, Decimal] | None, is_running_in: bool) -> Limits:
    """The interval that holds: severe use shortens the regular one, and `first` stands before what it names.

    Hours are exact products; months are rounded down to whole months, at least one.
    """
    tenths, months = rule.every.tenths, rule.every.months
    if severe is not None:
        factor = severe[1]
        if tenths is not None:
            tenths = scaled_tenths(tenths, factor)
        if months is not None:
            months = max(1, int(months * factor))
    if is_running_in and rule.first is not None:
        tenths = tenths if rule.first.tenths is None else rule.first.tenths
        months = months if rule.first.months is None else rule.first.months
    return Limits(tenths, months)


def _found(seen: Seen, standing: Standing, satisfied: Satisfaction) -> Standing:
    """Findings that still hold bring limits nearer, and make one where the rule has none."""
    for place, done in enumerate(satisfied.done):
        entry = done.entry
        if done.how != BY_ITSELF or (entry.again_tenths is None and entry.again_months is None):
            continue
        if any(not same_visit(later.entry, entry) for later in satisfied.done[place + 1 :]):
            continue
        on = None if entry.again_months is None else add_months(entry.on, entry.again_months)
        at = seen.hours.tenths_at(entry)
        tenths = None if entry.again_tenths is None or at is None else at + entry.again_tenths
        nearer: dict[str, object] = {}
        if on is not None and (standing.due_on is None or on < standing.due_on):
            nearer["due_on"] = on
        if tenths is not None and (standing.due_tenths is None or tenths < standing.due_tenths):
            nearer["due_tenths"] = tenths
        if entry.again_tenths is not None and at is None:
            nearer["runs"] = (*standing.runs, HoursTarget(entry.again_tenths, entry.on))
        if nearer:
            standing = replace(standing, finding=Finding(entry, on, tenths), **nearer)  # type: ignore[arg-type]
    return standing


def _deferred(seen: Seen, standing: Standing, satisfied: Satisfaction) -> Standing:
    """The latest deferral moves limits out to its own, until work dated after it is done."""
    said = [
        d
        for d in seen.deferrals
        if d.rule == standing.rule.key and (d.position is None or same_name(d.position, standing.position))
    ]
    if not said:
        return standing
    deferral = max(said, key=lambda d: (d.at, d.sequence))
    if any(d.entry.on > deferral.at.date() for d in satisfied.done):
        return standing
    due_on, due_tenths, runs = standing.due_on, standing.due_tenths, standing.runs
    if due_on is not None and deferral.until_on is not None:
        due_on = max(due_on, deferral.until_on)
    if due_tenths is not None and deferral.until_tenths is not None:
        moved = max(due_tenths, deferral.until_tenths) - due_tenths
        due_tenths += moved
        runs = tuple(HoursTarget(run.tenths + moved, run.since) for run in runs)
    return replace(standing, due_on=due_on, due_tenths=due_tenths, runs=runs, deferral=deferral)


def _rebuild_says_so(seen: Seen, rule: Rule, last: Done | None) -> bool:
    """Whether the last done is no rebuild, or one whose visit names the item."""
    if last is None or last.how != BY_REBUILD:
        return True
    return any(same_visit(entry, last.entry) for entry in seen.of_item(rule.item))
